/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TABLE_OVERRIDE_H
#define PENDRIFT_TABLE_OVERRIDE_H

#include "table/table.h"

/* Numbers that a study puts in place of what a case's tables say: the tables are read as they are,
 * with these cells changed on the way, so that every check and rule of the readers holds for them.
 */

/* Where a number stands: the table ("loads.csv"), the name in its first column, the column. In
 * case.csv the name is the quantity and the column is "value". */
struct pd_address {
    char table[32];
    char row[PD_NAME_MAX + 1];
    char column[32];
};

struct pd_override {
    struct pd_address at;
    double value; /* finite */
    double *was;  /* becomes what the table had, NaN where the cell is empty; may be NULL */
};

/* A list lent for a call. */
struct pd_overrides {
    const struct pd_override *item;
    size_t count;
};

/* A number as a cell. */
struct pd_override_cell {
    char text[32];
};
struct pd_override_cell pd_override_cell(double value);

/* Reads a table as pd_table_read does, with the overrides for it (NULL: none). The first column of
 * the description names the rows. Errors beside those of pd_table_read: no such row or column (the
 * nearest is named), a cell that names something, a cell that holds text. */
enum pd_status pd_table_read_set(const char *path, const struct pd_overrides *overrides,
                                 const char *table, const struct pd_column *columns,
                                 size_t column_count, pd_row_function *row_function, void *context,
                                 struct pd_errors *errors);

#endif
