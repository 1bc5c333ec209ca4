/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_SOLVE_TREE_H
#define PENDRIFT_SOLVE_TREE_H

#include <stdbool.h>
#include <stddef.h>

#include "network/network.h"
#include "network/phasor.h"
#include "table/status.h"

/* The tree engine: every conductor's voltage to remote earth, by block elimination from the leaves.
 *
 * At each node, all that hangs on it is a 4x4 admittance Y (shunts and branches further out).
 * Through a section of series impedance Z it appears upstream as Y (1 + Z Y)^-1, and the node's
 * voltage follows from the one upstream as V = (1 + Z Y)^-1 V_up. No inverse of Z or Y is taken, so
 * a section of 0 ohm and a node without load need no special case. An open neutral is the limit
 * Z_NN -> infinity: the neutral current is zero, which gives the downstream neutral from its lines
 * (Millman's theorem for matrices). One pass to the root and one from it: O(n), no fill, no
 * recursion.
 *
 * Method: block LDU elimination on a tree (textbook); the limit is derived in tree.c.
 */

/* A resistance from a node's protective conductor to remote earth. */
struct pd_earth_tie {
    size_t node; /* tied to the PEN at this node's pe_node; not tied where that is PD_NONE */
    double resistance_ohm; /* > 0; INFINITY: not there */
};

/* A fault between a line and the neutral or PEN of a node. */
struct pd_bridge {
    size_t node;
    int line;            /* PD_L1 to PD_L3 */
    double admittance_s; /* 0: none */
};

/* What changes from one load state to the next. */
struct pd_operating {
    const double *load_a; /* [load_count] current of each load's elements at nominal voltage */
    const struct pd_earth_tie *tie; /* [tie_count] */
    size_t tie_count;
    const double *mutual_ohm; /* [tie_count][tie_count] symmetric: what a current at one tie lifts
                                 another by through the ground, ohm; its diagonal is not looked at.
                                 NULL: they stand far apart */
    struct pd_bridge bridge;
    bool hold_windows; /* elements outside their window stay on: the caller has its own clock */
    double supply_v;   /* EMF, line to star point; > 0 */
};

/* What happens to one section's neutral or PEN: open; a joint of some resistance; changed over with
 * a line at the far end, as at a joint wrongly remade. */
enum pd_cut_kind { PD_CUT_NONE, PD_CUT_OPEN, PD_CUT_JOINT, PD_CUT_CROSSED };
struct pd_cut {
    enum pd_cut_kind kind;
    size_t section;   /* the node it feeds, 1 to node_count - 1 */
    double joint_ohm; /* PD_CUT_JOINT: added to the section's own, >= 0, finite */
    int line;         /* PD_CUT_CROSSED: the line that changes places with the PEN */
};

/* How an answer stands. Only PD_SOLVED may be judged. */
enum pd_standing {
    PD_SOLVED,
    PD_UNCONVERGED, /* the residual is above PD_RESIDUAL_MAX, or not finite; or no solution was
                       found */
    PD_AMBIGUOUS,   /* loads that are not linear leave more than one solution */
    PD_RESONANT /* admittances to the drifting neutral cancel (loads lagging against leading): the
                   answer hangs on their last digits */
};

/* The largest residual of a solved scenario. Linear networks reach about 1e-13. */
#define PD_RESIDUAL_MAX 1e-8

/* One solution, filled by pd_tree_solve. `v` has a row for each node of the network. */
struct pd_solution {
    double complex (*v)[PD_CONDUCTORS]; /* to remote earth, volt; all NaN where a step of the
                                           elimination was singular */
    enum pd_standing standing;
    bool converged;
    int iterations;      /* passes over the tree; 1 for a linear network */
    size_t let_go;       /* elements (of chargers, inverters) that let go outside their window */
    double residual;     /* largest of: Kirchhoff's voltage law round each section, over the supply
                            voltage (a joint's as it moves the neutral behind it); current through
                            the open conductor, over the island's */
    size_t worst_node;   /* where the residual is largest */
    double cancellation; /* 0 to 1: what is left of the admittances to the cut neutral, a
                            joint's among them, when summed */
    size_t floating; /* node at the head of an island whose neutral nothing ties, PD_NONE if none.
                        There the neutral's voltages are NaN: it has no defined potential */
};

/* Makes room for a solution of `network` in *solution, freed by pd_solution_free. */
enum pd_status pd_solution_new(const struct pd_network *network, struct pd_solution *solution);
void pd_solution_free(struct pd_solution *solution);

struct pd_tree;

/* Makes an engine for a closed network, which must outlive it. The caller frees *out. */
enum pd_status pd_tree_new(const struct pd_network *network, struct pd_tree **out);
void pd_tree_free(struct pd_tree **tree);

/* Eliminates the intact network in this state: one pass to the root, O(n). Values are copied.
 * PD_OK, PD_ERR_MEMORY, or PD_ERR_ARGUMENT for a value out of the ranges given above. */
enum pd_status pd_tree_factor(struct pd_tree *tree, const struct pd_operating *operating);

/* Solves the state last factored, with a cut: eliminates anew from the cut to the root only, then
 * one pass from the root. Always fills *solution; look at its standing. PD_OK or PD_ERR_ARGUMENT.
 */
enum pd_status pd_tree_solve(struct pd_tree *tree, const struct pd_cut *cut,
                             struct pd_solution *solution);

/* Whether every load of the state last factored is linear: then an answer is in proportion to the
 * supply voltage. */
bool pd_tree_linear(const struct pd_tree *tree);

/* The voltages at one node only, O(depth) instead of O(n): for searches that try many states and
 * then check the one they choose with pd_tree_solve. No residual is measured. All NaN where the
 * answer is not one to be judged; the neutral's NaN where nothing ties it. PD_OK or
 * PD_ERR_ARGUMENT. */
enum pd_status pd_tree_voltage_at(struct pd_tree *tree, const struct pd_cut *cut, size_t node,
                                  double complex v[PD_CONDUCTORS]);

/* Currents from the protective conductors into the ground, ampere, [tie_count]; 0 where a tie is
 * not connected to the network. PD_OK, PD_ERR_MEMORY or PD_ERR_ARGUMENT (resistances of no ground).
 */
enum pd_status pd_tie_currents(const struct pd_network *network,
                               const struct pd_operating *operating,
                               const struct pd_solution *solution, double complex *current_a);

/* The resistance of all ties at one protective conductor, held at one potential while no other tie
 * carries current, ohm: in parallel, as far as they do not lift each other's ground. INFINITY where
 * there is none; NaN where the resistances are those of no ground, or memory is short. */
double pd_ties_together(const struct pd_network *network, const struct pd_operating *operating,
                        size_t pe_node);

/* The current of one tie that is coupled with no other. */
double complex pd_tie_current(const struct pd_network *network, const struct pd_earth_tie *tie,
                              const struct pd_solution *solution);

#endif
