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
    return pd_exceeds(s->touch_v, than->touch_v) || (isnan(than->touch_v) && !isnan(s->touch_v));
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

static enum pd_status run_corner(struct pd_run *run, size_t state, struct slots *slots,
                                 struct pd_sight *sights, struct pd_sight *scratch)
{
    const size_t detectors = run->study_case->detectors.count;
    enum pd_status status = pd_run_factor(run, pd_load_state(run->states, state));
    for (size_t step = 0; step < run->path_count && status == PD_OK; step++) {
        status = pd_run_solve(run, run->path[step]);
        for (size_t supply = 0; supply < run->supply_count && status == PD_OK; supply++) {
            struct pd_scenario s;
            pd_run_fill(run, run->path[step], PD_LOADS_CORNER, run->supply_v[supply], &s, scratch);
            keep(&slots[step], sights + step * PD_CORNERS_KEPT * detectors, detectors, &s);
        }
    }
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
    struct slots *const slots = calloc(run->path_count + 1, sizeof *slots);
    struct pd_sight *const sights =
        calloc(run->path_count * PD_CORNERS_KEPT * detectors + 1, sizeof *sights);
    struct pd_sight *const scratch = calloc(detectors + 1, sizeof *scratch);
    enum pd_status status =
        slots != NULL && sights != NULL && scratch != NULL ? PD_OK : PD_ERR_MEMORY;
    for (size_t s = run->states->main_count; s < run->states->count && status == PD_OK; s++)
        status = run_corner(run, s, slots, sights, scratch);
    if (status == PD_OK)
        hand_over(run, slots, a);
    free(slots);
    free(sights);
    free(scratch);
    return status;
}
