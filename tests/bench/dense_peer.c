/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "dense_peer.h"

#include <gsl/gsl_errno.h>
#include <stdlib.h>
#include <string.h>

#include "stopwatch.h"

void dense_peer_new(const struct pd_network *network, const struct pd_operating *operating,
                    struct dense_peer *peer)
{
    nodal_new(network, operating, &peer->nodal);
    const size_t count = (size_t)peer->nodal.count;
    peer->lu = gsl_matrix_complex_alloc(count, count);
    peer->order = gsl_permutation_alloc(count);
    peer->whole = calloc(count, sizeof *peer->whole);
    peer->v = calloc(network->node_count, sizeof *peer->v);
    must(peer->lu != NULL && peer->order != NULL && peer->whole != NULL && peer->v != NULL,
         "out of memory");
}

void dense_peer_free(struct dense_peer *peer)
{
    gsl_matrix_complex_free(peer->lu);
    gsl_permutation_free(peer->order);
    free(peer->whole);
    free(peer->v);
    nodal_free(&peer->nodal);
}

static void factor(struct dense_peer *peer)
{
    const struct nodal *const nodal = &peer->nodal;
    int sign;
    gsl_matrix_complex_set_zero(peer->lu);
    for (int column = 0; column < nodal->count; column++)
        for (int i = nodal->start[column]; i < nodal->start[column + 1]; i++) {
            double *const at =
                &peer->lu->data[2 * ((size_t)nodal->row[i] * peer->lu->tda + (size_t)column)];
            at[0] = creal(nodal->value[i]);
            at[1] = cimag(nodal->value[i]);
        }
    must(gsl_linalg_complex_LU_decomp(peer->lu, peer->order, &sign) == GSL_SUCCESS, "GSL: LU");
}

static void solve(struct dense_peer *peer, double complex *right)
{
    gsl_vector_complex_view view =
        gsl_vector_complex_view_array((double *)right, (size_t)peer->nodal.count);
    must(gsl_linalg_complex_LU_svx(peer->lu, peer->order, &view.vector) == GSL_SUCCESS,
         "GSL: singular");
}

void dense_peer_solve(struct dense_peer *peer, const struct pd_operating *operating, size_t section)
{
    nodal_set_state(&peer->nodal, operating);
    nodal_open(&peer->nodal, section);
    factor(peer);
    memcpy(peer->v, peer->nodal.right, (size_t)peer->nodal.count * sizeof *peer->nodal.right);
    solve(peer, peer->v[0]);
    keep(peer->v);
}

void dense_peer_whole(struct dense_peer *peer, const struct pd_operating *operating)
{
    nodal_set_state(&peer->nodal, operating);
    factor(peer);
    memcpy(peer->whole, peer->nodal.right, (size_t)peer->nodal.count * sizeof *peer->nodal.right);
    solve(peer, peer->whole);
}

void dense_peer_rank(struct dense_peer *peer, size_t section)
{
    memset(peer->v, 0, (size_t)peer->nodal.count * sizeof *peer->nodal.right);
    nodal_mark(&peer->nodal, section, peer->v[0]);
    solve(peer, peer->v[0]);
    must(nodal_take_out(&peer->nodal, section, peer->whole, peer->v[0]), "GSL: singular");
    keep(peer->v);
}
