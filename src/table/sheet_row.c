/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <csv.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "table/lines.h"
#include "table/names.h"
#include "table/sheet.h"

const char *const pd_row_fault_texts[PD_ROW_FAULTS] = {
    [PD_ROW_GOOD] = "",
    [PD_ROW_CELLS] = "has more or fewer cells than the header",
    [PD_ROW_QUOTES] = "has a quote out of place, or one that is never closed",
    [PD_ROW_BYTES] = "is not UTF-8 text",
};

/* Where in a cell the walk along a row is. */
enum place { AT_START, IN_PLAIN, IN_QUOTES, AFTER_QUOTES };

static enum place step(enum place place, char letter, enum pd_row_fault *fault)
{
    if (place == IN_QUOTES)
        return letter == '"' ? AFTER_QUOTES : IN_QUOTES;
    if (letter == ',')
        return AT_START;
    if (letter == '"') {
        if (place == IN_PLAIN)
            *fault = PD_ROW_QUOTES;
        return place == IN_PLAIN ? IN_PLAIN : IN_QUOTES; /* after quotes: a quote written twice */
    }
    if (letter == ' ' || letter == '\t' || letter == '\r')
        return place;
    if (place == AFTER_QUOTES)
        *fault = PD_ROW_QUOTES;
    return IN_PLAIN;
}

size_t pd_sheet_row_end(const char *text, size_t length, size_t at, bool whole,
                        enum pd_row_fault *fault)
{
    const char *const line_end = memchr(text + at, '\n', length - at);
    const size_t first = line_end != NULL ? (size_t)(line_end - text) + 1
                         : whole          ? length
                                          : PD_NONE;
    const size_t scan = first != PD_NONE ? first : length;
    *fault = PD_ROW_GOOD;
    if (memchr(text + at, '"', scan - at) == NULL)
        return first == PD_NONE && length - at > PD_ROW_MAX ? length : first;
    enum place place = AT_START;
    for (size_t i = at; i < length && i - at <= PD_ROW_MAX; i++) {
        if (text[i] == '\n' && place != IN_QUOTES)
            return i + 1;
        place = step(place, text[i], fault);
        if (*fault != PD_ROW_GOOD) /* the quote may have been open for lines: they are not its */
            return first == PD_NONE && length - at > PD_ROW_MAX ? length : first;
    }
    if (whole && place != IN_QUOTES && length - at <= PD_ROW_MAX)
        return length;
    if (!whole && length - at <= PD_ROW_MAX)
        return PD_NONE;
    *fault = PD_ROW_QUOTES;
    return first != PD_NONE ? first : length;
}

struct pd_sheet_reader {
    const struct pd_sheet_block *block;
    size_t at, line, width;
    struct csv_parser parser;
    char *text; /* of the row's cells, each ended with NUL */
    size_t used, room;
    const char **cell;
    size_t *start; /* of each cell in `text`, while it grows */
    size_t count, cell_room;
    bool memory; /* ran out */
};

enum pd_status pd_sheet_reader_new(size_t width, struct pd_sheet_reader **out)
{
    struct pd_sheet_reader *r = *out = calloc(1, sizeof *r);
    if (r == NULL)
        return PD_ERR_MEMORY;
    r->width = width;
    csv_init(&r->parser, CSV_STRICT | CSV_STRICT_FINI | CSV_APPEND_NULL);
    csv_set_blk_size(&r->parser, 4096);
    return PD_OK;
}

void pd_sheet_reader_free(struct pd_sheet_reader **reader)
{
    if (*reader == NULL)
        return;
    csv_free(&(*reader)->parser);
    free((*reader)->text);
    free((*reader)->cell);
    free((*reader)->start);
    free(*reader);
    *reader = NULL;
}

void pd_sheet_reader_start(struct pd_sheet_reader *r, const struct pd_sheet_block *block)
{
    r->block = block;
    r->at = 0;
    r->line = block->line;
}

static bool make_room(struct pd_sheet_reader *r, size_t text, size_t cells)
{
    if (text > r->room) {
        char *const larger = realloc(r->text, 2 * text);
        if (larger == NULL)
            return false;
        r->text = larger;
        r->room = 2 * text;
    }
    if (cells > r->cell_room) {
        const char **const cell = reallocarray(r->cell, 2 * cells, sizeof *cell);
        if (cell == NULL)
            return false;
        r->cell = cell;
        size_t *const start = reallocarray(r->start, 2 * cells, sizeof *start);
        if (start == NULL)
            return false;
        r->start = start;
        r->cell_room = 2 * cells;
    }
    return true;
}

static bool is_blank(char letter)
{
    return letter == ' ' || letter == '\t';
}

/* Ends the cell that runs from *at to `comma`, blanks round it taken off, and goes to the next. */
static bool end_cell(struct pd_sheet_reader *r, char **at, char *comma)
{
    char *first = *at, *last = comma;
    if (r->count >= r->cell_room && !make_room(r, 0, r->count + 1))
        return false;
    while (first < last && is_blank(*first))
        first++;
    while (last > first && is_blank(last[-1]))
        last--;
    *last = '\0';
    r->cell[r->count++] = first;
    *at = comma + 1;
    return true;
}

/* The high bit of each byte that is a comma, no other: eight bytes at a time, as looking at one
 * after the other would be half of an audit's time. */
static uint64_t commas_of(const char *eight)
{
    const uint64_t low = UINT64_C(0x7f7f7f7f7f7f7f7f);
    uint64_t word;
    memcpy(&word, eight, sizeof word);
    word ^= UINT64_C(0x2c2c2c2c2c2c2c2c);
    return ~(((word & low) + low) | word | low);
}

