/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/sequence.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Instants no further apart than this are one: sums of declared times differ in their last digits.
 */
static const double same_s = 1e-9;

static double due_of(const struct pd_clock *clock, double wait_s)
{
    return clock->running ? clock->since_s + wait_s : INFINITY;
}

/* Of the stages that run, the one due first; count where none runs. */
static size_t first_stage(const struct pd_follower *f)
{
    size_t first = f->times.count;
    double due_s = INFINITY;
    for (size_t i = 0; i < f->times.count; i++)
        if (due_of(&f->stage[i], f->times.stage[i].time_s) < due_s) {
            due_s = due_of(&f->stage[i], f->times.stage[i].time_s);
            first = i;
        }
    return first;
}

static double load_due(const struct pd_follower *f)
{
    const size_t stage = first_stage(f);
    if (stage < f->times.count)
        return due_of(&f->stage[stage], f->times.stage[stage].time_s);
    return due_of(&f->back, f->times.reconnect_s);
}

static double detector_due(const struct pd_sequence *s, size_t i)
{
    const struct pd_detector *const d = &s->run->study_case->detectors.detector[i];
    const struct pd_watcher *const w = &s->watcher[i];
    if (!w->open)
        return due_of(&w->delay, d->delay_s);
    if (d->reset != PD_RESET_AUTOMATIC || w->held)
        return INFINITY;
    return fmax(s->now_s, w->opened_s + d->reset_s);
}

static double next_due(const struct pd_sequence *s)
{
    const struct pd_case *const c = s->run->study_case;
    double due_s = INFINITY;
    for (size_t i = 0; i < c->network->load_count; i++)
        due_s = fmin(due_s, load_due(&s->follower[i]));
    for (size_t i = 0; i < c->detectors.count; i++)
        due_s = fmin(due_s, detector_due(s, i));
    return due_s;
}

static struct pd_event *add_event(struct pd_sequence *s, enum pd_event_kind kind)
{
    struct pd_event *const event = &s->a->event[s->a->event_count++];
    *event = (struct pd_event){.kind = kind,
                               .time_s = s->now_s,
                               .interval = s->a->interval_count,
                               .load = PD_NONE,
                               .detector = PD_NONE,
                               .figure = NAN,
                               .threshold = NAN,
                               .waited_s = NAN};
    return event;
}

static void act_load(struct pd_sequence *s, size_t load)
{
    struct pd_follower *const f = &s->follower[load];
    const size_t stage = first_stage(f);
    struct pd_event *const event = add_event(s, f->off ? PD_EVENT_COMES_BACK : PD_EVENT_LETS_GO);
    event->load = load;
    event->figure = f->seen_v[stage];
    event->waited_s = f->times.reconnect_s;
    if (!f->off) {
        const struct pd_window_stage *const passed = &f->times.stage[stage];
        memcpy(event->stage, passed->name, sizeof event->stage);
        event->threshold = f->seen_v[stage] < passed->below_v ? passed->below_v : passed->above_v;
        event->waited_s = passed->time_s;
    }
    f->off = !f->off;
}

static void act_detector(struct pd_sequence *s, size_t i)
{
    const struct pd_detector *const d = &s->run->study_case->detectors.detector[i];
    struct pd_watcher *const w = &s->watcher[i];
    struct pd_event *const event = add_event(s, w->open ? PD_EVENT_RECLOSES : PD_EVENT_DISCONNECTS);
    event->detector = i;
    event->figure = w->open ? (double)NAN : w->figure;
    event->waited_s = w->open ? s->now_s - w->opened_s : d->delay_s;
    w->open = !w->open;
    w->opened_s = s->now_s;
    w->held = false;
    w->delay.running = false;
}

static enum pd_status make_room(struct pd_sequence *s)
{
    const struct pd_case *const c = s->run->study_case;
    const size_t most = s->a->event_count + c->network->load_count + c->detectors.count + 1;
    struct pd_event *const larger = realloc(s->a->event, most * sizeof *larger);
    if (larger == NULL)
        return PD_ERR_MEMORY;
    s->a->event = larger;
    return PD_OK;
}

/* All that is due now acts. Nobody's acting changes what is due for another. */
static void act(struct pd_sequence *s)
{
    const struct pd_case *const c = s->run->study_case;
    for (size_t i = 0; i < c->network->load_count; i++)
        if (load_due(&s->follower[i]) <= s->now_s + same_s)
            act_load(s, i);
    for (size_t i = 0; i < c->detectors.count; i++)
        if (detector_due(s, i) <= s->now_s + same_s)
            act_detector(s, i);
}

enum { LOAD_FIGURES = 2 + PD_WINDOW_STAGES_MAX, DETECTOR_FIGURES = 3 };

