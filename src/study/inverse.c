/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>

#include "study/run.h"

/* With V (1 + Z G) = Voc: Z = (v1 - v2) / (v2 g2 - v1 g1), Voc = v1 (1 + Z g1). The limit is kept
 * where |1 + Z G| >= |Voc| / limit: |Z|^2 G^2 + 2 Re(Z) G + 1 - (|Voc|/limit)^2 = 0 gives the least
 * G. */
double pd_electrode_from_two(double complex v1, double g1, double complex v2, double g2,
                             double limit_v)
{
    const double complex slope = v2 * g2 - v1 * g1;
    if (!isfinite(cabs(v1)) || !isfinite(cabs(v2)) || !(limit_v > 0))
        return NAN;
    /* Nothing drives the terminal: below this its potential is rounding, and so would Z be. */
    if (cabs(v1) < 1e-9 && cabs(v2) < 1e-9)
        return INFINITY;
    /* A terminal that no conductance moves is held by something stiffer than any electrode. */
    const double complex z = v1 == v2 ? 0 : (v1 - v2) / slope;
    const double open_v = cabs(v1 * (1 + z * g1));
    if (open_v <= limit_v)
        return INFINITY;
    const double a = creal(z * conj(z)), b = creal(z), over = open_v / limit_v;
    if (!(a > 0))
        return isnan(a) ? NAN : 0;
    const double least_s = (sqrt(b * b + a * (over * over - 1)) - b) / a;
    return 1 / least_s;
}

static const double probe_ohm[2] = {1, 10};

/* Puts the probe in place of the electrodes on the terminal. */
static void set_probe(struct pd_run *run, double ohm)
{
    const struct pd_case *const c = run->study_case;
    const struct pd_node *const node = c->network->node;
    for (size_t i = 0; i < c->electrodes.count; i++)
        if (pd_case_own(c, c->tie[i].node) &&
            node[c->tie[i].node].pe_node == node[c->installation].pe_node)
            run->tie[i].resistance_ohm = INFINITY;
    run->tie[c->electrodes.count].resistance_ohm = ohm;
}

static void restore_ties(struct pd_run *run)
{
    const struct pd_case *const c = run->study_case;
    for (size_t i = 0; i < c->electrodes.count; i++)
        run->tie[i] = c->tie[i];
    run->tie[c->electrodes.count].resistance_ohm = INFINITY;
}

/* The breaks to try: those that cut the installation off, and any other that passes the limit. */
struct candidates {
    size_t *section;
    size_t count;
};

static enum pd_status find_candidates(const struct pd_run *run, const struct pd_assessment *a,
                                      struct candidates *found)
{
    const size_t nodes = run->study_case->network->node_count;
    bool *const wanted = calloc(nodes, sizeof *wanted);
    found->section = calloc(nodes, sizeof *found->section);
    if (wanted == NULL || found->section == NULL) {
        free(wanted);
        free(found->section);
        return PD_ERR_MEMORY;
    }
    for (size_t i = 0; i < run->path_count; i++)
        wanted[run->path[i]] = true;
    for (size_t i = 0; i < a->scenario_count; i++)
        if (a->scenario[i].touch == PD_OVER && a->scenario[i].section != PD_NONE)
            wanted[a->scenario[i].section] = true;
    found->count = 0;
    for (size_t i = 1; i < nodes; i++)
        if (wanted[i])
            found->section[found->count++] = i;
    free(wanted);
    return PD_OK;
}

static enum pd_status factor_with(struct pd_run *run, size_t state, double ohm)
{
    set_probe(run, ohm);
    return pd_run_factor(run, pd_load_state(run->states, state), run->supply_v[run->top], NULL);
}

/* The terminal's potential at the highest supply for each candidate, into met_v. */
static enum pd_status solve_candidates(struct pd_run *run, const struct candidates *candidates,
                                       size_t state, double ohm, double complex *met_v)
{
    const struct pd_case *const c = run->study_case;
    const size_t pe_node = c->network->node[c->installation].pe_node;
    enum pd_status status = factor_with(run, state, ohm);
    for (size_t i = 0; i < candidates->count && status == PD_OK; i++) {
        const struct pd_cut cut = {.kind = PD_CUT_OPEN, .section = candidates->section[i]};
        double complex v[PD_CONDUCTORS];
        status = pd_tree_voltage_at(run->tree, &cut, pe_node, v);
        met_v[i] = v[PD_N];
        if (status == PD_OK)
            status = pd_run_step(run);
    }
    return status;
}

/* The least resistance found, and where. */
struct least {
    double ohm;
    size_t state, section;
};

