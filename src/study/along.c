/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/along.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "study/after.h"
#include "study/run.h"

static bool breaks_pen(const struct pd_assessment *a, size_t scenario)
{
    return scenario < a->scenario_count && (a->scenario[scenario].fault == PD_OPEN_PEN ||
                                            a->scenario[scenario].fault == PD_PEN_JOINT);
}

size_t pd_deciding_scenario(const struct pd_assessment *a)
{
    size_t worst = PD_NONE;
    if (breaks_pen(a, a->worst_unseen))
        return a->worst_unseen;
    if (breaks_pen(a, a->worst))
        return a->worst;
    /* Nothing that breaks a PEN moves the chassis: then where the installation's metalwork goes. */
    for (size_t i = 0; i < a->scenario_count; i++) {
        const struct pd_scenario *const s = &a->scenario[i];
        if (s->fault == PD_OPEN_PEN && s->standing == PD_SOLVED && !s->floating &&
            (worst == PD_NONE || pd_exceeds(s->met_v, a->scenario[worst].met_v)))
            worst = i;
    }
    return worst;
}

/* The currents that the certified search found for the scenario's break; NULL where it was not what
 * found it. */
static const double *certified_loads(const struct pd_assessment *a, const struct pd_scenario *s)
{
    for (size_t i = 0; i < a->certified.count; i++)
        if (a->certified.brk[i].section == s->section && s->fault == PD_OPEN_PEN)
            return a->certified.brk[i].load_a;
    return NULL;
}

/* False where the scenario's loads are not kept. */
static bool set_loads(const struct pd_run *run, const struct pd_assessment *a,
                      const struct pd_scenario *s, double *load_a)
{
    const size_t count = run->states->load_count;
    if (s->place.from == PD_NONE) {
        const double *const found_a = certified_loads(a, s);
        if (found_a != NULL && count > 0)
            memcpy(load_a, found_a, count * sizeof *load_a);
        return found_a != NULL;
    }
    for (size_t i = 0; i < count; i++)
        load_a[i] = (1 - s->place.share) * pd_load_state(run->states, s->place.from)[i] +
                    s->place.share * pd_load_state(run->states, s->place.to)[i];
    return true;
}

static void read_nodes(const struct pd_run *run, struct pd_along *along)
{
    for (size_t i = 0; i < along->count; i++)
        along->touch_v[i] = cabs(pd_run_pe(run, i));
}

static bool comes_out(const struct pd_run *run, const struct pd_scenario *s,
                      const struct pd_along *along)
{
    const struct pd_case *const c = run->study_case;
    const double near_v = 1e-6 * s->supply_v;
    return run->solution.standing == PD_SOLVED &&
           fabs(along->touch_v[c->charging_point] - s->touch_v) <= near_v &&
           fabs(along->touch_v[c->installation] - s->met_v) <= near_v;
}

static enum pd_status solve(struct pd_run *run, const struct pd_assessment *a,
                            const struct pd_scenario *s, double *load_a)
{
    const struct pd_fault fault = pd_after_fault(s);
    if (!set_loads(run, a, s, load_a))
        return PD_ERR_ARGUMENT;
    const enum pd_status status = pd_run_factor(run, load_a, s->supply_v, NULL);
    return status == PD_OK ? pd_run_solve(run, &fault) : status;
}

enum pd_status pd_run_along(struct pd_run *run, struct pd_assessment *a)
{
    const size_t scenario = pd_deciding_scenario(a), nodes = run->study_case->network->node_count;
    a->along = (struct pd_along){.scenario = PD_NONE};
    if (scenario == PD_NONE)
        return PD_OK;
    struct pd_along along = {scenario, calloc(nodes, sizeof(double)), nodes};
    double *const load_a = calloc(run->states->load_count + 1, sizeof *load_a);
    enum pd_status status = along.touch_v != NULL && load_a != NULL ? PD_OK : PD_ERR_MEMORY;
    if (status == PD_OK)
        status = solve(run, a, &a->scenario[scenario], load_a);
    if (status == PD_OK)
        read_nodes(run, &along);
    free(load_a);
    if (status == PD_OK && comes_out(run, &a->scenario[scenario], &along))
        a->along = along;
    else
        pd_along_free(&along);
    return status == PD_ERR_ARGUMENT ? PD_OK : status;
}

void pd_along_free(struct pd_along *along)
{
    free(along->touch_v);
    *along = (struct pd_along){.scenario = PD_NONE};
}
