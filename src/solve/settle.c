/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/settle.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "solve/anderson.h"
#include "solve/newton.h"
#include "solve/ports.h"

enum { DISPLACED = 4, STARTS = DISPLACED + PD_LINES, STEPS = 60, DAMPINGS = 3 };
static const double damping[DAMPINGS] = {1, 0.4, 0.15};
static const double arrived = 1e-12; /* of the supply voltage */
static const double apart = 1e-6;    /* beyond this two answers differ */

struct pd_settle_room {
    size_t ports; /* room for so many */
    size_t nodes;
    double complex *u, *moved, *best;       /* [ports] */
    double complex (*first)[PD_CONDUCTORS]; /* [nodes] the first answer */
    bool *outside;                          /* [ports] its window, in every answer found */
    struct pd_anderson *anderson;
};

void pd_settle_room_free(struct pd_settle_room **room)
{
    if (*room == NULL)
        return;
    pd_anderson_free(&(*room)->anderson);
    free((*room)->u);
    free((*room)->moved);
    free((*room)->best);
    free((*room)->first);
    free((*room)->outside);
    free(*room);
    *room = NULL;
}

static enum pd_status make_room(struct pd_tree *tree, size_t ports)
{
    if (tree->settle != NULL && tree->settle->ports >= ports)
        return PD_OK;
    pd_settle_room_free(&tree->settle);
    struct pd_settle_room *const room = tree->settle = calloc(1, sizeof *room);
    if (room == NULL)
        return PD_ERR_MEMORY;
    room->ports = ports;
    room->nodes = tree->network->node_count;
    room->u = calloc(ports, sizeof *room->u);
    room->moved = calloc(ports, sizeof *room->moved);
    room->best = calloc(ports, sizeof *room->best);
    room->first = calloc(room->nodes, sizeof *room->first);
    room->outside = calloc(ports, sizeof *room->outside);
    if (room->outside != NULL && room->u != NULL && room->moved != NULL && room->best != NULL &&
        room->first != NULL && pd_anderson_new(ports, &room->anderson) == PD_OK)
        return PD_OK;
    pd_settle_room_free(&tree->settle);
    return PD_ERR_MEMORY;
}

/* The healthy voltage across an element, the neutral of an island behind the cut moved. */
static double complex displaced(const struct pd_ports *ports, const struct pd_port *port,
                                double complex neutral_v)
{
    double complex emf[PD_CONDUCTORS];
    pd_emf(ports->tree, emf);
    if (pd_network_downstream(ports->tree->network, ports->cut->section, port->node))
        emf[PD_N] = neutral_v;
    return emf[port->element->from] - emf[port->element->to];
}

static bool has_start(const struct pd_ports *ports, int start)
{
    return start < DISPLACED || (pd_cut_parts_neutral(ports->cut) &&
                                 ports->tree->network->source.unit_emf[start - DISPLACED] != 0);
}

/* Where to start from: the linear answer; the healthy voltages; low ones turned by an angle; and
 * with the neutral of an island at each line in turn, where loads in series leave each other no
 * voltage. */
static bool start_from(struct pd_ports *ports, int start, double complex *u)
{
    if (start == 0)
        return pd_ports_without_injection(ports, u);
    double complex emf[PD_CONDUCTORS];
    pd_emf(ports->tree, emf);
    const double complex turn = start == 2 ? CMPLX(0.1, 0.25) : start == 3 ? CMPLX(0.01,0.001) : 1;
    const double complex neutral_v = start < DISPLACED ? 0 : emf[start - DISPLACED];
    for (size_t i = 0; i < ports->count; i++) {
        const struct pd_port port = pd_shunts_port(ports->tree->shunts, i);
        u[i] = turn * displaced(ports, &port, neutral_v);
    }
    return true;
}

