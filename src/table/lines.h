/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TABLE_LINES_H
#define PENDRIFT_TABLE_LINES_H

#include <stdbool.h>
#include <stddef.h>

#include "table/status.h"
#include "table/utf8.h"

/* The most bytes that a row may have: an open quote at the head of a large file must not draw the
 * whole file into one cell. */
enum { PD_ROW_MAX = 1 << 20 };

/* Cuts a stream of bytes into pieces that each lie within one line, and knows for each piece what
 * the CSV parser cannot tell: its line in the file, whether it is a comment, whether it is UTF-8.
 *
 * It counts quotes to know whether a line begins within a quoted cell. That is exact as long as the
 * quoting is right; where it is not, the parser ends the reading. */
struct pd_lines {
    const char *table;
    struct pd_errors *errors;
    size_t line;       /* of the present piece, from 1 */
    size_t row_line;   /* on which the present row began */
    size_t row_length; /* bytes of the present row so far */
    struct pd_utf8 utf8;
    bool started, line_open;
    bool dropped; /* the present piece is not for the parser: a comment, the byte-order mark */
    bool quoted;  /* within a quoted cell */
    bool carriage_return; /* the last byte was one, outside a quoted cell */
    bool damaged;         /* the present row has bytes that are not UTF-8 */
};

/* Starts at line 1. `table` and `errors` stay the caller's. */
void pd_lines_start(struct pd_lines *lines, const char *table, struct pd_errors *errors);

/* Takes the next piece off bytes[length], length > 0, and sets *used to how many bytes it has. They
 * are for the parser unless lines->dropped. PD_ERR_INPUT, with an error added, where reading on
 * makes no sense: a NUL byte, a carriage return alone, a row longer than PD_ROW_MAX. */
enum pd_status pd_lines_next(struct pd_lines *lines, const char *bytes, size_t length,
                             size_t *used);

/* To be called after the last byte: a character may have been broken off. */
void pd_lines_end(struct pd_lines *lines);

#endif
