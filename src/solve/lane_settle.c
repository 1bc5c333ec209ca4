/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>

#include "solve/lane_seek.h"
#include "solve/ports.h"
#include "solve/settle.h"

/* Loads that are not linear. The passes have given, for a whole group at once, the voltages that
 * the ports would have with nothing injected, the matrix between them, and what each cut does to
 * both. The searches of every state and cut then go on side by side (lane_seek.h). What none of
 * them finds an answer for is searched again by itself, on a matrix of its own. Where an element
 * lets go, the network is another one, and the tree engine solves it; it also has the last word
 * where nothing settles. */

/* What is left to do for a state and a cut. */
enum road { DONE, ALONE, BY_TREE };

struct pd_lane_settle {
    struct pd_plain_worker *plain;
    struct pd_lane_seek *seek;
    size_t *port_of;              /* [slots] the plan's port of an element */
    size_t *port;                 /* [ports] those that are on, in the tree's order */
    double complex *open_v;       /* [ports] */
    double complex *response_ohm; /* [ports][ports] */
    double complex *injected_a;   /* [ports] */
    enum road *road;              /* [PD_LANES][columns] */
};

void pd_lane_settle_free(struct pd_lane_worker *w)
{
    struct pd_lane_settle *const s = w->settle;
    if (s == NULL)
        return;
    pd_plain_worker_free(&s->plain);
    pd_lane_seek_free(&s->seek);
    free(s->port_of);
    free(s->port);
    free(s->open_v);
    free(s->response_ohm);
    free(s->injected_a);
    free(s->road);
    free(s);
    w->settle = NULL;
}

/* Which port of the plan stands for each element of the tree's shunts. */
static enum pd_status number_elements(struct pd_lane_worker *w)
{
    const struct pd_network *const network = w->kept->settings.network;
    struct pd_shunts *shunts;
    const enum pd_status status = pd_shunts_new(network, &shunts);
    if (status != PD_OK)
        return status;
    for (size_t k = 0; k < w->plan->ports; k++) {
        const struct pd_plan_probe *const port = &w->plan->probe[w->plan->probes + k];
        w->settle->port_of[pd_shunts_slot(shunts, port->load) + port->element] = k;
    }
    pd_shunts_free(&shunts);
    return PD_OK;
}

enum pd_status pd_lane_settle_new(struct pd_lane_worker *w)
{
    const size_t ports = w->plan->ports;
    struct pd_lane_settle *const s = w->settle = calloc(1, sizeof *s);
    if (s == NULL)
        return PD_ERR_MEMORY;
    s->port_of = calloc(3 * w->kept->settings.network->load_count + 1, sizeof *s->port_of);
    s->port = calloc(ports, sizeof *s->port);
    s->open_v = calloc(ports, sizeof *s->open_v);
    s->response_ohm = calloc(ports * ports, sizeof *s->response_ohm);
    s->injected_a = calloc(ports, sizeof *s->injected_a);
    s->road = calloc(PD_LANES * w->kept->columns + 1, sizeof *s->road);
    if (s->port_of == NULL || s->port == NULL || s->open_v == NULL || s->response_ohm == NULL ||
        s->injected_a == NULL || s->road == NULL)
        return PD_ERR_MEMORY;
    enum pd_status status = number_elements(w);
    if (status == PD_OK)
        status = pd_lane_seek_new(w, &s->seek);
    return status == PD_OK ? pd_plain_worker_new(w->kept, &s->plain) : status;
}

/* One state and one cut of a group. */
struct spot {
    struct pd_lane_worker *worker;
    const struct pd_group *group;
    struct pd_tree *tree;
    size_t column, lane, count; /* count: ports that are on */
};

static double complex gain_of(const struct spot *spot, size_t probe)
{
    const struct pd_plan *const plan = spot->worker->plan;
    const size_t probes = plan->probes + plan->ports;
    return pd_lane_of(&spot->worker->gain[spot->column * probes + probe], spot->lane);
}

static double complex between(const struct spot *spot, size_t probe, size_t port)
{
    const size_t ports = spot->worker->plan->ports;
    return pd_lane_of(&spot->worker->between[probe * ports + port], spot->lane);
}

/* The open voltages and the matrix, intact and then changed by the cut. */
static void fill_matrix(const struct spot *spot)
{
    const struct pd_lane_worker *const w = spot->worker;
    struct pd_lane_settle *const s = w->settle;
    const size_t first = w->plan->probes;
    const double complex emf = pd_lane_of(&w->column[spot->column].emf, spot->lane);
    const double complex per_ampere = pd_lane_of(&w->column[spot->column].per_ampere, spot->lane);
    for (size_t p = 0; p < spot->count; p++) {
        const double complex gain = gain_of(spot, first + s->port[p]);
        s->open_v[p] = pd_lane_of(&w->intact[first + s->port[p]], spot->lane) + emf * gain;
        for (size_t q = 0; q < spot->count; q++)
            s->response_ohm[p * spot->count + q] =
                between(spot, first + s->port[p], s->port[q]) +
                per_ampere * gain * gain_of(spot, first + s->port[q]);
    }
}

