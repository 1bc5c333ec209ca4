/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/tree.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "solve/block.h"
#include "solve/shunt.h"

/* Below this, a millionth of a load's admittance moves the answer by its whole size. */
#define CANCELLATION_MIN 1e-6

/* What elimination leaves at a node. */
struct factor {
    struct pd_matrix y;      /* all that hangs on the node */
    struct pd_branch branch; /* the same through the section that feeds it */
    double neutral_s;        /* sum of |Y| tied to the neutral here and further out */
    bool singular;           /* of the section that feeds it */
};

struct pd_tree {
    const struct pd_network *network;
    struct pd_shunts *shunts;
    struct factor *factor; /* [node_count] of the intact network */
    struct factor *saved;  /* [depth] those that a cut replaced, from the cut to the root */
    size_t *path;          /* [depth] nodes from one to the root */
    bool *diagonal;        /* [node_count] */
    double complex (*current)[PD_CONDUCTORS]; /* [node_count] for the residual */
    struct pd_matrix source_z;
    double supply_v;
};

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
    const size_t deepest = depth_of(network, depth);
    tree->saved = calloc(deepest, sizeof *tree->saved);
    tree->path = calloc(deepest, sizeof *tree->path);
    if (tree->factor == NULL || tree->diagonal == NULL || tree->current == NULL ||
        tree->saved == NULL || tree->path == NULL)
        goto no_memory;
    for (size_t i = 1; i < count; i++)
        tree->diagonal[i] = is_diagonal(&network->node[i].z_ohm);
    if (pd_shunts_new(network, &tree->shunts) != PD_OK)
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
    free((*tree)->factor);
    free((*tree)->saved);
    free((*tree)->path);
    free((*tree)->diagonal);
    free((*tree)->current);
    free(*tree);
    *tree = NULL;
}

/* Sums what hangs on a node whose children are done. */
static void gather(const struct pd_tree *tree, size_t i, struct factor *factor)
{
    const struct pd_node *const node = &tree->network->node[i];
    factor->y = (struct pd_matrix){0};
    factor->neutral_s = pd_shunts_add(tree->shunts, i, &factor->y);
    for (size_t k = node->first_child; k < node->first_child + node->child_count; k++) {
        pd_block_add(&factor->y, &tree->factor[k].branch.up);
        factor->neutral_s += tree->factor[k].neutral_s;
    }
}

/* Takes a node that is gathered through the section that feeds it. */
static void eliminate(const struct pd_tree *tree, size_t i, const struct pd_cut *cut)
{
    struct factor *const factor = &tree->factor[i];
    const bool cut_here = cut->kind != PD_CUT_NONE && cut->section == i;
    if (cut_here && cut->kind == PD_CUT_OPEN) {
        factor->singular = !pd_branch_open(&tree->network->node[i].z_ohm, factor->neutral_s > 0,
                                           &factor->y, &factor->branch);
        factor->neutral_s = 0; /* upstream, nothing is tied through an open neutral */
        return;
    }
    struct pd_matrix z = tree->network->node[i].z_ohm;
    if (cut_here)
        z.at[PD_N][PD_N] += cut->joint_ohm;
    factor->singular = !pd_branch_closed(&z, tree->diagonal[i], &factor->y, &factor->branch);
}

enum pd_status pd_tree_factor(struct pd_tree *tree, const struct pd_operating *operating)
{
    tree->supply_v = 0; /* until all is well, there is nothing to solve */
    if (!(operating->supply_v > 0) || !isfinite(operating->supply_v))
        return PD_ERR_ARGUMENT;
    const enum pd_status status = pd_shunts_set(tree->shunts, tree->network, operating);
    if (status != PD_OK)
        return status;
    tree->supply_v = operating->supply_v;
    for (size_t i = tree->network->node_count; i-- > 0;) {
        gather(tree, i, &tree->factor[i]);
        if (i > 0)
            eliminate(tree, i, &(struct pd_cut){.kind = PD_CUT_NONE});
    }
    return PD_OK;
}

