/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_EARTHING_MUTUAL_H
#define PENDRIFT_EARTHING_MUTUAL_H

#include <gsl/gsl_matrix.h>
#include <gsl/gsl_vector.h>

#include "earthing/conductors.h"
#include "earthing/electrode.h"
#include "earthing/soil.h"

/* The electrodes of a case in one ground: what the current of one does to the others.
 *
 * The diagonal is each electrode's dry-season resistance (pd_electrode_dry), whether measured or
 * calculated: the ground round it is scaled so that it has that. Off it:
 *   - two with a shape: k sqrt(R_i R_j), k = r_ij / sqrt(r_ii r_jj) of the numerical ground
 *     (earthing/ground.h), which no resistivity changes;
 *   - one with a shape: R_j times the share of its potential that the ground has where the other
 *     stands, exact for a half ball there in uniform ground (mean value property);
 *   - neither: rho/(2 pi s), half balls of radius rho/(2 pi R) (closed form), rho the geometric
 *     mean of the two in the dry season, from soil_ohm_m or `soil`.
 *
 * Depth, and layers where `soil` has them, enter with the shapes only. An electrode without x_m and
 * y_m is taken as far from all others: 0 off the diagonal. NaN where a resistance is not known, no
 * rho is given for two without shape, or they stand within one another. */

struct pd_mutual;

/* Makes it in *out, which the caller frees. `soil` may be NULL: uniform. PD_OK; PD_DOUBTFUL (some
 * entry is NaN, or the numerical ground is not to be leaned on); PD_ERR_MEMORY; PD_ERR_ARGUMENT (no
 * electrode, shapes that lie in one another or are too many: *out NULL). */
enum pd_status pd_mutual_new(const struct pd_electrodes *electrodes, const struct pd_soil *soil,
                             struct pd_mutual **out);
void pd_mutual_free(struct pd_mutual **mutual);

/* Resistances to remote earth, ohm, dry season, electrodes by electrodes in the order of the list,
 * symmetric. Belongs to it. */
const gsl_matrix *pd_mutual_resistance(const struct pd_mutual *mutual);

/* The same matrix by itself, which the caller frees with gsl_matrix_free. As pd_mutual_new. */
enum pd_status pd_electrodes_resistance_matrix(const struct pd_electrodes *electrodes,
                                               const struct pd_soil *soil, gsl_matrix **out);

/* The potential that the ground takes at a place for 1 A from each electrode, ohm, dry season: into
 * `ohm`, of as many as there are electrodes. A detector's reference electrode, or feet, take it on;
 * multiply with the currents and add. 0 for an electrode without a place. PD_OK; PD_DOUBTFUL where
 * one is NaN (resistance not known, rho not known, farther than 500 m in layers); PD_ERR_ARGUMENT
 * (wrong size). */
enum pd_status pd_mutual_transfer(const struct pd_mutual *mutual, const struct pd_place *place,
                                  gsl_vector *ohm);

#endif
