/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "table/facts.h"

#include <stdio.h>
#include <string.h>

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

static enum pd_status read_fact(const struct pd_row *row, void *context, struct pd_errors *errors)
{
    const struct reading *const reading = context;
    size_t i = 0;
    while (i < reading->count && strcmp(reading->form[i].quantity, pd_row_text(row, QUANTITY)) != 0)
        i++;
    if (i == reading->count)
        return unknown_quantity(row, reading, errors);
    const struct pd_fact_form *const form = &reading->form[i];
    struct pd_fact *const fact = &reading->fact[i];
    if (fact->line != 0)
        return pd_row_error(row, QUANTITY, errors, "'%s' is already given on line %zu",
                            form->quantity, fact->line);
    fact->line = row->line;
    read_value(row, form, fact, errors);
    check_unit(row, form, errors);
    return PD_OK;
}

enum pd_status pd_facts_read(const char *path, const char *table, const struct pd_fact_form *form,
                             size_t count, struct pd_fact *fact, struct pd_errors *errors)
{
    struct reading reading = {.form = form, .count = count, .fact = fact};
    memset(fact, 0, count * sizeof *fact);
    return pd_table_read(path, table, columns, COLUMNS, read_fact, &reading, errors);
}
