/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_SOLVE_PLAN_H
#define PENDRIFT_SOLVE_PLAN_H

#include "solve/worker.h"

/* A network arranged for solving many states at once. The room's own.
 *
 * How all breaks of a state cost little more than one. Let Y be the admittance of all that hangs on
 * the far end of a section of series impedance z, U what it looks like from the near end p:
 * U = (Y^-1 + z)^-1, found on one pass to the root. Let Z be the impedance matrix of node p in the
 * intact network, V its voltages: both follow on a pass from the root, as the far end c has
 *
 *     V_c = T V_p,   Z_c = T Z_p T^t + T z,   T = 1 - z U.
 *
 * Put an EMF e into the PEN of the section, against the current in it. The section then draws
 * U (V_p - e n), n the unit vector of the neutral, so that node p sees the current e u more, u
 * being the neutral's column of U, and moves to V_p + e Z u. The current in the PEN becomes
 *
 *     I + e (u^t Z u - U_NN),   I = u^t V_p in the intact network.
 *
 * Open, it is 0; at a joint of R ohm, e = R times it. So e = I / (U_NN - u^t Z u + 1/R), and 1/R is
 * 0 where the PEN is open. A voltage wanted elsewhere, v, follows from its response r to a current
 * at p (by reciprocity, p's response to a current at v) and, where it lies beyond the break, from
 * the row w by which it follows p's voltages, v = w V_p:
 *
 *     v' = v + e (r^t u - w_N [beyond]).
 *
 * A load that is not linear enters with its admittance at nominal voltage; what it draws otherwise
 * is injected (settle.h). Its voltage is one more v, and the impedance between two of them is r at
 * the one of a current at the other: so the passes give the open voltages and the matrix of the
 * ports, intact, and a cut changes it by rank one: with g = r^t u - w_N of each, e becomes (I +
 * sum(g J)) / (U_NN - u^t Z u + 1/R), and a voltage moves by g e.
 *
 * r_c = T r_p off the way to v and r_c = Z_c w_c^t on it; w_p = w_c T. Sources: compensation
 * theorem, reciprocity, and the elimination of solve/tree.h.
 */

/* A load's element at a place, siemens for each ampere of the load. */
struct pd_plan_element {
    size_t load;
    int from, to;
    double re, im, size; /* size: |y| where it ties the neutral, else 0 */
};

/* What hangs on a place: ranges of the plan's lists. */
struct pd_plan_range {
    size_t first, count;
};

/* A place of four conductors, and the section that feeds it. Place 0 is the terminals of the
 * source's EMFs; its section is not there. Places stand in preorder, so that those beyond a place i
 * are i + 1 to end - 1, and of its children the one with the most beyond it comes last. */
struct pd_place {
    size_t parent, end, depth;
    struct {
        double re, im;
    } z[PD_CONDUCTORS];
    struct pd_plan_range element, tie, leaf, cut;
    size_t slot; /* working memory on the way out; a last child takes over its parent's */
    bool wanted; /* a cut lies beyond it: its voltages and impedance are needed */
};

/* A service with nothing but loads from one line to neutral, and electrodes: closed form. */
struct pd_leaf {
    size_t parent;
    int line;
    struct {
        double re, im;
    } line_z, neutral_z;
    struct pd_plan_range element, tie, cut;
};

/* A cut at a section: which column it answers. */
struct pd_plan_cut {
    size_t column;
    double joint_ohm; /* INFINITY: open; 0: none */
};

/* A voltage wanted, or one across an element that is not linear: a port. */
struct pd_plan_probe {
    size_t place, leaf;     /* leaf: PD_NONE where it is a place itself */
    int conductor, against; /* against PD_CONDUCTORS: earth */
    size_t row;             /* where its rows w start, one for each place on its way, by depth */
    size_t load, element;   /* of a port */
};

/* Beyond so many ports, or so many numbers kept for them, the tree engine's own passes cost less.
 */
enum { PD_PLAN_PORTS = 96, PD_PLAN_KEPT = 64 * 1024 };

struct pd_plan {
    struct pd_place *place;
    struct pd_leaf *leaf;
    struct pd_plan_element *element;
    size_t *tie; /* numbers of the settings' ties */
    struct pd_plan_cut *cut;
    struct pd_plan_probe *probe; /* [probes + ports] */
    size_t places, leaves, elements, ties, cuts, probes, ports, slots, rows;
    size_t *intact; /* [intact_count] columns without a cut */
    size_t intact_count;
    double electrode_ohm; /* of the source */
    double complex unit_emf[PD_LINES];
};

/* Arranges a network. *out stays NULL, with PD_OK, where it cannot be done: sections with mutual
 * impedance, too many loads that are not linear. Fills kept->column and kept->cut: sections in
 * series with nothing tied between them are one, and their cuts one column. PD_OK or PD_ERR_MEMORY.
 */
enum pd_status pd_plan_new(struct pd_batch_kept *kept, struct pd_plan **out);
void pd_plan_free(struct pd_plan **plan);

#endif