static enum pd_status try_state(struct pd_run *run, const struct candidates *candidates,
                                size_t state, double complex *met_v, struct least *least)
{
    double complex *const second_v = met_v + candidates->count;
    enum pd_status status = solve_candidates(run, candidates, state, probe_ohm[0], met_v);
    if (status == PD_OK)
        status = solve_candidates(run, candidates, state, probe_ohm[1], second_v);
    for (size_t i = 0; i < candidates->count && status == PD_OK; i++) {
        const double ohm = pd_electrode_from_two(met_v[i], 1 / probe_ohm[0], second_v[i],
                                                 1 / probe_ohm[1], run->study_case->limits.touch_v);
        /* Written so that NaN is kept. */
        if (!isnan(least->ohm) && !(ohm >= least->ohm))
            *least = (struct least){ohm, state, candidates->section[i]};
    }
    return status;
}

/* Puts the answer back into the network, where it must give the limit; NaN where it does not. */
static enum pd_status put_back(struct pd_run *run, struct least *least)
{
    if (!isfinite(least->ohm) || least->ohm == 0)
        return PD_OK;
    const struct pd_case *const c = run->study_case;
    const struct pd_cut cut = {.kind = PD_CUT_OPEN, .section = least->section};
    enum pd_status status = factor_with(run, least->state, least->ohm);
    if (status == PD_OK)
        status = pd_tree_solve(run->tree, &cut, &run->solution);
    const size_t pe_node = c->network->node[c->installation].pe_node;
    const double limit_v = c->limits.touch_v;
    const double met_v = cabs(run->solution.v[pe_node][PD_N]);
    if (run->solution.standing != PD_SOLVED || !(fabs(met_v - limit_v) <= 1e-6 * limit_v))
        least->ohm = NAN;
    return status;
}

static enum pd_status by_two_probes(struct pd_run *run, const struct candidates *candidates,
                                    double *max_ohm)
{
    struct least least = {.ohm = INFINITY};
    double complex *const met_v = calloc(2 * candidates->count + 1, sizeof *met_v);
    enum pd_status status = met_v != NULL ? PD_OK : PD_ERR_MEMORY;
    for (size_t state = 0; state < run->states->count && status == PD_OK; state++)
        status = try_state(run, candidates, state, met_v, &least);
    if (status == PD_OK)
        status = put_back(run, &least);
    free(met_v);
    *max_ohm = least.ohm;
    return status;
}

/* Whether a resistance holds the terminal within the limit in every state and break, stopping at
 * the first that it does not: PD_UNKNOWN where one is not solved. */
static enum pd_status try_resistance(struct pd_run *run, const struct candidates *candidates,
                                     double ohm, enum pd_judgement *held)
{
    const struct pd_case *const c = run->study_case;
    const size_t pe_node = c->network->node[c->installation].pe_node;
    *held = PD_WITHIN;
    for (size_t state = 0; state < run->states->count; state++) {
        enum pd_status status = factor_with(run, state, ohm);
        for (size_t i = 0; i < candidates->count && status == PD_OK && *held == PD_WITHIN; i++) {
            const struct pd_fault fault = pd_open_pen(candidates->section[i]);
            status = pd_run_solve(run, &fault);
            *held = pd_judge(cabs(run->solution.v[pe_node][PD_N]), c->limits.touch_v);
        }
        if (status != PD_OK || *held != PD_WITHIN)
            return status;
    }
    return PD_OK;
}

/* Where loads are not linear: halving between a resistance that holds and one that does not, on the
 * understanding that less resistance holds better. An answer not solved ends it: not determined. */
static enum pd_status by_halving(struct pd_run *run, const struct candidates *candidates,
                                 double *max_ohm)
{
    enum { HALVINGS = 20 };
    double low = log(0.01), high = log(1e5);
    enum pd_judgement held;
    enum pd_status status = try_resistance(run, candidates, exp(high), &held);
    *max_ohm = held == PD_WITHIN ? INFINITY : NAN;
    if (status != PD_OK || held != PD_OVER)
        return status;
    status = try_resistance(run, candidates, exp(low), &held);
    *max_ohm = held == PD_OVER ? 0 : NAN;
    for (int i = 0; i < HALVINGS && status == PD_OK && held == PD_WITHIN; i++) {
        enum pd_judgement middle;
        status = try_resistance(run, candidates, exp((low + high) / 2), &middle);
        if (middle == PD_UNKNOWN)
            return status;
        *(middle == PD_WITHIN ? &low : &high) = (low + high) / 2;
    }
    if (held == PD_WITHIN)
        *max_ohm = exp(low);
    return status;
}

enum pd_status pd_run_electrode_max(struct pd_run *run, const struct pd_assessment *a,
                                    double *max_ohm)
{
    /* On TT nothing ties the chassis to the PEN, and no electrode is needed to hold it. */
    *max_ohm = INFINITY;
    if (run->study_case->earthing == PD_TT)
        return PD_OK;
    struct candidates candidates;
    enum pd_status status = find_candidates(run, a, &candidates);
    if (status != PD_OK)
        return status;
    status = pd_tree_linear(run->tree) ? by_two_probes(run, &candidates, max_ohm)
                                       : by_halving(run, &candidates, max_ohm);
    restore_ties(run);
    free(candidates.section);
    return status;
}
