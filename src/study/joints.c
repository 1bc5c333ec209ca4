/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "study/run.h"

/* What is kept of the joint in one section: the worst that nothing disconnects, and the hottest. */
enum { HAZARD, HOTTEST };

struct kept {
    struct pd_scenario scenario[PD_JOINTS_KEPT];
    bool taken[PD_JOINTS_KEPT];
};

struct sweep {
    struct pd_run *run;
    struct pd_fault_list list;
    bool *wanted;             /* [list.count] */
    struct kept *kept;        /* by fault: all of one section use the first one's */
    struct pd_sight *sights;  /* [list.count][PD_JOINTS_KEPT][detectors.count] */
    struct pd_sight *scratch; /* [detectors.count] */
};

size_t pd_run_joints_room(const struct pd_run *run)
{
    return (run->faults & 1u << PD_PEN_JOINT) != 0 ? PD_JOINTS_KEPT * run->path_count : 0;
}

static void keep(const struct sweep *s, size_t first, size_t which,
                 const struct pd_scenario *scenario)
{
    const size_t detectors = s->run->study_case->detectors.count;
    struct kept *const kept = &s->kept[first];
    struct pd_sight *const sight = s->sights + (first * PD_JOINTS_KEPT + which) * detectors;
    if (detectors > 0)
        memcpy(sight, scenario->sight, detectors * sizeof *sight);
    kept->scenario[which] = *scenario;
    kept->scenario[which].sight = sight;
    kept->taken[which] = true;
}

/* A joint not solved is kept as a hazard is: nothing may be acceptable beside it. */
static void consider(const struct sweep *s, size_t first, const struct pd_scenario *scenario)
{
    const struct kept *const kept = &s->kept[first];
    const bool unsolved = scenario->touch == PD_UNKNOWN && !scenario->floating;
    if ((pd_is_hazard(scenario) || unsolved) &&
        (!kept->taken[HAZARD] || pd_exceeds(scenario->touch_v, kept->scenario[HAZARD].touch_v) ||
         (unsolved && !pd_is_hazard(&kept->scenario[HAZARD]))))
        keep(s, first, HAZARD, scenario);
    if (!kept->taken[HOTTEST] || pd_exceeds(scenario->joint_w, kept->scenario[HOTTEST].joint_w))
        keep(s, first, HOTTEST, scenario);
}

static size_t first_of_section(const struct pd_fault_list *list, size_t i)
{
    while (i > 0 && list->fault[i - 1].section == list->fault[i].section)
        i--;
    return i;
}

/* How many sections, from the installation on, are tried for the heat of a bad joint. */
enum { SECTIONS_FOR_HEAT = 8 };

/* A bad joint drives the neutral less far than an open one. It adds to what the open PEN says only
 * where that passes the limit and a device acts on all of it: then it may be what the device does
 * not see. */
static void choose(const struct sweep *s, const struct pd_assessment *a)
{
    size_t sections = 0;
    for (size_t i = 0; i < s->list.count; i++) {
        const size_t section = s->list.fault[i].section;
        if (first_of_section(&s->list, i) != i) {
            s->wanted[i] = s->wanted[i - 1];
            continue;
        }
        size_t over = 0, unseen = 0;
        for (size_t k = 0; k < a->scenario_count; k++) {
            const struct pd_scenario *const open = &a->scenario[k];
            over += open->section == section && open->touch == PD_OVER;
            unseen += open->section == section && pd_is_hazard(open);
        }
        s->wanted[i] = sections++ < SECTIONS_FOR_HEAT || (over > 0 && unseen == 0);
    }
}

static enum pd_status run_level(const struct sweep *s, size_t state, size_t level)
{
    struct pd_run *const run = s->run;
    enum pd_status status =
        pd_run_factor(run, pd_load_state(run->states, state), run->supply_v[level], NULL);
    const bool all = pd_run_levels(run) == 1;
    for (size_t i = 0; i < s->list.count && status == PD_OK; i++) {
        if (!s->wanted[i])
            continue;
        status = pd_run_solve(run, &s->list.fault[i]);
        for (size_t supply = all ? 0 : level; supply < (all ? run->supply_count : level + 1);
             supply++) {
            struct pd_scenario scenario;
            pd_run_fill(run, &s->list.fault[i], run->states->kind[state], run->supply_v[supply],
                        &scenario, s->scratch);
            consider(s, first_of_section(&s->list, i), &scenario);
        }
    }
    return status;
}

static enum pd_status run_sweep(const struct sweep *s, struct pd_assessment *a)
{
    const struct pd_run *const run = s->run;
    enum pd_status status = PD_OK;
    for (size_t state = 0; state < run->states->main_count && status == PD_OK; state++) {
        status = run_level(s, state, 0);
        for (size_t level = 1; level < pd_run_levels(run) && status == PD_OK; level++)
            status = run_level(s, state, level);
    }
    for (size_t i = 0; i < s->list.count && status == PD_OK; i++)
        for (size_t which = 0; which < PD_JOINTS_KEPT; which++)
            if (s->kept[i].taken[which])
                pd_assessment_add(a, &s->kept[i].scenario[which], run->study_case->detectors.count);
    return status;
}

enum pd_status pd_run_joints(struct pd_run *run, struct pd_assessment *a)
{
    const size_t detectors = run->study_case->detectors.count;
    struct sweep s = {.run = run};
    if ((run->faults & 1u << PD_PEN_JOINT) == 0)
        return PD_OK;
    enum pd_status status = pd_fault_row(PD_PEN_JOINT)->list(run->study_case, &s.list);
    s.wanted = calloc(s.list.count + 1, sizeof *s.wanted);
    s.kept = calloc(s.list.count + 1, sizeof *s.kept);
    s.sights = calloc(s.list.count * PD_JOINTS_KEPT * detectors + 1, sizeof *s.sights);
    s.scratch = calloc(detectors + 1, sizeof *s.scratch);
    if (s.wanted == NULL || s.kept == NULL || s.sights == NULL || s.scratch == NULL)
        status = PD_ERR_MEMORY;
    if (status == PD_OK) {
        choose(&s, a);
        status = run_sweep(&s, a);
    }
    pd_fault_list_free(&s.list);
    free(s.wanted);
    free(s.kept);
    free(s.sights);
    free(s.scratch);
    return status;
}
