/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "klu_peer.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "stopwatch.h"

static const char *const conductor_names[PD_CONDUCTORS] = {"L1", "L2", "L3", "PEN"};

/* KLU's own word for what went wrong, with the node where that can be said. */
static void must_klu(const struct klu_peer *peer, int good, const char *step)
{
    char why[160];
    const int column = peer->common.singular_col;
    if (good && peer->common.status == KLU_OK)
        return;
    if (peer->common.status == KLU_SINGULAR && column >= 0 && column < peer->nodal.count)
        snprintf(why, sizeof why, "KLU %s: singular at %s of node %s", step,
                 conductor_names[column % PD_CONDUCTORS],
                 peer->nodal.network->node[column / PD_CONDUCTORS].name);
    else
        snprintf(why, sizeof why, "KLU %s: status %d", step, peer->common.status);
    must(false, why);
}

void klu_peer_new(const struct pd_network *network, const struct pd_operating *operating,
                  struct klu_peer *peer)
{
    *peer = (struct klu_peer){0};
    struct nodal *const nodal = &peer->nodal;
    nodal_new(network, operating, nodal);
    klu_defaults(&peer->common);
    /* Of its settings the fastest here, and no less exact: one irreducible block, no scaling of
     * rows. Minimum degree (AMD), its default, fills less than COLAMD or the tree's own order do.
     */
    peer->common.btf = 0;
    peer->common.scale = -1;
    peer->symbolic = klu_analyze(nodal->count, nodal->start, nodal->row, &peer->common);
    must_klu(peer, peer->symbolic != NULL, "analyse");
    peer->numeric = klu_z_factor(nodal->start, nodal->row, (double *)nodal->value, peer->symbolic,
                                 &peer->common);
    must_klu(peer, peer->numeric != NULL, "factor");
    const size_t row = sizeof *peer->v, nodes = network->node_count;
    peer->v = malloc(nodes * row);
    peer->whole = malloc(nodes * row);
    peer->columns = malloc(4 * nodes * row);
    must(peer->v != NULL && peer->whole != NULL && peer->columns != NULL, "out of memory");
    for (size_t k = 0; k < 4; k++)
        peer->column[k] =
            (double complex(*)[PD_CONDUCTORS])(peer->columns + k * nodes * PD_CONDUCTORS);
}

void klu_peer_free(struct klu_peer *peer)
{
    klu_z_free_numeric(&peer->numeric, &peer->common);
    klu_free_symbolic(&peer->symbolic, &peer->common);
    nodal_free(&peer->nodal);
    free(peer->v);
    free(peer->whole);
    free(peer->columns);
    *peer = (struct klu_peer){0};
}

void klu_peer_set_state(struct klu_peer *peer, const struct pd_operating *operating)
{
    nodal_set_state(&peer->nodal, operating);
}

static void refactor(struct klu_peer *peer)
{
    struct nodal *const nodal = &peer->nodal;
    must_klu(peer,
             klu_z_refactor(nodal->start, nodal->row, (double *)nodal->value, peer->symbolic,
                            peer->numeric, &peer->common),
             "refactor");
}

static void solve(struct klu_peer *peer, size_t sides, double complex *right)
{
    must_klu(peer,
             klu_z_solve(peer->symbolic, peer->numeric, peer->nodal.count, (int)sides,
                         (double *)right, &peer->common),
             "solve");
}

void klu_peer_solve(struct klu_peer *peer, size_t section)
{
    nodal_open(&peer->nodal, section);
    refactor(peer);
    memcpy(peer->v, peer->nodal.right, (size_t)peer->nodal.count * sizeof *peer->nodal.right);
    solve(peer, 1, peer->v[0]);
}

void klu_peer_whole(struct klu_peer *peer)
{
    klu_peer_solve(peer, 0);
    memcpy(peer->whole, peer->v, (size_t)peer->nodal.count * sizeof *peer->nodal.right);
}

void klu_peer_ranks(struct klu_peer *peer, const size_t *section, size_t count)
{
    const size_t unknowns = (size_t)peer->nodal.count;
    memset(peer->columns, 0, count * unknowns * sizeof *peer->columns);
    for (size_t k = 0; k < count; k++)
        nodal_mark(&peer->nodal, section[k], peer->columns + k * unknowns);
    solve(peer, count, peer->columns);
    for (size_t k = 0; k < count; k++)
        must(nodal_take_out(&peer->nodal, section[k], peer->whole[0], peer->columns + k * unknowns),
             "KLU, rank one: singular");
}