/* Eliminates anew from the cut to the root, keeping what was there. */
static void apply_cut(struct pd_tree *tree, const struct pd_cut *cut)
{
    size_t step = 0;
    for (size_t i = cut->section;; i = tree->network->node[i].parent) {
        tree->saved[step++] = tree->factor[i];
        if (i != cut->section)
            gather(tree, i, &tree->factor[i]);
        if (i == 0)
            return;
        eliminate(tree, i, cut);
    }
}

static void undo_cut(struct pd_tree *tree, const struct pd_cut *cut)
{
    size_t step = 0;
    for (size_t i = cut->section;; i = tree->network->node[i].parent) {
        tree->factor[i] = tree->saved[step++];
        if (i == 0)
            return;
    }
}

/* The source's EMFs; the star point itself has none. */
static void emf_of(const struct pd_tree *tree, double complex emf[PD_CONDUCTORS])
{
    for (int line = PD_L1; line < PD_LINES; line++)
        emf[line] = tree->supply_v * tree->network->source.unit_emf[line];
    emf[PD_N] = 0;
}

static bool root_voltage(const struct pd_tree *tree, double complex v[PD_CONDUCTORS])
{
    struct pd_matrix root;
    double complex emf[PD_CONDUCTORS];
    emf_of(tree, emf);
    if (!pd_block_inverse(&tree->source_z, false, &tree->factor[0].y, &root))
        return false;
    pd_block_apply(&root, emf, v);
    return true;
}

/* Voltages from the root outwards. False where a block was singular. */
static bool spread(const struct pd_tree *tree, struct pd_solution *solution)
{
    bool sound = root_voltage(tree, solution->v[0]);
    for (size_t i = 1; sound && i < tree->network->node_count; i++) {
        pd_block_apply(&tree->factor[i].branch.transfer, solution->v[tree->network->node[i].parent],
                       solution->v[i]);
        sound = !tree->factor[i].singular;
    }
    return sound;
}

/* Squares are compared, so that the pass takes no roots. */
static double square(double complex x)
{
    return creal(x) * creal(x) + cimag(x) * cimag(x);
}

static void note_square(struct pd_solution *solution, double residual_square, size_t node)
{
    /* NaN is kept: nothing is greater than it. */
    if (residual_square > solution->residual || isnan(residual_square)) {
        solution->residual = residual_square;
        solution->worst_node = node;
    }
}

/* Voltage along the section that feeds a node, or behind the source's impedance at the root. */
static void drop_along(const struct pd_tree *tree, size_t i, const double complex *current,
                       double complex drop[PD_CONDUCTORS])
{
    const struct pd_matrix *const z = i > 0 ? &tree->network->node[i].z_ohm : &tree->source_z;
    if (!tree->diagonal[i]) {
        pd_block_apply(z, current, drop);
        return;
    }
    for (int c = 0; c < PD_CONDUCTORS; c++)
        drop[c] = z->at[c][c] * current[c];
}

/* Kirchhoff's laws from the voltages alone: load currents are summed towards the root, and round
 * each section what the voltages say must be what the currents say. */
