/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/run.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static void add_supply(struct pd_run *run, double supply_v)
{
    for (size_t i = 0; i < run->supply_count; i++)
        if (run->supply_v[i] == supply_v)
            return;
    run->supply_v[run->supply_count++] = supply_v;
    if (supply_v > run->supply_v[run->top])
        run->top = run->supply_count - 1;
}

static enum pd_status list_breaks(struct pd_run *run)
{
    const struct pd_case *const c = run->study_case;
    const struct pd_network *const network = c->network;
    for (size_t i = c->installation; i > 0; i = network->node[i].parent)
        if (!network->node[i].separate)
            run->path[run->path_count++] = i;
    enum pd_status status = pd_fault_row(PD_HEALTHY)->list(c, &run->main);
    if (status == PD_OK && (run->faults & 1u << PD_OPEN_PEN) != 0)
        status = pd_fault_row(PD_OPEN_PEN)->list(c, &run->main);
    return status;
}

/* Solutions that the parts of a run ask for: main states, corners, two probes, joints, the rest. */
static size_t work_of(const struct pd_run *run)
{
    const size_t corners = run->states->count - run->states->main_count;
    return run->states->main_count * (run->main.count + 4 * run->path_count) +
           corners * run->path_count + 2 * run->states->count * run->path_count +
           pd_run_shown_room(run);
}

enum pd_status pd_run_new(const struct pd_case *c, const struct pd_load_states *states,
                          unsigned faults, struct pd_run *run)
{
    const size_t ties = c->electrodes.count, nodes = c->network->node_count;
    *run = (struct pd_run){.study_case = c, .states = states, .faults = faults};
    add_supply(run, c->supply_v);
    add_supply(run, c->limits.supply_low_v);
    add_supply(run, c->limits.supply_high_v);
    run->tie = calloc(ties + 1, sizeof *run->tie);
    run->path = calloc(nodes, sizeof *run->path);
    if (run->tie == NULL || run->path == NULL || pd_tree_new(c->network, &run->tree) != PD_OK ||
        pd_solution_new(c->network, &run->solution) != PD_OK || list_breaks(run) != PD_OK) {
        pd_run_free(run);
        return PD_ERR_MEMORY;
    }
    memcpy(run->tie, c->tie, ties * sizeof *run->tie);
    run->tie[ties] = (struct pd_earth_tie){c->installation, INFINITY};
    run->all = work_of(run);
    return PD_OK;
}

void pd_run_free(struct pd_run *run)
{
    pd_tree_free(&run->tree);
    pd_solution_free(&run->solution);
    free(run->tie);
    free(run->path);
    pd_fault_list_free(&run->main);
    run->tie = NULL;
    run->path = NULL;
}

enum pd_status pd_run_factor(struct pd_run *run, const double *load_a, double supply_v,
                             const struct pd_bridge *bridge)
{
    struct pd_operating operating = {
        .load_a = load_a,
        .tie = run->tie,
        .tie_count = run->study_case->electrodes.count + 1,
        .supply_v = supply_v,
    };
    if (bridge != NULL)
        operating.bridge = *bridge;
    run->solved_v = supply_v;
    return pd_tree_factor(run->tree, &operating);
}

size_t pd_run_levels(const struct pd_run *run)
{
    return pd_tree_linear(run->tree) ? 1 : run->supply_count;
}

enum pd_status pd_run_step(struct pd_run *run)
{
    run->done++;
    if (run->progress == NULL || run->done % 64 != 0)
        return PD_OK;
    const double share = fmin(1, (double)run->done / (double)run->all);
    return run->progress(share, run->context) ? PD_OK : PD_ERR_INTERRUPTED;
}

struct pd_fault pd_open_pen(size_t section)
{
    return (struct pd_fault){
        .kind = PD_OPEN_PEN, .section = section, .cut = {.kind = PD_CUT_OPEN, .section = section}};
}

