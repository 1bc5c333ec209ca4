/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TESTS_LANE_H
#define PENDRIFT_TESTS_LANE_H

#include <complex.h>
#include <stddef.h>

/* A short three-phase street by hand, for those of cases/: one main, a service from its end to each
 * house, house 1 on L1 with a charging point on a circuit of its own, and no electrode but the star
 * point's. Everything beyond the main is then a star of three admittances on one neutral:
 * impedances in series and parallel, and Millman's theorem (any circuits textbook). Nothing of src/
 * is used. */

struct lane_house {
    int line; /* 0 to 2 */
    double load_a;
    double complex service_ohm; /* each way */
};

struct lane {
    double complex line_ohm;               /* source and main */
    double complex pen_ohm;                /* of the main */
    double complex service_ohm, point_ohm; /* house 1's, each way */
    const struct lane_house *house;        /* the others */
    size_t count;
};

/* House 1. */
struct lane_answer {
    double complex board_v, point_v; /* line to neutral */
    double chassis_v;
    double joint_a; /* through the PEN of the main */
};

/* `board_s`, `vehicle_s`: what house 1 draws at its board and at its charging point. `joint_ohm` is
 * added to the main's PEN; INFINITY: open. */
struct lane_answer lane_solve(const struct lane *lane, double supply_v, double complex board_s,
                              double complex vehicle_s, double joint_ohm);

/* A load of so many ampere at 230 V, unity power factor. */
double lane_load(double current_a);

#endif