size_t pd_sequence_state_size(const struct pd_case *c)
{
    return LOAD_FIGURES * c->network->load_count + DETECTOR_FIGURES * c->detectors.count + 1;
}

/* Writes what the future hangs on: what is off or open, and how far each clock has run. */
static void write_state(const struct pd_sequence *s, double *state)
{
    const struct pd_case *const c = s->run->study_case;
    for (size_t i = 0; i < c->network->load_count; i++) {
        const struct pd_follower *const f = &s->follower[i];
        *state++ = f->off;
        *state++ = f->back.running ? s->now_s - f->back.since_s : -1;
        for (size_t k = 0; k < PD_WINDOW_STAGES_MAX; k++)
            *state++ = f->stage[k].running ? s->now_s - f->stage[k].since_s : -1;
    }
    for (size_t i = 0; i < c->detectors.count; i++) {
        const struct pd_detector *const d = &c->detectors.detector[i];
        const struct pd_watcher *const w = &s->watcher[i];
        *state++ = w->open;
        *state++ = w->delay.running ? s->now_s - w->delay.since_s : -1;
        *state++ = w->open && d->reset == PD_RESET_AUTOMATIC
                       ? fmin(s->now_s - w->opened_s, d->reset_s)
                       : -1;
    }
}

/* The earlier interval with the same state, its number; PD_NONE. */
static size_t repeats(const struct pd_sequence *s)
{
    const size_t last = s->a->interval_count - 1;
    const double *const now = &s->seen_state[last * s->state_size];
    for (size_t i = 0; i < last; i++) {
        const double *const then = &s->seen_state[i * s->state_size];
        bool same = true;
        for (size_t k = 0; k < s->state_size && same; k++)
            same = fabs(now[k] - then[k]) <= 1e-6;
        if (same)
            return i;
    }
    return PD_NONE;
}

/* The present interval lasts until end_s. */
static void end_interval(struct pd_sequence *s, double end_s)
{
    struct pd_aftermath *const a = s->a;
    struct pd_interval *const at = &a->interval[a->interval_count - 1];
    const double before_s = a->interval_count > 1 ? at[-1].exposed_s : 0;
    const double lasts_s = end_s - at->start_s;
    at->end_s = end_s;
    at->exposed_s = before_s + ((a->across ? at->reach_v : at->chassis_v) > 0 ? lasts_s : 0);
    at->zone = pd_zone_of(&s->curves, at->current.body_a, at->current.heart_a, at->exposed_s);
    if (at->touch == PD_OVER) {
        a->over_s += lasts_s;
        a->last_over_s = end_s;
    }
}

/* Nothing is known from here on: no figure that counts time may be shown as a whole. */
static enum pd_status stop_unknown(struct pd_sequence *s)
{
    s->a->ending = PD_ENDING_UNKNOWN;
    s->a->over_s = s->a->last_over_s = NAN;
    s->a->interval[s->a->interval_count - 1].zone.known = false;
    return PD_OK;
}

/* Ends the interval just solved where the sequence ends with it; true where it does. */
static bool ends_here(struct pd_sequence *s, double due_s)
{
    struct pd_aftermath *const a = s->a;
    const size_t like = repeats(s);
    if (like != PD_NONE) {
        a->ending = PD_ENDING_OSCILLATES;
        a->repeats_from_s = a->interval[like].start_s;
        a->period_s = s->now_s - a->repeats_from_s;
        end_interval(s, fmin(due_s, a->horizon_s));
        return true;
    }
    if (due_s > a->horizon_s) {
        for (size_t i = 0; i < s->run->study_case->detectors.count; i++)
            if (s->watcher[i].held &&
                s->run->study_case->detectors.detector[i].reset == PD_RESET_AUTOMATIC)
                a->held = i;
        a->ending = isinf(due_s) ? PD_ENDING_SETTLED : PD_ENDING_HORIZON;
        end_interval(s, a->horizon_s);
        return true;
    }
    if (a->interval_count > s->intervals_max - 1) {
        a->ending = PD_ENDING_BOUND;
        end_interval(s, due_s);
        return true;
    }
    return false;
}

enum pd_status pd_sequence_run(struct pd_sequence *s)
{
    enum pd_status status = make_room(s);
    if (status == PD_OK)
        add_event(s, PD_EVENT_BREAK);
    while (status == PD_OK) {
        status = pd_sequence_solve(s);
        if (status != PD_OK)
            break;
        if (!s->a->interval[s->a->interval_count - 1].known)
            return stop_unknown(s);
        write_state(s, &s->seen_state[(s->a->interval_count - 1) * s->state_size]);
        const double due_s = next_due(s);
        if (ends_here(s, due_s))
            break;
        end_interval(s, due_s);
        s->now_s = due_s;
        status = make_room(s);
        if (status == PD_OK)
            act(s);
    }
    return status;
}
