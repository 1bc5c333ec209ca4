/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TABLE_GROW_H
#define PENDRIFT_TABLE_GROW_H

#include <stddef.h>

/* Room for one more in an array that grows by doubling and holds `count` elements of `size` bytes:
 * the array, moved or not, or NULL without memory, when the old one is still good. Start with NULL
 * and 0. */
void *pd_grow(void *array, size_t count, size_t size);

#endif
