/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "study/run.h"
#include "study/unseen.h"

/* The touch voltage is largest at a corner of the ranges, but a device that watches a band may see
 * every corner and be blind on the way from one to the next. On a stiff supply with resistive loads
 * the displacements that the ranges can reach are the convex hull of the corners' (a quotient of
 * two functions linear in each admittance), and the largest that a one-line band does not see lies
 * on a line between two of them. So: voltages at the corners are mixed two by two to see where a
 * device may be blind; where that looks worst the network itself is solved at loads between the
 * two, and only what is found there is kept. This is a search, not a proof. */

enum { MIXES = 16, TRIES = 33, ROUNDS = 5 };

/* Two states of a break between which a device may be blind. */
struct doubt {
    size_t section, from, to;
    double touch_v; /* as mixed */
};

struct search {
    struct pd_run *run;
    double complex *touch_v; /* [path_count][states.count] the chassis; NaN where not solved */
    struct pd_view *view;    /* [path_count][states.count][detectors.count] */
    struct pd_view *mixed;   /* [detectors.count] */
    struct doubt *doubt;     /* [path_count] one for each break */
    size_t doubt_count;
    double *load_a;         /* [load_count] */
    struct pd_sight *sight; /* [detectors.count] */
};

static size_t place_of(const struct search *s, size_t step, size_t state)
{
    return step * s->run->states->count + state;
}

/* The chassis voltage a share of the way from one state to another, and what there is to sense. */
static double complex mix(const struct search *s, size_t from, size_t to, double share)
{
    const size_t detectors = s->run->study_case->detectors.count;
    for (size_t i = 0; i < detectors; i++)
        s->mixed[i] =
            pd_view_between(&s->view[from * detectors + i], &s->view[to * detectors + i], share);
    return s->touch_v[from] + share * (s->touch_v[to] - s->touch_v[from]);
}

static void note_solution(const struct search *s, size_t place)
{
    const struct pd_run *const run = s->run;
    const size_t detectors = run->study_case->detectors.count;
    s->touch_v[place] = run->solution.standing == PD_SOLVED
                            ? pd_run_pe(run, run->study_case->charging_point)
                            : CMPLX(NAN, NAN);
    for (size_t i = 0; i < detectors; i++)
        s->view[place * detectors + i] = pd_run_view(run, i);
}

static enum pd_status solve_states(const struct search *s)
{
    struct pd_run *const run = s->run;
    enum pd_status status = PD_OK;
    for (size_t state = 0; state < run->states->count && status == PD_OK; state++) {
        status =
            pd_run_factor(run, pd_load_state(run->states, state), run->supply_v[run->top], NULL);
        for (size_t step = 0; step < run->path_count && status == PD_OK; step++) {
            const struct pd_fault fault = pd_open_pen(run->path[step]);
            status = pd_run_solve(run, &fault);
            note_solution(s, place_of(s, step, state));
        }
    }
    return status;
}

/* Where between two states of a break the voltages, mixed, look worst. */
static struct doubt doubt_of(const struct search *s, size_t step)
{
    struct doubt worst = {.section = s->run->path[step]};
    double supply_v;
    for (size_t from = 0; from < s->run->states->count; from++)
        for (size_t to = from; to < s->run->states->count; to++)
            for (int i = 0; i <= (from == to ? 0 : MIXES); i++) {
                const double complex touch_v =
                    mix(s, place_of(s, step, from), place_of(s, step, to), (double)i / MIXES);
                const double unseen_v = pd_worst_unseen(s->run, touch_v, s->mixed, &supply_v);
                if (pd_exceeds(unseen_v, worst.touch_v)) /* of alike ones the first */
                    worst = (struct doubt){s->run->path[step], from, to, unseen_v};
            }
    return worst;
}

static double known_hazard(const struct pd_assessment *a, size_t section)
{
    double worst_v = 0;
    for (size_t i = 0; i < a->scenario_count; i++)
        if (a->scenario[i].fault == PD_OPEN_PEN && a->scenario[i].section == section &&
            pd_is_hazard(&a->scenario[i]))
            worst_v = fmax(worst_v, a->scenario[i].touch_v);
    return worst_v;
}

static int by_touch(const void *left, const void *right)
{
    const struct doubt *const a = left, *const b = right;
    if (pd_exceeds(a->touch_v, b->touch_v) || pd_exceeds(b->touch_v, a->touch_v))
        return a->touch_v < b->touch_v ? 1 : -1;
    return a->section > b->section ? 1 : -1;
}

