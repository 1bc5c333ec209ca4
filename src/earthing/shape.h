/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_EARTHING_SHAPE_H
#define PENDRIFT_EARTHING_SHAPE_H

#include <stddef.h>

/* The shapes of earth electrodes, and the handbook's formula for each. */

enum pd_shape { PD_ROD, PD_WIRE, PD_PLATE, PD_RING, PD_SQUARE, PD_STRIP, PD_FOUNDATION };
enum { PD_SHAPES = 7 };
extern const char *const pd_shape_names[PD_SHAPES];

/* What a shape needs to be calculated. Lengths in metre, soil in ohm-metre, all above 0. */
struct pd_shape_size {
    double length_m;   /* rods, wire, strip: length; ring: its diameter; plate: side of the square;
                          foundation: side of the square that it covers */
    double diameter_m; /* of a rod or wire; strip: its width; not used for plate and foundation */
    double depth_m;    /* of wire, strip or ring below the surface; foundation: of its underside */
    double spacing_m;  /* between rods */
    double soil_ohm_m;
    size_t count; /* rods in all: in a line 1 to 10, round a hollow square 4, 8, ... 36 */
};

/* Resistance to remote earth, ohm, in uniform soil, by the formula of pd_shape_formula. NaN where a
 * needed size is missing or the shape is outside the formula's range. There is no handbook formula
 * for two layers here: their answer is pd_ground's (earthing/ground.h). */
double pd_shape_resistance(enum pd_shape shape, const struct pd_shape_size *size);

/* What a formula is, for outputs that show it. */
struct pd_formula {
    const char *form;
    const char *source; /* says where it is from memory */
    const char *range;
};
const struct pd_formula *pd_shape_formula(enum pd_shape shape);

/* Two parallel rods by the other published form, ohm, spacing above length:
 *   rho/(4 pi L) (ln(4L/a) - 1) + rho/(4 pi s) (1 - L^2/(3 s^2) + 2 L^4/(5 s^4))
 * (IEEE Std 142-1999 table 13). NaN outside its range. */
double pd_shape_two_rods(const struct pd_shape_size *size);

#endif
