/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "table/override.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "table/names.h"
#include "table/words.h"

/* Stands between the reader and the row function. */
struct setting {
    const struct pd_overrides *overrides;
    const char *table;
    size_t *column; /* [count] of the description; PD_NONE: not for this table, or wrong */
    bool *met;      /* [count] its row was there */
    struct pd_names *rows;
    const char **cells;            /* of the row, changed */
    struct pd_override_cell *text; /* [count] */
    pd_row_function *row_function;
    void *context;
};

struct pd_override_cell pd_override_cell(double value)
{
    struct pd_override_cell cell;
    snprintf(cell.text, sizeof cell.text, "%.17g", value);
    return cell;
}

static enum pd_status report_column(const struct pd_address *at, const struct pd_column *columns,
                                    size_t count, struct pd_errors *errors)
{
    enum { NAMES_MAX = 64 };
    const char *names[NAMES_MAX];
    char list[sizeof errors->kept[0].text];
    const size_t named = count - 1 < NAMES_MAX ? count - 1 : NAMES_MAX;
    for (size_t i = 0; i < named; i++)
        names[i] = columns[i + 1].name;
    const size_t near = pd_nearest(at->column, names, named);
    pd_list_names(list, sizeof list, names, named);
    if (near < named)
        return pd_errors_add(errors, PD_ERR_INPUT, at->table, 0, "",
                             "has no column '%s'; did you mean '%s'?", pd_show(at->column).text,
                             names[near]);
    return pd_errors_add(errors, PD_ERR_INPUT, at->table, 0, "",
                         "has no column '%s'; the columns are: %s", pd_show(at->column).text, list);
}

static enum pd_status find_column(struct setting *s, size_t i, const struct pd_column *columns,
                                  size_t count, struct pd_errors *errors)
{
    const struct pd_address *const at = &s->overrides->item[i].at;
    s->column[i] = PD_NONE;
    if (strcmp(at->table, s->table) != 0)
        return PD_OK;
    for (size_t c = 0; c < count; c++)
        if (strcmp(at->column, columns[c].name) == 0)
            s->column[i] = c;
    if (s->column[i] == PD_NONE)
        return report_column(at, columns, count, errors);
    if (s->column[i] > 0)
        return PD_OK;
    s->column[i] = PD_NONE;
    return pd_errors_add(errors, PD_ERR_INPUT, at->table, 0, at->column,
                         "names the row; name a column of numbers");
}

static enum pd_status change_cell(struct setting *s, size_t i, const struct pd_row *row,
                                  struct pd_errors *errors)
{
    double before = NAN;
    const char *const cell = pd_row_text(row, s->column[i]);
    s->met[i] = true;
    if (cell[0] != '\0' && !pd_parse_number(cell, &before))
        return pd_row_error(row, s->column[i], errors,
                            "'%s' is not a number; only a number can be varied",
                            pd_show(cell).text);
    if (s->overrides->item[i].was != NULL)
        *s->overrides->item[i].was = before;
    s->text[i] = pd_override_cell(s->overrides->item[i].value);
    s->cells[s->column[i]] = s->text[i].text;
    return PD_OK;
}

static enum pd_status set_row(const struct pd_row *row, void *context, struct pd_errors *errors)
{
    struct setting *const s = context;
    size_t unused;
    enum pd_status status = pd_names_add(s->rows, pd_row_text(row, 0), &unused, NULL);
    if (status != PD_OK)
        return status;
    memcpy(s->cells, row->cells, row->column_count * sizeof *s->cells);
    for (size_t i = 0; i < s->overrides->count && status == PD_OK; i++)
        if (s->column[i] != PD_NONE && strcmp(s->overrides->item[i].at.row, row->cells[0]) == 0)
            status = change_cell(s, i, row, errors);
    struct pd_row changed = *row;
    changed.cells = s->cells;
    return status == PD_OK ? s->row_function(&changed, s->context, errors) : status;
}

static enum pd_status check_met(const struct setting *s, struct pd_errors *errors)
{
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < s->overrides->count; i++) {
        if (s->column[i] == PD_NONE || s->met[i])
            continue;
        const struct pd_address *const at = &s->overrides->item[i].at;
        const char *const near = pd_names_nearest(s->rows, at->row);
        status = pd_errors_add(errors, PD_ERR_INPUT, at->table, 0, "", "has no row '%s'%s%s%s",
                               pd_show(at->row).text, near != NULL ? "; did you mean '" : "",
                               near != NULL ? near : "", near != NULL ? "'?" : "");
    }
    return status;
}

static enum pd_status read_set(const char *path, struct setting *s, const struct pd_column *columns,
                               size_t column_count, struct pd_errors *errors)
{
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < s->overrides->count; i++) {
        const enum pd_status found = find_column(s, i, columns, column_count, errors);
        status = status == PD_OK ? found : status;
    }
    if (status == PD_OK)
        status = pd_table_read(path, s->table, columns, column_count, set_row, s, errors);
    return status == PD_OK ? check_met(s, errors) : status;
}

enum pd_status pd_table_read_set(const char *path, const struct pd_overrides *overrides,
                                 const char *table, const struct pd_column *columns,
                                 size_t column_count, pd_row_function *row_function, void *context,
                                 struct pd_errors *errors)
{
    if (overrides == NULL || overrides->count == 0)
        return pd_table_read(path, table, columns, column_count, row_function, context, errors);
    struct setting s = {
        .overrides = overrides,
        .table = table,
        .column = calloc(overrides->count, sizeof *s.column),
        .met = calloc(overrides->count, sizeof *s.met),
        .cells = calloc(column_count, sizeof *s.cells),
        .text = calloc(overrides->count, sizeof *s.text),
        .row_function = row_function,
        .context = context,
    };
    enum pd_status status = PD_ERR_MEMORY;
    if (s.column != NULL && s.met != NULL && s.cells != NULL && s.text != NULL &&
        pd_names_new(&s.rows) == PD_OK)
        status = read_set(path, &s, columns, column_count, errors);
    pd_names_free(&s.rows);
    free(s.column);
    free(s.met);
    free(s.cells);
    free(s.text);
    return status;
}
