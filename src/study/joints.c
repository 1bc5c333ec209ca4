/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "study/run.h"
#include "study/unseen.h"

/* What is kept of the joint in one section: the worst that nothing disconnects, and the hottest. */
enum { HAZARD, HOTTEST };

struct kept {
    struct pd_scenario scenario[PD_JOINTS_KEPT];
    bool taken[PD_JOINTS_KEPT];
};

/* The chassis voltage and what there is to sense, of a joint that is sound, open, or between. */
enum { SOUND, OPEN, MIXED, SAMPLES };
struct sample {
    double complex touch_v;
    struct pd_view *view; /* [detectors.count] */
};

struct sweep {
    struct pd_run *run;
    struct pd_fault_list list; /* a section each, from the installation on */
    struct kept *kept;         /* [list.count] */
    struct pd_sight *sights;   /* [list.count][PD_JOINTS_KEPT][detectors.count] */
    struct pd_sight *scratch;  /* [detectors.count] */
    struct sample *sample;     /* [SAMPLES] */
};

/* From a joint that only heats to one that is all but open. */
static const double least_ohm = 0.001, most_ohm = 1000;
enum { FINE_STEPS = 600, STEPS = 60, HEAT_STEPS = 18 };

size_t pd_run_joints_room(const struct pd_run *run)
{
    return (run->faults & 1u << PD_PEN_JOINT) != 0 ? PD_JOINTS_KEPT * run->path_count : 0;
}

static void keep(const struct sweep *s, size_t step, size_t which,
                 const struct pd_scenario *scenario)
{
    const size_t detectors = s->run->study_case->detectors.count;
    struct kept *const kept = &s->kept[step];
    struct pd_sight *const sight = s->sights + (step * PD_JOINTS_KEPT + which) * detectors;
    if (detectors > 0)
        memcpy(sight, scenario->sight, detectors * sizeof *sight);
    kept->scenario[which] = *scenario;
    kept->scenario[which].sight = sight;
    kept->taken[which] = true;
}

/* On TT the chassis stays where it is, and a joint shows in the metalwork beside it: where nothing
 * is a hazard, the joint that lets it drift furthest is kept instead. */
static bool is_further(const struct pd_scenario *scenario, const struct kept *kept)
{
    const struct pd_scenario *const than = &kept->scenario[HAZARD];
    return scenario->touch == PD_WITHIN && pd_exceeds(scenario->reach_v, 0) &&
           (!kept->taken[HAZARD] ||
            (than->touch == PD_WITHIN && pd_exceeds(scenario->reach_v, than->reach_v)));
}

/* A joint not solved is kept as a hazard is: nothing may be acceptable beside it. */
static void consider(const struct sweep *s, size_t step, const struct pd_scenario *scenario)
{
    const struct kept *const kept = &s->kept[step];
    const bool unsolved = scenario->touch == PD_UNKNOWN && !scenario->floating;
    if ((pd_is_hazard(scenario) || unsolved) &&
        (!kept->taken[HAZARD] || pd_exceeds(scenario->touch_v, kept->scenario[HAZARD].touch_v) ||
         (unsolved && !pd_is_hazard(&kept->scenario[HAZARD]))))
        keep(s, step, HAZARD, scenario);
    else if (is_further(scenario, kept))
        keep(s, step, HAZARD, scenario);
    if (!kept->taken[HOTTEST] || pd_exceeds(scenario->joint_w, kept->scenario[HOTTEST].joint_w))
        keep(s, step, HOTTEST, scenario);
}

/* How many sections, from the installation on, are tried for the heat of a bad joint. */
enum { SECTIONS_FOR_HEAT = 8 };

/* A bad joint drives the neutral less far than an open one. It adds to what the open PEN says only
 * where that passes the limit and a device acts on all of it: then it may be what the device does
 * not see. */
static bool may_hide(const struct pd_assessment *a, size_t section)
{
    size_t over = 0, unseen = 0;
    for (size_t i = 0; i < a->scenario_count; i++) {
        const struct pd_scenario *const open = &a->scenario[i];
        over += open->section == section && open->touch == PD_OVER;
        unseen += open->section == section && pd_is_hazard(open);
    }
    return over > 0 && unseen == 0;
}

