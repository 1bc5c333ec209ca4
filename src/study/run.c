/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/run.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const char *const pd_fault_names[PD_FAULTS] = {
    [PD_HEALTHY] = "healthy", [PD_OPEN_PEN] = "open-pen"};

static void add_supply(struct pd_run *run, double supply_v)
{
    for (size_t i = 0; i < run->supply_count; i++)
        if (run->supply_v[i] == supply_v)
            return;
    run->supply_v[run->supply_count++] = supply_v;
    if (supply_v > run->supply_v[run->top])
        run->top = run->supply_count - 1;
}

static void list_breaks(struct pd_run *run)
{
    const struct pd_network *const network = run->study_case->network;
    run->breaks[run->break_count++] = PD_NONE;
    for (size_t i = 1; i < network->node_count; i++)
        if (!network->node[i].separate)
            run->breaks[run->break_count++] = i;
    for (size_t i = run->study_case->installation; i > 0; i = network->node[i].parent)
        if (!network->node[i].separate)
            run->path[run->path_count++] = i;
}

/* Solutions that the parts of a run ask for: main states, corners, two probes. */
static size_t work_of(const struct pd_run *run)
{
    const size_t corners = run->states->count - run->states->main_count;
    return run->states->main_count * run->break_count + corners * run->path_count +
           2 * run->states->count * run->path_count;
}

enum pd_status pd_run_new(const struct pd_case *c, const struct pd_load_states *states,
                          struct pd_run *run)
{
    const size_t ties = c->electrodes.count, nodes = c->network->node_count;
    *run = (struct pd_run){.study_case = c, .states = states};
    add_supply(run, c->supply_v);
    add_supply(run, c->limits.supply_low_v);
    add_supply(run, c->limits.supply_high_v);
    run->tie = calloc(ties + 1, sizeof *run->tie);
    run->path = calloc(nodes, sizeof *run->path);
    run->breaks = calloc(nodes, sizeof *run->breaks);
    if (run->tie == NULL || run->path == NULL || run->breaks == NULL ||
        pd_tree_new(c->network, &run->tree) != PD_OK ||
        pd_solution_new(c->network, &run->solution) != PD_OK) {
        pd_run_free(run);
        return PD_ERR_MEMORY;
    }
    memcpy(run->tie, c->tie, ties * sizeof *run->tie);
    run->tie[ties] = (struct pd_earth_tie){c->installation, INFINITY};
    list_breaks(run);
    run->all = work_of(run);
    return PD_OK;
}

void pd_run_free(struct pd_run *run)
{
    pd_tree_free(&run->tree);
    pd_solution_free(&run->solution);
    free(run->tie);
    free(run->path);
    free(run->breaks);
    run->tie = NULL;
    run->path = run->breaks = NULL;
}

enum pd_status pd_run_factor(struct pd_run *run, const double *load_a)
{
    const struct pd_operating operating = {
        .load_a = load_a,
        .tie = run->tie,
        .tie_count = run->study_case->electrodes.count + 1,
        .supply_v = run->supply_v[0],
    };
    return pd_tree_factor(run->tree, &operating);
}

enum pd_status pd_run_step(struct pd_run *run)
{
    run->done++;
    if (run->progress == NULL || run->done % 64 != 0)
        return PD_OK;
    const double share = fmin(1, (double)run->done / (double)run->all);
    return run->progress(share, run->context) ? PD_OK : PD_ERR_INTERRUPTED;
}

enum pd_status pd_run_solve(struct pd_run *run, size_t section)
{
    const struct pd_cut cut = {.kind = section == PD_NONE ? PD_CUT_NONE : PD_CUT_OPEN,
                               .section = section == PD_NONE ? 0 : section};
    const enum pd_status status = pd_tree_solve(run->tree, &cut, &run->solution);
    return status == PD_OK ? pd_run_step(run) : status;
}

double complex pd_run_pe(const struct pd_run *run, size_t node)
{
    const size_t pe_node = run->study_case->network->node[node].pe_node;
    return pe_node == PD_NONE ? 0 : run->solution.v[pe_node][PD_N];
}

struct pd_view pd_run_view(const struct pd_run *run, size_t detector)
{
    const struct pd_case *const c = run->study_case;
    const size_t node = c->detector_node[detector];
    struct pd_view view = {.pe_v = pd_run_pe(run, node),
                           .lines = c->installation_lines & c->network->node[node].lines};
    memcpy(view.v, run->solution.v[node], sizeof view.v);
    return view;
}

