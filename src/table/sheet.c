/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "table/sheet.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "table/lines.h"
#include "table/names.h"

enum { BLOCK = 1 << 18 };

struct pd_sheet {
    FILE *file;
    const char *name;
    double size; /* bytes; 0: not known */
    double done;
    bool ended, marked;
    char *carry; /* the beginning of the next block */
    size_t carried, carry_room;
    size_t line, number;
    long rows_at; /* where the first row is, and its line */
    size_t rows_line;
    struct pd_sheet_block head; /* comments and header */
    struct pd_bytes comments, header;
    size_t header_line;
    struct pd_sheet_reader *reader;
    const char *const *column;
    size_t width;
};

static enum pd_status fail(const struct pd_sheet *s, const char *what, struct pd_errors *errors)
{
    return pd_errors_add(errors, errno == ENOMEM ? PD_ERR_MEMORY : PD_ERR_FILE, s->name, 0, "",
                         "cannot be %s: %s", what, strerror(errno));
}

void pd_sheet_block_free(struct pd_sheet_block *block)
{
    free(block->text);
    *block = (struct pd_sheet_block){0};
}

static bool make_room(struct pd_sheet_block *block, size_t needed)
{
    if (needed <= block->room)
        return true;
    char *const larger = realloc(block->text, needed);
    if (larger == NULL)
        return false;
    block->text = larger;
    block->room = needed;
    return true;
}

/* Standard input is read twice: what cannot be is copied. */
static FILE *open_input(const char *path)
{
    if (strcmp(path, "-") != 0)
        return fopen(path, "rb");
    if (fseek(stdin, 0, SEEK_CUR) == 0)
        return stdin;
    FILE *const copy = tmpfile();
    char chunk[1 << 14];
    size_t length;
    bool good = copy != NULL;
    while (good && (length = fread(chunk, 1, sizeof chunk, stdin)) > 0)
        good = fwrite(chunk, 1, length, copy) == length;
    good = good && !ferror(stdin) && fflush(copy) == 0;
    if (good)
        rewind(copy);
    else if (copy != NULL)
        fclose(copy);
    return good ? copy : NULL;
}

/* The last end of a row in block->text, PD_NONE where there is none. Between quotes every line is a
 * row: only those with one are looked at. */
static size_t last_end(const struct pd_sheet_block *block, bool whole)
{
    const char *const text = block->text;
    const size_t length = block->length;
    size_t at = 0, found = PD_NONE;
    enum pd_row_fault fault;
    while (at < length) {
        const char *const quote = memchr(text + at, '"', length - at);
        const size_t plain = quote != NULL ? (size_t)(quote - text) : length;
        const char *const line_end = memrchr(text + at, '\n', plain - at);
        if (line_end != NULL)
            found = at = (size_t)(line_end - text) + 1;
        if (at == length)
            break;
        const size_t end = pd_sheet_row_end(text, length, at, whole, &fault);
        if (end == PD_NONE)
            break;
        found = at = end;
    }
    return found;
}

static size_t count_lines(const char *text, size_t length)
{
    size_t lines = 0;
    for (size_t i = 0; i < length; i++)
        lines += text[i] == '\n';
    return lines;
}

static enum pd_status keep_rest(struct pd_sheet *s, struct pd_sheet_block *block, size_t end)
{
    const size_t rest = block->length - end;
    if (rest > s->carry_room) {
        char *const larger = realloc(s->carry, rest);
        if (larger == NULL)
            return PD_ERR_MEMORY;
        s->carry = larger;
        s->carry_room = rest;
    }
    if (rest > 0)
        memcpy(s->carry, block->text + end, rest);
    s->carried = rest;
    block->length = end;
    return PD_OK;
}

/* Reads on until a whole row is there. */
static enum pd_status fill(struct pd_sheet *s, struct pd_sheet_block *block,
                           struct pd_errors *errors)
{
    block->length = s->carried;
    if (!make_room(block, s->carried + BLOCK))
        return PD_ERR_MEMORY;
    if (s->carried > 0)
        memcpy(block->text, s->carry, s->carried);
    s->carried = 0;
    for (;;) {
        if (!make_room(block, block->length + BLOCK))
            return PD_ERR_MEMORY;
        const size_t length = s->ended ? 0 : fread(block->text + block->length, 1, BLOCK, s->file);
        if (ferror(s->file))
            return fail(s, "read", errors);
        s->ended |= length < BLOCK;
        s->done += (double)length;
        block->length += length;
        const size_t end = last_end(block, s->ended);
        if (end == PD_NONE && !s->ended)
            continue;
        const enum pd_status status = keep_rest(s, block, end == PD_NONE ? block->length : end);
        s->line += count_lines(block->text, block->length);
        return status;
    }
}

enum pd_status pd_sheet_next(struct pd_sheet *s, struct pd_sheet_block *block,
                             struct pd_errors *errors)
{
    block->line = s->line;
    block->number = s->number++;
    return fill(s, block, errors);
}