static void measure_residual(const struct pd_tree *tree, const struct pd_cut *cut,
                             double island_neutral_s, struct pd_solution *solution)
{
    const struct pd_network *const network = tree->network;
    double complex(*const current)[PD_CONDUCTORS] = tree->current;
    const double per_volt = 1 / tree->supply_v;
    double complex emf[PD_CONDUCTORS];
    emf_of(tree, emf);
    solution->residual = 0;
    memset(current, 0, network->node_count * sizeof *current);
    for (size_t i = network->node_count; i-- > 0;) {
        const struct pd_node *const node = &network->node[i];
        const bool cut_here = cut->kind != PD_CUT_NONE && cut->section == i;
        const bool open = cut_here && cut->kind == PD_CUT_OPEN;
        const double complex *const near = i > 0 ? solution->v[node->parent] : emf;
        double complex drop[PD_CONDUCTORS];
        pd_shunts_current(tree->shunts, i, solution->v[i], current[i]);
        if (open) {
            if (island_neutral_s > 0)
                note_square(solution,
                            square(current[i][PD_N] / (island_neutral_s * tree->supply_v)), i);
            current[i][PD_N] = 0;
        }
        drop_along(tree, i, current[i], drop);
        /* Behind a joint of many ohms, a rounding of the current is volts of drop, but moves the
         * island's neutral by less. */
        const double joint_ohm = cut_here && !open ? cut->joint_ohm : 0;
        drop[PD_N] += joint_ohm * current[i][PD_N];
        for (int c = 0; c < (open ? PD_N : PD_CONDUCTORS); c++) {
            const double scale = c == PD_N ? 1 + joint_ohm * island_neutral_s : 1;
            note_square(solution,
                        square((near[c] - drop[c] - solution->v[i][c]) * (per_volt / scale)), i);
        }
        for (int c = 0; i > 0 && c < PD_CONDUCTORS; c++)
            current[node->parent][c] += current[i][c];
    }
    solution->residual = sqrt(solution->residual);
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
static double left_of_sum(const struct factor *far, const struct pd_cut *cut)
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
    return cut->kind != PD_CUT_JOINT || (cut->joint_ohm >= 0 && isfinite(cut->joint_ohm));
}

/* Voltages on the way from the root to a node. False where a block was singular. */
static bool spread_to(const struct pd_tree *tree, size_t node, double complex v[PD_CONDUCTORS])
{
    size_t steps = 0;
    for (size_t i = node; i > 0; i = tree->network->node[i].parent)
        tree->path[steps++] = i;
    bool sound = root_voltage(tree, v);
    while (sound && steps-- > 0) {
        const struct factor *const factor = &tree->factor[tree->path[steps]];
        double complex near[PD_CONDUCTORS];
        memcpy(near, v, sizeof near);
        pd_block_apply(&factor->branch.transfer, near, v);
        sound = !factor->singular;
    }
    return sound;
}

enum pd_status pd_tree_voltage_at(struct pd_tree *tree, const struct pd_cut *cut, size_t node,
                                  double complex v[PD_CONDUCTORS])
{
    if (!is_possible(tree, cut) || node >= tree->network->node_count)
        return PD_ERR_ARGUMENT;
    const bool has_cut = cut->kind != PD_CUT_NONE;
    const struct factor *const far = &tree->factor[has_cut ? cut->section : 0];
    const bool floats = cut->kind == PD_CUT_OPEN && far->neutral_s == 0;
    bool sound = floats || !has_cut || left_of_sum(far, cut) >= CANCELLATION_MIN;
    if (has_cut)
        apply_cut(tree, cut);
    sound = spread_to(tree, node, v) && sound;
    if (has_cut)
        undo_cut(tree, cut);
    for (int c = 0; c < PD_CONDUCTORS && !sound; c++)
        v[c] = CMPLX(NAN, NAN);
    if (floats && pd_network_downstream(tree->network, cut->section, node))
        v[PD_N] = NAN;
    return PD_OK;
}

enum pd_status pd_tree_solve(struct pd_tree *tree, const struct pd_cut *cut,
                             struct pd_solution *solution)
{
    if (!is_possible(tree, cut))
        return PD_ERR_ARGUMENT;
    const bool has_cut = cut->kind != PD_CUT_NONE;
    const double island_s = has_cut ? tree->factor[cut->section].neutral_s : 0;
    const bool floats = cut->kind == PD_CUT_OPEN && island_s == 0;
    solution->iterations = 1;
    solution->worst_node = 0;
    solution->floating = PD_NONE;
    solution->cancellation = floats || !has_cut ? 1 : left_of_sum(&tree->factor[cut->section], cut);

    if (has_cut)
        apply_cut(tree, cut);
    const bool sound = spread(tree, solution);
    if (has_cut)
        undo_cut(tree, cut);
    solution->residual = NAN;
    if (sound)
        measure_residual(tree, cut, island_s, solution);
    else
        forget_voltages(tree->network, solution);
    solution->standing = standing_of(solution, sound);
    solution->converged = solution->standing == PD_SOLVED;
    if (floats)
        mark_floating(tree->network, cut->section, solution);
    return PD_OK;
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
