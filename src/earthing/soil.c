/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "earthing/soil.h"

#include <math.h>

#include "earthing/images.h"

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

double pd_soil_apparent_ohm_m(const struct pd_soil *soil, double spacing_m)
{
    struct pd_images images;
    const double a = spacing_m;
    if (pd_images_prepare(soil, 2 * a, &images) != PD_OK)
        return NAN;
    double sum = 0, power = 1;
    for (size_t n = 1; n <= images.count; n++) {
        const double depth_m = 2 * (double)n * soil->upper_m, square = depth_m * depth_m;
        power *= images.reflection;
        sum += power * (1 / sqrt(a * a + square) - 1 / sqrt(4 * a * a + square));
    }
    sum += pd_images_tail(&images, a * a, 0) - pd_images_tail(&images, 4 * a * a, 0);
    return soil->upper_ohm_m * (1 + 4 * a * sum);
}

double pd_soil_four_pin_ohm_m(double spacing_m, double resistance_ohm)
{
    return 2 * M_PI * spacing_m * resistance_ohm;
}
