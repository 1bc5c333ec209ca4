/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/point.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* State s of the desk: a load state at a supply voltage. */
static size_t load_states(const struct pd_desk *d, const struct pd_desk_rules *rules)
{
    return rules->all_loads ? d->states.count : 1;
}

static size_t supplies(const struct pd_desk *d, const struct pd_desk_rules *rules)
{
    return rules->all_supplies ? d->run.supply_count : 1;
}

enum pd_status pd_desk_open(struct pd_case *c, const struct pd_desk_rules *rules, struct pd_desk *d)
{
    const size_t loads = c->network->load_count, ties = c->electrodes.count;
    *d = (struct pd_desk){.study_case = c};
    enum pd_status status = pd_load_states_new(c, &d->states);
    if (status == PD_OK)
        status = pd_run_new(c, &d->states, 1u << PD_OPEN_PEN, &d->run);
    if (status != PD_OK)
        return status;
    d->open = true;
    d->room = load_states(d, rules) * supplies(d, rules);
    d->load_a = calloc(d->room * loads + 1, sizeof *d->load_a);
    d->supply_v = calloc(d->room + 1, sizeof *d->supply_v);
    d->tie_ohm = calloc(d->room * ties + 1, sizeof *d->tie_ohm);
    d->sight = calloc(c->detectors.count + 1, sizeof *d->sight);
    if (d->load_a == NULL || d->supply_v == NULL || d->tie_ohm == NULL || d->sight == NULL)
        return PD_ERR_MEMORY;
    return pd_scan_new(c, d->room, rules->threads, &d->scan);
}

void pd_desk_close(struct pd_desk *d)
{
    if (d->open)
        pd_run_free(&d->run);
    pd_load_states_free(&d->states);
    pd_scan_free(&d->scan);
    free(d->load_a);
    free(d->supply_v);
    free(d->tie_ohm);
    free(d->sight);
    *d = (struct pd_desk){0};
}

/* Takes over what the case now says. */
static enum pd_status lay_out(struct pd_desk *d, const struct pd_desk_rules *rules)
{
    const struct pd_case *const c = d->study_case;
    const size_t loads = c->network->load_count, ties = c->electrodes.count;
    const size_t levels = supplies(d, rules);
    pd_load_states_free(&d->states);
    const enum pd_status status = pd_load_states_new(c, &d->states);
    if (status != PD_OK)
        return status;
    memcpy(d->run.tie, c->tie, ties * sizeof *c->tie);
    d->run.supply_v[0] = c->supply_v;
    for (size_t s = 0; s < d->room; s++) {
        memcpy(d->load_a + s * loads, pd_load_state(&d->states, s / levels),
               loads * sizeof *d->load_a);
        d->supply_v[s] = d->run.supply_v[s % levels];
        for (size_t i = 0; i < ties; i++)
            d->tie_ohm[s * ties + i] = c->tie[i].resistance_ohm;
    }
    return PD_OK;
}

/* A state and a break. */
struct found {
    size_t state, which; /* PD_NONE: none */
    double touch_v;
};

static void keep(struct found *found, const struct pd_glance *glance, size_t state, size_t which)
{
    if (found->state == PD_NONE || pd_exceeds(glance->touch_v, found->touch_v))
        *found = (struct found){state, which, glance->touch_v};
}

/* As in the assessment: without an electrode the potential does not depend on the size of the
 * loads, so a state in which nothing ties the neutral is covered by another of the same break and
 * supply voltage that has a figure. */
static bool covered(const struct pd_desk *d, size_t state, size_t which, size_t levels)
{
    for (size_t s = state % levels; s < d->room; s += levels) {
        const struct pd_glance other = pd_scan_look(d->scan, s, which);
        if (other.standing == PD_SOLVED && !other.floating)
            return true;
    }
    return false;
}