static void write_standing(const struct spot *spot, enum pd_standing standing)
{
    spot->group->standing[spot->column * PD_LANES + spot->lane] = (unsigned char)standing;
}

static bool beyond_cut(const struct spot *spot, size_t probe)
{
    const struct pd_batch_kept *const kept = spot->worker->kept;
    const struct pd_cut *const cut = &kept->cut[spot->column];
    return cut->kind != PD_CUT_NONE && pd_network_downstream(kept->settings.network, cut->section,
                                                             kept->settings.probe[probe].node);
}

/* The voltages wanted, from what the ports inject; `solved` false: none. */
static void write_voltages(const struct spot *spot, bool solved)
{
    const struct pd_lane_worker *const w = spot->worker;
    const struct pd_lane_settle *const s = w->settle;
    const struct pd_column_state *const column = &w->column[spot->column];
    double complex through = 0;
    bool finite = true;
    for (size_t q = 0; q < spot->count; q++)
        through += gain_of(spot, w->plan->probes + s->port[q]) * s->injected_a[q];
    const double complex emf = pd_lane_of(&column->emf, spot->lane) +
                               pd_lane_of(&column->per_ampere, spot->lane) * through;
    for (size_t m = 0; m < w->plan->probes; m++) {
        const size_t at = (spot->column * w->plan->probes + m) * PD_LANES + spot->lane;
        double complex v = pd_lane_of(&w->intact[m], spot->lane) + gain_of(spot, m) * emf;
        for (size_t q = 0; q < spot->count; q++)
            v += between(spot, m, s->port[q]) * s->injected_a[q];
        const bool drifts = column->floats[spot->lane] != 0 &&
                            w->plan->probe[m].conductor == PD_N && beyond_cut(spot, m);
        const bool good = isfinite(creal(v)) && isfinite(cimag(v));
        finite = finite && good;
        spot->group->re[at] = solved && good && !drifts ? creal(v) : NAN;
        spot->group->im[at] = solved && good && !drifts ? cimag(v) : NAN;
    }
    if (solved && !finite)
        write_standing(spot, PD_UNCONVERGED);
}

/* What a search of one spot came to. */
static void write_settled(const struct spot *spot, enum pd_standing standing)
{
    const struct pd_lane_worker *const w = spot->worker;
    if (standing == PD_SOLVED && w->column[spot->column].resonant[spot->lane])
        standing = PD_RESONANT;
    write_standing(spot, standing);
    write_voltages(spot, standing == PD_SOLVED);
}

/* Side by side. */

/* The answers of one spot, in the order of their starts. `first`: the first of them. */
static enum pd_standing compare_answers(const struct spot *spot, const double complex **first)
{
    const struct pd_lane_worker *const w = spot->worker;
    const double enough_v = PD_SEARCH_APART * w->supply_v[spot->lane];
    enum pd_standing standing = PD_UNCONVERGED;
    *first = NULL;
    for (int start = 0; start < PD_STARTS; start++) {
        const double complex *const v =
            pd_lane_seek_answer(w->settle->seek, spot->column, spot->lane, start);
        if (v == NULL)
            continue;
        if (*first == NULL)
            *first = v;
        const bool same = pd_ports_distance(spot->count, *first, v) <= enough_v;
        standing = pd_search_stands(standing, same);
    }
    return standing;
}

/* Whether some element is outside its window in every answer found. */
static bool lets_go(const struct spot *spot, const struct pd_lane_port *port)
{
    for (size_t p = 0; p < spot->count; p++) {
        bool outside = true;
        for (int start = 0; start < PD_STARTS && outside; start++) {
            const double complex *const v =
                pd_lane_seek_answer(spot->worker->settle->seek, spot->column, spot->lane, start);
            outside = v == NULL || pd_element_outside(&port[p].element, v[p]);
        }
        if (outside)
            return true;
    }
    return false;
}

/* Writes what the lanes found for a spot, where that is the end of it. */
static enum road conclude(struct spot *spot)
{
    struct pd_lane_settle *const s = spot->worker->settle;
    const struct pd_lane_port *const port = s->seek->port + spot->lane * s->seek->room;
    const double complex *first = NULL;
    spot->count = s->seek->on[spot->lane];
    const enum pd_standing standing = spot->count > 0 ? compare_answers(spot, &first) : PD_SOLVED;
    if (standing == PD_UNCONVERGED)
        return ALONE;
    if (lets_go(spot, port))
        return BY_TREE;
    for (size_t q = 0; q < spot->count; q++) {
        s->port[q] = port[q].number;
        s->injected_a[q] = pd_port_injection(&port[q].port, first[q]);
    }
    write_settled(spot, standing);
    return DONE;
}

