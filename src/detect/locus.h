/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_DETECT_LOCUS_H
#define PENDRIFT_DETECT_LOCUS_H

#include <stdbool.h>
#include <stddef.h>

#include "network/phasor.h"

/* Lines and circles in the complex plane: where a voltage of a given size may lie. The room's own.
 */
struct pd_locus {
    bool line;
    double complex at;  /* a point of the line; the circle's centre */
    double complex way; /* the line's direction, not 0 */
    double radius;      /* the circle's, > 0 */
};

struct pd_locus pd_locus_through(double complex a, double complex b); /* a != b */
struct pd_locus pd_locus_circle(double complex centre, double radius);

/* The points whose distances from a and b (different) are as `ratio` to 1, ratio > 0: the circle of
 * Apollonius, or for 1 the line between them. */
struct pd_locus pd_locus_ratio(double complex a, double complex b, double ratio);

/* Where two meet: 0, 1 or 2 points; the same locus twice, and concentric circles, have none. Two
 * that only touch have one or two points close together, or by rounding none. */
size_t pd_locus_meet(const struct pd_locus *a, const struct pd_locus *b, double complex point[2]);

/* The point of a locus where |q| / |q - c| is largest, c != 0: false where there is none, because
 * it grows without end towards c on the locus, or is the same everywhere.
 *
 * w = q / (q - c) maps lines and circles to lines and circles, so that it is the point of the image
 * furthest from 0, taken back by q = c w / (w - 1). */
bool pd_locus_farthest_ratio(const struct pd_locus *locus, double complex c, double complex *point);

#endif
