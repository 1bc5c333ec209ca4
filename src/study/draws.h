/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_DRAWS_H
#define PENDRIFT_STUDY_DRAWS_H

#include <stdint.h>

#include "study/case.h"
#include "study/distribution.h"

/* What a sample draws: which numbers of a case, how each is spread, and the points at which they
 * are drawn together. The room's own.
 *
 * Points are Sobol's sequence (gsl_qrng_sobol, up to 40 dimensions), randomised by a digital shift:
 * the binary digits of each coordinate are XORed with those of one random number, which keeps the
 * net's evenness and makes every replicate unbiased (L'Ecuyer and Lemieux, Recent Advances in
 * Randomized Quasi-Monte Carlo Methods, 2002, from memory). Where more than 40 numbers are drawn,
 * the 40 that spread most have Sobol's, the rest independent pseudo-random numbers: splitmix64
 * (Steele, Lea and Flood, 2014) of seed, replicate, trial and dimension. A trial's numbers depend
 * on these four alone. */

enum pd_draw_kind {
    PD_DRAW_AMPS,
    PD_DRAW_POWER, /* kW */
    PD_DRAW_FACTOR,
    PD_DRAW_OHM,
    PD_DRAW_SEASON,
    PD_DRAW_SUPPLY
};

struct pd_draw_one {
    enum pd_draw_kind kind;
    size_t which;                        /* load or electrode */
    struct pd_distribution distribution; /* its arrays borrowed from the rows */
    bool declared;                       /* in distributions.csv; else what stands for it */
    double weight;                       /* how much it spreads, for the order */
};

/* Of a load whose power factor is drawn: it is three loads from then on, in phase and at power
 * factors 0.05 lagging and leading, which together draw the current of any between. */
struct pd_draw_parts {
    size_t load, lagging, leading;
};

struct pd_draws {
    const struct pd_case *study_case;
    struct pd_draw_one *one; /* [count] those that spread most first */
    size_t count;
    size_t spread; /* so many of them are not fixed */
    size_t sobol;  /* so many of these are Sobol's */
    struct pd_draw_parts *parts;
    size_t part_count;
    double *break_weight; /* [node_count] by the node that a section feeds */
    uint64_t seed;
};

/* Works out what is drawn, from the rows of distributions.csv (which must outlive it) and, for
 * what they leave out, uniformly over each load's declared range and over the set's supply range;
 * electrodes are in the dry season. Adds the parts of loads to the case's network. Errors: an
 * address that cannot be drawn, values out of range. The caller frees. */
enum pd_status pd_draws_new(struct pd_case *study_case, const struct pd_spread_rows *rows,
                            uint64_t seed, struct pd_draws *draws, struct pd_errors *errors);
void pd_draws_free(struct pd_draws *draws);

/* One replicate's points, one after the other from the first. The caller frees *out. */
struct pd_draw_points;
enum pd_status pd_draw_points_new(const struct pd_draws *draws, size_t replicate,
                                  struct pd_draw_points **out);
void pd_draw_points_free(struct pd_draw_points **points);

/* Draws the next trial: load_a[load_count] after load management, *supply_v, tie_ohm[electrodes].
 * PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_draw_next(struct pd_draw_points *points, double *load_a, double *supply_v,
                            double *tie_ohm);

#endif
