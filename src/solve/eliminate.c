/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "solve/engine.h"

bool pd_cut_parts_neutral(const struct pd_cut *cut)
{
    return cut->kind == PD_CUT_OPEN || cut->kind == PD_CUT_JOINT;
}

static bool cut_at(const struct pd_cut *cut, size_t i)
{
    return cut->kind != PD_CUT_NONE && cut->section == i;
}

/* Sums what hangs on a node whose children are done. */
static void gather(const struct pd_tree *tree, size_t i, struct pd_factor *factor)
{
    const struct pd_node *const node = &tree->network->node[i];
    factor->y = (struct pd_matrix){0};
    factor->neutral_s = pd_shunts_add(tree->shunts, i, &factor->y);
    for (size_t k = node->first_child; k < node->first_child + node->child_count; k++) {
        pd_block_add(&factor->y, &tree->factor[k].branch.up);
        factor->neutral_s += tree->factor[k].neutral_s;
    }
}

/* Far admittance Y seen with a line and the PEN changed over: P Y P, P the swap. */
static struct pd_matrix crossed(const struct pd_matrix *y, int line)
{
    struct pd_matrix out;
    for (int i = 0; i < PD_CONDUCTORS; i++)
        for (int j = 0; j < PD_CONDUCTORS; j++) {
            const int from = i == line ? PD_N : i == PD_N ? line : i;
            const int to = j == line ? PD_N : j == PD_N ? line : j;
            out.at[i][j] = y->at[from][to];
        }
    return out;
}

static void eliminate_crossed(const struct pd_tree *tree, size_t i, int line)
{
    struct pd_factor *const factor = &tree->factor[i];
    const struct pd_matrix y = crossed(&factor->y, line);
    factor->singular =
        !pd_branch_closed(&tree->network->node[i].z_ohm, tree->diagonal[i], &y, &factor->branch);
    struct pd_matrix *const t = &factor->branch.transfer;
    for (int j = 0; j < PD_CONDUCTORS; j++) {
        const double complex keep = t->at[line][j];
        t->at[line][j] = t->at[PD_N][j];
        t->at[PD_N][j] = keep;
    }
}

/* Takes a node that is gathered through the section that feeds it. */
static void eliminate(const struct pd_tree *tree, size_t i, const struct pd_cut *cut)
{
    struct pd_factor *const factor = &tree->factor[i];
    const bool here = cut_at(cut, i);
    if (here && cut->kind == PD_CUT_CROSSED) {
        eliminate_crossed(tree, i, cut->line);
        return;
    }
    if (here && cut->kind == PD_CUT_OPEN) {
        factor->singular = !pd_branch_open(&tree->network->node[i].z_ohm, factor->neutral_s > 0,
                                           &factor->y, &factor->branch);
        factor->neutral_s = 0; /* upstream, nothing is tied through an open neutral */
        return;
    }
    struct pd_matrix z = tree->network->node[i].z_ohm;
    if (here)
        z.at[PD_N][PD_N] += cut->joint_ohm;
    factor->singular = !pd_branch_closed(&z, tree->diagonal[i], &factor->y, &factor->branch);
}

void pd_eliminate_all(struct pd_tree *tree)
{
    const struct pd_cut none = {.kind = PD_CUT_NONE};
    for (size_t i = tree->network->node_count; i-- > 0;) {
        gather(tree, i, &tree->factor[i]);
        if (i > 0)
            eliminate(tree, i, &none);
    }
}

static void eliminate_cut(struct pd_tree *tree, const struct pd_cut *cut)
{
    size_t step = 0;
    if (cut->kind == PD_CUT_NONE)
        return;
    for (size_t i = cut->section;; i = tree->network->node[i].parent) {
        tree->saved[step++] = tree->factor[i];
        if (i != cut->section)
            gather(tree, i, &tree->factor[i]);
        if (i == 0)
            return;
        eliminate(tree, i, cut);
    }
}

void pd_cut_undo(struct pd_tree *tree, const struct pd_cut *cut)
{
    size_t step = 0;
    if (cut->kind == PD_CUT_NONE)
        return;
    for (size_t i = cut->section;; i = tree->network->node[i].parent) {
        tree->factor[i] = tree->saved[step++];
        if (i == 0)
            return;
    }
}

void pd_emf_at(const struct pd_network *network, double supply_v, double complex emf[PD_CONDUCTORS])
{
    for (int line = PD_L1; line < PD_LINES; line++)
        emf[line] = supply_v * network->source.unit_emf[line];
    emf[PD_N] = 0;
}

void pd_emf(const struct pd_tree *tree, double complex emf[PD_CONDUCTORS])
{
    pd_emf_at(tree->network, tree->supply_v, emf);
}

void pd_cross(const struct pd_cut *cut, double complex v[PD_CONDUCTORS])
{
    const double complex keep = v[cut->line];
    v[cut->line] = v[PD_N];
    v[PD_N] = keep;
}

/* Behind an open neutral the current injected there, J_N, leaves through what ties the lines to it:
 * with V_N = (J_N - sum(Y_Nk V_k)) / Y_NN put into the other rows, J_l - Y_lN J_N / Y_NN. */
static void close_neutral(const struct pd_factor *factor, double complex j[PD_CONDUCTORS])
{
    if (factor->y.at[PD_N][PD_N] == 0)
        return;
    for (int l = 0; l < PD_N; l++)
        j[l] -= factor->y.at[l][PD_N] * j[PD_N] / factor->y.at[PD_N][PD_N];
    j[PD_N] = 0;
}

