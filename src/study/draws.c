/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/draws.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "study/manage.h"
#include "table/grow.h"
#include "table/words.h"

static const char table[] = "distributions.csv";

/* What a column of a table is, and the values that it may have. */
static const struct {
    const char *table, *column;
    enum pd_draw_kind kind;
    double low, high;
} kinds[] = {
    {"loads.csv", "current_a", PD_DRAW_AMPS, 0, 10000},
    {"loads.csv", "power_kw", PD_DRAW_POWER, 0, 10000},
    {"loads.csv", "power_factor", PD_DRAW_FACTOR, -1, 1},
    {"electrodes.csv", "resistance_ohm", PD_DRAW_OHM, 0.01, 1e9},
    {"electrodes.csv", "season_factor", PD_DRAW_SEASON, 1, 100},
    {"case.csv", "value", PD_DRAW_SUPPLY, 50, 1000},
};
enum { KINDS = sizeof kinds / sizeof kinds[0] };

static enum pd_status append(struct pd_draws *d, const struct pd_draw_one *one)
{
    struct pd_draw_one *const larger = pd_grow(d->one, d->count, sizeof *larger);
    if (larger == NULL)
        return PD_ERR_MEMORY;
    d->one = larger;
    d->one[d->count++] = *one;
    return PD_OK;
}

static bool has(const struct pd_draws *d, enum pd_draw_kind kind, size_t which)
{
    for (size_t i = 0; i < d->count; i++)
        if (d->one[i].kind == kind && d->one[i].which == which)
            return true;
    return false;
}

/* The number of the load or electrode that a row is for; an error where there is none. */
static size_t find_row(const struct pd_case *c, const struct pd_spread_row *row,
                       struct pd_errors *errors)
{
    enum { NAMES_MAX = 2000 };
    const bool loads = strcmp(row->at.table, "loads.csv") == 0;
    const size_t count = loads ? c->network->load_count : c->electrodes.count;
    const char *names[NAMES_MAX] = {NULL};
    size_t named = 0;
    for (size_t i = 0; i < count; i++) {
        const char *const name = loads ? c->network->load[i].name : c->electrodes.electrode[i].name;
        if (strcmp(name, row->at.row) == 0)
            return i;
        if (named < NAMES_MAX)
            names[named++] = name;
    }
    const size_t near = pd_nearest(row->at.row, names, named);
    pd_errors_add(errors, PD_ERR_INPUT, table, row->line, "row", "%s has no row '%s'%s%s%s",
                  row->at.table, pd_show(row->at.row).text, near < named ? "; did you mean '" : "",
                  near < named ? names[near] : "", near < named ? "'?" : "");
    return PD_NONE;
}

static enum pd_status check_values(const struct pd_spread_row *row, size_t kind,
                                   struct pd_errors *errors)
{
    const struct pd_distribution *const d = &row->distribution;
    if (d->low < kinds[kind].low || d->high > kinds[kind].high)
        return pd_errors_add(errors, PD_ERR_INPUT, table, row->line, "distribution",
                             "goes from %g to %g; %s may be %g to %g", d->low, d->high,
                             row->at.column, kinds[kind].low, kinds[kind].high);
    if (kinds[kind].kind == PD_DRAW_FACTOR && !(d->low >= 0.05 || d->high <= -0.05))
        return pd_errors_add(errors, PD_ERR_INPUT, table, row->line, "distribution",
                             "goes from %g to %g; a power factor is 0.05 to 1 lagging, or -1 to "
                             "-0.05 leading, not both",
                             d->low, d->high);
    return PD_OK;
}

static enum pd_status refuse(const struct pd_spread_row *row, struct pd_errors *errors)
{
    return pd_errors_add(
        errors, PD_ERR_INPUT, table, row->line, "column",
        "%s %s cannot be sampled; what can: loads current_a, power_kw, power_factor, electrodes "
        "resistance_ohm, season_factor, case supply_voltage value, sections break_weight",
        pd_show(row->at.table).text, pd_show(row->at.column).text);
}

/* How likely a break is in one section, beside the others'. */
static enum pd_status take_break(struct pd_draws *d, const struct pd_spread_row *row,
                                 struct pd_errors *errors)
{
    const struct pd_network *const network = d->study_case->network;
    if (row->distribution.kind != PD_SPREAD_FIXED || !(row->distribution.low >= 0))
        return pd_errors_add(errors, PD_ERR_INPUT, table, row->line, "distribution",
                             "a break_weight is fixed, 0 or more");
    for (size_t i = 1; i < network->node_count; i++)
        if (strcmp(network->node[i].section, row->at.row) == 0) {
            d->break_weight[i] = row->distribution.low;
            return PD_OK;
        }
    return pd_errors_add(errors, PD_ERR_INPUT, table, row->line, "row",
                         "sections.csv has no row '%s'", pd_show(row->at.row).text);
}