/* Solves a joint and considers it at a supply voltage. */
static enum pd_status try_joint(const struct sweep *s, size_t step, size_t state, double ohm,
                                double supply_v)
{
    struct pd_run *const run = s->run;
    const struct pd_fault fault = pd_pen_joint(s->list.fault[step].section, ohm);
    const enum pd_status status = pd_run_solve(run, &fault);
    struct pd_scenario scenario;
    pd_run_fill(run, &fault, run->states->kind[state], supply_v, &scenario, s->scratch);
    consider(s, step, &scenario);
    return status;
}

/* The chassis and what there is to sense, of run->solution. */
static void note(const struct sweep *s, struct sample *sample)
{
    sample->touch_v = pd_run_pe(s->run, s->run->study_case->charging_point);
    for (size_t i = 0; i < s->run->study_case->detectors.count; i++)
        sample->view[i] = pd_run_view(s->run, i);
}

static enum pd_status solve_sample(const struct sweep *s, const struct pd_fault *fault,
                                   struct sample *sample, bool *good)
{
    const enum pd_status status = pd_run_solve(s->run, fault);
    note(s, sample);
    *good = *good && s->run->solution.standing == PD_SOLVED && isfinite(cabs(sample->touch_v));
    return status;
}

/* Of a linear network every voltage is (x0 + c R x1) / (1 + c R) in the joint's resistance R, x0
 * with the joint sound and x1 with it open, and the same c for all: three solutions tell all
 * joints. */
static double complex share_of_open(double complex cr)
{
    return cr / (1 + cr);
}

static void mix(const struct sweep *s, double complex cr)
{
    const struct sample *const a = &s->sample[SOUND], *const b = &s->sample[OPEN];
    struct sample *const out = &s->sample[MIXED];
    const double complex share = share_of_open(cr);
    out->touch_v = a->touch_v + share * (b->touch_v - a->touch_v);
    for (size_t i = 0; i < s->run->study_case->detectors.count; i++)
        out->view[i] = pd_view_between(&a->view[i], &b->view[i], share);
}

/* The joint, and the supply voltage, that leaves most unseen; 0 where none leaves any. */
static double most_hidden(const struct sweep *s, double complex c, double *supply_v)
{
    double worst_v = 0, worst_ohm = 0;
    for (int i = 0; i <= FINE_STEPS; i++) {
        const double ohm = least_ohm * pow(most_ohm / least_ohm, (double)i / FINE_STEPS);
        double at_v;
        mix(s, c * ohm);
        const double unseen_v =
            pd_worst_unseen(s->run, s->sample[MIXED].touch_v, s->sample[MIXED].view, &at_v);
        if (unseen_v > worst_v) {
            worst_v = unseen_v;
            worst_ohm = ohm;
            *supply_v = at_v;
        }
    }
    return worst_ohm;
}

/* One joint after the other: where loads are not linear, or where one of the three solutions is not
 * to be had. A joint that is not solved is kept as such. */
static enum pd_status try_steps(const struct sweep *s, size_t step, size_t state, bool hide)
{
    const struct pd_run *const run = s->run;
    const int steps = hide ? STEPS : HEAT_STEPS;
    const bool all = pd_run_levels(run) == 1;
    enum pd_status status = PD_OK;
    for (int i = 0; i <= steps && status == PD_OK; i++) {
        const double ohm = least_ohm * pow(most_ohm / least_ohm, (double)i / steps);
        status = try_joint(s, step, state, ohm, run->solved_v);
        for (size_t supply = 0; all && supply < run->supply_count && status == PD_OK; supply++)
            status = try_joint(s, step, state, ohm, run->supply_v[supply]);
    }
    return status;
}

/* By the three solutions: the hottest joint, which has as many ohms as the rest of its loop, and
 * the one that a device sees least of; each is then solved for itself. */
