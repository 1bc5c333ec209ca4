/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_BENCH_MANY_H
#define PENDRIFT_BENCH_MANY_H

#include "solve/batch.h"
#include "street.h"

/* The street with many load states and every section's PEN to open, for the batch engine. State s
 * of the batch is state s % STREET_STATES of the street's own, so that a peer can solve it too. */

struct many_plan {
    struct street_plan street;
    size_t states;
    bool every_house; /* a voltage wanted at each house; else at the one in the middle only */
};

struct many {
    struct street street;
    struct pd_batch_input input;
    double *load_a, *supply_v;
    struct pd_cut *cut; /* [cut_count] of all sections */
    struct pd_probe *probe;
    size_t cut_count, probe_count;
};

/* Builds it, or ends the benchmark. The caller frees it. */
void many_new(const struct many_plan *plan, struct many *many);
void many_free(struct many *many);

/* A batch of `count` cuts from `first` on, with room for its answers, or the end of the benchmark.
 * The caller frees it; `many` must outlive it. */
struct run {
    const struct many *many;
    struct pd_batch *batch;
    struct pd_batch_output output;
    size_t first, count;
};
void run_new(const struct many *many, size_t first, size_t count, size_t threads,
             enum pd_width width, struct run *run);
void run_free(struct run *run);

/* Solves all states of it, or ends the benchmark. */
void run_solve(struct run *run);

/* How far the answers of a state and section of a run are from voltages of every node, over the
 * supply; INFINITY where either is NaN. */
double run_difference(const struct run *run, size_t state, size_t section,
                      const double complex (*v)[PD_CONDUCTORS]);

#endif