/* A load given twice over, in ampere and in kW, or a vehicle that gives way by its current but has
 * a power factor of three parts, would not be what is meant. */
static enum pd_status check_load(const struct pd_draws *d, const struct pd_spread_row *row,
                                 enum pd_draw_kind kind, size_t which, struct pd_errors *errors)
{
    const struct pd_case *const c = d->study_case;
    if ((kind == PD_DRAW_AMPS && has(d, PD_DRAW_POWER, which)) ||
        (kind == PD_DRAW_POWER && has(d, PD_DRAW_AMPS, which)))
        return pd_errors_add(errors, PD_ERR_INPUT, table, row->line, "column",
                             "'%s' has a distribution of current_a and of power_kw; keep one",
                             row->at.row);
    if (kind == PD_DRAW_FACTOR && c->demand_limit_a > 0 &&
        pd_gives_way(c, &c->network->load[which]))
        return pd_errors_add(errors, PD_ERR_INPUT, table, row->line, "column",
                             "'%s' gives way to demand_limit; its power factor cannot be sampled",
                             row->at.row);
    return PD_OK;
}

static enum pd_status take_row(struct pd_draws *d, const struct pd_spread_row *row,
                               struct pd_errors *errors)
{
    size_t kind = 0, which = 0;
    if (strcmp(row->at.table, "sections.csv") == 0 && strcmp(row->at.column, "break_weight") == 0)
        return take_break(d, row, errors);
    while (kind < KINDS && (strcmp(kinds[kind].table, row->at.table) != 0 ||
                            strcmp(kinds[kind].column, row->at.column) != 0))
        kind++;
    if (kind == KINDS ||
        (kinds[kind].kind == PD_DRAW_SUPPLY && strcmp(row->at.row, "supply_voltage") != 0))
        return refuse(row, errors);
    if (kinds[kind].kind != PD_DRAW_SUPPLY)
        which = find_row(d->study_case, row, errors);
    if (which == PD_NONE)
        return PD_ERR_INPUT;
    enum pd_status status = check_values(row, kind, errors);
    if (status == PD_OK && kinds[kind].kind <= PD_DRAW_FACTOR)
        status = check_load(d, row, kinds[kind].kind, which, errors);
    const struct pd_draw_one one = {.kind = kinds[kind].kind,
                                    .which = which,
                                    .distribution = row->distribution,
                                    .declared = true};
    return status == PD_OK ? append(d, &one) : status;
}

static struct pd_distribution uniform(double low, double high)
{
    return (struct pd_distribution){
        .kind = low < high ? PD_SPREAD_UNIFORM : PD_SPREAD_FIXED, .low = low, .high = high};
}

/* What the rows leave out. */
static enum pd_status add_defaults(struct pd_draws *d)
{
    const struct pd_case *const c = d->study_case;
    enum pd_status status = PD_OK;
    if (!has(d, PD_DRAW_SUPPLY, 0))
        status = append(d, &(struct pd_draw_one){.kind = PD_DRAW_SUPPLY,
                                                 .distribution = uniform(c->limits.supply_low_v,
                                                                         c->limits.supply_high_v)});
    for (size_t i = 0; i < c->network->load_count && status == PD_OK; i++)
        if (!has(d, PD_DRAW_AMPS, i) && !has(d, PD_DRAW_POWER, i))
            status = append(
                d, &(struct pd_draw_one){.kind = PD_DRAW_AMPS,
                                         .which = i,
                                         .distribution = uniform(c->network->load[i].low_a,
                                                                 c->network->load[i].high_a)});
    return status;
}

/* Supply and electrodes first, then the installation's own loads, then by what they spread. */
static double weight_of(const struct pd_case *c, const struct pd_draw_one *one)
{
    const double spread = pd_distribution_value(&one->distribution, 0.9) -
                          pd_distribution_value(&one->distribution, 0.1);
    if (one->distribution.kind == PD_SPREAD_FIXED)
        return 0;
    switch (one->kind) {
    case PD_DRAW_SUPPLY:
    case PD_DRAW_OHM:
    case PD_DRAW_SEASON:
        return 1e12;
    case PD_DRAW_FACTOR:
        return 1;
    case PD_DRAW_AMPS:
    case PD_DRAW_POWER:
        break;
    }
    const double ampere = one->kind == PD_DRAW_POWER ? 1000 / c->network->nominal_v : 1;
    return 1 + spread * ampere * (pd_case_own(c, c->network->load[one->which].node) ? 1e6 : 1);
}

