/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/certify.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "study/manage.h"

/* The certified worst case of a case, and whether the verdict can rest on it.
 *
 * Policy. Where loads have declared ranges, `acceptable` must rest on proof: for every break the
 * bound is within the limit, or every voltage above it is proved to be disconnected in time. Where
 * nothing bad was found but the proof does not reach that far, the verdict is `not determined`, and
 * says for which break and by how much: a search that found nothing has not shown that nothing is
 * there. A hazard that was found needs no proof. Where no load has a range there is nothing to
 * prove: the states solved are all there are. */

/* On TT no PEN moves the chassis; what can hurt is PE metalwork of the house in reach, at the
 * potential of its main earthing terminal, and no device takes that away. PD_NONE: nothing. */
size_t pd_certify_target(const struct pd_case *c)
{
    const struct pd_node *const node = c->network->node;
    if (c->earthing != PD_TT)
        return node[c->charging_point].pe_node;
    if (!pd_tt_beside_pme(c) || pd_judge(pd_tt_reach_m, c->reach_m) == PD_WITHIN)
        return PD_NONE;
    return node[c->installation].pe_node;
}

bool pd_break_proved(const struct pd_worst_break *brk, double limit_v)
{
    return pd_judge(brk->bound_v, limit_v) == PD_WITHIN || brk->unseen_bound_v == 0;
}

size_t pd_worst_unseen_bound(const struct pd_assessment *a)
{
    size_t worst = PD_NONE;
    for (size_t i = 0; i < a->certified.count; i++) {
        const double bound_v = a->certified.brk[i].unseen_bound_v;
        if (bound_v > 0 &&
            (worst == PD_NONE || bound_v > a->certified.brk[worst].unseen_bound_v + 1e-4))
            worst = i;
    }
    return worst;
}

static enum pd_status allow(double *load_a, void *context)
{
    const struct pd_certifier *const c = context;
    return pd_load_states_allow(&c->what_if, load_a);
}

static bool step(void *context)
{
    const struct pd_certifier *const c = context;
    return pd_run_step(c->run) == PD_OK;
}

/* Load management may bring a vehicle down to nothing, whatever its declared low. */
static void fill_ranges(const struct pd_certifier *c)
{
    const struct pd_case *const study_case = &c->what_if;
    for (size_t i = 0; i < study_case->network->load_count; i++) {
        const struct pd_load *const load = &study_case->network->load[i];
        const bool managed = isfinite(study_case->demand_limit_a) && pd_gives_way(study_case, load);
        c->low_a[i] = managed ? 0 : load->low_a;
        c->high_a[i] = load->high_a;
    }
}

enum pd_status pd_certifier_new(struct pd_run *run, struct pd_certifier *c)
{
    const struct pd_case *const study_case = run->study_case;
    const size_t loads = study_case->network->load_count, ties = study_case->electrodes.count;
    *c =
        (struct pd_certifier){.run = run, .what_if = *study_case, .section_count = run->main.count};
    c->low_a = calloc(loads + 1, sizeof *c->low_a);
    c->high_a = calloc(loads + 1, sizeof *c->high_a);
    c->tie = calloc(ties + 1, sizeof *c->tie);
    c->section = calloc(run->main.count + 1, sizeof *c->section);
    if (c->low_a == NULL || c->high_a == NULL || c->tie == NULL || c->section == NULL) {
        pd_certifier_free(c);
        return PD_ERR_MEMORY;
    }
    memcpy(c->tie, study_case->tie, ties * sizeof *c->tie);
    c->tie[ties] = (struct pd_earth_tie){study_case->installation, INFINITY};
    fill_ranges(c);
    for (size_t i = 0; i < run->main.count; i++)
        c->section[i] = run->main.fault[i].section;
    return PD_OK;
}

void pd_certifier_free(struct pd_certifier *c)
{
    free(c->low_a);
    free(c->high_a);
    free(c->tie);
    free(c->section);
    *c = (struct pd_certifier){0};
}

