/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/tree.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "solve/engine.h"
#include "solve/settle.h"

/* Below this, a millionth of a load's admittance moves the answer by its whole size. */
#define CANCELLATION_MIN 1e-6

static bool is_diagonal(const struct pd_matrix *m)
{
    for (int i = 0; i < PD_CONDUCTORS; i++)
        for (int j = 0; j < PD_CONDUCTORS; j++)
            if (i != j && m->at[i][j] != 0)
                return false;
    return true;
}

static size_t depth_of(const struct pd_network *network, size_t *depth)
{
    size_t deepest = 1;
    depth[0] = 1;
    for (size_t i = 1; i < network->node_count; i++) {
        depth[i] = depth[network->node[i].parent] + 1;
        if (depth[i] > deepest)
            deepest = depth[i];
    }
    return deepest;
}

/* Line currents return through the lines' impedance; the sum of all four returns through the
 * electrode, which lifts every EMF alike. */
static struct pd_matrix source_impedance(const struct pd_source *source)
{
    struct pd_matrix z = pd_matrix_diagonal(source->z_ohm, 0);
    for (int i = 0; i < PD_CONDUCTORS; i++)
        for (int j = 0; j < PD_CONDUCTORS; j++)
            z.at[i][j] += source->electrode_ohm;
    return z;
}

enum pd_status pd_tree_new(const struct pd_network *network, struct pd_tree **out)
{
    const size_t count = network->node_count;
    struct pd_tree *tree = *out = calloc(1, sizeof *tree);
    size_t *depth = calloc(count, sizeof *depth);
    if (tree == NULL || depth == NULL)
        goto no_memory;
    tree->network = network;
    tree->source_z = source_impedance(&network->source);
    tree->factor = calloc(count, sizeof *tree->factor);
    tree->diagonal = calloc(count, sizeof *tree->diagonal);
    tree->current = calloc(count, sizeof *tree->current);
    tree->inject = calloc(count, sizeof *tree->inject);
    const size_t deepest = depth_of(network, depth);
    tree->saved = calloc(deepest, sizeof *tree->saved);
    tree->path = calloc(deepest, sizeof *tree->path);
    if (tree->factor == NULL || tree->diagonal == NULL || tree->current == NULL ||
        tree->inject == NULL || tree->saved == NULL || tree->path == NULL)
        goto no_memory;
    for (size_t i = 1; i < count; i++)
        tree->diagonal[i] = is_diagonal(&network->node[i].z_ohm);
    if (pd_shunts_new(network, &tree->shunts) != PD_OK ||
        pd_coupling_new(network, &tree->coupling) != PD_OK)
        goto no_memory;
    free(depth);
    return PD_OK;
no_memory:
    free(depth);
    pd_tree_free(out);
    return PD_ERR_MEMORY;
}

void pd_tree_free(struct pd_tree **tree)
{
    if (tree == NULL || *tree == NULL)
        return;
    pd_shunts_free(&(*tree)->shunts);
    pd_coupling_free(&(*tree)->coupling);
    free((*tree)->factor);
    free((*tree)->saved);
    free((*tree)->path);
    free((*tree)->diagonal);
    free((*tree)->current);
    free((*tree)->inject);
    pd_settle_room_free(&(*tree)->settle);
    free(*tree);
    *tree = NULL;
}

enum pd_status pd_tree_take(struct pd_tree *tree, const struct pd_operating *operating)
{
    tree->supply_v = 0; /* until all is well, there is nothing to solve */
    if (!(operating->supply_v > 0) || !isfinite(operating->supply_v))
        return PD_ERR_ARGUMENT;
    enum pd_status status = pd_shunts_set(tree->shunts, tree->network, operating);
    if (status == PD_OK)
        status = pd_coupling_set(tree->coupling, tree->network, operating);
    if (status == PD_OK)
        tree->supply_v = operating->supply_v;
    return status;
}

enum pd_status pd_tree_factor(struct pd_tree *tree, const struct pd_operating *operating)
{
    const enum pd_status status = pd_tree_take(tree, operating);
    if (status == PD_OK)
        pd_eliminate_all(tree);
    return status;
}