static int by_weight(const void *a, const void *b)
{
    const struct pd_draw_one *const p = a, *const q = b;
    if (p->weight != q->weight)
        return p->weight > q->weight ? -1 : 1;
    if (p->kind != q->kind)
        return p->kind < q->kind ? -1 : 1;
    return p->which < q->which ? -1 : p->which > q->which;
}

static enum pd_status add_part(struct pd_case *c, size_t load, double power_factor, size_t *part,
                               struct pd_errors *errors)
{
    char name[PD_NAME_MAX + 1];
    struct pd_load added = c->network->load[load];
    const char *const node = c->network->node[added.node].name;
    snprintf(name, sizeof name, "%.90s, %s part", added.name,
             power_factor > 0 ? "lagging" : "leading");
    added.name = name;
    added.power_factor = power_factor;
    added.present_a = added.low_a = added.high_a = 0;
    *part = c->network->load_count;
    return pd_network_add_load(c->network, &added, node, errors);
}

static const double part_factor = 0.05;

static enum pd_status add_parts(struct pd_case *c, struct pd_draws *d, struct pd_errors *errors)
{
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < d->count && status == PD_OK; i++) {
        struct pd_draw_parts parts = {.load = d->one[i].which};
        if (d->one[i].kind != PD_DRAW_FACTOR)
            continue;
        status = add_part(c, parts.load, part_factor, &parts.lagging, errors);
        if (status == PD_OK)
            status = add_part(c, parts.load, -part_factor, &parts.leading, errors);
        struct pd_draw_parts *const larger = pd_grow(d->parts, d->part_count, sizeof *larger);
        if (larger == NULL)
            return PD_ERR_MEMORY;
        d->parts = larger;
        d->parts[d->part_count++] = parts;
        c->network->load[parts.load].power_factor = 1;
    }
    return status;
}

static void put_in_order(struct pd_draws *d)
{
    enum { SOBOL_MOST = 40 }; /* gsl_qrng_sobol's */
    for (size_t i = 0; i < d->count; i++) {
        d->one[i].weight = weight_of(d->study_case, &d->one[i]);
        d->spread += d->one[i].weight > 0;
    }
    qsort(d->one, d->count, sizeof *d->one, by_weight);
    d->sobol = d->spread < SOBOL_MOST ? d->spread : SOBOL_MOST;
}

/* A break must be able to happen somewhere. */
static enum pd_status check_breaks(const struct pd_draws *d, struct pd_errors *errors)
{
    const struct pd_network *const network = d->study_case->network;
    size_t pens = 0;
    for (size_t i = 1; i < network->node_count; i++) {
        if (!network->node[i].separate && d->break_weight[i] > 0)
            return PD_OK;
        pens += !network->node[i].separate;
    }
    return pens == 0 ? PD_OK
                     : pd_errors_add(errors, PD_ERR_INPUT, table, 0, "",
                                     "gives every section with a PEN the break_weight 0; leave one "
                                     "above it");
}

enum pd_status pd_draws_new(struct pd_case *c, const struct pd_spread_rows *rows, uint64_t seed,
                            struct pd_draws *d, struct pd_errors *errors)
{
    *d = (struct pd_draws){.study_case = c, .seed = seed};
    d->break_weight = calloc(c->network->node_count, sizeof *d->break_weight);
    enum pd_status status = d->break_weight != NULL ? PD_OK : PD_ERR_MEMORY;
    for (size_t i = 0; i < c->network->node_count && status == PD_OK; i++)
        d->break_weight[i] = 1;
    for (size_t i = 0; i < rows->count && status != PD_ERR_MEMORY; i++) {
        const enum pd_status taken = take_row(d, &rows->row[i], errors);
        status = status == PD_OK || taken == PD_ERR_MEMORY ? taken : status;
    }
    if (status == PD_OK)
        status = check_breaks(d, errors);
    if (status == PD_OK)
        status = add_defaults(d);
    if (status == PD_OK)
        put_in_order(d);
    if (status == PD_OK)
        status = add_parts(c, d, errors);
    if (status != PD_OK)
        pd_draws_free(d);
    return status;
}

void pd_draws_free(struct pd_draws *d)
{
    free(d->one);
    free(d->parts);
    free(d->break_weight);
    *d = (struct pd_draws){0};
}
