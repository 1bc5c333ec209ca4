/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/tables.h"

#include <ctype.h>
#include <stdbool.h>
#include <string.h>

#include "report/cells.h"
#include "report/page.h"
#include "report/plain.h"
#include "report/report.h"
#include "report/text.h"
#include "table/table.h"

/* "a.c. 15 Hz" does not end a sentence. */
static bool ends_sentence(const char *stop)
{
    return stop[0] == '.' &&
           (stop[1] == '\0' || (stop[1] == ' ' && !isdigit((unsigned char)stop[2])));
}

void pd_listing_purpose(const struct pd_listing *listing, char *text, size_t size)
{
    size_t length = 0;
    while (listing->comment[length] != '\0' && !ends_sentence(listing->comment + length))
        length++;
    snprintf(text, size, "%.*s", (int)length, listing->comment);
}

enum { NAME = 2, ROWS = 21, MEMORY = 29, WITHOUT = 37, PURPOSE = 39 };

static void right_count(struct pd_page *page, int column, size_t count)
{
    char text[24];
    snprintf(text, sizeof text, "%zu", count);
    pd_page_right(page, column, text);
}

static void write_list(struct pd_page *page, const struct pd_listing *listing, size_t count)
{
    static const char *const head[][4] = {{"", "from", "no", ""},
                                          {"rows", "memory", "source", "what it is for"}};
    for (size_t i = 0; i < 2; i++) {
        pd_page_to(page, NAME);
        pd_page_wrap(page, NAME, i == 1 ? "table" : "");
        pd_page_right(page, ROWS, head[i][0]);
        pd_page_right(page, MEMORY, head[i][1]);
        pd_page_right(page, WITHOUT, head[i][2]);
        pd_page_to(page, PURPOSE);
        pd_page_wrap(page, PURPOSE, head[i][3]);
        pd_page_end_line(page);
    }
    for (size_t i = 0; i < count; i++) {
        char purpose[400];
        pd_listing_purpose(&listing[i], purpose, sizeof purpose);
        pd_page_to(page, NAME);
        pd_page_wrap(page, NAME, listing[i].reference->name);
        right_count(page, ROWS, listing[i].row_count);
        right_count(page, MEMORY, pd_listing_from_memory(&listing[i]));
        right_count(page, WITHOUT, pd_listing_no_source(&listing[i]));
        pd_page_to(page, PURPOSE);
        pd_page_wrap(page, PURPOSE, purpose);
        pd_page_end_line(page);
    }
}

enum pd_status pd_tables_text(FILE *out, const struct pd_listing *listing, size_t count)
{
    struct pd_page page = {.out = out};
    size_t rows = 0, memory = 0;
    char text[400];
    for (size_t i = 0; i < count; i++) {
        rows += listing[i].row_count;
        memory += pd_listing_from_memory(&listing[i]);
    }
    snprintf(text, sizeof text,
             "%zu tables are built in, %zu rows. %zu of these, or a part of each, are from memory: "
             "hold them against the current standard before you lean on them.",
             count, rows, memory);
    pd_page_paragraph(&page, 0, "", 0, text);
    pd_page_end_line(&page);
    write_list(&page, listing, count);
    pd_page_end_line(&page);
    pd_page_paragraph(&page, 0, "", 0,
                      "No source: common practice, said as such. One table with its sources: "
                      "pendrift tables NAME; to hold it against the standard cell by cell: "
                      "pendrift tables NAME --format csv.");
    pd_text_cautions(&page);
    return ferror(out) ? PD_ERR_FILE : PD_OK;
}

enum pd_status pd_tables_csv(FILE *out, const struct pd_listing *listing, size_t count)
{
    pd_csv_head(out, "reference tables built in");
    fputs("table,rows,from_memory,no_source,purpose\n", out);
    for (size_t i = 0; i < count; i++) {
        char purpose[400];
        pd_listing_purpose(&listing[i], purpose, sizeof purpose);
        fprintf(out, "%s,%zu,%zu,%zu", listing[i].reference->name, listing[i].row_count,
                pd_listing_from_memory(&listing[i]), pd_listing_no_source(&listing[i]));
        pd_csv_text(out, purpose);
        fputc('\n', out);
    }
    return ferror(out) ? PD_ERR_FILE : PD_OK;
}

