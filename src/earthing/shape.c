/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "earthing/electrode.h"

#include <math.h>

const char *const pd_shape_names[PD_SHAPES] = {
    [PD_ROD] = "rod", [PD_WIRE] = "wire", [PD_PLATE] = "plate", [PD_RING] = "ring"};

/* BS 7430:2011 table of lambda for n rods in line, n = 2 to 10; none for a single rod. */
static const double lambda_in_line[] = {0, 0, 1.00, 1.66, 2.15, 2.54, 2.87, 3.15, 3.39, 3.61, 3.81};

static double rods(const struct pd_shape_size *s)
{
    if (!(s->diameter_m <= s->length_m / 10))
        return NAN;
    const double one =
        s->soil_ohm_m / (2 * M_PI * s->length_m) * (log(8 * s->length_m / s->diameter_m) - 1);
    if (s->count == 1)
        return one;
    if (s->count < 2 || s->count > 10 || !(s->spacing_m >= s->length_m))
        return NAN;
    const double a = s->soil_ohm_m / (2 * M_PI * one * s->spacing_m);
    return one * (1 + lambda_in_line[s->count] * a) / (double)s->count;
}

static double wire(const struct pd_shape_size *s)
{
    if (!(s->diameter_m <= s->length_m / 10) || !(s->depth_m >= s->diameter_m))
        return NAN;
    return s->soil_ohm_m / (M_PI * s->length_m) *
           (log(2 * s->length_m / sqrt(s->diameter_m * s->depth_m)) - 1);
}

static double plate(const struct pd_shape_size *s)
{
    return s->soil_ohm_m / 4 * sqrt(M_PI / (s->length_m * s->length_m));
}

static double ring(const struct pd_shape_size *s)
{
    if (!(s->diameter_m <= s->length_m / 10) || !(s->depth_m >= s->diameter_m))
        return NAN;
    return s->soil_ohm_m / (2 * M_PI * M_PI * s->length_m) *
           (log(8 * s->length_m / s->diameter_m) + log(2 * s->length_m / s->depth_m));
}

double pd_shape_resistance(enum pd_shape shape, const struct pd_shape_size *size)
{
    if (!(size->length_m > 0) || !(size->soil_ohm_m > 0))
        return NAN;
    double ohm = NAN;
    switch (shape) {
    case PD_ROD:
        ohm = rods(size);
        break;
    case PD_WIRE:
        ohm = wire(size);
        break;
    case PD_PLATE:
        ohm = plate(size);
        break;
    case PD_RING:
        ohm = ring(size);
        break;
    }
    return isfinite(ohm) && ohm > 0 ? ohm : NAN;
}