/* Injected current in the near frame of the section that feeds node i, and the voltage that it
 * makes along the section. */
static void near_side(const struct pd_tree *tree, const struct pd_cut *cut, size_t i,
                      double complex j[PD_CONDUCTORS], double complex along[PD_CONDUCTORS])
{
    const bool here = cut_at(cut, i);
    memcpy(j, tree->inject[i], sizeof tree->inject[i]);
    if (here && cut->kind == PD_CUT_CROSSED)
        pd_cross(cut, j);
    if (here && cut->kind == PD_CUT_OPEN)
        close_neutral(&tree->factor[i], j);
    pd_block_apply(&tree->network->node[i].z_ohm, j, along);
    if (here && cut->kind == PD_CUT_JOINT)
        along[PD_N] += cut->joint_ohm * j[PD_N];
}

/* Sums injections towards the root: through a section, J becomes J - Y (1 + Z Y)^-1 Z J. */
static void sum_injections(struct pd_tree *tree, const struct pd_cut *cut)
{
    for (size_t i = tree->network->node_count; i-- > 1;) {
        double complex j[PD_CONDUCTORS], along[PD_CONDUCTORS], back[PD_CONDUCTORS];
        near_side(tree, cut, i, j, along);
        pd_block_apply(&tree->factor[i].branch.up, along, back);
        double complex *const above = tree->inject[tree->network->node[i].parent];
        for (int c = 0; c < PD_CONDUCTORS; c++)
            above[c] += j[c] - back[c];
    }
}

static bool root_voltage(const struct pd_tree *tree, const double complex emf[PD_CONDUCTORS],
                         double complex v[PD_CONDUCTORS])
{
    struct pd_matrix root;
    if (!pd_block_inverse(&tree->source_z, false, &tree->factor[0].y, &root))
        return false;
    pd_block_apply(&root, emf, v);
    return true;
}

/* The neutral beyond an open section, from its lines and what is injected there. */
static double complex open_neutral(const struct pd_tree *tree, size_t i,
                                   const double complex v[PD_CONDUCTORS])
{
    const struct pd_matrix *const y = &tree->factor[i].y;
    if (y->at[PD_N][PD_N] == 0)
        return 0;
    double complex current = tree->inject[i][PD_N];
    for (int k = 0; k < PD_N; k++)
        current -= y->at[PD_N][k] * v[k];
    return current / y->at[PD_N][PD_N];
}

/* Without coupling. */
static bool spread(struct pd_tree *tree, const struct pd_cut *cut,
                   const double complex emf[PD_CONDUCTORS], bool injected,
                   double complex (*v)[PD_CONDUCTORS])
{
    double complex behind[PD_CONDUCTORS];
    memcpy(behind, emf, sizeof behind);
    if (injected) {
        double complex along[PD_CONDUCTORS];
        sum_injections(tree, cut);
        pd_block_apply(&tree->source_z, tree->inject[0], along);
        for (int c = 0; c < PD_CONDUCTORS; c++)
            behind[c] += along[c];
    }
    bool sound = root_voltage(tree, behind, v[0]);
    for (size_t i = 1; sound && i < tree->network->node_count; i++) {
        const double complex *near = v[tree->network->node[i].parent];
        double complex lifted[PD_CONDUCTORS];
        if (injected) {
            double complex j[PD_CONDUCTORS];
            near_side(tree, cut, i, j, lifted);
            for (int c = 0; c < PD_CONDUCTORS; c++)
                lifted[c] += near[c];
            near = lifted;
        }
        pd_block_apply(&tree->factor[i].branch.transfer, near, v[i]);
        if (injected && cut_at(cut, i) && cut->kind == PD_CUT_OPEN)
            v[i][PD_N] = open_neutral(tree, i, v[i]);
        sound = !tree->factor[i].singular;
    }
    return sound;
}

bool pd_cut_apply(struct pd_tree *tree, const struct pd_cut *cut)
{
    const double complex none[PD_CONDUCTORS] = {0};
    eliminate_cut(tree, cut);
    const size_t count = pd_coupling_count(tree->coupling);
    for (size_t k = 0; k < count; k++) {
        memset(tree->inject, 0, tree->network->node_count * sizeof *tree->inject);
        tree->inject[pd_coupling_node(tree->coupling, k)][PD_N] = 1;
        if (!spread(tree, cut, none, true, pd_coupling_response(tree->coupling, k)))
            return false;
    }
    return count == 0 || pd_coupling_ready(tree->coupling);
}

bool pd_spread(struct pd_tree *tree, const struct pd_cut *cut,
               const double complex emf[PD_CONDUCTORS], bool injected,
               double complex (*v)[PD_CONDUCTORS])
{
    if (!spread(tree, cut, emf, injected, v))
        return false;
    if (pd_coupling_count(tree->coupling) > 0)
        pd_coupling_correct(tree->coupling, v);
    return true;
}

bool pd_spread_to(const struct pd_tree *tree, size_t node, double complex v[PD_CONDUCTORS])
{
    size_t steps = 0;
    double complex emf[PD_CONDUCTORS];
    for (size_t i = node; i > 0; i = tree->network->node[i].parent)
        tree->path[steps++] = i;
    pd_emf(tree, emf);
    bool sound = root_voltage(tree, emf, v);
    while (sound && steps-- > 0) {
        const struct pd_factor *const factor = &tree->factor[tree->path[steps]];
        double complex near[PD_CONDUCTORS];
        memcpy(near, v, sizeof near);
        pd_block_apply(&factor->branch.transfer, near, v);
        sound = !factor->singular;
    }
    return sound;
}
