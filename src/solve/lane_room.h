/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_SOLVE_LANE_ROOM_H
#define PENDRIFT_SOLVE_LANE_ROOM_H

#include "solve/lanes.h"

/* The working memory of a worker in lanes. The room's own: lanes.c makes it, lane_pass.c works in
 * it. */

/* A number of PD_LANES states, side by side. */
typedef double pd_reals __attribute__((vector_size(PD_LANES * sizeof(double))));
typedef long long pd_mask __attribute__((vector_size(PD_LANES * sizeof(long long))));

struct pd_lanes {
    pd_reals re, im;
};

/* The number of one lane. */
static inline double complex pd_lane_of(const struct pd_lanes *number, size_t lane)
{
    return CMPLX(number->re[lane], number->im[lane]);
}

static inline void pd_set_lane(struct pd_lanes *number, size_t lane, double complex value)
{
    number->re[lane] = creal(value);
    number->im[lane] = cimag(value);
}

/* A symmetric matrix of four conductors: the entries on and above the diagonal, row by row. */
enum { PD_PAIRS = 10 };
struct pd_symmetric {
    struct pd_lanes at[PD_PAIRS];
};

/* What a service is from its near end, between its line and the neutral, and from its far end. */
struct pd_leaf_state {
    struct pd_lanes line, mutual, neutral;
    struct pd_lanes far_neutral; /* what ties the neutral beyond its section, summed */
    pd_reals tied;               /* the same by absolute values */
};

/* A place on the way out. */
struct pd_place_state {
    struct pd_symmetric z;
    struct pd_lanes v[PD_CONDUCTORS];
};

/* What a cut does to the ports, kept until the passes are done. */
struct pd_column_state {
    struct pd_lanes emf, per_ampere; /* e, and what it gains by an ampere through the cut */
    pd_mask floats, resonant;
};

struct pd_lane_seek;

struct pd_lane_worker {
    const struct pd_batch_kept *kept;
    const struct pd_plan *plan;
    void (*pass)(struct pd_lane_worker *worker, const struct pd_group *group);
    void (*move)(struct pd_lane_seek *seek); /* these: lane_seek.h */
    void (*mix)(struct pd_lane_seek *seek);
    void (*newton)(struct pd_lane_seek *seek);
    pd_reals *load_a, *tie_s, supply_v;
    struct pd_symmetric *u;                     /* [places] of its section, from the near end */
    struct pd_lanes *far_neutral;               /* [places] */
    pd_reals *tied;                             /* [places] */
    struct pd_leaf_state *leaf;                 /* [leaves] */
    struct pd_lanes (*row)[PD_CONDUCTORS];      /* [rows] w */
    struct pd_place_state *state;               /* [slots] */
    struct pd_lanes (*response)[PD_CONDUCTORS]; /* [slots][probes + ports] r */
    struct pd_lanes *intact;                    /* [probes + ports] v without a cut */
    struct pd_lanes *way;                       /* [probes] g of a cut, where there are few */
    /* where there are ports: */
    struct pd_lanes *between;       /* [probes + ports][ports] volt for each ampere at a port */
    struct pd_lanes *gain;          /* [columns][probes + ports] g */
    struct pd_column_state *column; /* [columns] */
    struct pd_lane_settle *settle;
};

/* Memory for `count` of a size, at a multiple of a vector's, freed by free. NULL: there is none. */
void *pd_lane_memory(size_t count, size_t size);

/* What iterates where there are ports: lane_settle.c. */
enum pd_status pd_lane_settle_new(struct pd_lane_worker *worker);
void pd_lane_settle_free(struct pd_lane_worker *worker);
enum pd_status pd_lane_settle(struct pd_lane_worker *worker, const struct pd_batch_input *input,
                              const struct pd_group *group);

/* The same, each search by itself: the way of what the lanes find no answer for. The tests hold the
 * lanes to it. */
enum pd_status pd_lane_settle_alone(struct pd_lane_worker *worker,
                                    const struct pd_batch_input *input,
                                    const struct pd_group *group);

/* The passes over the tree, for the instructions of each width. */
void pd_pass_baseline(struct pd_lane_worker *worker, const struct pd_group *group);
void pd_pass_avx2(struct pd_lane_worker *worker, const struct pd_group *group);
void pd_pass_avx512(struct pd_lane_worker *worker, const struct pd_group *group);

#endif
