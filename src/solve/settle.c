/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/settle.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "solve/anderson.h"
#include "solve/newton.h"
#include "solve/ports.h"
#include "solve/search.h"

struct pd_settle_room {
    size_t ports; /* room for so many */
    size_t nodes;
    double complex *u, *moved, *injected;   /* [ports] */
    double complex *first_u;                /* [ports] the first answer, across the ports */
    double complex (*first)[PD_CONDUCTORS]; /* [nodes] and everywhere */
    bool *outside;                          /* [ports] its window, in every answer found */
    struct pd_anderson *anderson;
    struct pd_newton *newton;
};

void pd_settle_room_free(struct pd_settle_room **room)
{
    if (*room == NULL)
        return;
    pd_anderson_free(&(*room)->anderson);
    pd_newton_free(&(*room)->newton);
    free((*room)->u);
    free((*room)->moved);
    free((*room)->injected);
    free((*room)->first_u);
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
    room->injected = calloc(ports, sizeof *room->injected);
    room->first_u = calloc(ports, sizeof *room->first_u);
    room->first = calloc(room->nodes, sizeof *room->first);
    room->outside = calloc(ports, sizeof *room->outside);
    if (room->outside != NULL && room->u != NULL && room->moved != NULL && room->injected != NULL &&
        room->first_u != NULL && room->first != NULL &&
        pd_anderson_new(ports, &room->anderson) == PD_OK &&
        pd_newton_new(ports < PD_NEWTON_PORTS ? ports : PD_NEWTON_PORTS, &room->newton) == PD_OK)
        return PD_OK;
    pd_settle_room_free(&tree->settle);
    return PD_ERR_MEMORY;
}

static struct pd_search search_of(const struct pd_ports *ports)
{
    return (struct pd_search){ports->tree->network, ports->cut, ports->tree->supply_v};
}

static bool start_from(struct pd_ports *ports, int start, double complex *u)
{
    const struct pd_search search = search_of(ports);
    if (start == PD_START_LINEAR)
        return pd_ports_without_injection(ports, u);
    for (size_t i = 0; i < ports->count; i++) {
        const struct pd_port port = pd_shunts_port(ports->tree->shunts, i);
        u[i] = pd_search_start_v(&search, start, &port);
    }
    return true;
}

/* Iterates from u until it moves no more. False where it does not arrive. */
static bool iterate(struct pd_ports *ports, struct pd_settle_room *room, double damped)
{
    const double enough_v = PD_SEARCH_ARRIVED * ports->tree->supply_v;
    pd_anderson_start(room->anderson, ports->count, damped);
    for (int step = 0; step < PD_SEARCH_STEPS; step++) {
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

/* What a search goes by. */
struct seeker {
    struct pd_ports *ports;
    struct pd_settle_room *room;
    struct pd_newton *newton; /* NULL where there are too many ports for it */
};

static bool newton(const struct seeker *seeker)
{
    return seeker->newton != NULL &&
           pd_newton_seek(seeker->newton, seeker->room->u,
                          PD_SEARCH_ARRIVED * seeker->ports->tree->supply_v);
}

static bool arrive_from(const struct seeker *seeker, int start)
{
    struct pd_attempt attempt;
    for (int i = 0; pd_search_attempt(start, seeker->ports->count, i, &attempt); i++)
        if (start_from(seeker->ports, start, seeker->room->u) &&
            (attempt.method == PD_BY_NEWTON
                 ? newton(seeker)
                 : iterate(seeker->ports, seeker->room, attempt.damping)))
            return true;
    return false;
}

static bool settle_from(const struct seeker *seeker, int start)
{
    const struct pd_search search = search_of(seeker->ports);
    return pd_search_has(&search, start) && arrive_from(seeker, start) &&
           pd_search_bounded(&search, seeker->room->u, seeker->ports->count);
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

/* Whether two answers are one: everywhere, or across the ports where only these are known. */
static bool is_first(const struct pd_ports *ports, const struct pd_settle_room *room)
{
    const double enough_v = PD_SEARCH_APART * ports->tree->supply_v;
    if (ports->matrix != NULL)
        return pd_ports_distance(ports->count, room->first_u, room->moved) <= enough_v;
    return farthest(ports->tree, (const double complex(*)[PD_CONDUCTORS])room->first,
                    (const double complex(*)[PD_CONDUCTORS])ports->v) <= enough_v;
}

/* Holds an answer against the first; returns false where it is another. */
static bool compare(struct pd_ports *ports, struct pd_settle_room *room, bool first)
{
    if (!pd_ports_move(ports, room->u, room->moved))
        return false;
    for (size_t i = 0; i < ports->count; i++)
        room->outside[i] =
            (first || room->outside[i]) && pd_port_outside(ports->tree->shunts, i, room->moved[i]);
    if (first)
        memcpy(room->first_u, room->moved, ports->count * sizeof *room->first_u);
    if (first && ports->matrix == NULL)
        memcpy(room->first, ports->v, room->nodes * sizeof *room->first);
    return is_first(ports, room);
}

static enum pd_standing search(const struct seeker *seeker)
{
    enum pd_standing standing = PD_UNCONVERGED;
    memset(seeker->room->outside, 0, seeker->ports->count * sizeof *seeker->room->outside);
    for (int start = 0; start < PD_STARTS; start++) {
        if (!settle_from(seeker, start))
            continue;
        const bool first = standing == PD_UNCONVERGED;
        standing = pd_search_stands(standing, compare(seeker->ports, seeker->room, first));
    }
    return standing;
}

static enum pd_standing search_ports(struct pd_ports *ports)
{
    struct pd_settle_room *const room = ports->tree->settle;
    const bool few = pd_newton_start(room->newton, ports);
    return search(&(struct seeker){ports, room, few ? room->newton : NULL});
}

enum pd_status pd_settle(struct pd_tree *tree, const struct pd_cut *cut, double island_neutral_s,
                         struct pd_solution *solution)
{
    struct pd_ports ports = {.tree = tree,
                             .cut = cut,
                             .count = pd_shunts_port_count(tree->shunts),
                             .v = solution->v,
                             .passes = &solution->iterations};
    solution->residual = NAN;
    const enum pd_status status = make_room(tree, ports.count);
    if (status != PD_OK)
        return status;
    solution->standing = pd_cut_apply(tree, cut) ? search_ports(&ports) : PD_UNCONVERGED;
    pd_cut_undo(tree, cut);
    if (solution->standing != PD_SOLVED)
        return PD_OK;
    memcpy(solution->v, tree->settle->first, tree->settle->nodes * sizeof *solution->v);
    pd_measure_residual(tree, cut, island_neutral_s, solution);
    return PD_OK;
}

enum pd_status pd_settle_matrix(struct pd_tree *tree, const struct pd_cut *cut,
                                const struct pd_port_matrix *matrix, struct pd_settled *settled)
{
    int passes = 0;
    const enum pd_status status = make_room(tree, pd_shunts_port_count(tree->shunts));
    if (status != PD_OK)
        return status;
    struct pd_settle_room *const room = tree->settle;
    struct pd_ports ports = {.tree = tree,
                             .cut = cut,
                             .count = pd_shunts_port_count(tree->shunts),
                             .matrix = matrix,
                             .injected = room->injected,
                             .passes = &passes};
    *settled = (struct pd_settled){.standing = search_ports(&ports), .port_v = room->first_u};
    for (size_t i = 0; i < ports.count; i++)
        settled->lets_go |= room->outside[i];
    return PD_OK;
}

size_t pd_settle_let_go(struct pd_tree *tree)
{
    return pd_shunts_let_go(tree->shunts, tree->settle->outside);
}
