/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "earthing/soil.h"

#include <math.h>

const double pd_soil_least_ohm_m = 0.1, pd_soil_most_ohm_m = 1e5;
const double pd_soil_least_m = 0.05, pd_soil_most_m = 1000;

struct pd_soil pd_soil_uniform(double soil_ohm_m)
{
    return (struct pd_soil){
        .upper_ohm_m = soil_ohm_m, .upper_m = INFINITY, .lower_ohm_m = soil_ohm_m};
}

bool pd_soil_layered(const struct pd_soil *soil)
{
    return isfinite(soil->upper_m) && soil->upper_ohm_m != soil->lower_ohm_m;
}

bool pd_soil_good(const struct pd_soil *soil)
{
    return isfinite(soil->upper_ohm_m) && isfinite(soil->lower_ohm_m) && soil->upper_ohm_m > 0 &&
           soil->lower_ohm_m > 0 && soil->upper_m > 0;
}

double pd_soil_reflection(const struct pd_soil *soil)
{
    if (!pd_soil_layered(soil))
        return 0;
    return (soil->lower_ohm_m - soil->upper_ohm_m) / (soil->lower_ohm_m + soil->upper_ohm_m);
}

int pd_soil_layer(const struct pd_soil *soil, double depth_m)
{
    return pd_soil_layered(soil) && depth_m > soil->upper_m;
}

struct pd_soil pd_soil_scaled(const struct pd_soil *soil, double factor)
{
    return (struct pd_soil){.upper_ohm_m = soil->upper_ohm_m * factor,
                            .upper_m = soil->upper_m,
                            .lower_ohm_m = soil->lower_ohm_m * factor};
}

/* Terms fall as K^n, and beyond n = a/h as n^-3 too: the rest after n is below both
 * |t| |K|/(1 - |K|) and |t| n. */
double pd_soil_apparent_ohm_m(const struct pd_soil *soil, double spacing_m)
{
    if (!pd_soil_good(soil) || !(spacing_m > 0) || !isfinite(spacing_m))
        return NAN;
    const double k = pd_soil_reflection(soil);
    if (k == 0)
        return soil->upper_ohm_m;
    double sum = 0, power = 1;
    for (double n = 1; n < 1e6; n++) {
        const double depth = 2 * n * soil->upper_m / spacing_m, square = depth * depth;
        power *= k;
        const double term = power * (1 / sqrt(1 + square) - 1 / sqrt(4 + square));
        sum += term;
        const double rest = fabs(term) * fmin(fabs(k) / (1 - fabs(k)), depth > 2 ? n : INFINITY);
        if (4 * rest < 1e-9 * (1 + 4 * sum))
            return soil->upper_ohm_m * (1 + 4 * sum);
    }
    return NAN;
}

double pd_soil_four_pin_ohm_m(double spacing_m, double resistance_ohm)
{
    return 2 * M_PI * spacing_m * resistance_ohm;
}
