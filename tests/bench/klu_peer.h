/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_BENCH_KLU_PEER_H
#define PENDRIFT_BENCH_KLU_PEER_H

#include <suitesparse/klu.h>

#include "nodal.h"

/* KLU, a sparse LU for circuits, at its honest best: the pattern is analysed and pivots are chosen
 * once, then each scenario is refactored with those pivots and solved. */
struct klu_peer {
    struct nodal nodal;
    klu_common common;
    klu_symbolic *symbolic;
    klu_numeric *numeric;
    double complex (*v)[PD_CONDUCTORS]; /* the last answer, by node */
    double complex (*whole)[PD_CONDUCTORS];
    double complex (*column[4])[PD_CONDUCTORS];
    double complex *columns; /* four answers one behind the other */
};

/* Analyses and factors the street in its first state, or ends the benchmark. The caller frees. */
void klu_peer_new(const struct pd_network *network, const struct pd_operating *operating,
                  struct klu_peer *peer);
void klu_peer_free(struct klu_peer *peer);

/* Puts in the loads of another state. */
void klu_peer_set_state(struct klu_peer *peer, const struct pd_operating *operating);

/* Refactors with the PEN of `section` out and solves; the answer is in peer->v. A singular matrix
 * ends the benchmark with the name of the node where it was found. */
void klu_peer_solve(struct klu_peer *peer, size_t section);

/* The other way to solve many breaks of one state: refactor it whole, then each break is a change
 * of rank one (Sherman and Morrison) and takes one solve. Four are solved at a time, as KLU likes
 * best. klu_peer_whole once for the state; klu_peer_ranks solves `count` <= 4 breaks, the answers
 * are in peer->column[]. */
void klu_peer_whole(struct klu_peer *peer);
void klu_peer_ranks(struct klu_peer *peer, const size_t *section, size_t count);

#endif
