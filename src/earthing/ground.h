/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_EARTHING_GROUND_H
#define PENDRIFT_EARTHING_GROUND_H

#include <stdbool.h>
#include <stddef.h>

#include <gsl/gsl_matrix.h>
#include <gsl/gsl_vector.h>

#include "earthing/conductors.h"
#include "earthing/soil.h"

/* Electrodes in the ground, solved numerically.
 *
 * Every conductor is cut into segments that each leak an even current; the mean potential of a
 * segment from another's current is a double line integral (Galerkin's method, so the matrix is
 * symmetric), with images for the surface and the layers (earthing/images.h). The segments of an
 * electrode are at one potential. Resistances so found lie above the true ones and fall as segments
 * are made finer (Thomson's principle), so the answer errs towards too much. It is found twice,
 * with segments half as long the second time: the difference estimates the error.
 *
 * Thin wires: the kernel keeps R off zero by the radius, so a segment is at least about as long as
 * the wire is thick. Sheets (plate, foundation) are grids of wires, within 2 % of the exact
 * capacitance of square and cube; pd_ground_error does not count that in.
 *
 * Conductors that lie in one another are found before GSL is asked; should it still not solve a
 * matrix, its default error handler ends the program: turn it off (gsl_set_error_handler_off), as
 * pendrift does. */

struct pd_ground;

struct pd_ground_settings {
    size_t segments; /* of the coarser solution, about; 0: 64. The finer has twice as many */
    double reach_m;  /* potentials are wanted this far from the electrodes; 0: 100 m */
};
enum { PD_SEGMENTS_MOST = 1500 };

/* Solves the ground in *out, which the caller frees. `settings` may be NULL. PD_OK; PD_DOUBTFUL
 * (solved, but the error is above 5 %, the residual above 1e-8 or images were too few: the
 * figures are there and not to be leaned on); PD_ERR_MEMORY; PD_ERR_ARGUMENT (no conductor, soil
 * not good, an electrode number without a conductor, too many segments or conductors that lie in
 * one another: no solution, *out NULL). */
enum pd_status pd_ground_solve(const struct pd_conductors *conductors, const struct pd_soil *soil,
                               const struct pd_ground_settings *settings, struct pd_ground **out);
void pd_ground_free(struct pd_ground **ground);

size_t pd_ground_electrodes(const struct pd_ground *ground);

/* The matrix of resistances to remote earth, ohm, electrodes by electrodes, symmetric: potential of
 * electrode i for 1 A from electrode j, the others open. Belongs to the ground. */
const gsl_matrix *pd_ground_resistance(const struct pd_ground *ground);

/* What the electrode alone has with the others open, ohm. */
double pd_ground_ohm(const struct pd_ground *ground, size_t electrode);

/* How far the finer solution is from the coarser, the largest of all entries over the diagonal; the
 * largest residual of the equations over their right sides; the bound on what images leave out. */
double pd_ground_error(const struct pd_ground *ground);
double pd_ground_residual(const struct pd_ground *ground);
double pd_ground_image_bound(const struct pd_ground *ground);

/* Currents from the electrodes that hold them at these potentials, ampere for volt: vectors of as
 * many as there are electrodes. PD_OK; PD_ERR_ARGUMENT for wrong sizes; PD_DOUBTFUL where the
 * matrix cannot be solved (then NaN). */
enum pd_status pd_ground_currents(const struct pd_ground *ground, const gsl_vector *potential_v,
                                  gsl_vector *current_a);

/* The potential of the ground at a place, volt, for these currents from the electrodes. Within
 * reach_m of the settings the images' bound holds; NaN farther off in two layers, or above the
 * surface. */
double pd_ground_potential(const struct pd_ground *ground, const gsl_vector *current_a,
                           const struct pd_place *place);

/* Touch voltage at a place on the surface: the electrode's potential less that of the ground there.
 * Step voltage: between the place and 1 m further along the direction (dx, dy) of length 1. */
double pd_ground_touch_v(const struct pd_ground *ground, const gsl_vector *current_a,
                         size_t electrode, const struct pd_place *place);
double pd_ground_step_v(const struct pd_ground *ground, const gsl_vector *current_a,
                        const struct pd_place *place, double dx, double dy);

/* How far from the middle of electrode `electrode`, along x on the surface, the ground has fallen
 * to `share` (0 to 1) of the electrode's potential when it alone carries current, metre: the
 * separation that keeps a reference electrode's error, or the share of a voltage that is
 * transferred to another electrode, at that. A small electrode takes the ground's potential where
 * it stands. Searched to 1 mm between the electrode and `reach_m`; NaN where the ground is still
 * above it there. */
double pd_ground_separation_m(const struct pd_ground *ground, size_t electrode, double share);

/* The segments of the finer solution, one by one. `current_a` as above, NULL for no density. */
struct pd_leak {
    struct pd_place from, to;
    size_t electrode;
    double density_a_per_m; /* NaN without currents */
};
size_t pd_ground_segments(const struct pd_ground *ground);
struct pd_leak pd_ground_leak(const struct pd_ground *ground, const gsl_vector *current_a,
                              size_t segment);

#endif
