/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tree_peer.h"

#include "stopwatch.h"

void tree_peer_new(const struct street *street, struct tree_peer *peer)
{
    *peer = (struct tree_peer){.street = street};
    must(pd_tree_new(street->network, &peer->tree) == PD_OK, "out of memory");
    must(pd_solution_new(street->network, &peer->solution) == PD_OK, "out of memory");
}

void tree_peer_free(struct tree_peer *peer)
{
    pd_tree_free(&peer->tree);
    pd_solution_free(&peer->solution);
    *peer = (struct tree_peer){0};
}

void tree_peer_state(struct tree_peer *peer, size_t state)
{
    const struct pd_operating *const operating = &peer->street->operating[state % STREET_STATES];
    must(pd_tree_factor(peer->tree, operating) == PD_OK, "the state is refused");
}

void tree_peer_open(struct tree_peer *peer, size_t section)
{
    const struct pd_cut cut = {.kind = PD_CUT_OPEN, .section = section};
    must(pd_tree_solve(peer->tree, &cut, &peer->solution) == PD_OK, "the break is refused");
    keep(peer->solution.v);
}