/* One table. A column stands in the row where there is room for it, else under it. */
enum place { IN_ROW, UNDER_ROW, AS_SOURCE };

struct column {
    enum place place;
    bool numeric;
    int width; /* of the widest cell and of the head's parts */
};

enum { COLUMNS_MOST = 32, WIDEST = 24, HEAD_PART = 8, BETWEEN = 2, UNDER = 6 };

/* Six digits are what a reader wants; all of them stand in the CSV. */
static struct pd_plain cell_text(const struct pd_listing *l, size_t row, size_t column)
{
    struct pd_plain cell = pd_plain(l->cells[row * l->column_count + column]);
    double value;
    if (strlen(cell.text) > 8 && pd_parse_number(cell.text, &value))
        snprintf(cell.text, sizeof cell.text, "%.6g", value);
    return cell;
}

/* Where a column's name may be broken: behind each '_'. The bytes of its next part, at most
 * `width` where that can be. */
static size_t head_part(const char *name, size_t width)
{
    size_t fits = 0;
    for (size_t i = 1; name[i - 1] != '\0'; i++)
        if (name[i] == '\0' || name[i] == '_') {
            if (fits > 0 && i > width)
                break;
            fits = i;
        }
    return fits;
}

/* The width that a name takes in parts of at most HEAD_PART, or of its longest. */
static int head_width(const char *name)
{
    size_t widest = 0;
    for (const char *part = name; *part != '\0'; part += head_part(part, HEAD_PART))
        if (head_part(part, HEAD_PART) > widest)
            widest = head_part(part, HEAD_PART);
    return (int)widest;
}

static void lay_out(const struct pd_listing *l, struct column *columns)
{
    int used = NAME + BETWEEN + 3; /* the number of the source comes last */
    for (size_t i = 0; i < l->column_count; i++) {
        struct column *const c = &columns[i];
        *c = (struct column){.place = IN_ROW, .numeric = pd_listing_numeric(l, i)};
        c->width = head_width(l->columns[i]);
        for (size_t row = 0; row < l->row_count; row++) {
            const int width = (int)pd_plain_length(cell_text(l, row, i).text);
            c->width = width > c->width ? width : c->width;
        }
        if (strcmp(l->columns[i], "source") == 0)
            c->place = AS_SOURCE;
        else if ((c->width > WIDEST && i > 0) || used + c->width + BETWEEN > PD_REPORT_WIDTH)
            c->place = UNDER_ROW;
        else
            used += c->width + BETWEEN;
    }
}

static void write_cell(struct pd_page *page, const struct column *c, int *at, const char *text)
{
    if (c->numeric && text[0] != '\0') {
        pd_page_right(page, *at + c->width, text);
    } else if (text[0] != '\0') {
        pd_page_to(page, *at);
        pd_page_wrap(page, *at, text);
    }
    *at += c->width + BETWEEN;
}

/* How many lines a name takes. */
static size_t head_lines(const char *name, const struct column *c)
{
    size_t lines = 0;
    for (; *name != '\0'; name += head_part(name, (size_t)c->width))
        lines++;
    return lines;
}

/* The names of the columns, all ending on the line before the rows. */
static void write_head(struct pd_page *page, const struct pd_listing *l,
                       const struct column *columns)
{
    const char *rest[COLUMNS_MOST];
    size_t lines = 1;
    memcpy(rest, l->columns, l->column_count * sizeof *rest);
    for (size_t i = 0; i < l->column_count; i++)
        if (columns[i].place == IN_ROW && head_lines(rest[i], &columns[i]) > lines)
            lines = head_lines(rest[i], &columns[i]);
    for (; lines > 0; lines--) {
        int at = NAME;
        for (size_t i = 0; i < l->column_count; i++) {
            const struct column *const c = &columns[i];
            char part[64] = "";
            if (c->place != IN_ROW)
                continue;
            if (head_lines(rest[i], c) == lines) {
                const size_t length = head_part(rest[i], (size_t)c->width);
                snprintf(part, sizeof part, "%.*s", (int)length, rest[i]);
                rest[i] += length;
            }
            write_cell(page, c, &at, part);
        }
        if (lines == 1 && pd_listing_column(l, "source") < l->column_count) {
            pd_page_to(page, at);
            pd_page_wrap(page, at, "from");
        }
        pd_page_end_line(page);
    }
}

