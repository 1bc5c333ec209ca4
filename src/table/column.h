/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TABLE_COLUMN_H
#define PENDRIFT_TABLE_COLUMN_H

#include <stddef.h>

#include "table/status.h"

/* One column of numbers out of a CSV file with a header row whose other columns may be anything. */

/* Reads it into *value, which the caller frees, *count of them. Empty cells are left out; lines
 * that start with '#' are comments. Errors: no such column (the nearest is named), a cell that is
 * not a number, no number at all. `table` is the name used in messages. PD_OK, PD_ERR_FILE,
 * PD_ERR_INPUT, PD_ERR_MEMORY. */
enum pd_status pd_column_read(const char *path, const char *table, const char *column,
                              double **value, size_t *count, struct pd_errors *errors);

#endif