/* Solves the network itself a share of the way from one state to the other. */
static enum pd_status solve_between(const struct search *s, const struct doubt *doubt, double share)
{
    const double *const from_a = pd_load_state(s->run->states, doubt->from);
    const double *const to_a = pd_load_state(s->run->states, doubt->to);
    for (size_t i = 0; i < s->run->states->load_count; i++)
        s->load_a[i] = (1 - share) * from_a[i] + share * to_a[i];
    enum pd_status status = pd_run_factor(s->run, s->load_a, s->run->supply_v[s->run->top], NULL);
    s->run->place = (struct pd_loads_place){doubt->from, doubt->to, share};
    const struct pd_fault fault = pd_open_pen(doubt->section);
    return status == PD_OK ? pd_run_solve(s->run, &fault) : status;
}

struct found {
    double share, supply_v, touch_v;
};

/* Tries shares around the best so far, `reach` to either side, and keeps the best. */
static enum pd_status try_shares(const struct search *s, const struct doubt *doubt, double reach,
                                 struct found *best)
{
    const size_t detectors = s->run->study_case->detectors.count;
    const double middle = best->share;
    enum pd_status status = PD_OK;
    for (int i = 0; i < TRIES && status == PD_OK; i++) {
        const double share = fmin(1, fmax(0, middle + reach * (2.0 * i / (TRIES - 1) - 1)));
        status = solve_between(s, doubt, share);
        if (status != PD_OK || s->run->solution.standing != PD_SOLVED)
            continue;
        for (size_t d = 0; d < detectors; d++)
            s->mixed[d] = pd_run_view(s->run, d);
        double supply_v = 0;
        const double unseen_v = pd_worst_unseen(
            s->run, pd_run_pe(s->run, s->run->study_case->charging_point), s->mixed, &supply_v);
        if (pd_exceeds(unseen_v, best->touch_v))
            *best = (struct found){share, supply_v, unseen_v};
    }
    return status;
}

static enum pd_status settle(const struct search *s, const struct doubt *doubt,
                             struct pd_assessment *a, size_t *kept)
{
    struct found best = {.share = 0.5};
    enum pd_status status = PD_OK;
    double reach = 0.5;
    for (int round = 0; round < ROUNDS && status == PD_OK; round++) {
        status = try_shares(s, doubt, reach, &best);
        reach /= (TRIES - 1) / 2.0;
    }
    if (status != PD_OK || best.touch_v <= known_hazard(a, doubt->section))
        return status;
    status = solve_between(s, doubt, best.share);
    if (status != PD_OK)
        return status;
    struct pd_scenario scenario;
    const struct pd_fault fault = pd_open_pen(doubt->section);
    pd_run_fill(s->run, &fault, PD_LOADS_CORNER, best.supply_v, &scenario, s->sight);
    if (!pd_is_hazard(&scenario))
        return PD_OK;
    pd_assessment_add(a, &scenario, s->run->study_case->detectors.count);
    ++*kept;
    return PD_OK;
}

static enum pd_status run_search(struct search *s, struct pd_assessment *a)
{
    enum pd_status status = solve_states(s);
    if (status != PD_OK)
        return status;
    for (size_t step = 0; step < s->run->path_count; step++) {
        const struct doubt doubt = doubt_of(s, step);
        if (doubt.touch_v > known_hazard(a, doubt.section))
            s->doubt[s->doubt_count++] = doubt;
    }
    qsort(s->doubt, s->doubt_count, sizeof *s->doubt, by_touch);
    size_t kept = 0;
    for (size_t i = 0; i < s->doubt_count && kept < PD_BETWEEN_KEPT && status == PD_OK; i++)
        status = settle(s, &s->doubt[i], a, &kept);
    return status;
}

enum pd_status pd_run_between(struct pd_run *run, struct pd_assessment *a)
{
    const size_t detectors = run->study_case->detectors.count;
    const size_t places = run->path_count * run->states->count;
    if (detectors == 0 || (run->faults & 1u << PD_OPEN_PEN) == 0)
        return PD_OK;
    struct search s = {.run = run};
    s.touch_v = calloc(places + 1, sizeof *s.touch_v);
    s.view = calloc(places * detectors + 1, sizeof *s.view);
    s.mixed = calloc(detectors, sizeof *s.mixed);
    s.doubt = calloc(run->path_count + 1, sizeof *s.doubt);
    s.load_a = calloc(run->states->load_count + 1, sizeof *s.load_a);
    s.sight = calloc(detectors, sizeof *s.sight);
    enum pd_status status = PD_ERR_MEMORY;
    if (s.touch_v != NULL && s.view != NULL && s.mixed != NULL && s.doubt != NULL &&
        s.load_a != NULL && s.sight != NULL)
        status = run_search(&s, a);
    free(s.touch_v);
    free(s.view);
    free(s.mixed);
    free(s.doubt);
    free(s.load_a);
    free(s.sight);
    return status;
}
