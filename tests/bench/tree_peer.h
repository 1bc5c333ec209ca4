/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_BENCH_TREE_PEER_H
#define PENDRIFT_BENCH_TREE_PEER_H

#include "street.h"

/* The tree engine as a peer of the batch: it solves every node, and measures the residual. */
struct tree_peer {
    const struct street *street;
    struct pd_tree *tree;
    struct pd_solution solution; /* the last answer */
};

/* Makes it, or ends the benchmark. The caller frees it; the street must outlive it. */
void tree_peer_new(const struct street *street, struct tree_peer *peer);
void tree_peer_free(struct tree_peer *peer);

/* Takes up the state numbered `state` of the street's, and opens the PEN of a section in it. */
void tree_peer_state(struct tree_peer *peer, size_t state);
void tree_peer_open(struct tree_peer *peer, size_t section);

#endif
