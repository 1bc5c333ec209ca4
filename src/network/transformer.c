/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "network/transformer.h"

#include <math.h>
#include <stdio.h>

#include "table/reference.h"
#include "table/table.h"

enum column { TRANSFORMER, PHASES, RATING, SECONDARY, IMPEDANCE, RESISTANCE, SOURCE, COLUMNS };

static const struct pd_column columns[COLUMNS] = {
    [TRANSFORMER] = {"transformer", true},
    [PHASES] = {"phases", true},
    [RATING] = {"rating_kva", true},
    [SECONDARY] = {"secondary_v", true},
    [IMPEDANCE] = {"impedance_percent", true},
    [RESISTANCE] = {"resistance_percent", true},
    [SOURCE] = {"source", true},
};

struct walk {
    pd_transformer_function *function;
    void *context;
    bool stopped;
};

static enum pd_status read_transformer(const struct pd_row *row, void *context,
                                       struct pd_errors *errors)
{
    struct walk *const walk = context;
    struct pd_transformer t = {.impedance_percent = NAN};
    double phases = 0;
    bool good = pd_row_number(row, PHASES, (struct pd_range){1, 3, NULL}, &phases, errors);
    good &= pd_row_number(row, RATING, (struct pd_range){1, 10000, NULL}, &t.rating_kva, errors);
    good &=
        pd_row_number(row, SECONDARY, (struct pd_range){50, 1000, NULL}, &t.secondary_v, errors);
    good &= pd_row_number(row, IMPEDANCE, (struct pd_range){0.1, 30, NULL}, &t.impedance_percent,
                          errors);
    good &= pd_row_number(row, RESISTANCE,
                          (struct pd_range){0, t.impedance_percent, "at most the impedance"},
                          &t.resistance_percent, errors);
    if (!good)
        return PD_ERR_INPUT;
    t.phases = (int)phases;
    snprintf(t.name, sizeof t.name, "%s", pd_row_text(row, TRANSFORMER));
    snprintf(t.source, sizeof t.source, "%s", pd_row_text(row, SOURCE));
    if (!walk->stopped)
        walk->stopped = !walk->function(&t, walk->context);
    return PD_OK;
}

enum pd_status pd_transformers_each(pd_transformer_function *function, void *context,
                                    struct pd_errors *errors)
{
    struct walk walk = {.function = function, .context = context};
    return pd_table_read_text(pd_reference_transformers, pd_reference_transformers_length,
                              "reference/transformers.csv", columns, COLUMNS, read_transformer,
                              &walk, errors);
}

double complex pd_transformer_ohm(const struct pd_transformer *t)
{
    const double base_ohm = t->secondary_v * t->secondary_v / (1000 * t->rating_kva);
    const double z = t->impedance_percent / 100, r = t->resistance_percent / 100;
    return CMPLX(r * base_ohm, sqrt((z - r) * (z + r)) * base_ohm);
}
