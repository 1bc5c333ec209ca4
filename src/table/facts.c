/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "table/facts.h"

#include <stdio.h>
#include <string.h>

#include "table/names.h"
#include "table/words.h"

enum column { QUANTITY, VALUE, UNIT, COLUMNS };

static const struct pd_column columns[COLUMNS] = {
    [QUANTITY] = {"quantity", true},
    [VALUE] = {"value", true},
    [UNIT] = {"unit", true},
};

struct reading {
    const struct pd_fact_form *form;
    size_t count;
    struct pd_fact *fact;
    const struct pd_overrides *overrides; /* may be NULL */
};

enum { QUANTITIES_MAX = 64 };

static enum pd_status unknown_quantity(const struct pd_row *row, const struct reading *reading,
                                       struct pd_errors *errors)
{
    const char *names[QUANTITIES_MAX];
    const size_t count = reading->count < QUANTITIES_MAX ? reading->count : QUANTITIES_MAX;
    for (size_t i = 0; i < count; i++)
        names[i] = reading->form[i].quantity;
    const char *const text = pd_row_text(row, QUANTITY);
    const size_t near = pd_nearest(text, names, count);
    char list[sizeof errors->kept[0].text];
    pd_list_names(list, sizeof list, names, count);
    if (text[0] == '\0')
        return pd_row_error(row, QUANTITY, errors, "is empty; it must be one of: %s", list);
    if (near < count)
        return pd_row_error(row, QUANTITY, errors, "unknown '%s'; did you mean '%s'?",
                            pd_show(text).text, names[near]);
    return pd_row_error(row, QUANTITY, errors, "unknown '%s'; one of: %s", pd_show(text).text,
                        list);
}

/* What is wrong with the value is told under the quantity's name. */
static void read_value(const struct pd_row *fact_row, const struct pd_fact_form *form,
                       struct pd_fact *fact, struct pd_errors *errors)
{
    const struct pd_column named[COLUMNS] = {
        columns[QUANTITY], {form->quantity, true}, columns[UNIT]};
    struct pd_row lent = *fact_row;
    lent.columns = named;
    const struct pd_row *const row = &lent;
    switch (form->kind) {
    case PD_FACT_NUMBER:
        fact->given = pd_row_number(row, VALUE, form->range, &fact->number, errors);
        break;
    case PD_FACT_CHOICE:
        fact->given =
            pd_row_choice(row, VALUE, form->choices, form->choice_count, &fact->choice, errors);
        break;
    case PD_FACT_TEXT:
        fact->given = pd_row_name(row, VALUE, errors) != NULL;
        break;
    }
    if (fact->given)
        snprintf(fact->text, sizeof fact->text, "%s", pd_row_text(row, VALUE));
}

static void check_unit(const struct pd_row *row, const struct pd_fact_form *form,
                       struct pd_errors *errors)
{
    const char *const unit = pd_row_text(row, UNIT);
    if (unit[0] == '\0')
        pd_row_error(row, UNIT, errors, "is empty; write %s", form->unit);
    else if (strcmp(unit, form->unit) != 0)
        pd_row_error(row, UNIT, errors, "'%s' is not the unit of %s; write %s", pd_show(unit).text,
                     form->quantity, form->unit);
}

static size_t find_form(const struct reading *reading, const char *quantity)
{
    size_t i = 0;
    while (i < reading->count && strcmp(reading->form[i].quantity, quantity) != 0)
        i++;
    return i;
}

/* The override for a quantity of this table, NULL where there is none. */
static const struct pd_override *override_of(const struct reading *reading, const char *table,
                                             const char *quantity)
{
    const struct pd_overrides *const o = reading->overrides;
    for (size_t i = 0; o != NULL && i < o->count; i++)
        if (strcmp(o->item[i].at.table, table) == 0 && strcmp(o->item[i].at.row, quantity) == 0)
            return &o->item[i];
    return NULL;
}