/* Where the header begins in the first block: behind byte-order mark, comments, blank lines. */
static size_t find_header(struct pd_sheet *s)
{
    const struct pd_sheet_block *const h = &s->head;
    size_t at = s->marked ? 3 : 0;
    s->comments.at = h->text + at;
    s->header_line = 1;
    while (at < h->length) {
        const char *const end = memchr(h->text + at, '\n', h->length - at);
        const size_t blanks = strspn(h->text + at, " \t\r");
        if (h->text[at] != '#' && h->text[at + blanks] != '\n' && h->text[at + blanks] != '\0')
            break;
        if (end == NULL)
            return h->length;
        at = (size_t)(end - h->text) + 1;
        s->header_line++;
    }
    s->comments.length = (size_t)(h->text + at - s->comments.at);
    return at;
}

static enum pd_status refuse(const struct pd_sheet *s, size_t line, const char *what,
                             struct pd_errors *errors)
{
    return pd_errors_add(errors, PD_ERR_INPUT, s->name, line, "", "%s", what);
}

static enum pd_status take_header(struct pd_sheet *s, struct pd_errors *errors)
{
    static const char mark[] = {'\xef', '\xbb', '\xbf'};
    struct pd_sheet_block *const h = &s->head;
    enum pd_row_fault fault;
    struct pd_sheet_row row;
    bool more;
    s->marked = h->length >= sizeof mark && memcmp(h->text, mark, sizeof mark) == 0;
    if (!make_room(h, h->length + 1))
        return PD_ERR_MEMORY;
    h->text[h->length] = '\0';
    const size_t at = find_header(s);
    if (at >= h->length)
        return refuse(s, 0, "is empty; its first line must name the columns", errors);
    const size_t end = pd_sheet_row_end(h->text, h->length, at, true, &fault);
    s->header = (struct pd_bytes){h->text + at, end - at};
    s->rows_at = (long)end;
    s->rows_line = s->header_line;
    for (size_t i = at; i < end; i++)
        s->rows_line += h->text[i] == '\n';
    const struct pd_sheet_block only = {.text = h->text + at, .length = end - at, .line = 1};
    enum pd_status status = pd_sheet_reader_new(0, &s->reader);
    if (status != PD_OK)
        return status;
    pd_sheet_reader_start(s->reader, &only);
    status = pd_sheet_reader_next(s->reader, &row, &more);
    if (status != PD_OK)
        return status;
    if (row.cell == NULL)
        return refuse(s, s->header_line, pd_row_fault_texts[row.fault], errors);
    if (row.count == 1 && strpbrk(row.cell[0], ";\t") != NULL)
        return refuse(s, s->header_line,
                      "names one column only; put commas between the cells, not semicolons or "
                      "tabs",
                      errors);
    s->column = row.cell;
    s->width = row.count;
    return PD_OK;
}

enum pd_status pd_sheet_rewind(struct pd_sheet *s, struct pd_errors *errors)
{
    if (fseek(s->file, s->rows_at, SEEK_SET) != 0)
        return fail(s, "read a second time", errors);
    s->ended = false;
    s->carried = 0;
    s->done = (double)s->rows_at;
    s->line = s->rows_line;
    s->number = 0;
    return PD_OK;
}

static enum pd_status start(struct pd_sheet *s, const char *path, struct pd_errors *errors)
{
    errno = 0;
    s->file = open_input(path);
    if (s->file == NULL)
        return fail(s, "opened", errors);
    s->line = 1;
    enum pd_status status = fill(s, &s->head, errors);
    if (status == PD_OK)
        status = take_header(s, errors);
    if (status == PD_OK && fseek(s->file, 0, SEEK_END) == 0)
        s->size = (double)ftell(s->file);
    return status == PD_OK ? pd_sheet_rewind(s, errors) : status;
}

enum pd_status pd_sheet_open(const char *path, const char *name, struct pd_sheet **out,
                             struct pd_errors *errors)
{
    struct pd_sheet *s = *out = calloc(1, sizeof *s);
    if (s == NULL)
        return PD_ERR_MEMORY;
    s->name = name;
    const enum pd_status status = start(s, path, errors);
    if (status != PD_OK)
        pd_sheet_free(out);
    return status;
}

void pd_sheet_free(struct pd_sheet **sheet)
{
    struct pd_sheet *const s = *sheet;
    if (s == NULL)
        return;
    if (s->file != NULL && s->file != stdin)
        fclose(s->file); /* was only read, or is nobody's */
    pd_sheet_reader_free(&s->reader);
    pd_sheet_block_free(&s->head);
    free(s->carry);
    free(s);
    *sheet = NULL;
}

size_t pd_sheet_width(const struct pd_sheet *s)
{
    return s->width;
}

const char *pd_sheet_column(const struct pd_sheet *s, size_t index)
{
    return s->column[index];
}

struct pd_bytes pd_sheet_header(const struct pd_sheet *s)
{
    return s->header;
}

struct pd_bytes pd_sheet_comments(const struct pd_sheet *s)
{
    return s->comments;
}

bool pd_sheet_marked(const struct pd_sheet *s)
{
    return s->marked;
}

size_t pd_sheet_header_line(const struct pd_sheet *s)
{
    return s->header_line;
}

double pd_sheet_share(const struct pd_sheet *s)
{
    return s->size > 0 ? s->done / s->size : 0;
}
