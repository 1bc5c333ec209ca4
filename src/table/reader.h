/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TABLE_READER_H
#define PENDRIFT_TABLE_READER_H

#include "table/lines.h"
#include "table/table.h"

/* The row being read. Its cells lie one behind the other in `text`, each ended with NUL. */
struct pd_gathered {
    char *text;
    size_t used, size;
    size_t *starts; /* where in text each cell begins; those past `wanted` are only counted */
    size_t count, room, wanted;
};

/* Makes rows of cells: the first is the header, the others go to the row function. */
struct pd_reader {
    const char *table;
    const struct pd_column *columns;
    size_t column_count;
    const char **names; /* of the columns, for the messages */
    pd_row_function *row_function;
    pd_header_function *header_function; /* NULL; or the columns are those of the header, of any
                                            name, and columns and column_count begin empty */
    void *context;
    struct pd_errors *errors; /* never NULL */
    enum pd_status status;    /* other than PD_OK: reading is over */
    struct pd_lines lines;
    struct pd_gathered row;
    char *header_text; /* the names, of a table of any columns */
    struct pd_column *header_columns;
    size_t *column_of;  /* for each cell of the header; NULL until it has been read */
    const char **cells; /* of the row, by column */
    bool *given;        /* by column: the header has it */
    size_t bytes;       /* taken so far */
};

/* Takes what the caller has filled in, from table to errors without names, and makes the rest,
 * which pd_reader_end frees; that is to be called also after a failure. PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_reader_begin(struct pd_reader *reader);
void pd_reader_end(struct pd_reader *reader);

/* The next cell of the present row, ended with NUL; and the end of that row. They do nothing once
 * reader->status is other than PD_OK. */
void pd_reader_cell(struct pd_reader *reader, const char *cell, size_t length);
void pd_reader_row(struct pd_reader *reader);

/* Adds an error and sets reader->status, which ends the reading. */
void pd_reader_fail(struct pd_reader *reader, enum pd_status status, size_t line, const char *what);

#endif
