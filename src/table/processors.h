/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TABLE_PROCESSORS_H
#define PENDRIFT_TABLE_PROCESSORS_H

#include <stddef.h>

/* How many processors this process may run on; 1 where that cannot be asked. */
size_t pd_processors(void);

#endif
