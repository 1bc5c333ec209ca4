/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TESTS_GROW_H
#define PENDRIFT_TESTS_GROW_H

#include <stdbool.h>

#include "check.h"

#include "network/network.h"
#include "solve/tree.h"

/* A random network and a state of it. */
struct grown {
    struct pd_network *network;
    struct pd_operating operating; /* points to the two below */
    double *load_a;
    struct pd_earth_tie *tie;
    double *mutual_ohm; /* NULL until grow_ground */
};

struct growth {
    enum pd_system system;
    size_t sections; /* 1 or more */
    bool mutuals;    /* some sections with mutual impedance */
    bool resistive;  /* no reactance anywhere */
};

/* Grows a chain, a star, a brush or a random tree: spurs of fewer lines, separate neutrals,
 * sections of 0 ohm, loads on every connection (lagging, leading, switched off), electrodes, source
 * impedance and star-point electrode. The caller frees it. */
void grow(struct stream *stream, const struct growth *growth, struct grown *grown);
void grown_free(struct grown *grown);

/* Puts the electrodes into one ground: along a line, the nearer the more coupled (an exponential
 * covariance, which is positive definite: any textbook of statistics), up to 0.8 of the geometric
 * mean of their resistances. */
void grow_ground(struct stream *stream, struct grown *grown);

/* 1 to `most`, small ones more often. */
size_t grow_size(struct stream *stream, size_t most);

/* A cut of that kind at a random section; a joint of 1 milliohm to 1 gigohm, one in eight 0 ohm. */
struct pd_cut grow_cut(struct stream *stream, const struct pd_network *network,
                       enum pd_cut_kind kind);

/* A substation and one node 'house' on a section of these impedances, closed. Fails the test where
 * it cannot be made. The caller frees it. */
struct pd_network *one_house(enum pd_system system, double nominal_v, double complex line_ohm,
                             double complex pen_ohm);

/* Adds a load of constant impedance; its current is what the state says. */
void put_load(struct pd_network *network, const char *node, enum pd_phase phase,
              double power_factor);

/* An engine with room for its answer, in a state. */
struct bench {
    struct pd_tree *tree;
    struct pd_solution solution;
};
struct bench bench_new(const struct pd_network *network, const struct pd_operating *operating);
void bench_free(struct bench *bench);

#endif
