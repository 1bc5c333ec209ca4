/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_EARTHING_SOIL_H
#define PENDRIFT_EARTHING_SOIL_H

#include <stdbool.h>

#include "table/status.h"

/* The ground: uniform, or a flat upper layer on a lower one that has no end. */
struct pd_soil {
    double upper_ohm_m; /* above 0 */
    double upper_m;     /* how thick the upper layer is; INFINITY: uniform */
    double lower_ohm_m; /* above 0; equal to upper_ohm_m where uniform */
};

/* What a resistivity and a layer may be in any input. */
enum { PD_SOIL_LAYERS = 2 };
extern const double pd_soil_least_ohm_m, pd_soil_most_ohm_m;
extern const double pd_soil_least_m, pd_soil_most_m;

/* The same ground all the way down. */
struct pd_soil pd_soil_uniform(double soil_ohm_m);

/* Whether the two layers differ. */
bool pd_soil_layered(const struct pd_soil *soil);

/* Whether every figure is one that the formulas can use: finite and above 0. False for NaN. */
bool pd_soil_good(const struct pd_soil *soil);

/* K = (rho2 - rho1)/(rho2 + rho1), between -1 and 1; 0 where uniform (IEEE Std 81). */
double pd_soil_reflection(const struct pd_soil *soil);

/* The layer that a depth is in: 0 upper, 1 lower. The boundary itself counts as upper. */
int pd_soil_layer(const struct pd_soil *soil, double depth_m);

/* The ground with every resistivity times `factor`: the same place in another season. */
struct pd_soil pd_soil_scaled(const struct pd_soil *soil, double factor);

/* The apparent resistivity, ohm-metre, that a four-pin test with equal spacing a shows:
 *   rho_a = rho1 (1 + 4 sum K^n (1/sqrt(1 + (2nh/a)^2) - 1/sqrt(4 + (2nh/a)^2)))
 * (IEEE Std 81), and rho of uniform ground. The pins are points: their depth is small against a.
 * The series is summed as earthing/images.h has it; NaN where that takes too many terms, for
 * figures that are not good or a spacing not above 0. */
double pd_soil_apparent_ohm_m(const struct pd_soil *soil, double spacing_m);

/* rho = 2 pi a R, ohm-metre, from the resistance of a four-pin test (IEEE Std 81). */
double pd_soil_four_pin_ohm_m(double spacing_m, double resistance_ohm);

#endif
