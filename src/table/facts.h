/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TABLE_FACTS_H
#define PENDRIFT_TABLE_FACTS_H

#include <stdbool.h>
#include <stddef.h>

#include "table/override.h"
#include "table/table.h"

/* A table of properties, one a row: quantity, value, unit (case.csv). */

enum pd_fact_kind { PD_FACT_TEXT, PD_FACT_NUMBER, PD_FACT_CHOICE };

/* One property that the table may have. */
struct pd_fact_form {
    const char *quantity;
    const char *unit; /* "-" for none */
    enum pd_fact_kind kind;
    struct pd_range range;      /* PD_FACT_NUMBER */
    const char *const *choices; /* PD_FACT_CHOICE */
    size_t choice_count;
};

/* What the table said of it. */
struct pd_fact {
    bool given;
    size_t line;
    double number;
    size_t choice;
    char text[PD_NAME_MAX + 1];
};

/* Reads the table into fact[count], one for each form, in the same order. An unknown quantity
 * (nearest named), one given twice, an empty value, a wrong unit and a value out of range are
 * errors. An override sets a quantity of
 * numbers that the table has, or adds it. Returns as pd_table_read. */
enum pd_status pd_facts_read(const char *path, const struct pd_overrides *overrides,
                             const char *table, const struct pd_fact_form *form, size_t count,
                             struct pd_fact *fact, struct pd_errors *errors);

#endif
