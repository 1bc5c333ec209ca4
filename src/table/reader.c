/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "table/reader.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "table/names.h"
#include "table/words.h"

void pd_reader_fail(struct pd_reader *reader, enum pd_status status, size_t line, const char *what)
{
    reader->status = pd_errors_add(reader->errors, status, reader->table, line, "", "%s", what);
}

static void fail_memory(struct pd_reader *reader)
{
    pd_reader_fail(reader, PD_ERR_MEMORY, reader->lines.line, pd_status_text(PD_ERR_MEMORY));
}

static void *grow(void *old, size_t *room, size_t needed, size_t item_size)
{
    size_t larger = *room > 0 ? *room : 64;
    while (larger < needed)
        larger *= 2; /* ends: needed is at most a few PD_ROW_MAX */
    void *new = larger > *room ? reallocarray(old, larger, item_size) : old;
    if (new != NULL)
        *room = larger;
    return new;
}

static bool gather(struct pd_gathered *row, const char *cell, size_t length)
{
    if (row->count < row->wanted) {
        char *text = grow(row->text, &row->size, row->used + length + 1, 1);
        if (text == NULL)
            return false;
        row->text = text;
        size_t *starts = grow(row->starts, &row->room, row->count + 1, sizeof *starts);
        if (starts == NULL)
            return false;
        row->starts = starts;
        starts[row->count] = row->used;
        memcpy(text + row->used, cell, length + 1); /* CSV_APPEND_NULL */
        row->used += length + 1;
    }
    row->count++;
    return true;
}

static const char *gathered_cell(const struct pd_gathered *row, size_t index)
{
    return row->text + row->starts[index];
}

static size_t find_column(const struct pd_reader *reader, const char *name)
{
    for (size_t i = 0; i < reader->column_count; i++)
        if (strcmp(name, reader->names[i]) == 0)
            return i;
    return PD_NONE;
}

/* `cells` marks the columns that the header has, until the first row. */
static void take_known_column(struct pd_reader *reader, size_t index)
{
    const char *name = gathered_cell(&reader->row, index);
    const size_t column = find_column(reader, name);
    reader->column_of[index] = column;
    if (column == PD_NONE)
        return;
    reader->given[column] = true;
    if (reader->cells[column] != NULL)
        pd_errors_add(reader->errors, PD_ERR_INPUT, reader->table, reader->lines.row_line, "",
                      "column '%s' is given twice", name);
    reader->cells[column] = name;
}

static void report_unknown_column(struct pd_reader *reader, size_t index)
{
    const char *name = gathered_cell(&reader->row, index);
    const size_t nearest = pd_nearest(name, reader->names, reader->column_count);
    const size_t line = reader->lines.row_line;
    char list[sizeof reader->errors->kept[0].text];
    pd_list_names(list, sizeof list, reader->names, reader->column_count);
    if (name[0] == '\0') {
        pd_errors_add(reader->errors, PD_ERR_INPUT, reader->table, line, "",
                      "cell %zu is empty; it must name a column", index + 1);
    } else if (nearest < reader->column_count) {
        pd_errors_add(reader->errors, PD_ERR_INPUT, reader->table, line, "",
                      "unknown column '%s'; did you mean '%s'?", pd_show(name).text,
                      reader->names[nearest]);
        reader->cells[nearest] = name; /* one fault, one line: not also missing */
    } else {
        pd_errors_add(reader->errors, PD_ERR_INPUT, reader->table, line, "",
                      "unknown column '%s'; the columns are: %s", pd_show(name).text, list);
    }
}

/* Makes the header's cells the columns, and shows them to whoever knows what they mean. */
static void take_any_header(struct pd_reader *reader)
{
    const struct pd_gathered *const row = &reader->row;
    const size_t count = row->count, before = reader->errors->count;
    reader->header_text = malloc(row->used);
    reader->header_columns = calloc(count, sizeof *reader->header_columns);
    free(reader->cells);
    reader->cells = calloc(count, sizeof *reader->cells);
    reader->column_of = reallocarray(NULL, count, sizeof *reader->column_of);
    if (reader->header_text == NULL || reader->header_columns == NULL || reader->cells == NULL ||
        reader->column_of == NULL) {
        fail_memory(reader);
        return;
    }
    memcpy(reader->header_text, row->text, row->used);
    for (size_t i = 0; i < count; i++) {
        reader->header_columns[i].name = reader->header_text + row->starts[i];
        reader->column_of[i] = i;
    }
    reader->columns = reader->header_columns;
    reader->column_count = reader->row.wanted = count;
    if (reader->lines.damaged)
        reader->status = PD_ERR_INPUT;
    else
        reader->status = reader->header_function(reader->columns, count, reader->lines.row_line,
                                                 reader->context, reader->errors);
    if (reader->status != PD_OK && reader->errors->count == before)
        pd_reader_fail(reader, reader->status, reader->lines.row_line,
                       pd_status_text(reader->status));
}

