/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/lane_seek.h"

#include <math.h>

#include "solve/ports.h"

/* The ports of a lane's state, and how many. */
static struct pd_lane_port *ports_of(const struct pd_lane_seek *s, size_t lane)
{
    return s->port + s->hand[lane].state * s->room;
}

static size_t count_of(const struct pd_lane_seek *s, size_t lane)
{
    return s->on[s->hand[lane].state];
}

static struct pd_search search_of(const struct pd_lane_seek *s, size_t column, size_t state)
{
    const struct pd_batch_kept *const kept = s->worker->kept;
    return (struct pd_search){kept->settings.network, &kept->cut[column],
                              s->worker->supply_v[state]};
}

static struct pd_lane_todo *todo_of(const struct pd_lane_seek *s, size_t column, size_t state)
{
    return &s->todo[(column - s->first) * PD_LANES + state];
}

static double complex *answer_of(const struct pd_lane_seek *s, size_t column, size_t state,
                                 int start)
{
    const size_t spot = (column - s->first) * PD_LANES + state;
    return s->answer + (spot * PD_STARTS + (size_t)start) * s->room;
}

const double complex *pd_lane_seek_answer(const struct pd_lane_seek *s, size_t column, size_t state,
                                          int start)
{
    const bool there = (todo_of(s, column, state)->arrived >> start & 1) != 0;
    return there ? answer_of(s, column, state, start) : NULL;
}

/* Taking up a search. */

static void load_column(struct pd_lane_seek *s, size_t lane, size_t column)
{
    const struct pd_plan *const plan = s->worker->plan;
    const struct pd_lanes *const gain =
        s->worker->gain + column * (plan->probes + plan->ports) + plan->probes;
    struct pd_lane_hand *const hand = &s->hand[lane];
    if (hand->loaded && hand->column == column)
        return;
    hand->loaded = true;
    hand->column = column;
    for (size_t p = 0; p < count_of(s, lane); p++) {
        const struct pd_lane_port *const port = &ports_of(s, lane)[p];
        pd_set_lane(&s->gain[port->row], lane, pd_lane_of(&gain[port->number], hand->state));
    }
    pd_set_lane(&s->emf, lane, pd_lane_of(&s->worker->column[column].emf, hand->state));
    pd_set_lane(&s->per_ampere, lane,
                pd_lane_of(&s->worker->column[column].per_ampere, hand->state));
}

static void start_from(struct pd_lane_seek *s, size_t lane, int start)
{
    const struct pd_search search = search_of(s, s->hand[lane].column, s->hand[lane].state);
    const double complex emf = pd_lane_of(&s->emf, lane);
    for (size_t p = 0; p < count_of(s, lane); p++) {
        const struct pd_lane_port *const port = &ports_of(s, lane)[p];
        const double complex open_v =
            pd_lane_of(&s->intact[port->row], lane) + emf * pd_lane_of(&s->gain[port->row], lane);
        pd_set_lane(&s->u[port->row], lane,
                    start == PD_START_LINEAR ? open_v
                                             : pd_search_start_v(&search, start, &port->port));
    }
}

/* A lane that has nothing behind it yet. */
static void forget(struct pd_lane_seek *s, size_t lane)
{
    s->fresh[lane] = -1;
    for (size_t k = 0; k < s->kept; k++)
        for (size_t i = 0; i < 2 * s->count; i++)
            s->past[k].dx[i][lane] = s->past[k].df[i][lane] = 0;
}

/* The next search of the lane's state that waits for a method. */
static void take_next(struct pd_lane_seek *s, size_t lane, enum pd_method method)
{
    struct pd_lane_hand *const hand = &s->hand[lane];
    struct pd_attempt attempt;
    while (hand->cursor < s->end && todo_of(s, hand->cursor, hand->state)->waiting[method] == 0)
        hand->cursor++;
    if (hand->cursor == s->end)
        return;
    struct pd_lane_todo *const todo = todo_of(s, hand->cursor, hand->state);
    int start = 0;
    while ((todo->waiting[method] >> start & 1) == 0)
        start++;
    todo->waiting[method] &= (unsigned char)~(1u << start);
    load_column(s, lane, hand->cursor);
    start_from(s, lane, start);
    hand->start = start;
    hand->busy = hand->trying = true;
    hand->arrived = hand->stepped = false;
    hand->steps = 0;
    if (method == PD_BY_ITERATION &&
        pd_search_attempt(start, count_of(s, lane), todo->number[start], &attempt)) {
        s->damping[lane] = attempt.damping;
        forget(s, lane);
    }
}

