/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_PROOF_H
#define PENDRIFT_STUDY_PROOF_H

#include "study/cells.h"
#include "study/island.h"

/* Bounds on the displacement of an island's neutral over all loads of a box, by branch and bound
 * over the plane of displacement with the proofs of island.h. The room's own. */

/* Solves a state: the reference's potential to earth at the drive's highest supply; NaN where it
 * has none. */
typedef double complex pd_proof_solve(const double *load_a, void *context);

/* Whether the devices see every voltage of an enclosure at every supply voltage; *share: else the
 * largest share of the enclosure's supply at which one may not. */
typedef bool pd_proof_seen(const struct pd_enclosure *e, double *share, void *context);

struct pd_proof {
    const struct pd_island *island; /* open, its target beyond the break */
    struct pd_box box;              /* the full ranges */
    double supply_low_v, supply_high_v;
    double tolerance_v; /* what bound and best found may differ by */
    size_t cells_most;  /* the budget of one walk */
    pd_proof_solve *solve;
    pd_proof_seen *seen;
    void *context;
    /* Filled: */
    double best_v;     /* the largest |u| that a state in the box was solved to have */
    double *best_a;    /* [load_count] that state */
    double *room_a;    /* [load_count] for the caller's use */
    size_t cells_used; /* of all calls */
    struct pd_proof_room *room;
};

/* Makes the room; `box` is copied. The caller frees. PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_proof_new(const struct pd_island *island, const struct pd_box *box,
                            struct pd_proof *proof);
void pd_proof_free(struct pd_proof *proof);

/* Starts on the break that the island has open. */
void pd_proof_start(struct pd_proof *proof);

/* Solves a state of the box, and keeps it if it is the best; its |u|, NaN where it has none. */
double pd_proof_try(struct pd_proof *proof, const double *load_a);

/* The largest |u|: a bound on it; INFINITY where there is none. */
enum pd_status pd_proof_most(struct pd_proof *proof, double *bound_v);

/* The same where the target is on the intact side of the break, or there is none. */
enum pd_status pd_proof_intact(struct pd_proof *proof, double *bound_v);

/* The largest |u| above `above_v` that proof->seen does not see: a bound, 0 where all is seen. */
enum pd_status pd_proof_unseen(struct pd_proof *proof, double above_v, double *bound_v);

/* The least |u|, from below. */
enum pd_status pd_proof_least(struct pd_proof *proof, double *bound_v);

#endif
