/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "study/run.h"

/* What is kept of one break: the worst that nothing disconnects in time, the worst that something
 * does. */
struct slots {
    struct pd_scenario scenario[PD_CORNERS_KEPT];
    bool taken[PD_CORNERS_KEPT];
};

static bool is_worse(const struct pd_scenario *s, const struct pd_scenario *than)
{
    if ((s->standing == PD_SOLVED) != (than->standing == PD_SOLVED))
        return s->standing != PD_SOLVED;
    if (pd_exceeds(than->touch_v, s->touch_v))
        return false;
    return pd_exceeds(s->touch_v, than->touch_v) || pd_exceeds(s->reach_v, than->reach_v) ||
           (isnan(than->touch_v) && !isnan(s->touch_v));
}

/* `sights` is the room for the sights of this break's slots. */
static void keep(struct slots *slots, struct pd_sight *sights, size_t detectors,
                 const struct pd_scenario *s)
{
    const size_t which = pd_is_hazard(s) ? 0 : 1;
    if (slots->taken[which] && !is_worse(s, &slots->scenario[which]))
        return;
    struct pd_sight *const sight = sights + which * detectors;
    if (detectors > 0)
        memcpy(sight, s->sight, detectors * sizeof *sight);
    slots->scenario[which] = *s;
    slots->scenario[which].sight = sight;
    slots->taken[which] = true;
}

/* What the slots of every break are filled with. */
struct keeping {
    struct slots *slots;      /* [path_count] */
    struct pd_sight *sights;  /* theirs */
    struct pd_sight *scratch; /* [detectors.count] */
};

static enum pd_status run_level(struct pd_run *run, size_t state, size_t level,
                                const struct keeping *k)
{
    const size_t detectors = run->study_case->detectors.count;
    enum pd_status status =
        pd_run_factor(run, pd_load_state(run->states, state), run->supply_v[level], NULL);
    const bool all = pd_run_levels(run) == 1;
    for (size_t step = 0; step < run->path_count && status == PD_OK; step++) {
        const struct pd_fault fault = pd_open_pen(run->path[step]);
        status = pd_run_solve(run, &fault);
        for (size_t supply = all ? 0 : level; supply < (all ? run->supply_count : level + 1);
             supply++) {
            struct pd_scenario s;
            pd_run_fill(run, &fault, PD_LOADS_CORNER, run->supply_v[supply], &s, k->scratch);
            keep(&k->slots[step], k->sights + step * PD_CORNERS_KEPT * detectors, detectors, &s);
        }
    }
    return status;
}

static enum pd_status run_corner(struct pd_run *run, size_t state, const struct keeping *k)
{
    enum pd_status status = run_level(run, state, 0, k);
    for (size_t level = 1; level < pd_run_levels(run) && status == PD_OK; level++)
        status = run_level(run, state, level, k);
    return status;
}

static void hand_over(const struct pd_run *run, const struct slots *slots, struct pd_assessment *a)
{
    const size_t detectors = run->study_case->detectors.count;
    for (size_t step = 0; step < run->path_count; step++)
        for (size_t which = 0; which < PD_CORNERS_KEPT; which++)
            if (slots[step].taken[which])
                pd_assessment_add(a, &slots[step].scenario[which], detectors);
}

enum pd_status pd_run_corners(struct pd_run *run, struct pd_assessment *a)
{
    const size_t detectors = run->study_case->detectors.count;
    if ((run->faults & 1u << PD_OPEN_PEN) == 0)
        return PD_OK;
    const struct keeping k = {
        .slots = calloc(run->path_count + 1, sizeof *k.slots),
        .sights = calloc(run->path_count * PD_CORNERS_KEPT * detectors + 1, sizeof *k.sights),
        .scratch = calloc(detectors + 1, sizeof *k.scratch),
    };
    enum pd_status status =
        k.slots != NULL && k.sights != NULL && k.scratch != NULL ? PD_OK : PD_ERR_MEMORY;
    for (size_t s = run->states->main_count; s < run->states->count && status == PD_OK; s++)
        status = run_corner(run, s, &k);
    if (status == PD_OK)
        hand_over(run, k.slots, a);
    free(k.slots);
    free(k.sights);
    free(k.scratch);
    return status;
}
