/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TABLE_TABLE_H
#define PENDRIFT_TABLE_TABLE_H

#include <stdbool.h>
#include <stddef.h>

#include "table/status.h"

/* Reading CSV tables with a header row: RFC 4180 quoting, UTF-8 with or without a byte-order mark,
 * LF or CRLF, lines that start with '#' (outside a quoted cell) are comments, blank lines are
 * skipped, spaces round an unquoted cell do not count. Rows are streamed: memory does not grow with
 * the file, and a row of more than 1 MiB is an error.
 *
 * The header drives everything: columns may stand in any order; a column that is not in the
 * description is an error naming the nearest that is; so are a column given twice, a required
 * column missing, and a row with more or fewer cells than the header.
 *
 * A row with a wrong count of cells, or with bytes that are not UTF-8, is told and not handed on.
 * Reading ends at a wrong header, a row too long, a quote out of place, a NUL byte and a carriage
 * return alone: what follows could not be trusted.
 */

/* One column that a table may have. Its unit is in its name (`length_m`). */
struct pd_column {
    const char *name;
    bool required; /* in the header; a cell may still be empty, the row's reader decides */
};

/* One row, lent to the row function for the length of the call. */
struct pd_row {
    const char *table;               /* the name for messages: "loads.csv" */
    size_t line;                     /* the line of the file on which the row starts, from 1 */
    const struct pd_column *columns; /* the description, as given to the reader */
    size_t column_count;
    const char *const *cells; /* by index in the description; "" where empty or without a column */
    const bool *given;        /* by index: whether the header has the column */
    size_t bytes;             /* of the table read so far, for progress; not below this row's end */
};

/* Called for each row. Anything wrong in the row goes into `errors`; reading goes on, so that every
 * error is found. A return other than PD_OK or PD_ERR_INPUT (no memory, interrupted) ends the
 * reading and is what the reader returns. */
typedef enum pd_status pd_row_function(const struct pd_row *row, void *context,
                                       struct pd_errors *errors);

/* Reads a table from a file. `table` is the name used in messages.
 *
 * Returns PD_OK; PD_ERR_FILE (cannot be opened or read), PD_ERR_INPUT (any error in the table or
 * reported by the row function), PD_ERR_MEMORY, or what the row function ended it with. Each
 * failure has at least one line in `errors`. An empty file, or one without a header, is an error.
 */
enum pd_status pd_table_read(const char *path, const char *table, const struct pd_column *columns,
                             size_t column_count, pd_row_function *row_function, void *context,
                             struct pd_errors *errors);

/* Called with the header of a table of any columns, before the first row: columns[count] as the
 * header names them, in its order, lent until the reading ends. A return other than PD_OK ends it.
 */
typedef enum pd_status pd_header_function(const struct pd_column *columns, size_t column_count,
                                          size_t line, void *context, struct pd_errors *errors);

/* Reads a table whose columns somebody else named: a log. Its rows have the header's columns, in
 * the header's order. Here a row that is wrong does not make the whole wrong: it is in `errors`,
 * the rest was handed on, and the return is PD_OK; other returns, as of pd_table_read, mean that
 * reading ended early. */
enum pd_status pd_table_read_any(const char *path, const char *table,
                                 pd_header_function *header_function, pd_row_function *row_function,
                                 void *context, struct pd_errors *errors);

/* pd_table_read from text in memory: the reference tables compiled into the program. */
enum pd_status pd_table_read_text(const char *text, size_t length, const char *table,
                                  const struct pd_column *columns, size_t column_count,
                                  pd_row_function *row_function, void *context,
                                  struct pd_errors *errors);

/* pd_table_read_any from text in memory. */
enum pd_status pd_table_read_any_text(const char *text, size_t length, const char *table,
                                      pd_header_function *header_function,
                                      pd_row_function *row_function, void *context,
                                      struct pd_errors *errors);

/* The cell in a column, "" where empty. */
const char *pd_row_text(const struct pd_row *row, size_t column);

/* Whether the cell has anything in it. */
bool pd_row_has(const struct pd_row *row, size_t column);

/* Whether the table has the column at all: a cell left empty is not a column left out. */
bool pd_row_given(const struct pd_row *row, size_t column);

/* What a number may be: finite, between the ends, both included. `why` is put into the message
 * after the range, may be NULL. */
struct pd_range {
    double low, high;
    const char *why;
};

/* Reads the cell as a number into *value. False, with an error added, where the cell is empty, is
 * not a plain decimal number (no "nan", "inf", hexadecimal, thousands separators or unit), or lies
 * outside the range. *value is untouched on failure. */
bool pd_row_number(const struct pd_row *row, size_t column, struct pd_range range, double *value,
                   struct pd_errors *errors);

/* The same where the cell may be empty: then *value stays as it is and the answer is true. */
bool pd_row_number_or_keep(const struct pd_row *row, size_t column, struct pd_range range,
                           double *value, struct pd_errors *errors);

/* Reads the cell as one of choices[count] (exact spelling) into *index. False, with an error that
 * names the nearest and lists them all, otherwise. */
bool pd_row_choice(const struct pd_row *row, size_t column, const char *const choices[],
                   size_t count, size_t *index, struct pd_errors *errors);

/* Reads the cell as a name: not empty, no control characters, at most PD_NAME_MAX bytes of UTF-8.
 * NULL, with an error added, otherwise. The text belongs to the row. */
enum { PD_NAME_MAX = 120 };
const char *pd_row_name(const struct pd_row *row, size_t column, struct pd_errors *errors);

/* Adds an error at this row and column (column == row->column_count: the whole row). */
enum pd_status pd_row_error(const struct pd_row *row, size_t column, struct pd_errors *errors,
                            const char *format, ...) __attribute__((format(printf, 4, 5)));

/* Reads `text` as a plain decimal number, as pd_row_number does but without a range: true and
 * *value set, or false and *value untouched. The result is always finite. LC_NUMERIC must be "C",
 * which it is in every program that does not call setlocale. */
bool pd_parse_number(const char *text, double *value);

/* The index of the name in names[count] nearest to `text` (fewest letters inserted, left out,
 * changed or swapped; case does not count), or `count` where none is near enough to be worth
 * suggesting. */
size_t pd_nearest(const char *text, const char *const names[], size_t count);

#endif
