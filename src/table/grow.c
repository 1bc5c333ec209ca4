/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "table/grow.h"

#include <stdlib.h>

void *pd_grow(void *array, size_t count, size_t size)
{
    /* It is full where the count is a power of two. */
    if (count != 0 && (count & (count - 1)) != 0)
        return array;
    return reallocarray(array, count == 0 ? 1 : 2 * count, size);
}