static enum pd_status try_linear(const struct sweep *s, size_t step, size_t state, bool hide)
{
    struct pd_run *const run = s->run;
    const struct pd_fault sound = pd_pen_joint(s->list.fault[step].section, 0),
                          open = pd_open_pen(s->list.fault[step].section);
    const struct pd_fault one = pd_pen_joint(s->list.fault[step].section, 1);
    bool good = true;
    enum pd_status status = solve_sample(s, &sound, &s->sample[SOUND], &good);
    if (status == PD_OK)
        status = solve_sample(s, &open, &s->sample[OPEN], &good);
    if (status == PD_OK)
        status = solve_sample(s, &one, &s->sample[MIXED], &good);
    const double complex c = (s->sample[SOUND].touch_v - s->sample[MIXED].touch_v) /
                             (s->sample[MIXED].touch_v - s->sample[OPEN].touch_v);
    if (status != PD_OK)
        return status;
    if (!good)
        return try_steps(s, step, state, true);
    if (!isfinite(cabs(c)) || cabs(c) == 0)
        return try_steps(s, step, state, false); /* the chassis does not answer to the joint: TT */
    const double top_v = run->supply_v[run->top];
    const double hottest_ohm = fmin(most_ohm, fmax(least_ohm, 1 / cabs(c)));
    status = try_joint(s, step, state, hottest_ohm, top_v);
    double supply_v = top_v;
    const double hidden_ohm = hide && status == PD_OK ? most_hidden(s, c, &supply_v) : 0;
    return hidden_ohm > 0 ? try_joint(s, step, state, hidden_ohm, supply_v) : status;
}

static enum pd_status run_level(const struct sweep *s, const struct pd_assessment *a, size_t state,
                                size_t level)
{
    struct pd_run *const run = s->run;
    enum pd_status status =
        pd_run_factor(run, pd_load_state(run->states, state), run->supply_v[level], NULL);
    const bool linear = pd_tree_linear(run->tree);
    for (size_t step = 0; step < s->list.count && status == PD_OK; step++) {
        const bool hide = may_hide(a, s->list.fault[step].section);
        if (step < SECTIONS_FOR_HEAT || hide)
            status = linear ? try_linear(s, step, state, hide) : try_steps(s, step, state, hide);
    }
    return status;
}

static enum pd_status run_sweep(const struct sweep *s, struct pd_assessment *a)
{
    const struct pd_run *const run = s->run;
    enum pd_status status = PD_OK;
    for (size_t state = 0; state < run->states->main_count && status == PD_OK; state++) {
        status = run_level(s, a, state, 0);
        for (size_t level = 1; level < pd_run_levels(run) && status == PD_OK; level++)
            status = run_level(s, a, state, level);
    }
    for (size_t step = 0; step < s->list.count && status == PD_OK; step++)
        for (size_t which = 0; which < PD_JOINTS_KEPT; which++)
            if (s->kept[step].taken[which])
                pd_assessment_add(a, &s->kept[step].scenario[which],
                                  run->study_case->detectors.count);
    return status;
}

enum pd_status pd_run_joints(struct pd_run *run, struct pd_assessment *a)
{
    const size_t detectors = run->study_case->detectors.count;
    if ((run->faults & 1u << PD_PEN_JOINT) == 0)
        return PD_OK;
    struct sweep s = {.run = run};
    enum pd_status status = pd_fault_row(PD_PEN_JOINT)->list(run->study_case, &s.list);
    s.kept = calloc(s.list.count + 1, sizeof *s.kept);
    s.sights = calloc(s.list.count * PD_JOINTS_KEPT * detectors + 1, sizeof *s.sights);
    s.scratch = calloc(detectors + 1, sizeof *s.scratch);
    struct sample sample[SAMPLES];
    struct pd_view *const views = calloc(SAMPLES * detectors + 1, sizeof *views);
    if (s.kept == NULL || s.sights == NULL || s.scratch == NULL || views == NULL)
        status = PD_ERR_MEMORY;
    if (status == PD_OK) {
        for (size_t i = 0; i < SAMPLES; i++)
            sample[i].view = views + i * detectors;
        s.sample = sample;
        status = run_sweep(&s, a);
    }
    pd_fault_list_free(&s.list);
    free(s.kept);
    free(s.sights);
    free(s.scratch);
    free(views);
    return status;
}