/* Which byte in memory the first mark is of, and the marks without it. */
static int take_mark(uint64_t *marks)
{
#if __BYTE_ORDER__ == __ORDER_LITTLE_ENDIAN__
    const int byte = __builtin_ctzll(*marks) / 8;
    *marks &= *marks - 1;
#else
    const int byte = __builtin_clzll(*marks) / 8;
    *marks &= ~(UINT64_C(0x8000000000000000) >> 8 * byte);
#endif
    return byte;
}

/* A row without a quote is its bytes between commas: the copy's commas become the cells' ends. */
static bool split_plain(struct pd_sheet_reader *r, struct pd_bytes raw)
{
    if (!make_room(r, raw.length + 9, r->width + 1))
        return false;
    memcpy(r->text, raw.at, raw.length);
    memset(r->text + raw.length, '\0', 9); /* read, eight at a time, past the end */
    char *const end = r->text + raw.length;
    char *at = r->text;
    r->count = 0;
    for (char *eight = r->text; eight < end; eight += 8)
        for (uint64_t marks = commas_of(eight); marks != 0;)
            if (!end_cell(r, &at, eight + take_mark(&marks)))
                return false;
    return end_cell(r, &at, end);
}

static void on_cell(void *cell, size_t length, void *context)
{
    struct pd_sheet_reader *const r = context;
    if (r->memory || !make_room(r, r->used + length + 1, r->count + 1)) {
        r->memory = true;
        return;
    }
    memcpy(r->text + r->used, cell, length);
    r->text[r->used + length] = '\0';
    r->start[r->count++] = r->used;
    r->used += length + 1;
}

static void on_row(int end, void *context)
{
    (void)end, (void)context;
}

static enum pd_row_fault split_quoted(struct pd_sheet_reader *r, struct pd_bytes raw)
{
    r->used = r->count = 0;
    const bool read = csv_parse(&r->parser, raw.at, raw.length, on_cell, on_row, r) == raw.length;
    const bool closed = csv_fini(&r->parser, on_cell, on_row, r) == 0;
    if (!read || !closed) {
        csv_free(&r->parser);
        csv_init(&r->parser, CSV_STRICT | CSV_STRICT_FINI | CSV_APPEND_NULL);
        csv_set_blk_size(&r->parser, 4096);
        return PD_ROW_QUOTES;
    }
    for (size_t i = 0; i < r->count && !r->memory; i++)
        r->cell[i] = r->text + r->start[i];
    return PD_ROW_GOOD;
}

/* Whether there is any byte but printable ASCII: the rest is looked at more closely. */
static bool is_odd(struct pd_bytes raw)
{
    int odd = 0;
    for (size_t i = 0; i < raw.length; i++)
        odd |= (signed char)raw.at[i] < ' ';
    return odd;
}

static bool is_text(struct pd_bytes raw, bool quoted)
{
    struct pd_utf8 state = {0};
    for (size_t i = 0; i < raw.length; i++) {
        const unsigned char byte = (unsigned char)raw.at[i];
        if (byte == '\0' || (byte == '\r' && !quoted) || !pd_utf8_step(&state, byte))
            return false;
    }
    return state.missing == 0;
}

static void take_apart(struct pd_sheet_reader *r, struct pd_sheet_row *row)
{
    const bool quoted = memchr(row->raw.at, '"', row->raw.length) != NULL;
    if (is_odd(row->raw) && !is_text(row->raw, quoted))
        row->fault = PD_ROW_BYTES;
    if (row->fault != PD_ROW_GOOD)
        return;
    if (quoted)
        row->fault = split_quoted(r, row->raw);
    else
        r->memory |= !split_plain(r, row->raw);
    if (row->fault != PD_ROW_GOOD)
        return;
    row->cell = r->cell;
    row->count = r->count;
    if (r->count != r->width)
        row->fault = PD_ROW_CELLS;
}

/* A row is one line unless a quoted cell goes on. */
static size_t lines_of(const struct pd_sheet_row *row)
{
    size_t lines = 0;
    const char *const end = row->raw.at + row->raw.length;
    for (const char *at = row->raw.at; at < end; lines++) {
        const char *const line_end = memchr(at, '\n', (size_t)(end - at));
        at = line_end != NULL ? line_end + 1 : end;
    }
    return lines;
}

static bool is_empty(struct pd_bytes raw)
{
    for (size_t i = 0; i < raw.length; i++)
        if (!is_blank(raw.at[i]))
            return false;
    return true;
}

enum pd_status pd_sheet_reader_next(struct pd_sheet_reader *r, struct pd_sheet_row *row, bool *more)
{
    const struct pd_sheet_block *const b = r->block;
    while (r->at < b->length) {
        *row = (struct pd_sheet_row){.line = r->line, .raw.at = b->text + r->at};
        const size_t end = pd_sheet_row_end(b->text, b->length, r->at, true, &row->fault);
        row->raw.length = end - r->at;
        r->at = end;
        r->line += lines_of(row);
        while (row->raw.length > 0 && (row->raw.at[row->raw.length - 1] == '\n' ||
                                       row->raw.at[row->raw.length - 1] == '\r'))
            row->raw.length--;
        if (is_empty(row->raw))
            continue;
        take_apart(r, row);
        *more = true;
        return r->memory ? PD_ERR_MEMORY : PD_OK;
    }
    *more = false;
    return PD_OK;
}
