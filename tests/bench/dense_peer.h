/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_BENCH_DENSE_PEER_H
#define PENDRIFT_BENCH_DENSE_PEER_H

#include <gsl/gsl_linalg.h>

#include "nodal.h"

/* Dense LU by GSL, with GSL's own CBLAS. GSL's error handler must be off. */
struct dense_peer {
    struct nodal nodal;
    gsl_matrix_complex *lu;
    gsl_permutation *order;
    double complex *whole;
    double complex (*v)[PD_CONDUCTORS]; /* the last answer, by node */
};

/* Makes it, or ends the benchmark. The caller frees it. */
void dense_peer_new(const struct pd_network *network, const struct pd_operating *operating,
                    struct dense_peer *peer);
void dense_peer_free(struct dense_peer *peer);

/* One break of a state, factored for it. */
void dense_peer_solve(struct dense_peer *peer, const struct pd_operating *operating,
                      size_t section);

/* Many breaks of a state: the whole street is factored, each break is a change of rank one. */
void dense_peer_whole(struct dense_peer *peer, const struct pd_operating *operating);
void dense_peer_rank(struct dense_peer *peer, size_t section);

#endif
