/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_SOLVE_MILLMAN_H
#define PENDRIFT_SOLVE_MILLMAN_H

#include <stddef.h>

#include "network/network.h"
#include "network/phasor.h"

/* The closed form for one installation on a stiff source whose star point is at earth: Millman's
 * theorem. It is the rule's own method, and the check on the tree engine. */

/* What ties an installation's neutral to each line, siemens. */
struct pd_star {
    double complex emf_v[PD_LINES];
    double complex y_s[PD_LINES];
};

/* The star of the loads that hang on `top` and on what belongs to its installation, at load_a
 * [load_count] and a stiff supply of supply_v. Loads between lines do not tie the neutral.
 * Every load counts as the impedance that it is at nominal voltage, as the rule's method has it;
 * what generates does not count. */
struct pd_star pd_star_of(const struct pd_network *network, size_t top, const double *load_a,
                          double supply_v);

/* U_N = sum(Y_k E_k) / (sum(Y_k) + G): the neutral's potential to earth with the PEN open and a
 * conductance earth_s >= 0 (siemens) from it to earth. NaN where nothing ties the neutral.
 * Source: Millman's theorem, any circuits textbook. */
double complex pd_star_displacement(const struct pd_star *star, double earth_s);

/* The largest resistance to earth, ohm, that keeps |U_N| at or below limit_v (> 0): from
 * |sum(Y) + G| = |sum(Y E)| / limit, G = sqrt((|A|/limit)^2 - Im(B)^2) - Re(B). INFINITY where the
 * displacement is within the limit without an electrode, NaN for a limit not above 0. For one
 * resistive load I at U0 it is limit U0 / (I (U - limit)), U the supply voltage. */
double pd_star_electrode_max(const struct pd_star *star, double limit_v);

#endif
