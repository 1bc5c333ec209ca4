/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_EARTHING_CONDUCTORS_H
#define PENDRIFT_EARTHING_CONDUCTORS_H

#include <stdbool.h>
#include <stddef.h>

#include "earthing/shape.h"
#include "table/status.h"

/* Buried metal as straight thin wires. */

/* A place: x and y along the surface, z downwards from it. */
struct pd_place {
    double x_m, y_m, z_m;
};

/* A straight bare conductor; those with the same electrode number are bonded. */
struct pd_wire {
    struct pd_place from, to;
    double radius_m;
    size_t electrode; /* from 0 */
};

/* A list that owns its array. Start it with {0}. */
struct pd_conductors {
    struct pd_wire *conductor;
    size_t count;
    size_t electrodes; /* one more than the largest number */
};
void pd_conductors_free(struct pd_conductors *conductors);

/* Appends one. PD_OK, PD_ERR_MEMORY; PD_ERR_ARGUMENT for an end above the surface, a length or
 * radius not above 0, a figure that is not finite. */
enum pd_status pd_conductors_add(struct pd_conductors *conductors, const struct pd_wire *conductor);

/* Appends a shape round the middle (x, y) of its plan as electrode `electrode`: rods along x or on
 * the square's sides, top at the surface or at depth_m where that is given; a wire or strip along
 * x; a ring as a polygon of 32 sides and the same length round; a plate flat at depth_m (on the
 * surface where it is not given) and the sides and bottom of a foundation as grids of wires, each
 * as thick as the strip of sheet that it stands for is wide (2 pi a = spacing: the equal-area rule,
 * common practice, no source). Sizes as pd_shape_resistance wants them, soil_ohm_m unused; more
 * rods than the handbook's tables have are allowed. PD_OK, PD_ERR_MEMORY, PD_ERR_ARGUMENT (a size
 * missing or not usable). */
enum pd_status pd_conductors_add_shape(struct pd_conductors *conductors, enum pd_shape shape,
                                       const struct pd_shape_size *size, double x_m, double y_m,
                                       size_t electrode);

#endif
