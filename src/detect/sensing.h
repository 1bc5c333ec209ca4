/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_DETECT_SENSING_H
#define PENDRIFT_DETECT_SENSING_H

#include "detect/region.h"

/* What detectors have in common in the plane of neutral displacement: each senses how far U_N is
 * from its centres. The room's own. */
struct pd_sensing {
    double complex unit[PD_LINES]; /* the centres, at 1 V of supply */
    size_t count;
    bool any; /* blind where one centre's voltage is in the window; else where all are */
    struct pd_window window;
};

/* Fills *sensing. Anything but PD_REGION_KNOWN leaves it without centres. */
enum pd_region_kind pd_sensing_of(const struct pd_detector *detector, const struct pd_reach *reach,
                                  struct pd_sensing *sensing);

/* The hull of earth and the EMFs that pull, at 1 V of supply, anticlockwise: the count of corners,
 * 2 for a segment, fewer where there is nothing. */
size_t pd_hull_of(const struct pd_reach *reach, double complex corner[PD_REGION_CORNERS]);

/* Whether a point lies in a hull, or outside it by no more than `slack`. */
bool pd_hull_holds(const double complex *corner, size_t count, double complex point, double slack);

/* Whether a point is further from earth than another. Of equals, as mirrored lines make them, the
 * one that comes first anticlockwise from L1: the same whatever the compiler. */
bool pd_further_off(double complex point, double complex than);

#endif