static void take_ports(struct pd_lane_seek *seek, const size_t *port_of, size_t lane,
                       const struct pd_shunts *shunts)
{
    seek->on[lane] = pd_shunts_port_count(shunts);
    for (size_t p = 0; p < seek->on[lane]; p++) {
        struct pd_lane_port *const port = &seek->port[lane * seek->room + p];
        port->port = pd_shunts_port(shunts, p);
        port->element = *port->port.element;
        port->port.element = &port->element;
        port->number = port_of[port->port.slot];
    }
}

static enum pd_status settle_lanes(struct pd_lane_worker *w, const struct pd_batch_input *input,
                                   const struct pd_group *group)
{
    struct pd_lane_settle *const s = w->settle;
    struct spot spot = {.worker = w, .group = group};
    const size_t columns = w->kept->columns;
    for (size_t lane = 0; lane < group->count; lane++) {
        const enum pd_status status =
            pd_plain_worker_take(s->plain, input, group->first + lane, &spot.tree);
        if (status != PD_OK)
            return status;
        take_ports(s->seek, s->port_of, lane, spot.tree->shunts);
    }
    pd_lane_seek_group(s->seek, group->count);
    for (size_t first = 0; first < columns; first += s->seek->chunk) {
        const size_t left = columns - first, count = left < s->seek->chunk ? left : s->seek->chunk;
        pd_lane_seek_columns(s->seek, first, count);
        for (spot.column = first; spot.column < first + count; spot.column++)
            for (spot.lane = 0; spot.lane < group->count; spot.lane++)
                s->road[spot.lane * columns + spot.column] = conclude(&spot);
    }
    return PD_OK;
}

/* One by one. */

static enum pd_status settle(const struct spot *spot)
{
    const struct pd_lane_worker *const w = spot->worker;
    struct pd_lane_settle *const s = w->settle;
    const struct pd_port_matrix matrix = {s->open_v, s->response_ohm};
    struct pd_settled settled = {.standing = PD_SOLVED};
    fill_matrix(spot);
    const enum pd_status status =
        spot->count > 0
            ? pd_settle_matrix(spot->tree, &w->kept->cut[spot->column], &matrix, &settled)
            : PD_OK;
    if (status != PD_OK)
        return status;
    if (settled.lets_go || settled.standing == PD_UNCONVERGED)
        return pd_plain_worker_cut(s->plain, spot->group, spot->column, spot->lane);
    for (size_t q = 0; q < spot->count; q++) {
        const struct pd_port port = pd_shunts_port(spot->tree->shunts, q);
        s->injected_a[q] = pd_port_injection(&port, settled.port_v[q]);
    }
    write_settled(spot, settled.standing);
    return PD_OK;
}

static enum pd_status settle_state(struct spot *spot, const enum road *road)
{
    const struct pd_lane_worker *const w = spot->worker;
    struct pd_lane_settle *const s = w->settle;
    enum pd_status status = PD_OK;
    spot->count = pd_shunts_port_count(spot->tree->shunts);
    for (size_t p = 0; p < spot->count; p++)
        s->port[p] = s->port_of[pd_shunts_port(spot->tree->shunts, p).slot];
    for (spot->column = 0; spot->column < w->kept->columns && status == PD_OK; spot->column++)
        if (road[spot->column] == BY_TREE)
            status = pd_plain_worker_cut(s->plain, spot->group, spot->column, spot->lane);
        else if (road[spot->column] == ALONE)
            status = settle(spot);
    return status;
}

/* What the roads say is left of a group. */
static enum pd_status settle_rest(struct pd_lane_worker *w, const struct pd_batch_input *input,
                                  const struct pd_group *group)
{
    struct spot spot = {.worker = w, .group = group};
    const size_t columns = w->kept->columns;
    enum pd_status status = PD_OK;
    for (spot.lane = 0; spot.lane < group->count && status == PD_OK; spot.lane++) {
        const enum road *const road = w->settle->road + spot.lane * columns;
        size_t first = 0;
        while (first < columns && road[first] == DONE)
            first++;
        if (first == columns)
            continue;
        status =
            pd_plain_worker_take(w->settle->plain, input, group->first + spot.lane, &spot.tree);
        if (status == PD_OK)
            status = settle_state(&spot, road);
    }
    return status;
}

enum pd_status pd_lane_settle(struct pd_lane_worker *w, const struct pd_batch_input *input,
                              const struct pd_group *group)
{
    const enum pd_status status = settle_lanes(w, input, group);
    return status == PD_OK ? settle_rest(w, input, group) : status;
}

enum pd_status pd_lane_settle_alone(struct pd_lane_worker *w, const struct pd_batch_input *input,
                                    const struct pd_group *group)
{
    for (size_t i = 0; i < PD_LANES * w->kept->columns; i++)
        w->settle->road[i] = ALONE;
    return settle_rest(w, input, group);
}
