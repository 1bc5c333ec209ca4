/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TESTS_ORACLE_H
#define PENDRIFT_TESTS_ORACLE_H

#include <stdbool.h>

#include "check.h"
#include "network/phasor.h"

#include "network/network.h"
#include "solve/tree.h"

/* The same network by another road: modified nodal analysis of the whole of it at once, solved by
 * GSL's dense complex LU. The unknowns are the node voltages and the section currents, so a section
 * of 0 ohm is a row V - V = 0 and an open conductor a row I = 0. Nothing of src/solve is called,
 * and of src/network only the structs are read: load admittances, the place where an electrode is
 * tied and what a cut parts are worked out here from their definitions.
 *
 * Source: modified nodal analysis, Ho, Ruehli and Brennan 1975 (from memory); any circuits
 * textbook.
 */

struct oracle_answer {
    double complex (*v)[PD_CONDUCTORS];         /* NaN for a line that the node does not have */
    double complex (*current_a)[PD_CONDUCTORS]; /* in the section that feeds the node; at the
                                                   substation: source lines, and its electrode */
    double backward_error; /* largest |A x - b| of a row over the largest |A| |x| + |b| */
    double complex pin_a;  /* from an island that was pinned to earth, see oracle_solve */
};

/* Whether a load of some current, an electrode or a bridge ties the neutral downstream of
 * `section`. */
bool oracle_tied(const struct pd_network *network, const struct pd_operating *operating,
                 size_t section);

/* Solves, where every load is of constant impedance. With `pin`, 1 siemens is put from the neutral
 * at the far end of the cut to earth: where nothing ties that island the pin carries no current,
 * holds the neutral at 0 V, and changes nothing else; without it the matrix would be singular.
 * Fails the test where memory or GSL fails. The caller frees the answer. */
void oracle_solve(const struct pd_network *network, const struct pd_operating *operating,
                  const struct pd_cut *cut, bool pin, struct oracle_answer *answer);
void oracle_answer_free(struct oracle_answer *answer);

/* Puts voltages found elsewhere into the oracle's equations: section currents are summed from the
 * loads', then the largest |A x - b|, in volts or amperes, is returned. */
double oracle_mismatch(const struct pd_network *network, const struct pd_operating *operating,
                       const struct pd_cut *cut, const double complex (*v)[PD_CONDUCTORS]);

/* The same with loads that are not linear: what they draw is written out anew from the words of
 * README's table of behaviours, by name, and no draw function of src/network is called. */
struct oracle_case {
    const struct pd_network *network;
    const struct pd_operating *operating;
    const struct pd_cut *cut;
    const bool
        *off; /* [3 * load_count] off[3 * i + k]: element k of load i has let go; NULL: none */
};

/* How many elements a load has, and between which conductors the k-th of them is. */
size_t oracle_elements(const struct pd_load *load);
const int *oracle_ends(const struct pd_load *load, size_t k);

/* What an element of a load draws while it is on, ampere into its first conductor. */
double complex oracle_draw(const struct pd_network *network, const struct pd_load *load,
                           double current_a, double complex voltage_v);

/* Whether a load has a window, and whether a voltage across its element is inside (true where it
 * has none). */
bool oracle_has_window(const struct pd_load *load);
bool oracle_inside(const struct pd_network *network, const struct pd_load *load,
                   double complex voltage_v);

/* The sum of |Y| that ties the neutral downstream of the cut, each load at its nominal voltage. */
double oracle_island_s(const struct oracle_case *c);

/* Kirchhoff's laws for voltages found elsewhere, without a dimension as the engine promises it: the
 * voltage law over the supply (along a joint's neutral as it moves the island behind it), the
 * current into an island behind an open neutral over its admittance and the supply. The neutral of
 * an island that nothing ties is left out. */
double oracle_residual(const struct oracle_case *c, const double complex (*v)[PD_CONDUCTORS]);

/* Solves by GSL's multiroot (Powell's hybrid method, scaled, with derivative) from the voltages
 * given. False where it does not arrive. The caller frees the answer in either case. */
bool oracle_settle(const struct oracle_case *c, const double complex (*start)[PD_CONDUCTORS],
                   struct oracle_answer *answer);

/* Fills a section's current for each node from the loads' at these voltages. */
void oracle_currents(const struct oracle_case *c, const double complex (*v)[PD_CONDUCTORS],
                     double complex (*current_a)[PD_CONDUCTORS]);

#endif