static void take_header(struct pd_reader *reader)
{
    const size_t before = reader->errors->count, count = reader->row.count;
    if (count == 1 && strpbrk(gathered_cell(&reader->row, 0), ";\t") != NULL) {
        pd_reader_fail(reader, PD_ERR_INPUT, reader->lines.row_line,
                       "names one column only; put commas between the cells, not semicolons or "
                       "tabs");
        return;
    }
    if (reader->header_function != NULL) {
        take_any_header(reader);
        return;
    }
    reader->column_of = reallocarray(NULL, count, sizeof *reader->column_of);
    if (reader->column_of == NULL) {
        fail_memory(reader);
        return;
    }
    for (size_t i = 0; i < count; i++)
        take_known_column(reader, i);
    for (size_t i = 0; i < count; i++)
        if (reader->column_of[i] == PD_NONE)
            report_unknown_column(reader, i);
    for (size_t i = 0; i < reader->column_count; i++)
        if (reader->columns[i].required && reader->cells[i] == NULL)
            pd_errors_add(reader->errors, PD_ERR_INPUT, reader->table, reader->lines.row_line, "",
                          "column '%s' is missing", reader->names[i]);
    /* Against a wrong header every row would be wrong again. */
    if (reader->errors->count > before || reader->lines.damaged)
        reader->status = PD_ERR_INPUT;
    for (size_t i = 0; i < reader->column_count; i++)
        reader->cells[i] = ""; /* and stays so where the header has no such column */
    reader->row.wanted = count;
}

static void take_row(struct pd_reader *reader)
{
    const struct pd_gathered *row = &reader->row;
    const size_t line = reader->lines.row_line;
    if (row->count != row->wanted)
        pd_errors_add(reader->errors, PD_ERR_INPUT, reader->table, line, "",
                      "has %zu cell%s, the header has %zu", row->count, row->count == 1 ? "" : "s",
                      row->wanted);
    if (row->count != row->wanted || reader->lines.damaged)
        return;
    for (size_t i = 0; i < row->count; i++)
        reader->cells[reader->column_of[i]] = gathered_cell(row, i);
    const struct pd_row lent = {.table = reader->table,
                                .line = line,
                                .columns = reader->columns,
                                .column_count = reader->column_count,
                                .cells = reader->cells,
                                .given = reader->given,
                                .bytes = reader->bytes};
    const size_t before = reader->errors->count;
    const enum pd_status status = reader->row_function(&lent, reader->context, reader->errors);
    if (status != PD_OK && reader->errors->count == before)
        pd_errors_add(reader->errors, status, reader->table, line, "", "%s",
                      pd_status_text(status));
    if (status != PD_ERR_INPUT)
        reader->status = status;
}

void pd_reader_cell(struct pd_reader *reader, const char *cell, size_t length)
{
    if (reader->status == PD_OK && !gather(&reader->row, cell, length))
        fail_memory(reader);
}

void pd_reader_row(struct pd_reader *reader)
{
    if (reader->status == PD_OK) {
        if (reader->column_of == NULL)
            take_header(reader);
        else
            take_row(reader);
    }
    reader->row.count = 0;
    reader->row.used = 0;
}

enum pd_status pd_reader_begin(struct pd_reader *reader)
{
    const size_t count = reader->column_count;
    pd_lines_start(&reader->lines, reader->table, reader->errors);
    reader->names = reallocarray(NULL, count + 1, sizeof *reader->names);
    reader->cells = calloc(count + 1, sizeof *reader->cells);
    reader->given = calloc(count + 1, sizeof *reader->given);
    if (reader->names == NULL || reader->cells == NULL || reader->given == NULL) {
        fail_memory(reader);
        return PD_ERR_MEMORY;
    }
    for (size_t i = 0; i < count; i++)
        reader->names[i] = reader->columns[i].name;
    reader->row.wanted = SIZE_MAX;
    return PD_OK;
}

void pd_reader_end(struct pd_reader *reader)
{
    free(reader->names);
    free(reader->header_text);
    free(reader->header_columns);
    free(reader->cells);
    free(reader->given);
    free(reader->column_of);
    free(reader->row.text);
    free(reader->row.starts);
}
