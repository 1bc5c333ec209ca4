/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TABLE_SHEET_H
#define PENDRIFT_TABLE_SHEET_H

#include <stdbool.h>
#include <stddef.h>

#include "table/status.h"

/* Somebody else's spreadsheet, of any length: every row is handed on with the bytes it had, a row
 * that is broken is told and the rest go on. That is what parts it from table.h, where one wrong
 * row is an error of the whole.
 *
 * RFC 4180, UTF-8 with or without a byte-order mark, LF or CRLF. Lines that start with '#' before
 * the header are comments; behind it every line that is not blank is a row, or a site whose number
 * begins with '#' would be passed over. Memory does not grow with the file. */

struct pd_sheet;

/* Opens a file, or standard input for "-", which is copied to a temporary file where it cannot be
 * read twice; and reads the header. `name` for messages. PD_OK, PD_ERR_FILE, PD_ERR_MEMORY,
 * PD_ERR_INPUT (empty; a header that cannot be read). The caller frees *out. */
enum pd_status pd_sheet_open(const char *path, const char *name, struct pd_sheet **out,
                             struct pd_errors *errors);
void pd_sheet_free(struct pd_sheet **sheet);

/* The header's cells, and the bytes of its row and of what stands before it (byte-order mark
 * apart), line ends included. */
size_t pd_sheet_width(const struct pd_sheet *sheet);
const char *pd_sheet_column(const struct pd_sheet *sheet, size_t index);
struct pd_bytes {
    const char *at;
    size_t length;
};
struct pd_bytes pd_sheet_header(const struct pd_sheet *sheet);
struct pd_bytes pd_sheet_comments(const struct pd_sheet *sheet);
bool pd_sheet_marked(const struct pd_sheet *sheet); /* begins with a byte-order mark */
size_t pd_sheet_header_line(const struct pd_sheet *sheet);

/* To the first row again. */
enum pd_status pd_sheet_rewind(struct pd_sheet *sheet, struct pd_errors *errors);

/* How much has been read, 0 to 1. */
double pd_sheet_share(const struct pd_sheet *sheet);

/* Some whole rows. Start it with {0}, free it with pd_sheet_block_free. */
struct pd_sheet_block {
    char *text;
    size_t length, room;
    size_t line;   /* of its first byte */
    size_t number; /* from 0, in order */
};
void pd_sheet_block_free(struct pd_sheet_block *block);

/* Reads the next rows into *block; length 0 at the end. */
enum pd_status pd_sheet_next(struct pd_sheet *sheet, struct pd_sheet_block *block,
                             struct pd_errors *errors);

enum pd_row_fault {
    PD_ROW_GOOD,
    PD_ROW_CELLS,  /* more or fewer than the header */
    PD_ROW_QUOTES, /* out of place, or never closed */
    PD_ROW_BYTES   /* not UTF-8 text */
};
enum { PD_ROW_FAULTS = 4 };
extern const char *const pd_row_fault_texts[PD_ROW_FAULTS];

struct pd_sheet_row {
    size_t line;
    enum pd_row_fault fault;
    struct pd_bytes raw;     /* without the line end */
    const char *const *cell; /* [count], spaces round an unquoted one taken off; NULL where quotes
                                or bytes are wrong */
    size_t count;
};

/* Takes the rows of blocks apart, one thread each. The caller frees *out. */
struct pd_sheet_reader;
enum pd_status pd_sheet_reader_new(size_t width, struct pd_sheet_reader **out);
void pd_sheet_reader_free(struct pd_sheet_reader **reader);
void pd_sheet_reader_start(struct pd_sheet_reader *reader, const struct pd_sheet_block *block);

/* The next row, lent until the next call. PD_OK with *more false at the block's end; PD_ERR_MEMORY.
 */
enum pd_status pd_sheet_reader_next(struct pd_sheet_reader *reader, struct pd_sheet_row *row,
                                    bool *more);

/* Where the row that starts at text[at] ends, its line end included; PD_NONE where it goes on past
 * `length`. Where a quote is out of place, or a quoted cell is still open after PD_ROW_MAX bytes or
 * at the end of a text that is `whole`, only the first line is the row, and *fault says so. */
size_t pd_sheet_row_end(const char *text, size_t length, size_t at, bool whole,
                        enum pd_row_fault *fault);

#endif