/* Iterates from u until it moves no more. False where it does not arrive. */
static bool iterate(struct pd_ports *ports, struct pd_settle_room *room, double damped)
{
    const double enough_v = arrived * ports->tree->supply_v;
    pd_anderson_start(room->anderson, ports->count, damped);
    for (int step = 0; step < STEPS; step++) {
        if (!pd_ports_move(ports, room->u, room->moved))
            return false;
        const double far_v = pd_ports_distance(ports->count, room->u, room->moved);
        if (!isfinite(far_v))
            return false;
        memcpy(room->u, room->moved, far_v <= enough_v ? ports->count * sizeof *room->u : 0);
        if (far_v <= enough_v)
            return true;
        pd_anderson_step(room->anderson, room->u, room->moved);
    }
    return false;
}

static enum pd_status settle_from(struct pd_ports *ports, struct pd_settle_room *room, int start,
                                  bool *found)
{
    *found = false;
    for (int i = 0; i < DAMPINGS && !*found; i++) {
        if (!start_from(ports, start, room->u))
            return PD_OK;
        *found = iterate(ports, room, damping[i]);
    }
    if (*found || !start_from(ports, start, room->u))
        return PD_OK;
    return pd_newton(ports, room->u, arrived * ports->tree->supply_v, found);
}

static double farthest(const struct pd_tree *tree, const double complex (*a)[PD_CONDUCTORS],
                       const double complex (*b)[PD_CONDUCTORS])
{
    double most_v = 0;
    for (size_t i = 0; i < tree->network->node_count; i++)
        for (int c = 0; c < PD_CONDUCTORS; c++)
            most_v = fmax(most_v, cabs(a[i][c] - b[i][c]));
    return most_v;
}

/* Holds an answer against the first; returns false where it is another. */
static bool compare(struct pd_ports *ports, struct pd_settle_room *room, bool first)
{
    const size_t bytes = room->nodes * sizeof *room->first;
    if (!pd_ports_move(ports, room->u, room->moved))
        return false;
    for (size_t i = 0; i < ports->count; i++)
        room->outside[i] =
            (first || room->outside[i]) && pd_port_outside(ports->tree->shunts, i, room->moved[i]);
    if (first)
        memcpy(room->first, ports->v, bytes);
    return farthest(ports->tree, (const double complex(*)[PD_CONDUCTORS])room->first,
                    (const double complex(*)[PD_CONDUCTORS])ports->v) <=
           apart * ports->tree->supply_v;
}

static enum pd_status search(struct pd_ports *ports, struct pd_settle_room *room,
                             enum pd_standing *standing)
{
    size_t answers = 0;
    *standing = PD_UNCONVERGED;
    memset(room->outside, 0, ports->count * sizeof *room->outside);
    for (int start = 0; start < STARTS; start++) {
        bool found;
        if (!has_start(ports, start))
            continue;
        const enum pd_status status = settle_from(ports, room, start, &found);
        if (status != PD_OK)
            return status;
        if (!found)
            continue;
        const bool same = compare(ports, room, answers == 0);
        if (answers++ == 0)
            *standing = PD_SOLVED;
        if (!same)
            *standing = PD_AMBIGUOUS;
    }
    return PD_OK;
}

enum pd_status pd_settle(struct pd_tree *tree, const struct pd_cut *cut, double island_neutral_s,
                         struct pd_solution *solution)
{
    struct pd_ports ports = {.tree = tree,
                             .cut = cut,
                             .count = pd_shunts_port_count(tree->shunts),
                             .v = solution->v,
                             .passes = &solution->iterations};
    enum pd_status status = make_room(tree, ports.count);
    if (status != PD_OK)
        return status;
    pd_cut_apply(tree, cut);
    status = search(&ports, tree->settle, &solution->standing);
    pd_cut_undo(tree, cut);
    if (status != PD_OK || solution->standing != PD_SOLVED)
        return status;
    memcpy(solution->v, tree->settle->first, tree->settle->nodes * sizeof *solution->v);
    pd_measure_residual(tree, cut, island_neutral_s, solution);
    return PD_OK;
}

size_t pd_settle_let_go(struct pd_tree *tree)
{
    return pd_shunts_let_go(tree->shunts, tree->settle->outside);
}
