/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TABLE_STATUS_H
#define PENDRIFT_TABLE_STATUS_H

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>

/* What a call returns: above zero ran but doubtful, zero good, below zero failed.
 *
 * One list makes the enum, the texts and the program's exit status, so that they cannot drift
 * apart. A failed call is not the same as a question with no answer: a scenario that cannot be
 * determined is a good call (PD_OK) whose result says so.
 *
 *   name, value, exit status of the program, text
 */
#define PD_STATUS_LIST(X)                                                                          \
    X(PD_DOUBTFUL, 1, 4, "ran, but the result is not to be leaned on")                             \
    X(PD_OK, 0, 0, "done")                                                                         \
    X(PD_ERR_MEMORY, -1, 5, "out of memory")                                                       \
    X(PD_ERR_FILE, -2, 2, "a file cannot be read or written")                                      \
    X(PD_ERR_INPUT, -3, 3, "wrong input data")                                                     \
    X(PD_ERR_ARGUMENT, -4, 5, "a function was called wrongly (fault of the program)")              \
    X(PD_ERR_INTERRUPTED, -5, 130, "interrupted")

enum pd_status {
#define X(name, value, exit_status, text) name = value,
    PD_STATUS_LIST(X)
#undef X
};

/* The sentence of a status, without a full stop. Never NULL. */
const char *pd_status_text(enum pd_status status);

/* The exit status of a program that ends because of `status`. */
int pd_status_exit(enum pd_status status);

/* How many errors are kept with their texts; the rest are counted. */
enum { PD_ERRORS_KEPT = 50 };

/* One error: where it is and what would be right. `table` is a file's name as the user knows it
 * ("loads.csv"), line 0 means the whole table, an empty column means the whole row. */
struct pd_error {
    enum pd_status status;
    size_t line;
    char table[256];
    char column[64];
    char text[320];
};

/* Every error of a call, owned by the caller; needs no free. Start it with {0}. */
struct pd_errors {
    size_t count; /* all that were found, also those past PD_ERRORS_KEPT */
    struct pd_error kept[PD_ERRORS_KEPT];
};

/* Adds an error. Texts too long are cut, never overrun. `errors` may be NULL: then nothing is kept.
 * Returns `status`, so that a function can end with `return pd_errors_add(...)`. */
enum pd_status pd_errors_add(struct pd_errors *errors, enum pd_status status, const char *table,
                             size_t line, const char *column, const char *format, ...)
    __attribute__((format(printf, 6, 7)));

/* The status of the first error, PD_OK where there is none. */
enum pd_status pd_errors_status(const struct pd_errors *errors);

/* Writes one line without a line end, `loads.csv:7: max_current_a: '3x2' is not a number`, into
 * buffer[size], always terminated. Returns the length it would have taken, as snprintf does. */
int pd_error_format(const struct pd_error *error, char *buffer, size_t size);

#endif
