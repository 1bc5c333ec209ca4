/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "table/table.h"

#include <csv.h>
#include <errno.h>
#include <stdio.h>
#include <string.h>

#include "table/lines.h"
#include "table/reader.h"
#include "table/words.h"

enum { CHUNK_SIZE = 1 << 14 };

static void on_cell(void *cell, size_t length, void *data)
{
    pd_reader_cell(data, cell, length);
}

static void on_row(int end, void *data)
{
    (void)end;
    pd_reader_row(data);
}

static void report_quote(struct pd_reader *reader)
{
    char began[64] = "";
    if (reader->lines.row_line < reader->lines.line)
        snprintf(began, sizeof began, " (the row began on line %zu)", reader->lines.row_line);
    reader->status = pd_errors_add(
        reader->errors, PD_ERR_INPUT, reader->table, reader->lines.line, "",
        "has a quote out of place%s; put quotes round the whole cell and write a quote within it "
        "twice; nothing further was read",
        began);
}

static void feed(struct pd_reader *reader, struct csv_parser *parser, const char *bytes,
                 size_t length)
{
    while (length > 0 && reader->status == PD_OK) {
        size_t used;
        reader->status = pd_lines_next(&reader->lines, bytes, length, &used);
        if (reader->status != PD_OK)
            return;
        reader->bytes += used;
        if (!reader->lines.dropped &&
            csv_parse(parser, bytes, used, on_cell, on_row, reader) != used) {
            if (csv_error(parser) == CSV_EPARSE)
                report_quote(reader);
            else
                pd_reader_fail(reader, PD_ERR_MEMORY, reader->lines.line,
                               pd_status_text(PD_ERR_MEMORY));
        }
        bytes += used;
        length -= used;
    }
}

static void finish(struct pd_reader *reader, struct csv_parser *parser)
{
    char list[sizeof reader->errors->kept[0].text];
    if (reader->status != PD_OK)
        return;
    pd_lines_end(&reader->lines);
    if (csv_fini(parser, on_cell, on_row, reader) != 0)
        pd_reader_fail(reader, PD_ERR_INPUT, reader->lines.row_line,
                       "has a quoted cell that is never closed");
    if (reader->status != PD_OK || reader->column_of != NULL)
        return;
    pd_list_names(list, sizeof list, reader->names, reader->column_count);
    if (reader->header_function != NULL)
        snprintf(list, sizeof list, "any");
    reader->status = pd_errors_add(reader->errors, PD_ERR_INPUT, reader->table, 0, "",
                                   "is empty; its first line must name the columns: %s", list);
}

/* Where the bytes come from: a file, or text in memory where path is NULL. */
struct source {
    const char *path;
    const char *text;
    size_t length;
};

static void fail_file(struct pd_reader *reader, const char *what, const char *path)
{
    const int reason = errno;
    const enum pd_status status = reason == ENOMEM  ? PD_ERR_MEMORY
                                  : reason == EINTR ? PD_ERR_INTERRUPTED /* by a signal's handler */
                                                    : PD_ERR_FILE;
    reader->status = pd_errors_add(reader->errors, status, reader->table, 0, "",
                                   "cannot be %s: %s (%s)", what, strerror(reason), path);
}

static void feed_file(struct pd_reader *reader, struct csv_parser *parser, const char *path)
{
    char chunk[CHUNK_SIZE];
    size_t length = sizeof chunk;
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        fail_file(reader, "opened", path);
        return;
    }
    while (length == sizeof chunk && reader->status == PD_OK) {
        length = fread(chunk, 1, sizeof chunk, file);
        if (ferror(file))
            fail_file(reader, "read", path);
        else
            feed(reader, parser, chunk, length);
    }
    fclose(file); /* was only read: nothing can be lost */
}

static enum pd_status read_source(struct pd_reader *reader, const struct source *source)
{
    struct csv_parser parser;
    const size_t before = reader->errors->count;
    csv_init(&parser, CSV_STRICT | CSV_STRICT_FINI | CSV_APPEND_NULL); /* fails for NULL only */
    csv_set_blk_size(&parser, 4096); /* its 128 would make a long cell slow */
    if (pd_reader_begin(reader) == PD_OK) {
        if (source->path != NULL)
            feed_file(reader, &parser, source->path);
        else
            feed(reader, &parser, source->text, source->length);
        finish(reader, &parser);
    }
    pd_reader_end(reader);
    csv_free(&parser);
    /* What did not end the reading is still an error, but in somebody else's table. */
    if (reader->header_function == NULL && reader->status == PD_OK &&
        reader->errors->count > before)
        return PD_ERR_INPUT;
    return reader->status;
}

static enum pd_status read_table(const struct source *source, const char *table,
                                 const struct pd_column *columns, size_t column_count,
                                 pd_row_function *row_function, void *context,
                                 struct pd_errors *errors)
{
    struct pd_errors own = {.count = 0}; /* without the caller's, the status must still be right */
    if (table == NULL || columns == NULL || column_count == 0 || row_function == NULL)
        return pd_errors_add(errors, PD_ERR_ARGUMENT, table, 0, "",
                             "a table is read without columns or a row function");
    struct pd_reader reader = {.table = table,
                               .columns = columns,
                               .column_count = column_count,
                               .row_function = row_function,
                               .context = context,
                               .errors = errors != NULL ? errors : &own};
    return read_source(&reader, source);
}

enum pd_status pd_table_read(const char *path, const char *table, const struct pd_column *columns,
                             size_t column_count, pd_row_function *row_function, void *context,
                             struct pd_errors *errors)
{
    const struct source source = {.path = path};
    if (path == NULL)
        return pd_errors_add(errors, PD_ERR_ARGUMENT, table, 0, "",
                             "a table is read without a path");
    return read_table(&source, table, columns, column_count, row_function, context, errors);
}

static enum pd_status read_any(const struct source *source, const char *table,
                               pd_header_function *header_function, pd_row_function *row_function,
                               void *context, struct pd_errors *errors)
{
    struct pd_errors own = {.count = 0};
    if ((source->path == NULL && source->text == NULL) || table == NULL ||
        header_function == NULL || row_function == NULL)
        return pd_errors_add(errors, PD_ERR_ARGUMENT, table, 0, "",
                             "a table is read without a path, header or row function");
    struct pd_reader reader = {.table = table,
                               .header_function = header_function,
                               .row_function = row_function,
                               .context = context,
                               .errors = errors != NULL ? errors : &own};
    return read_source(&reader, source);
}

enum pd_status pd_table_read_any(const char *path, const char *table,
                                 pd_header_function *header_function, pd_row_function *row_function,
                                 void *context, struct pd_errors *errors)
{
    const struct source source = {.path = path};
    return read_any(&source, table, header_function, row_function, context, errors);
}

enum pd_status pd_table_read_any_text(const char *text, size_t length, const char *table,
                                      pd_header_function *header_function,
                                      pd_row_function *row_function, void *context,
                                      struct pd_errors *errors)
{
    const struct source source = {.text = text, .length = length};
    return read_any(&source, table, header_function, row_function, context, errors);
}

enum pd_status pd_table_read_text(const char *text, size_t length, const char *table,
                                  const struct pd_column *columns, size_t column_count,
                                  pd_row_function *row_function, void *context,
                                  struct pd_errors *errors)
{
    const struct source source = {.text = text, .length = length};
    if (text == NULL && length > 0)
        return pd_errors_add(errors, PD_ERR_ARGUMENT, table, 0, "", "a table is read without text");
    return read_table(&source, table, columns, column_count, row_function, context, errors);
}
