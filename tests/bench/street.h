/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_BENCH_STREET_H
#define PENDRIFT_BENCH_STREET_H

#include "network/network.h"
#include "solve/tree.h"

/* The street that all benchmarks work on, an invented place. Mains of 20 m leave the substation one
 * behind the other; at the end of each, a service of four conductors to one house of one phase, the
 * phases taken in turn; an electrode at every eighth main, and at the last. n houses are 2 n + 1
 * nodes and 8 n + 4 unknowns: 55 houses 111 nodes, 444 unknowns. */

struct street_plan {
    size_t houses;
    size_t per_feeder; /* so many houses on one main, then the next main starts at the substation */
    size_t settling;   /* so many of the houses, spread, draw constant current */
};

enum { STREET_STATES = 8 }; /* load states to go round in, so that no two calls are the same */

struct street {
    struct pd_network *network;
    struct pd_operating operating[STREET_STATES]; /* they point to the two below */
    double *load_a[STREET_STATES];
    struct pd_earth_tie *tie;
};

/* Builds it, or ends the benchmark. The caller frees it. */
void street_new(const struct street_plan *plan, struct street *street);
void street_free(struct street *street);

/* Current of a house in a load state, 0.5 A to 10 A: each state and house another. */
double street_house_a(size_t state, size_t house);

/* How far apart two solutions are at worst, over the supply; INFINITY where either holds a NaN. */
double street_difference(const struct street *street, const double complex (*a)[PD_CONDUCTORS],
                         const double complex (*b)[PD_CONDUCTORS]);

/* The i-th of `count` sections spread evenly over the street, mains and services alike; all of them
 * in turn where count is their number. */
size_t street_section(const struct street *street, size_t i, size_t count);

#endif
