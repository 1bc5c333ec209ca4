/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "table/lines.h"

#include <string.h>

void pd_lines_start(struct pd_lines *lines, const char *table, struct pd_errors *errors)
{
    *lines = (struct pd_lines){.table = table, .errors = errors, .row_line = 1};
}

static void begin_line(struct pd_lines *lines, char first)
{
    lines->line++;
    lines->line_open = true;
    if (lines->quoted)
        return;
    lines->row_line = lines->line;
    lines->row_length = 0;
    lines->damaged = false;
    lines->dropped = first == '#';
}

static enum pd_status refuse(const struct pd_lines *lines, size_t line, const char *what)
{
    return pd_errors_add(lines->errors, PD_ERR_INPUT, lines->table, line, "", "%s", what);
}

/* Told once for each row; reading goes on, so that every such row is found. */
static void report_damage(struct pd_lines *lines)
{
    if (!lines->damaged)
        refuse(lines, lines->line, "is not UTF-8 text; save the table as UTF-8");
    lines->damaged = true;
}

static enum pd_status take_byte(struct pd_lines *lines, unsigned char byte)
{
    if (byte == '\0')
        return refuse(lines, lines->line, "has a NUL byte; save the table as UTF-8 text");
    if (!pd_utf8_step(&lines->utf8, byte))
        report_damage(lines);
    if (lines->dropped)
        return PD_OK;
    if (lines->carriage_return && byte != '\n')
        return refuse(lines, lines->line,
                      "has a carriage return without a line feed; end lines with LF or CRLF");
    if (byte == '"')
        lines->quoted = !lines->quoted;
    lines->carriage_return = byte == '\r' && !lines->quoted;
    return PD_OK;
}

/* How many bytes from the first on need no thought: printable ASCII without quotes. Most tables are
 * hardly anything else. */
static size_t plain_bytes(const struct pd_lines *lines, const char *bytes, size_t length)
{
    size_t count = 0;
    if (lines->carriage_return || lines->utf8.missing > 0)
        return 0;
    while (count < length && bytes[count] >= ' ' && bytes[count] < 0x7f && bytes[count] != '"')
        count++;
    return count;
}

/* The byte-order mark may stand at the very beginning only. */
static bool take_mark(struct pd_lines *lines, const char *bytes, size_t length)
{
    static const char mark[] = {'\xef', '\xbb', '\xbf'};
    lines->started = true;
    lines->dropped = length >= sizeof mark && memcmp(bytes, mark, sizeof mark) == 0;
    return lines->dropped;
}

enum pd_status pd_lines_next(struct pd_lines *lines, const char *bytes, size_t length, size_t *used)
{
    if (!lines->started && take_mark(lines, bytes, length)) {
        *used = 3;
        return PD_OK;
    }
    const char *end = memchr(bytes, '\n', length);
    *used = end != NULL ? (size_t)(end - bytes) + 1 : length;
    if (!lines->line_open)
        begin_line(lines, bytes[0]);
    for (size_t i = plain_bytes(lines, bytes, *used); i < *used;
         i += 1 + plain_bytes(lines, bytes + i + 1, *used - i - 1)) {
        const enum pd_status status = take_byte(lines, (unsigned char)bytes[i]);
        if (status != PD_OK)
            return status;
    }
    if (end != NULL)
        lines->line_open = false;
    lines->row_length += *used;
    if (!lines->dropped && lines->row_length > PD_ROW_MAX)
        return refuse(lines, lines->row_line,
                      "is a row of more than a million bytes; is a quote left open?");
    return PD_OK;
}

void pd_lines_end(struct pd_lines *lines)
{
    if (lines->utf8.missing > 0)
        report_damage(lines);
}