struct pd_worst_settings pd_certifier_settings(struct pd_certifier *c)
{
    const struct pd_run *const run = c->run;
    const struct pd_case *const study_case = run->study_case;
    const struct pd_network *const network = study_case->network;
    struct pd_worst_settings settings = {
        .network = network,
        .tie = c->tie,
        .tie_count = study_case->electrodes.count + 1,
        .low_a = c->low_a,
        .high_a = c->high_a,
        .supply_low_v = fmin(study_case->limits.supply_low_v, study_case->supply_v),
        .supply_high_v = run->supply_v[run->top],
        .target = pd_certify_target(study_case),
        .section = c->section,
        .section_count = c->section_count,
        .detectors = study_case->earthing == PD_TT ? NULL : &study_case->detectors,
        .detector_node = study_case->detector_node,
        .detector_lines = study_case->installation_lines,
        .limit_v = study_case->limits.touch_v,
        .time_s = study_case->limits.time_s,
        .manage = allow,
        .progress = step,
        .context = c,
    };
    pd_worst_effort(&settings);
    return settings;
}

static double known(const struct pd_assessment *a, const struct pd_fault *fault)
{
    double most_v = 0;
    const bool tt = a->study_case->earthing == PD_TT;
    for (size_t i = 0; i < a->scenario_count; i++) {
        const struct pd_scenario *const s = &a->scenario[i];
        if (s->fault == fault->kind && s->section == fault->section)
            most_v = fmax(most_v, tt ? s->met_v : s->touch_v);
    }
    return most_v;
}

/* Solves what the certified search found and adds it, where it is news. */
static enum pd_status add_news(struct pd_run *run, const struct pd_fault *fault,
                               const struct pd_worst_break *brk, struct pd_sight *sight,
                               struct pd_assessment *a)
{
    const double worth_v = 1e-3;
    if (!(brk->attained_v > known(a, fault) + worth_v))
        return PD_OK;
    const double supply_v = run->supply_v[run->top];
    enum pd_status status = pd_run_factor(run, brk->load_a, supply_v, NULL);
    if (status == PD_OK)
        status = pd_run_solve(run, fault);
    if (status != PD_OK || run->solution.standing != PD_SOLVED)
        return status;
    struct pd_scenario scenario;
    pd_run_fill(run, fault, PD_LOADS_CORNER, supply_v, &scenario, sight);
    pd_assessment_add(a, &scenario, run->study_case->detectors.count);
    return PD_OK;
}

static enum pd_status certify(struct pd_certifier *c, struct pd_sight *sight,
                              struct pd_assessment *a)
{
    const struct pd_worst_settings settings = pd_certifier_settings(c);
    enum pd_status status = pd_worst_find(&settings, &a->certified);
    for (size_t i = 0; i < a->certified.count && status == PD_OK; i++) {
        a->proved &= pd_break_proved(&a->certified.brk[i], settings.limit_v);
        status = add_news(c->run, &c->run->main.fault[i], &a->certified.brk[i], sight, a);
    }
    return status;
}

static bool has_range(const struct pd_network *network)
{
    for (size_t i = 0; i < network->load_count; i++)
        if (network->load[i].low_a != network->load[i].high_a)
            return true;
    return false;
}

enum pd_status pd_run_certify(struct pd_run *run, struct pd_assessment *a)
{
    const struct pd_case *const study_case = run->study_case;
    a->ranged = has_range(study_case->network);
    /* The proof takes each electrode to stand alone: where they lift each other's ground it says
     * nothing, and where loads have ranges nothing is proved. */
    const bool coupled = study_case->mutual_ohm != NULL;
    a->proved = !a->ranged || !coupled;
    if (!a->ranged || coupled || (run->faults & 1u << PD_OPEN_PEN) == 0 ||
        pd_certify_target(study_case) == PD_NONE)
        return PD_OK;
    struct pd_certifier c;
    struct pd_sight *const sight = calloc(study_case->detectors.count + 1, sizeof *sight);
    enum pd_status status = sight != NULL ? pd_certifier_new(run, &c) : PD_ERR_MEMORY;
    if (status == PD_OK) {
        status = certify(&c, sight, a);
        pd_certifier_free(&c);
    }
    free(sight);
    return status;
}
