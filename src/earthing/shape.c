/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "earthing/shape.h"

#include <math.h>

const char *const pd_shape_names[PD_SHAPES] = {
    [PD_ROD] = "rod",       [PD_WIRE] = "wire",   [PD_PLATE] = "plate",          [PD_RING] = "ring",
    [PD_SQUARE] = "square", [PD_STRIP] = "strip", [PD_FOUNDATION] = "foundation"};

/* BS 7430:2011 tables of lambda: n rods in line, and n on each side of a hollow square, 4(n - 1) in
 * all; n = 2 to 10, none for a single rod. */
enum { LAMBDA_MOST = 10 };
static const double lambda_in_line[LAMBDA_MOST + 1] = {0,    0,    1.00, 1.66, 2.15, 2.54,
                                                       2.87, 3.15, 3.39, 3.61, 3.81};
static const double lambda_square[LAMBDA_MOST + 1] = {0,    0,    2.71, 4.51, 5.48, 6.14,
                                                      6.63, 7.03, 7.36, 7.65, 7.90};

static const struct pd_formula formulas[PD_SHAPES] = {
    [PD_ROD] = {"R = rho/(2 pi L) (ln(8L/d) - 1); n in line R (1 + lambda a)/n, "
                "a = rho/(2 pi R s)",
                "BS 7430:2011 9.5.3 (clause from memory) and 9.5.4; IEEE Std 142-1999 table 13",
                "uniform soil, top at the surface, d at most L/10, s at least L, at most 10 rods"},
    [PD_WIRE] = {"R = rho/(pi L) (ln(2L/sqrt(2 a h)) - 1), a the radius",
                 "textbook form after Sunde", "uniform soil, d at most L/10, h from d to L/4"},
    [PD_PLATE] = {"R = (rho/4) sqrt(pi/A)", "BS 7430:2011 9.5.2 (from memory)",
                  "uniform soil; a plate on the surface: one that lies deep has down to half"},
    [PD_RING] = {"R = rho/(2 pi^2 D) (ln(8D/w) + ln(2D/h)), w the wire's diameter",
                 "IEEE Std 142-1999 table 13, with its s/2 = h",
                 "uniform soil, w at most D/10, h from w to D/2"},
    [PD_SQUARE] = {"R (1 + lambda a)/N, N = 4(n - 1) rods, a = rho/(2 pi R s)",
                   "BS 7430:2011 9.5.4",
                   "uniform soil, rods round a hollow square, N = 4 to 36, s at least L"},
    [PD_STRIP] =
        {"the wire's, with a = w/4 for a strip of width w",
         "textbook form after Sunde; a = w/4 is the exact equal of a thin strip (conformal "
         "map of a slit)",
         "uniform soil, w at most L/10, h from w to L/4; thickness left out"},
    [PD_FOUNDATION] = {"R = rho/(pi D), D = (12 V/pi)^(1/3): the half ball of equal volume V",
                       "handbook form from memory; no body of that volume has more (Polya and "
                       "Szego, from memory)",
                       "uniform soil; damp concrete in contact with it, its steel bonded, as good "
                       "a conductor as a solid block"},
};

const struct pd_formula *pd_shape_formula(enum pd_shape shape)
{
    return &formulas[shape];
}

static double one_rod(const struct pd_shape_size *s)
{
    if (!(s->diameter_m <= s->length_m / 10))
        return NAN;
    return s->soil_ohm_m / (2 * M_PI * s->length_m) * (log(8 * s->length_m / s->diameter_m) - 1);
}

static double rods(const struct pd_shape_size *s, double lambda)
{
    const double one = one_rod(s);
    if (!(s->spacing_m >= s->length_m))
        return NAN;
    const double a = s->soil_ohm_m / (2 * M_PI * one * s->spacing_m);
    return one * (1 + lambda * a) / (double)s->count;
}

static double rods_in_line(const struct pd_shape_size *s)
{
    if (s->count == 1)
        return one_rod(s);
    return s->count >= 2 && s->count <= LAMBDA_MOST ? rods(s, lambda_in_line[s->count]) : NAN;
}

static double rods_in_square(const struct pd_shape_size *s)
{
    const size_t side = s->count / 4 + 1;
    if (s->count < 4 || s->count % 4 != 0 || side > LAMBDA_MOST)
        return NAN;
    return rods(s, lambda_square[side]);
}

static double wire(const struct pd_shape_size *s, double diameter_m)
{
    if (!(s->diameter_m <= s->length_m / 10) || !(s->depth_m >= s->diameter_m) ||
        !(s->depth_m <= s->length_m / 4))
        return NAN;
    return s->soil_ohm_m / (M_PI * s->length_m) *
           (log(2 * s->length_m / sqrt(diameter_m * s->depth_m)) - 1);
}

static double plate(const struct pd_shape_size *s)
{
    return s->soil_ohm_m / 4 * sqrt(M_PI / (s->length_m * s->length_m));
}

static double ring(const struct pd_shape_size *s)
{
    if (!(s->diameter_m <= s->length_m / 10) || !(s->depth_m >= s->diameter_m) ||
        !(s->depth_m <= s->length_m / 2))
        return NAN;
    return s->soil_ohm_m / (2 * M_PI * M_PI * s->length_m) *
           (log(8 * s->length_m / s->diameter_m) + log(2 * s->length_m / s->depth_m));
}

static double foundation(const struct pd_shape_size *s)
{
    const double volume = s->length_m * s->length_m * s->depth_m;
    return s->depth_m > 0 ? s->soil_ohm_m / (M_PI * cbrt(12 * volume / M_PI)) : NAN;
}

double pd_shape_resistance(enum pd_shape shape, const struct pd_shape_size *size)
{
    if (!(size->length_m > 0) || !(size->soil_ohm_m > 0))
        return NAN;
    double ohm = NAN;
    switch (shape) {
    case PD_ROD:
        ohm = rods_in_line(size);
        break;
    case PD_WIRE:
        ohm = wire(size, size->diameter_m);
        break;
    case PD_PLATE:
        ohm = plate(size);
        break;
    case PD_RING:
        ohm = ring(size);
        break;
    case PD_SQUARE:
        ohm = rods_in_square(size);
        break;
    case PD_STRIP:
        ohm = wire(size, size->diameter_m / 2);
        break;
    case PD_FOUNDATION:
        ohm = foundation(size);
        break;
    }
    return isfinite(ohm) && ohm > 0 ? ohm : NAN;
}

double pd_shape_two_rods(const struct pd_shape_size *size)
{
    const double l = size->length_m, s = size->spacing_m, rho = size->soil_ohm_m;
    const double ratio = l * l / (s * s);
    if (!(size->diameter_m <= l / 10) || !(s > l) || !(l > 0))
        return NAN;
    return rho / (4 * M_PI * l) * (log(8 * l / size->diameter_m) - 1) +
           rho / (4 * M_PI * s) * (1 - ratio / 3 + 2 * ratio * ratio / 5);
}