static void search(const struct pd_desk *d, size_t levels, struct found *worst,
                   struct found *unseen, struct pd_sweep_point *point)
{
    *worst = *unseen = (struct found){PD_NONE, PD_NONE, NAN};
    for (size_t which = 0; which < pd_scan_breaks(d->scan); which++)
        for (size_t s = 0; s < d->room; s++) {
            const struct pd_glance glance = pd_scan_look(d->scan, s, which);
            point->scenarios++;
            if (glance.touch == PD_UNKNOWN) {
                point->unsolved += !(glance.floating && covered(d, s, which, levels));
                continue;
            }
            keep(worst, &glance, s, which);
            if (glance.touch == PD_OVER && !glance.disconnected)
                keep(unseen, &glance, s, which);
        }
}

/* The scenario again, by the tree engine. */
static enum pd_status solve_again(struct pd_desk *d, size_t levels, const struct found *found,
                                  struct pd_scenario *s)
{
    const size_t loads = d->study_case->network->load_count;
    const struct pd_fault fault = pd_open_pen(pd_scan_section(d->scan, found->which));
    enum pd_status status =
        pd_run_factor(&d->run, d->load_a + found->state * loads, d->supply_v[found->state], NULL);
    if (status == PD_OK)
        status = pd_run_solve(&d->run, &fault);
    if (status == PD_OK)
        pd_run_fill(&d->run, &fault, d->states.kind[found->state / levels],
                    d->supply_v[found->state], s, d->sight);
    return status;
}

static enum pd_status take_worst(struct pd_desk *d, size_t levels, const struct found *worst,
                                 struct pd_sweep_point *point)
{
    struct pd_scenario s;
    if (worst->state == PD_NONE)
        return PD_OK;
    const enum pd_status status = solve_again(d, levels, worst, &s);
    if (status != PD_OK)
        return status;
    point->unsolved += s.touch == PD_UNKNOWN;
    point->touch_v = s.touch_v;
    point->touch = s.touch;
    point->section = s.section;
    point->loads = s.loads;
    point->supply_v = s.supply_v;
    point->disconnected = s.disconnected;
    point->residual = s.residual;
    return PD_OK;
}

static enum pd_status take_unseen(struct pd_desk *d, size_t levels, const struct found *unseen,
                                  struct pd_sweep_point *point)
{
    struct pd_scenario s;
    point->unseen_v = point->unsolved > 0 ? (double)NAN : 0;
    if (unseen->state == PD_NONE)
        return PD_OK;
    const enum pd_status status = solve_again(d, levels, unseen, &s);
    if (status != PD_OK)
        return status;
    point->unsolved += s.touch == PD_UNKNOWN;
    point->unseen_v = s.touch_v;
    point->unseen_section = s.section;
    return PD_OK;
}

enum pd_status pd_desk_point(struct pd_desk *d, const struct pd_desk_rules *rules,
                             struct pd_sweep_point *point)
{
    const size_t levels = supplies(d, rules);
    struct found worst, unseen;
    *point = (struct pd_sweep_point){.value = {point->value[0], point->value[1], point->value[2]},
                                     .touch_v = NAN,
                                     .touch = PD_UNKNOWN,
                                     .section = PD_NONE,
                                     .supply_v = NAN,
                                     .unseen_v = NAN,
                                     .unseen_section = PD_NONE,
                                     .residual = NAN};
    enum pd_status status = lay_out(d, rules);
    const struct pd_batch_input input = {
        .count = d->room, .load_a = d->load_a, .supply_v = d->supply_v, .tie_ohm = d->tie_ohm};
    if (status == PD_OK)
        status = pd_scan_solve(d->scan, &input);
    if (status != PD_OK)
        return status;
    search(d, levels, &worst, &unseen, point);
    status = take_worst(d, levels, &worst, point);
    if (status == PD_OK)
        status = take_unseen(d, levels, &unseen, point);
    if (point->touch == PD_WITHIN && point->unsolved > 0)
        point->touch = PD_UNKNOWN;
    return status;
}