/* A solution that was not reached leaves no figure behind. */
static void forget_voltages(const struct pd_network *network, struct pd_solution *solution)
{
    for (size_t i = 0; i < network->node_count; i++)
        for (int c = 0; c < PD_CONDUCTORS; c++)
            solution->v[i][c] = CMPLX(NAN, NAN);
}

/* The neutral of an island that nothing ties has no potential. */
static void mark_floating(const struct pd_network *network, size_t head,
                          struct pd_solution *solution)
{
    solution->floating = head;
    solution->v[head][PD_N] = NAN;
    for (size_t i = head + 1; i < network->node_count; i++)
        if (isnan(creal(solution->v[network->node[i].parent][PD_N])))
            solution->v[i][PD_N] = NAN;
}

/* How much of the admittances tied to the cut neutral is left when they are summed; a joint ties it
 * too, by 1 / joint_ohm. */
static double left_of_sum(const struct pd_factor *far, const struct pd_cut *cut)
{
    const double complex y_nn = far->y.at[PD_N][PD_N];
    const bool open = cut->kind == PD_CUT_OPEN;
    const double left = cabs(open ? y_nn : 1 + cut->joint_ohm * y_nn);
    const double all = open ? far->neutral_s : 1 + cut->joint_ohm * far->neutral_s;
    return left > all ? 1 : left / all;
}

static enum pd_standing standing_of(const struct pd_solution *solution, bool sound)
{
    /* First, as it is also what spoils the residual. */
    if (solution->cancellation < CANCELLATION_MIN)
        return PD_RESONANT;
    if (!sound || !(solution->cancellation >= 0) || !(solution->residual <= PD_RESIDUAL_MAX))
        return PD_UNCONVERGED;
    return PD_SOLVED;
}

static bool is_possible(const struct pd_tree *tree, const struct pd_cut *cut)
{
    if (!(tree->supply_v > 0))
        return false;
    if (cut->kind != PD_CUT_NONE &&
        (cut->section == 0 || cut->section >= tree->network->node_count))
        return false;
    if (cut->kind == PD_CUT_CROSSED)
        return cut->line >= PD_L1 && cut->line < PD_LINES &&
               (tree->network->node[cut->section].lines >> cut->line & 1u) != 0;
    return cut->kind != PD_CUT_JOINT || (cut->joint_ohm >= 0 && isfinite(cut->joint_ohm));
}

bool pd_tree_linear(const struct pd_tree *tree)
{
    return pd_shunts_port_count(tree->shunts) == 0;
}

/* Coupled electrodes make every voltage hang on all the others. */
static bool spread_to(struct pd_tree *tree, const struct pd_cut *cut, size_t node,
                      double complex v[PD_CONDUCTORS])
{
    if (pd_coupling_count(tree->coupling) == 0)
        return pd_spread_to(tree, node, v);
    double complex(*const all)[PD_CONDUCTORS] = pd_coupling_scratch(tree->coupling);
    double complex emf[PD_CONDUCTORS];
    pd_emf(tree, emf);
    if (!pd_spread(tree, cut, emf, false, all))
        return false;
    memcpy(v, all[node], sizeof all[node]);
    return true;
}

enum pd_status pd_tree_voltage_at(struct pd_tree *tree, const struct pd_cut *cut, size_t node,
                                  double complex v[PD_CONDUCTORS])
{
    if (!is_possible(tree, cut) || node >= tree->network->node_count || !pd_tree_linear(tree))
        return PD_ERR_ARGUMENT;
    const struct pd_factor *const far = &tree->factor[pd_cut_parts_neutral(cut) ? cut->section : 0];
    const bool floats = cut->kind == PD_CUT_OPEN && far->neutral_s == 0;
    bool sound = floats || !pd_cut_parts_neutral(cut) || left_of_sum(far, cut) >= CANCELLATION_MIN;
    sound = pd_cut_apply(tree, cut) && sound;
    sound = spread_to(tree, cut, node, v) && sound;
    pd_cut_undo(tree, cut);
    for (int c = 0; c < PD_CONDUCTORS && !sound; c++)
        v[c] = CMPLX(NAN, NAN);
    if (floats && pd_network_downstream(tree->network, cut->section, node))
        v[PD_N] = NAN;
    return PD_OK;
}

