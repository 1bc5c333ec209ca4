/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_DETECT_BOUNDARY_H
#define PENDRIFT_DETECT_BOUNDARY_H

#include "detect/sensing.h"

/* Fills piece[] and piece_count of a region whose supply voltage and corners are set: the edge of
 * what lies in the hull and is not seen; with `beyond_v` finite, of the part of it where
 * |U_N| > beyond_v. The room's own.
 *
 * The hull's edges and the circles of the thresholds cut each other into pieces. A piece of a
 * circle belongs to the edge just where what is not seen changes from one side of it to the other,
 * all other circles being where the piece's middle says. No step moves a point off a line by a
 * small distance to see what is there, so nothing depends on what is small. */
void pd_boundary_find(const struct pd_sensing *sensing, double beyond_v, struct pd_region *region);

#endif
