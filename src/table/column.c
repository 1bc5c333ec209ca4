/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "table/column.h"

#include <csv.h>
#include <errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "table/grow.h"
#include "table/names.h"
#include "table/table.h"
#include "table/words.h"

struct reading {
    const char *table, *column;
    struct pd_names *names; /* of the header */
    size_t wanted;          /* PD_NONE until the header is read */
    size_t cell, row;
    double *value;
    size_t count;
    struct pd_errors *errors;
    enum pd_status status;
};

static void fail(struct reading *r, enum pd_status status)
{
    if (r->status == PD_OK)
        r->status = status;
}

static void take_number(struct reading *r, const char *cell)
{
    double number;
    if (cell[0] == '\0')
        return;
    if (!pd_parse_number(cell, &number)) {
        fail(r, pd_errors_add(r->errors, PD_ERR_INPUT, r->table, r->row + 1, r->column,
                              "'%s' is not a number", pd_show(cell).text));
        return;
    }
    double *const larger = pd_grow(r->value, r->count, sizeof *larger);
    if (larger == NULL) {
        fail(r, PD_ERR_MEMORY);
        return;
    }
    r->value = larger;
    r->value[r->count++] = number;
}

static void on_cell(void *cell, size_t length, void *data)
{
    struct reading *const r = data;
    const char *const text = length > 0 ? cell : "";
    size_t index;
    if (r->row == 0) {
        const enum pd_status status = pd_names_add(r->names, text, &index, NULL);
        if (strcmp(text, r->column) == 0)
            r->wanted = r->cell;
        if (status != PD_OK)
            fail(r, status);
    } else if (r->cell == r->wanted) {
        take_number(r, text);
    }
    r->cell++;
}

static void on_row(int end, void *data)
{
    struct reading *const r = data;
    (void)end;
    r->cell = 0;
    if (r->row++ > 0 || r->wanted != PD_NONE || r->status != PD_OK)
        return;
    const char *const near = pd_names_nearest(r->names, r->column);
    fail(r, pd_errors_add(r->errors, PD_ERR_INPUT, r->table, 1, "", "has no column '%s'%s%s%s",
                          pd_show(r->column).text, near != NULL ? "; did you mean '" : "",
                          near != NULL ? near : "", near != NULL ? "'?" : ""));
}

static void read_lines(struct reading *r, FILE *file)
{
    struct csv_parser parser;
    char *line = NULL;
    size_t size = 0;
    ssize_t length;
    csv_init(&parser, CSV_STRICT | CSV_APPEND_NULL);
    while (r->status == PD_OK && (length = getline(&line, &size, file)) >= 0) {
        if (line[0] == '#')
            continue;
        if (csv_parse(&parser, line, (size_t)length, on_cell, on_row, r) != (size_t)length)
            fail(r, csv_error(&parser) == CSV_ENOMEM
                        ? PD_ERR_MEMORY
                        : pd_errors_add(r->errors, PD_ERR_INPUT, r->table, r->row + 1, "",
                                        "has a quote out of place"));
    }
    if (ferror(file))
        fail(r, pd_errors_add(r->errors, PD_ERR_FILE, r->table, 0, "", "cannot be read: %s",
                              strerror(errno)));
    if (r->status == PD_OK)
        csv_fini(&parser, on_cell, on_row, r);
    csv_free(&parser);
    free(line);
}

enum pd_status pd_column_read(const char *path, const char *table, const char *column,
                              double **value, size_t *count, struct pd_errors *errors)
{
    struct reading r = {.table = table, .column = column, .wanted = PD_NONE, .errors = errors};
    FILE *const file = fopen(path, "rb");
    if (file == NULL)
        return pd_errors_add(errors, PD_ERR_FILE, table, 0, "", "cannot be opened: %s",
                             strerror(errno));
    r.status = pd_names_new(&r.names);
    if (r.status == PD_OK)
        read_lines(&r, file);
    fclose(file); /* was only read: nothing can be lost */
    pd_names_free(&r.names);
    if (r.status == PD_OK && r.count == 0)
        fail(&r, pd_errors_add(errors, PD_ERR_INPUT, table, 0, column, "has no number"));
    if (r.status != PD_OK) {
        free(r.value);
        return r.status;
    }
    *value = r.value;
    *count = r.count;
    return PD_OK;
}
