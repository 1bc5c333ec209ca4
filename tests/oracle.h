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

/* Whether a load of some current, or an electrode, ties the neutral downstream of `section`. */
bool oracle_tied(const struct pd_network *network, const struct pd_operating *operating,
                 size_t section);

/* Solves. With `pin`, 1 siemens is put from the neutral at the far end of the cut to earth: where
 * nothing ties that island the pin carries no current, holds the neutral at 0 V, and changes
 * nothing else; without it the matrix would be singular. Fails the test where memory or GSL fails.
 * The caller frees the answer. */
void oracle_solve(const struct pd_network *network, const struct pd_operating *operating,
                  const struct pd_cut *cut, bool pin, struct oracle_answer *answer);
void oracle_answer_free(struct oracle_answer *answer);

/* Puts voltages found elsewhere into the oracle's equations: section currents are summed from the
 * loads', then the largest |A x - b|, in volts or amperes, is returned. */
double oracle_mismatch(const struct pd_network *network, const struct pd_operating *operating,
                       const struct pd_cut *cut, const double complex (*v)[PD_CONDUCTORS]);

#endif
