/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "solve/engine.h"

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
void pd_measure_residual(const struct pd_tree *tree, const struct pd_cut *cut,
                         double island_neutral_s, struct pd_solution *solution)
{
    const struct pd_network *const network = tree->network;
    double complex(*const current)[PD_CONDUCTORS] = tree->current;
    const double per_volt = 1 / tree->supply_v;
    double complex emf[PD_CONDUCTORS];
    pd_emf(tree, emf);
    solution->residual = 0;
    memset(current, 0, network->node_count * sizeof *current);
    pd_coupling_current(tree->coupling, (const double complex(*)[PD_CONDUCTORS])solution->v,
                        current);
    for (size_t i = network->node_count; i-- > 0;) {
        const struct pd_node *const node = &network->node[i];
        const bool cut_here = cut->kind != PD_CUT_NONE && cut->section == i;
        const bool open = cut_here && cut->kind == PD_CUT_OPEN;
        const double complex *const near = i > 0 ? solution->v[node->parent] : emf;
        double complex drop[PD_CONDUCTORS];
        double complex far[PD_CONDUCTORS];
        memcpy(far, solution->v[i], sizeof far);
        pd_shunts_current(tree->shunts, i, solution->v[i], current[i]);
        if (cut_here && cut->kind == PD_CUT_CROSSED) {
            pd_cross(cut, current[i]);
            pd_cross(cut, far);
        }
        if (open) {
            if (island_neutral_s > 0)
                note_square(solution,
                            square(current[i][PD_N] / (island_neutral_s * tree->supply_v)), i);
            current[i][PD_N] = 0;
        }
        drop_along(tree, i, current[i], drop);
        /* Behind a joint of many ohms, a rounding of the current is volts of drop, but moves the
         * island's neutral by less. */
        const double joint_ohm = cut_here && cut->kind == PD_CUT_JOINT ? cut->joint_ohm : 0;
        drop[PD_N] += joint_ohm * current[i][PD_N];
        for (int c = 0; c < (open ? PD_N : PD_CONDUCTORS); c++) {
            const double scale = c == PD_N ? 1 + joint_ohm * island_neutral_s : 1;
            note_square(solution, square((near[c] - drop[c] - far[c]) * (per_volt / scale)), i);
        }
        for (int c = 0; i > 0 && c < PD_CONDUCTORS; c++)
            current[node->parent][c] += current[i][c];
    }
    solution->residual = sqrt(solution->residual);
}
