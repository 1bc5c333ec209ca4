/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "solve/lane_seek.h"

/* The memory of the searches in lanes, and what a group fills it with. */

/* So many columns at a time: few enough that their answers stay near, and enough that the lanes
 * seldom run dry. */
enum { CHUNK = 16 };

static bool make_lanes(struct pd_lane_seek *s)
{
    const size_t ports = s->room;
    s->between = pd_lane_memory(ports * ports, sizeof *s->between);
    s->intact = pd_lane_memory(ports, sizeof *s->intact);
    s->gain = pd_lane_memory(ports, sizeof *s->gain);
    s->u = pd_lane_memory(ports, sizeof *s->u);
    s->moved = pd_lane_memory(ports, sizeof *s->moved);
    s->injected = pd_lane_memory(ports, sizeof *s->injected);
    s->is_on = pd_lane_memory(ports, sizeof *s->is_on);
    s->slope = pd_lane_memory(ports, sizeof *s->slope);
    s->slope_conj = pd_lane_memory(ports, sizeof *s->slope_conj);
    s->from = pd_lane_memory(ports, sizeof *s->from);
    s->step = pd_lane_memory(ports, sizeof *s->step);
    s->jacobian = pd_lane_memory(4 * ports * ports, sizeof *s->jacobian);
    return s->between != NULL && s->intact != NULL && s->gain != NULL && s->u != NULL &&
           s->moved != NULL && s->injected != NULL && s->is_on != NULL && s->slope != NULL &&
           s->slope_conj != NULL && s->from != NULL && s->step != NULL && s->jacobian != NULL;
}

static bool make_past(struct pd_lane_seek *s)
{
    const size_t size = 2 * s->room;
    s->last_x = pd_lane_memory(size, sizeof *s->last_x);
    s->last_f = pd_lane_memory(size, sizeof *s->last_f);
    s->f = pd_lane_memory(size, sizeof *s->f);
    s->direction = pd_lane_memory(PD_ANDERSON_MEMORY * size, sizeof *s->direction);
    bool good = s->last_x != NULL && s->last_f != NULL && s->f != NULL && s->direction != NULL;
    for (size_t k = 0; k < PD_ANDERSON_MEMORY; k++) {
        s->past[k].dx = pd_lane_memory(size, sizeof *s->past[k].dx);
        s->past[k].df = pd_lane_memory(size, sizeof *s->past[k].df);
        good = good && s->past[k].dx != NULL && s->past[k].df != NULL;
    }
    return good;
}

enum pd_status pd_lane_seek_new(struct pd_lane_worker *worker, struct pd_lane_seek **out)
{
    struct pd_lane_seek *const s = *out = pd_lane_memory(1, sizeof *s);
    if (s == NULL)
        return PD_ERR_MEMORY;
    const size_t columns = worker->kept->columns;
    *s = (struct pd_lane_seek){
        .worker = worker, .room = worker->plan->ports, .chunk = columns < CHUNK ? columns : CHUNK};
    s->port = calloc(PD_LANES * s->room, sizeof *s->port);
    s->row = calloc(s->room, sizeof *s->row);
    s->todo = calloc(s->chunk * PD_LANES + 1, sizeof *s->todo);
    s->answer = calloc(s->chunk * PD_LANES * PD_STARTS * s->room + 1, sizeof *s->answer);
    if (s->port != NULL && s->row != NULL && s->todo != NULL && s->answer != NULL &&
        make_lanes(s) && make_past(s))
        return PD_OK;
    pd_lane_seek_free(out);
    return PD_ERR_MEMORY;
}

void pd_lane_seek_free(struct pd_lane_seek **seek)
{
    struct pd_lane_seek *const s = *seek;
    if (s == NULL)
        return;
    for (size_t k = 0; k < PD_ANDERSON_MEMORY; k++) {
        free(s->past[k].dx);
        free(s->past[k].df);
    }
    free(s->last_x);
    free(s->last_f);
    free(s->f);
    free(s->direction);
    free(s->between);
    free(s->intact);
    free(s->gain);
    free(s->u);
    free(s->moved);
    free(s->injected);
    free(s->is_on);
    free(s->slope);
    free(s->slope_conj);
    free(s->from);
    free(s->step);
    free(s->jacobian);
    free(s->port);
    free(s->row);
    free(s->todo);
    free(s->answer);
    free(s);
    *seek = NULL;
}

static void clear_group(struct pd_lane_seek *s)
{
    memset(s->between, 0, s->count * s->count * sizeof *s->between);
    memset(s->intact, 0, s->count * sizeof *s->intact);
    memset(s->gain, 0, s->count * sizeof *s->gain);
    memset(s->injected, 0, s->count * sizeof *s->injected);
    memset(s->slope, 0, s->count * sizeof *s->slope);
    memset(s->slope_conj, 0, s->count * sizeof *s->slope_conj);
    memset(s->u, 0, s->count * sizeof *s->u);
    memset(s->is_on, 0, s->count * sizeof *s->is_on);
    s->emf = s->per_ampere = (struct pd_lanes){0};
    memset(s->hand, 0, sizeof s->hand);
}

static void load_state(struct pd_lane_seek *s, size_t lane)
{
    const struct pd_plan *const plan = s->worker->plan;
    const size_t state = s->hand[lane].state, count = s->on[state];
    const struct pd_lane_port *const port = s->port + state * s->room;
    for (size_t p = 0; p < count; p++) {
        const size_t row = port[p].row, probe = plan->probes + port[p].number;
        const struct pd_lanes *const between = s->worker->between + probe * plan->ports;
        pd_set_lane(&s->intact[row], lane, pd_lane_of(&s->worker->intact[probe], state));
        s->is_on[row][lane] = -1;
        for (size_t q = 0; q < count; q++)
            pd_set_lane(&s->between[row * s->count + port[q].row], lane,
                        pd_lane_of(&between[port[q].number], state));
    }
    s->most[lane] = fmin((double)(2 * count), PD_ANDERSON_MEMORY);
}

/* The rows are the plan's ports that are on in some state, in the plan's order. */
static void number_rows(struct pd_lane_seek *s, size_t states)
{
    size_t *const row = s->row;
    memset(row, 0, s->room * sizeof *row);
    for (size_t state = 0; state < states; state++)
        for (size_t p = 0; p < s->on[state]; p++)
            row[s->port[state * s->room + p].number] = 1;
    s->count = 0;
    for (size_t k = 0; k < s->room; k++)
        row[k] = row[k] != 0 ? s->count++ : 0;
    for (size_t state = 0; state < states; state++)
        for (size_t p = 0; p < s->on[state]; p++) {
            struct pd_lane_port *const port = &s->port[state * s->room + p];
            port->row = row[port->number];
        }
}

void pd_lane_seek_group(struct pd_lane_seek *s, size_t states)
{
    s->states = states;
    number_rows(s, states);
    clear_group(s);
    for (size_t lane = 0; lane < PD_LANES; lane++) {
        s->hand[lane].state = lane % states;
        load_state(s, lane);
    }
}
