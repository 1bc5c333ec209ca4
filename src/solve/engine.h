/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_SOLVE_ENGINE_H
#define PENDRIFT_SOLVE_ENGINE_H

#include "solve/block.h"
#include "solve/couple.h"
#include "solve/shunt.h"
#include "solve/tree.h"

/* The inside of the tree engine. The room's own: tree.c is its outside, eliminate.c the passes,
 * residual.c Kirchhoff's laws, settle.c what iterates when loads are not linear. */

/* What elimination leaves at a node. */
struct pd_factor {
    struct pd_matrix y;      /* all that hangs on the node */
    struct pd_branch branch; /* the same through the section that feeds it */
    double neutral_s;        /* sum of |Y| tied to the neutral here and further out */
    bool singular;           /* of the section that feeds it */
};

struct pd_tree {
    const struct pd_network *network;
    struct pd_shunts *shunts;
    struct pd_factor *factor; /* [node_count] of the intact network, or of the cut one */
    struct pd_factor *saved;  /* [depth] those that a cut replaced, from the cut to the root */
    size_t *path;             /* [depth] nodes from one to the root */
    bool *diagonal;           /* [node_count] */
    double complex (*current)[PD_CONDUCTORS]; /* [node_count] for the residual */
    double complex (*inject)[PD_CONDUCTORS];  /* [node_count] injected at a node and further out */
    struct pd_settle_room *settle;            /* made when first needed */
    struct pd_coupling *coupling;
    struct pd_matrix source_z;
    double supply_v;
};

/* Takes a state as pd_tree_factor does, without eliminating. */
enum pd_status pd_tree_take(struct pd_tree *tree, const struct pd_operating *operating);

/* Eliminates the whole tree, intact. */
void pd_eliminate_all(struct pd_tree *tree);

/* Whether a cut parts a neutral from all that it is tied to but what lies beyond. */
bool pd_cut_parts_neutral(const struct pd_cut *cut);

/* Eliminates anew from the cut to the root, keeping what was there; puts it back. Applied, coupled
 * electrodes answer to the cut too; false where their answer is free. */
bool pd_cut_apply(struct pd_tree *tree, const struct pd_cut *cut);
void pd_cut_undo(struct pd_tree *tree, const struct pd_cut *cut);

/* The source's EMFs; the star point itself has none. Of a tree, and at a supply voltage. */
void pd_emf(const struct pd_tree *tree, double complex emf[PD_CONDUCTORS]);
void pd_emf_at(const struct pd_network *network, double supply_v,
               double complex emf[PD_CONDUCTORS]);

/* Voltages from the root outwards, of a tree with its cut applied. `emf` behind the source
 * impedance; `injected` says that tree->inject holds the currents injected at each node (they are
 * summed towards the root in place). False where a block was singular. */
bool pd_spread(struct pd_tree *tree, const struct pd_cut *cut,
               const double complex emf[PD_CONDUCTORS], bool injected,
               double complex (*v)[PD_CONDUCTORS]);

/* The same without injection, at one node only. */
bool pd_spread_to(const struct pd_tree *tree, size_t node, double complex v[PD_CONDUCTORS]);

/* Sets the residual and its worst node from the voltages alone. island_neutral_s is what ties the
 * neutral beyond the cut. */
void pd_measure_residual(const struct pd_tree *tree, const struct pd_cut *cut,
                         double island_neutral_s, struct pd_solution *solution);

/* The line and the PEN change places in a crossed section. */
void pd_cross(const struct pd_cut *cut, double complex v[PD_CONDUCTORS]);

#endif