/* Whether any lane is busy, once each idle one has been given what waits. */
static bool take_all(struct pd_lane_seek *s, enum pd_method method)
{
    bool any = false;
    for (size_t lane = 0; lane < PD_LANES; lane++) {
        if (!s->hand[lane].busy)
            take_next(s, lane, method);
        any |= s->hand[lane].busy;
    }
    return any;
}

/* Ending one. */

static void give_up(struct pd_lane_seek *s, size_t lane)
{
    struct pd_lane_hand *const hand = &s->hand[lane];
    struct pd_lane_todo *const todo = todo_of(s, hand->column, hand->state);
    struct pd_attempt attempt;
    hand->busy = false;
    if (pd_search_attempt(hand->start, count_of(s, lane), ++todo->number[hand->start], &attempt))
        todo->waiting[attempt.method] |= (unsigned char)(1u << hand->start);
}

static void keep_answer(struct pd_lane_seek *s, size_t lane)
{
    struct pd_lane_hand *const hand = &s->hand[lane];
    double complex *const answer = answer_of(s, hand->column, hand->state, hand->start);
    for (size_t p = 0; p < count_of(s, lane); p++)
        answer[p] = pd_lane_of(&s->moved[ports_of(s, lane)[p].row], lane);
    todo_of(s, hand->column, hand->state)->arrived |= (unsigned char)(1u << hand->start);
    hand->busy = false;
}

static bool is_bounded(const struct pd_lane_seek *s, size_t lane)
{
    const struct pd_search search = search_of(s, s->hand[lane].column, s->hand[lane].state);
    for (size_t p = 0; p < count_of(s, lane); p++) {
        const double complex u = pd_lane_of(&s->u[ports_of(s, lane)[p].row], lane);
        if (!pd_search_bounded(&search, &u, 1))
            return false;
    }
    return true;
}

static bool is_near(const struct pd_lane_seek *s, size_t lane)
{
    const double enough_v = PD_SEARCH_ARRIVED * s->worker->supply_v[s->hand[lane].state];
    return isfinite(s->size2[lane]) && s->far2[lane] <= enough_v * enough_v;
}

/* What the elements of a lane inject at u, and how that answers to it. */
static void draw(struct pd_lane_seek *s, size_t lane)
{
    for (size_t p = 0; p < count_of(s, lane); p++) {
        const struct pd_lane_port *const port = &ports_of(s, lane)[p];
        struct pd_draw drawn;
        pd_set_lane(&s->injected[port->row], lane,
                    pd_port_draw(&port->port, pd_lane_of(&s->u[port->row], lane), &drawn));
        pd_set_lane(&s->slope[port->row], lane, port->port.y_s - drawn.by_v_s);
        pd_set_lane(&s->slope_conj[port->row], lane, -drawn.by_conj_s);
    }
}

/* By Anderson's iteration. */

static void judge_move(struct pd_lane_seek *s, size_t lane)
{
    struct pd_lane_hand *const hand = &s->hand[lane];
    s->moving[lane] = 0;
    if (hand->arrived) {
        keep_answer(s, lane);
    } else if (is_near(s, lane)) {
        for (size_t p = 0; p < s->count; p++)
            pd_set_lane(&s->u[p], lane, pd_lane_of(&s->moved[p], lane));
        hand->arrived = true;
        hand->busy = is_bounded(s, lane);
    } else if (!isfinite(s->size2[lane]) || ++hand->steps == PD_SEARCH_STEPS) {
        give_up(s, lane);
    } else {
        s->moving[lane] = -1;
    }
}

static void iterate(struct pd_lane_seek *s)
{
    s->kept = 0;
    while (take_all(s, PD_BY_ITERATION)) {
        bool any = false;
        for (size_t lane = 0; lane < PD_LANES; lane++)
            if (s->hand[lane].busy)
                draw(s, lane);
        s->worker->move(s);
        for (size_t lane = 0; lane < PD_LANES; lane++) {
            if (s->hand[lane].busy)
                judge_move(s, lane);
            else
                s->moving[lane] = 0;
            any |= s->moving[lane] != 0;
        }
        if (any)
            s->worker->mix(s);
        s->fresh &= ~s->moving;
    }
}