static enum pd_status report_override(const struct reading *reading, size_t f,
                                      const struct pd_address *at, struct pd_errors *errors)
{
    const char *names[QUANTITIES_MAX] = {NULL};
    size_t count = 0;
    if (f < reading->count)
        return pd_errors_add(errors, PD_ERR_INPUT, at->table, reading->fact[f].line, at->row,
                             "is not a number; only a number can be varied");
    for (size_t i = 0; i < reading->count && count < QUANTITIES_MAX; i++)
        if (reading->form[i].kind == PD_FACT_NUMBER)
            names[count++] = reading->form[i].quantity;
    const size_t near = pd_nearest(at->row, names, count);
    char list[sizeof errors->kept[0].text];
    pd_list_names(list, sizeof list, names, count);
    if (near < count)
        return pd_errors_add(errors, PD_ERR_INPUT, at->table, 0, "",
                             "has no quantity '%s'; did you mean '%s'?", pd_show(at->row).text,
                             names[near]);
    return pd_errors_add(errors, PD_ERR_INPUT, at->table, 0, "",
                         "has no quantity '%s'; the numbers are: %s", pd_show(at->row).text, list);
}

static enum pd_status read_form(const struct pd_row *row, const struct pd_fact_form *form,
                                struct pd_fact *fact, struct pd_errors *errors)
{
    if (fact->line != 0)
        return pd_row_error(row, QUANTITY, errors, "'%s' is already given on line %zu",
                            form->quantity, fact->line);
    fact->line = row->line;
    read_value(row, form, fact, errors);
    check_unit(row, form, errors);
    return PD_OK;
}

static enum pd_status read_fact(const struct pd_row *row, void *context, struct pd_errors *errors)
{
    const struct reading *const reading = context;
    const size_t i = find_form(reading, pd_row_text(row, QUANTITY));
    if (i == reading->count)
        return unknown_quantity(row, reading, errors);
    const struct pd_fact_form *const form = &reading->form[i];
    const struct pd_override *const set = override_of(reading, row->table, form->quantity);
    if (set == NULL || form->kind != PD_FACT_NUMBER)
        return read_form(row, form, &reading->fact[i], errors);
    const struct pd_override_cell value = pd_override_cell(set->value);
    if (set->was != NULL)
        pd_parse_number(pd_row_text(row, VALUE), set->was);
    const char *const cells[COLUMNS] = {form->quantity, value.text, pd_row_text(row, UNIT)};
    struct pd_row changed = *row;
    changed.cells = cells;
    return read_form(&changed, form, &reading->fact[i], errors);
}

/* What is set but not in the table is read as if it stood there. */
static enum pd_status add_facts(struct reading *reading, const char *table,
                                struct pd_errors *errors)
{
    const struct pd_overrides *const o = reading->overrides;
    enum pd_status status = PD_OK;
    for (size_t i = 0; o != NULL && i < o->count; i++) {
        const struct pd_address *const at = &o->item[i].at;
        const size_t f = strcmp(at->table, table) == 0 ? find_form(reading, at->row) : PD_NONE;
        if (f == reading->count || (f != PD_NONE && reading->form[f].kind != PD_FACT_NUMBER))
            status = report_override(reading, f, at, errors);
        if (status != PD_OK || f == PD_NONE || reading->fact[f].line != 0)
            continue;
        const char *const cells[COLUMNS] = {at->row, "", reading->form[f].unit};
        const struct pd_row row = {
            .table = table, .columns = columns, .column_count = COLUMNS, .cells = cells};
        status = read_fact(&row, reading, errors);
    }
    return status;
}

enum pd_status pd_facts_read(const char *path, const struct pd_overrides *overrides,
                             const char *table, const struct pd_fact_form *form, size_t count,
                             struct pd_fact *fact, struct pd_errors *errors)
{
    struct reading reading = {.form = form, .count = count, .fact = fact, .overrides = overrides};
    memset(fact, 0, count * sizeof *fact);
    const enum pd_status status =
        pd_table_read(path, table, columns, COLUMNS, read_fact, &reading, errors);
    return status == PD_OK ? add_facts(&reading, table, errors) : status;
}