static double own_electrode_current(const struct pd_run *run)
{
    const struct pd_case *const c = run->study_case;
    double complex total_a = 0;
    for (size_t i = 0; i < c->electrodes.count; i++)
        if (pd_case_own(c, run->tie[i].node))
            total_a += pd_tie_current(c->network, &run->tie[i], &run->solution);
    return cabs(total_a);
}

static void scale_view(struct pd_view *view, double scale)
{
    view->pe_v *= scale;
    for (int k = 0; k < PD_CONDUCTORS; k++)
        view->v[k] *= scale;
}

static void look(const struct pd_run *run, double scale, struct pd_scenario *s,
                 struct pd_sight *sight)
{
    const struct pd_case *const c = run->study_case;
    s->sight = sight;
    for (size_t i = 0; i < c->detectors.count; i++) {
        sight[i] = (struct pd_sight){.kind = PD_SIGHT_UNKNOWN, .time_s = NAN, .figure_v = NAN};
        if (s->standing != PD_SOLVED)
            continue;
        struct pd_view view = pd_run_view(run, i);
        scale_view(&view, scale);
        sight[i] = pd_detector_look(&c->detectors.detector[i], &view);
        s->disconnected |= pd_sight_in_time(&sight[i], c->limits.time_s);
    }
}

void pd_run_fill(const struct pd_run *run, size_t section, enum pd_loads loads, double supply_v,
                 struct pd_scenario *s, struct pd_sight *sight)
{
    const struct pd_case *const c = run->study_case;
    const struct pd_solution *const solution = &run->solution;
    const double scale = supply_v / run->supply_v[0];
    const bool solved = solution->standing == PD_SOLVED;
    const double complex *const v = solution->v[c->charging_point];
    *s = (struct pd_scenario){
        .fault = section == PD_NONE ? PD_HEALTHY : PD_OPEN_PEN,
        .section = section,
        .loads = loads,
        .supply_v = supply_v,
        .met_v = solved ? scale * cabs(pd_run_pe(run, c->installation)) : NAN,
        .touch_v = solved ? scale * cabs(pd_run_pe(run, c->charging_point)) : NAN,
        .electrode_a = solved ? scale * own_electrode_current(run) : NAN,
        .residual = solution->residual,
        .standing = solution->standing,
    };
    for (int line = PD_L1; line < PD_LINES; line++)
        s->line_neutral_v[line] = solved && (c->installation_lines & 1u << line) != 0
                                      ? scale * cabs(v[line] - v[PD_N])
                                      : NAN;
    s->floating = solved && isnan(creal(v[PD_N]));
    s->touch = pd_judge(s->touch_v, c->limits.touch_v);
    look(run, scale, s, sight);
}

void pd_assessment_add(struct pd_assessment *a, const struct pd_scenario *s, size_t detectors)
{
    const size_t i = a->scenario_count++;
    a->scenario[i] = *s;
    a->scenario[i].sight = &a->sight[i * detectors];
    if (detectors > 0)
        memcpy(&a->sight[i * detectors], s->sight, detectors * sizeof *a->sight);
}

bool pd_exceeds(double value_v, double than_v)
{
    return value_v > than_v + 1e-9;
}

bool pd_is_hazard(const struct pd_scenario *s)
{
    return s->touch == PD_OVER && !s->disconnected;
}

/* Where a break's scenario in a state and at a supply stands among the main scenarios. */
static size_t main_index(const struct pd_run *run, size_t which, size_t state, size_t supply)
{
    return (which * run->states->main_count + state) * run->supply_count + supply;
}

enum pd_status pd_run_main(struct pd_run *run, struct pd_assessment *a)
{
    const size_t detectors = run->study_case->detectors.count;
    enum pd_status status = PD_OK;
    for (size_t state = 0; state < run->states->main_count && status == PD_OK; state++) {
        status = pd_run_factor(run, pd_load_state(run->states, state));
        for (size_t b = 0; b < run->break_count && status == PD_OK; b++) {
            status = pd_run_solve(run, run->breaks[b]);
            for (size_t supply = 0; supply < run->supply_count; supply++) {
                const size_t i = main_index(run, b, state, supply);
                pd_run_fill(run, run->breaks[b], run->states->kind[state], run->supply_v[supply],
                            &a->scenario[i], &a->sight[i * detectors]);
            }
        }
    }
    a->scenario_count = run->break_count * run->states->main_count * run->supply_count;
    a->break_count = run->break_count - 1;
    return status;
}
