/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "table/processors.h"

#include <sched.h>

size_t pd_processors(void)
{
    cpu_set_t set;
    if (sched_getaffinity(0, sizeof set, &set) != 0)
        return 1;
    const int count = CPU_COUNT(&set);
    return count > 0 ? (size_t)count : 1;
}