static enum pd_status solve_linear(struct pd_tree *tree, const struct pd_cut *cut,
                                   struct pd_solution *solution)
{
    const struct pd_factor *const far = &tree->factor[pd_cut_parts_neutral(cut) ? cut->section : 0];
    const double island_s = pd_cut_parts_neutral(cut) ? far->neutral_s : 0;
    const bool floats = cut->kind == PD_CUT_OPEN && island_s == 0;
    double complex emf[PD_CONDUCTORS];
    pd_emf(tree, emf);
    solution->iterations++;
    solution->cancellation = floats || !pd_cut_parts_neutral(cut) ? 1 : left_of_sum(far, cut);
    const bool sound = pd_cut_apply(tree, cut) && pd_spread(tree, cut, emf, false, solution->v);
    pd_cut_undo(tree, cut);
    if (sound)
        pd_measure_residual(tree, cut, island_s, solution);
    else
        forget_voltages(tree->network, solution);
    solution->standing = standing_of(solution, sound);
    if (floats)
        mark_floating(tree->network, cut->section, solution);
    return PD_OK;
}

/* Elements outside their window let go, and the rest settle anew without them, until none does. */
static enum pd_status solve_flexible(struct pd_tree *tree, const struct pd_cut *cut,
                                     struct pd_solution *solution)
{
    enum pd_status status = PD_OK;
    size_t gone = 0;
    bool floats = false;
    for (;;) {
        if (pd_tree_linear(tree)) {
            floats = false; /* the linear solution marks it itself */
            status = solve_linear(tree, cut, solution);
            break;
        }
        const struct pd_factor *const far =
            &tree->factor[pd_cut_parts_neutral(cut) ? cut->section : 0];
        const double island_s = pd_cut_parts_neutral(cut) ? far->neutral_s : 0;
        floats = cut->kind == PD_CUT_OPEN && island_s == 0;
        solution->cancellation = floats || !pd_cut_parts_neutral(cut) ? 1 : left_of_sum(far, cut);
        status = pd_settle(tree, cut, island_s, solution);
        if (status != PD_OK)
            break;
        if (solution->standing == PD_SOLVED)
            solution->standing = standing_of(solution, true);
        const size_t now = pd_settle_let_go(tree);
        if (now == 0)
            break;
        gone += now;
        pd_eliminate_all(tree);
    }
    solution->let_go = gone;
    if (gone > 0) {
        pd_shunts_reset(tree->shunts);
        pd_eliminate_all(tree);
    }
    if (solution->standing != PD_SOLVED)
        forget_voltages(tree->network, solution);
    else if (floats)
        mark_floating(tree->network, cut->section, solution);
    return status;
}

enum pd_status pd_tree_solve(struct pd_tree *tree, const struct pd_cut *cut,
                             struct pd_solution *solution)
{
    if (!is_possible(tree, cut))
        return PD_ERR_ARGUMENT;
    solution->worst_node = 0;
    solution->floating = PD_NONE;
    solution->residual = NAN;
    solution->let_go = 0;
    solution->iterations = 0;
    const enum pd_status status = pd_tree_linear(tree) ? solve_linear(tree, cut, solution)
                                                       : solve_flexible(tree, cut, solution);
    solution->converged = status == PD_OK && solution->standing == PD_SOLVED;
    return status;
}

enum pd_status pd_solution_new(const struct pd_network *network, struct pd_solution *solution)
{
    *solution = (struct pd_solution){.floating = PD_NONE, .residual = NAN};
    solution->v = calloc(network->node_count, sizeof *solution->v);
    return solution->v != NULL ? PD_OK : PD_ERR_MEMORY;
}

void pd_solution_free(struct pd_solution *solution)
{
    free(solution->v);
    solution->v = NULL;
}

double complex pd_tie_current(const struct pd_network *network, const struct pd_earth_tie *tie,
                              const struct pd_solution *solution)
{
    const size_t pe_node = network->node[tie->node].pe_node;
    return pe_node == PD_NONE ? 0 : solution->v[pe_node][PD_N] / tie->resistance_ohm;
}