enum pd_status pd_run_solve(struct pd_run *run, const struct pd_fault *fault)
{
    const enum pd_status status = pd_tree_solve(run->tree, &fault->cut, &run->solution);
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

static void look(const struct pd_run *run, double scale, struct pd_scenario *s,
                 struct pd_sight *sight)
{
    const struct pd_case *const c = run->study_case;
    s->sight = sight;
    for (size_t i = 0; i < c->detectors.count; i++) {
        sight[i] = (struct pd_sight){.kind = PD_SIGHT_UNKNOWN, .time_s = NAN, .figure_v = NAN};
        if (s->standing != PD_SOLVED)
            continue;
        const struct pd_view seen = pd_run_view(run, i);
        const struct pd_view view = pd_view_scaled(&seen, scale);
        sight[i] = pd_detector_look(&c->detectors.detector[i], &view);
        s->disconnected |= pd_sight_in_time(&sight[i], c->limits.time_s);
    }
}

/* The heat in a joint: what flows through it is what drops between the two ends of its section. */
static double joint_heat(const struct pd_run *run, const struct pd_cut *cut)
{
    const struct pd_node *const node = &run->study_case->network->node[cut->section];
    const double complex drop_v =
        run->solution.v[node->parent][PD_N] - run->solution.v[cut->section][PD_N];
    const double amps = cabs(drop_v / (node->z_ohm.at[PD_N][PD_N] + cut->joint_ohm));
    return amps * amps * cut->joint_ohm;
}

static void fill_voltages(const struct pd_run *run, double scale, struct pd_scenario *s)
{
    const struct pd_case *const c = run->study_case;
    const double complex *const v = run->solution.v[c->charging_point];
    s->met = scale * pd_run_pe(run, c->installation);
    s->met_v = cabs(s->met);
    s->touch_v = scale * cabs(pd_run_pe(run, c->charging_point));
    s->reach_v = scale * cabs(pd_run_pe(run, c->installation) - pd_run_pe(run, c->charging_point));
    s->electrode_a = scale * own_electrode_current(run);
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((c->installation_lines & 1u << line) != 0)
            s->line_neutral_v[line] = scale * cabs(v[line] - v[PD_N]);
    s->floating = isnan(s->touch_v);
}

void pd_run_fill(const struct pd_run *run, const struct pd_fault *fault, enum pd_loads loads,
                 double supply_v, struct pd_scenario *s, struct pd_sight *sight)
{
    const double scale = supply_v / run->solved_v;
    const bool joint = fault->kind == PD_PEN_JOINT;
    *s = (struct pd_scenario){
        .fault = fault->kind,
        .section = fault->section,
        .loads = loads,
        .supply_v = supply_v,
        .met_v = NAN,
        .met = CMPLX(NAN, NAN),
        .touch_v = NAN,
        .reach_v = NAN,
        .line_neutral_v = {NAN, NAN, NAN},
        .electrode_a = NAN,
        .joint_ohm = joint ? fault->cut.joint_ohm : NAN,
        .joint_w = NAN,
        .line = fault->kind == PD_CROSSED       ? fault->cut.line
                : fault->kind == PD_LINE_TO_PEN ? fault->bridge.line
                                                : -1,
        .prospective_a = NAN,
        .residual = run->solution.residual,
        .standing = run->solution.standing,
        .iterations = run->solution.iterations,
        .let_go = run->solution.let_go,
    };
    if (s->standing == PD_SOLVED)
        fill_voltages(run, scale, s);
    if (s->standing == PD_SOLVED && joint)
        s->joint_w = scale * scale * joint_heat(run, &fault->cut);
    s->touch = pd_judge(s->touch_v, run->study_case->limits.touch_v);
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

bool pd_is_worse(const struct pd_scenario *s, const struct pd_scenario *than)
{
    if (pd_is_hazard(s) != pd_is_hazard(than))
        return pd_is_hazard(s);
    if (pd_exceeds(s->touch_v, than->touch_v) || pd_exceeds(than->touch_v, s->touch_v))
        return pd_exceeds(s->touch_v, than->touch_v);
    return pd_exceeds(s->reach_v, than->reach_v);
}

/* Where a break's scenario in a state and at a supply stands among the main scenarios. */
static size_t main_index(const struct pd_run *run, size_t which, size_t state, size_t supply)
{
    return (which * run->states->main_count + state) * run->supply_count + supply;
}

/* Fills the scenarios that the solution answers: of all supply voltages where one level answers
 * all. */
static void fill_main(const struct pd_run *run, struct pd_assessment *a, size_t b, size_t state,
                      size_t level)
{
    const size_t detectors = run->study_case->detectors.count;
    const bool all = pd_run_levels(run) == 1;
    for (size_t supply = all ? 0 : level; supply < (all ? run->supply_count : level + 1);
         supply++) {
        const size_t i = main_index(run, b, state, supply);
        pd_run_fill(run, &run->main.fault[b], run->states->kind[state], run->supply_v[supply],
                    &a->scenario[i], &a->sight[i * detectors]);
    }
}

static enum pd_status run_level(struct pd_run *run, struct pd_assessment *a, size_t state,
                                size_t level)
{
    enum pd_status status =
        pd_run_factor(run, pd_load_state(run->states, state), run->supply_v[level], NULL);
    for (size_t b = 0; b < run->main.count && status == PD_OK; b++) {
        status = pd_run_solve(run, &run->main.fault[b]);
        fill_main(run, a, b, state, level);
    }
    return status;
}

enum pd_status pd_run_main(struct pd_run *run, struct pd_assessment *a)
{
    enum pd_status status = PD_OK;
    for (size_t state = 0; state < run->states->main_count && status == PD_OK; state++) {
        status = run_level(run, a, state, 0);
        for (size_t level = 1; level < pd_run_levels(run) && status == PD_OK; level++)
            status = run_level(run, a, state, level);
    }
    a->scenario_count = run->main.count * run->states->main_count * run->supply_count;
    a->break_count = run->main.count - 1;
    return status;
}
