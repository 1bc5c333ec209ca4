/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_EARTHING_SEGMENT_H
#define PENDRIFT_EARTHING_SEGMENT_H

#include "earthing/conductors.h"
#include "earthing/images.h"

/* Integrals of 1/R over straight segments with evenly spread current. At the wire's radius or
 * farther from its axis a round wire is as good as its axis (in two dimensions exactly so); nearer,
 * which is on the wire itself, the radius stands for the distance. The room's own. */

struct pd_segment {
    struct pd_place from, to;
    double length_m, radius_m;
    size_t electrode;
    int layer;
};

/* The mean over `field` of the potential that 1 A from `source` makes, in this ground: ohm. The
 * same both ways round, up to rounding. */
double pd_segment_mutual(const struct pd_images *images, const struct pd_segment *source,
                         const struct pd_segment *field);

/* The potential at a place, for 1 A from `source`: ohm. At the wire itself: on its surface. */
double pd_segment_potential(const struct pd_images *images, const struct pd_segment *source,
                            const struct pd_place *place);

#endif