/* The number of a row's source: equal ones have the number of the first. */
static size_t source_number(const struct pd_listing *l, size_t source, size_t row)
{
    size_t number = 0;
    for (size_t i = 0; i <= row; i++) {
        size_t first = 0;
        while (strcmp(l->cells[first * l->column_count + source],
                      l->cells[i * l->column_count + source]) != 0)
            first++;
        number += first == i;
        if (strcmp(l->cells[i * l->column_count + source],
                   l->cells[row * l->column_count + source]) == 0)
            return number;
    }
    return number;
}

static void write_row(struct pd_page *page, const struct pd_listing *l,
                      const struct column *columns, size_t row)
{
    int at = NAME;
    const size_t source = pd_listing_column(l, "source");
    for (size_t i = 0; i < l->column_count; i++)
        if (columns[i].place == IN_ROW)
            write_cell(page, &columns[i], &at, cell_text(l, row, i).text);
    if (source < l->column_count) {
        char number[24];
        snprintf(number, sizeof number, "%zu", source_number(l, source, row));
        pd_page_right(page, at + 4, number);
    }
    pd_page_end_line(page);
    for (size_t i = 0; i < l->column_count; i++)
        if (columns[i].place == UNDER_ROW && cell_text(l, row, i).text[0] != '\0') {
            char text[600];
            snprintf(text, sizeof text, "%s: %s", l->columns[i], cell_text(l, row, i).text);
            pd_page_paragraph(page, UNDER, "", UNDER, text);
        }
}

static void write_sources(struct pd_page *page, const struct pd_listing *l)
{
    const size_t source = pd_listing_column(l, "source");
    if (source == l->column_count)
        return;
    pd_page_heading(page, "FROM");
    for (size_t row = 0, told = 0; row < l->row_count; row++)
        if (source_number(l, source, row) > told) {
            char number[24];
            told++;
            snprintf(number, sizeof number, "%3zu", told);
            pd_page_paragraph(page, NAME, number, NAME + 5,
                              pd_plain(l->cells[row * l->column_count + source]).text);
        }
}

/* More than pd_page_wrap takes at a time. */
static void write_comment(struct pd_page *page, const char *comment)
{
    enum { PIECE = 300 };
    while (*comment != '\0') {
        char piece[PIECE + 1];
        size_t length = strlen(comment);
        if (length > PIECE)
            for (length = PIECE; length > 1 && comment[length] != ' ';)
                length--;
        snprintf(piece, sizeof piece, "%.*s", (int)length, comment);
        if (page->column > 0)
            pd_page_to(page, page->column);
        pd_page_wrap(page, 0, piece);
        comment += length + (comment[length] == ' ');
    }
    pd_page_end_line(page);
}

enum pd_status pd_listing_text(FILE *out, const struct pd_listing *listing)
{
    struct pd_page page = {.out = out};
    struct column columns[COLUMNS_MOST];
    char text[200];
    if (listing->column_count > COLUMNS_MOST)
        return PD_ERR_MEMORY;
    lay_out(listing, columns);
    snprintf(text, sizeof text,
             "Table %s: %zu rows, %zu of them from memory or partly so, %zu without a source.",
             listing->reference->name, listing->row_count, pd_listing_from_memory(listing),
             pd_listing_no_source(listing));
    pd_page_paragraph(&page, 0, "", 0, text);
    pd_page_end_line(&page);
    write_comment(&page, listing->comment);
    pd_page_end_line(&page);
    write_head(&page, listing, columns);
    for (size_t row = 0; row < listing->row_count; row++)
        write_row(&page, listing, columns, row);
    write_sources(&page, listing);
    pd_text_cautions(&page);
    return ferror(out) ? PD_ERR_FILE : PD_OK;
}
