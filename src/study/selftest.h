/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_SELFTEST_H
#define PENDRIFT_STUDY_SELFTEST_H

#include <stdbool.h>
#include <stddef.h>

#include "table/status.h"
#include "table/table.h"

/* The published figures of reference/checks.csv, recomputed by the parts of the library that decide
 * a case.
 *
 * A row has a kind, which says what computes it, and inputs, `name=value` between blanks. An input
 * not known, given twice or missing is an error. Kinds and their inputs:
 *
 *   star     Loads from lines to a common neutral, on a stiff supply. phases (1, 2 or 3) and
 *            phase_v, or between_v for two or three; each load as p1_w .. p3_w at at_v (default
 *            phase_v), or z1_ohm .. z3_ohm with z1_deg .. (lagging above 0). earth_ohm: from the
 *            neutral to earth (default none). limit_v for electrode_max_ohm. Quantities: un_v,
 *            un_deg, line1_v .. line3_v, power_w and electrode_max_ohm with the neutral open,
 *            neutral_a with it closed. By two roads: Millman's closed form, and the tree engine.
 *   formula  pd_electrode_formula: nominal_v, current_a, limit_v, factor. Quantity max_ohm.
 *   rod, wire, plate, ring, square, strip, foundation
 *            pd_shape_resistance: length_m, diameter_m, depth_m, spacing_m, count, soil_ohm_m.
 *            Quantity resistance_ohm.
 *   four-pin pd_soil_four_pin_ohm_m: spacing_m, resistance_ohm. Quantity apparent_ohm_m.
 *   step     A rod in the numerical ground: length_m, diameter_m, soil_ohm_m, and at_m from it.
 *            Quantity touch_share, the rod's voltage to the ground there over its own to earth.
 *   permissible
 *            pd_permissible_touch (EN 50522), from the tables of body impedance, paths and curves:
 *            time_s. Quantity touch_v.
 *   tolerable
 *            pd_tolerable_touch and pd_tolerable_step (IEEE Std 80): soil_ohm_m, time_s. Quantities
 *            touch_v, step_v.
 */

enum { PD_ROADS = 2 };

/* One check, lent to the function for the length of the call. */
struct pd_selftest_result {
    const char *check, *quantity, *unit, *seen, *source;
    double want, tolerance;
    size_t roads;               /* 1 or 2 */
    const char *road[PD_ROADS]; /* what computed it */
    double got[PD_ROADS];       /* NaN where it has no answer */
    bool passed; /* every road is within the tolerance, and the roads agree with each other to nine
                    digits */
};

/* Called for each check, in the order of the table. Return false to stop. */
typedef bool pd_selftest_function(const struct pd_selftest_result *result, void *context);

/* Runs the checks that are compiled into the program. A check that fails is a good call. PD_OK;
 * PD_ERR_MEMORY; PD_ERR_INPUT, with lines in `errors`, for a fault of the table itself;
 * PD_ERR_INTERRUPTED where the function stopped it. */
enum pd_status pd_selftest_run(pd_selftest_function *function, void *context,
                               struct pd_errors *errors);

/* The same from a table in memory. */
enum pd_status pd_selftest_run_text(const char *text, size_t length, pd_selftest_function *function,
                                    void *context, struct pd_errors *errors);

#endif