/* By Newton's method. */

/* u: a share of the step from where it started. */
static void try_share(struct pd_lane_seek *s, size_t lane, double share)
{
    s->hand[lane].share = share;
    for (size_t p = 0; p < s->count; p++)
        pd_set_lane(&s->u[p], lane,
                    pd_lane_of(&s->from[p], lane) + share * pd_lane_of(&s->step[p], lane));
}

static void judge_try(struct pd_lane_seek *s, size_t lane)
{
    struct pd_lane_hand *const hand = &s->hand[lane];
    if (hand->stepped && !(s->size2[lane] < hand->size)) {
        if (++hand->halvings == PD_NEWTON_HALVINGS)
            give_up(s, lane);
        else
            try_share(s, lane, hand->share / 2);
    } else if (hand->steps == PD_NEWTON_STEPS) {
        give_up(s, lane);
    } else if (!is_near(s, lane)) {
        hand->size = s->size2[lane];
        hand->trying = false;
    } else if (is_bounded(s, lane)) {
        keep_answer(s, lane);
    } else {
        hand->busy = false;
    }
}

/* Until every lane that is busy waits for its next step. Whether any does. */
static bool try_all(struct pd_lane_seek *s)
{
    while (take_all(s, PD_BY_NEWTON)) {
        bool any = false;
        for (size_t lane = 0; lane < PD_LANES; lane++)
            if (s->hand[lane].busy && s->hand[lane].trying) {
                draw(s, lane);
                any = true;
            }
        if (!any)
            return true;
        s->worker->move(s);
        for (size_t lane = 0; lane < PD_LANES; lane++)
            if (s->hand[lane].busy && s->hand[lane].trying)
                judge_try(s, lane);
    }
    return false;
}

static void step(struct pd_lane_seek *s, size_t lane)
{
    struct pd_lane_hand *const hand = &s->hand[lane];
    if (s->singular[lane] != 0) {
        give_up(s, lane);
        return;
    }
    for (size_t p = 0; p < s->count; p++)
        pd_set_lane(&s->from[p], lane, pd_lane_of(&s->u[p], lane));
    hand->stepped = hand->trying = true;
    hand->steps++;
    hand->halvings = 0;
    try_share(s, lane, 1);
}

static void newton(struct pd_lane_seek *s)
{
    while (try_all(s)) {
        s->worker->newton(s);
        for (size_t lane = 0; lane < PD_LANES; lane++)
            if (s->hand[lane].busy)
                step(s, lane);
    }
}

/* All of it. */

static void begin(struct pd_lane_seek *s, size_t column, size_t state)
{
    struct pd_lane_todo *const todo = todo_of(s, column, state);
    const struct pd_search search = search_of(s, column, state);
    *todo = (struct pd_lane_todo){0};
    for (int start = 0; start < PD_STARTS; start++) {
        struct pd_attempt attempt;
        if (s->on[state] > 0 && pd_search_has(&search, start) &&
            pd_search_attempt(start, s->on[state], 0, &attempt))
            todo->waiting[attempt.method] |= (unsigned char)(1u << start);
    }
}

static bool any_waits(const struct pd_lane_seek *s)
{
    unsigned waiting = 0;
    for (size_t column = s->first; column < s->end; column++)
        for (size_t state = 0; state < s->states; state++)
            for (int method = 0; method < PD_METHODS; method++)
                waiting |= todo_of(s, column, state)->waiting[method];
    return waiting != 0;
}

static void rewind(struct pd_lane_seek *s)
{
    for (size_t lane = 0; lane < PD_LANES; lane++)
        s->hand[lane].cursor = s->first;
}

void pd_lane_seek_columns(struct pd_lane_seek *s, size_t first, size_t count)
{
    s->first = first;
    s->end = first + count;
    for (size_t column = first; column < s->end; column++)
        for (size_t state = 0; state < s->states; state++)
            begin(s, column, state);
    while (any_waits(s)) {
        rewind(s);
        iterate(s);
        rewind(s);
        newton(s);
    }
}
