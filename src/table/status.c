/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "table/status.h"

#include <stdio.h>
#include <string.h>

#include "table/utf8.h"

const char *pd_status_text(enum pd_status status)
{
    switch (status) {
#define X(name, value, exit_status, text)                                                          \
    case name:                                                                                     \
        return text;
        PD_STATUS_LIST(X)
#undef X
    }
    return "unknown status";
}

int pd_status_exit(enum pd_status status)
{
    switch (status) {
#define X(name, value, exit_status, text)                                                          \
    case name:                                                                                     \
        return exit_status;
        PD_STATUS_LIST(X)
#undef X
    }
    return pd_status_exit(PD_ERR_ARGUMENT);
}

/* Ends a text that was cut with "...", taking away as many whole characters as that needs. */
static void mark_cut(char *text, size_t size)
{
    size_t end = size - sizeof "...";
    while (end > 0 && ((unsigned char)text[end] & 0xc0) == 0x80)
        end--;
    memcpy(text + end, "...", sizeof "...");
}

/* A message is one line of valid UTF-8, whatever bytes a table had in its cells: a terminal must
 * not obey them, and a report must be able to quote them. */
static void copy_clean(char *to, size_t size, const char *from)
{
    struct pd_utf8 state = {0};
    size_t length = 0, begin = 0;
    for (; *from != '\0' && length + 1 < size; from++) {
        const unsigned char byte = (unsigned char)*from;
        if (state.missing == 0)
            begin = length;
        to[length++] = *from;
        if (!pd_utf8_step(&state, byte) || pd_utf8_control(&state, byte)) {
            length = begin;
            to[length++] = '?';
            state = (struct pd_utf8){0};
        }
    }
    if (state.missing > 0)
        length = begin;
    to[length] = '\0';
    if (*from != '\0')
        mark_cut(to, length + 1);
}

enum pd_status pd_errors_add(struct pd_errors *errors, enum pd_status status, const char *table,
                             size_t line, const char *column, const char *format, ...)
{
    if (errors == NULL)
        return status;
    if (errors->count < PD_ERRORS_KEPT) {
        struct pd_error *error = &errors->kept[errors->count];
        char text[2 * sizeof error->text] = "";
        va_list arguments;
        va_start(arguments, format);
        vsnprintf(text, sizeof text, format, arguments);
        va_end(arguments);
        *error = (struct pd_error){.status = status, .line = line};
        copy_clean(error->table, sizeof error->table, table != NULL ? table : "");
        copy_clean(error->column, sizeof error->column, column != NULL ? column : "");
        copy_clean(error->text, sizeof error->text, text);
    }
    errors->count++;
    return status;
}

enum pd_status pd_errors_status(const struct pd_errors *errors)
{
    return errors != NULL && errors->count > 0 ? errors->kept[0].status : PD_OK;
}

int pd_error_format(const struct pd_error *error, char *buffer, size_t size)
{
    char line[32] = "";
    if (error->line > 0)
        snprintf(line, sizeof line, ":%zu", error->line);
    return snprintf(buffer, size, "%s%s%s%s%s%s", error->table, line,
                    error->table[0] != '\0' || error->line > 0 ? ": " : "", error->column,
                    error->column[0] != '\0' ? ": " : "", error->text);
}
