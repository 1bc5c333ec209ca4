/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "study/contacts.h"
#include "study/sequence.h"

/* Whether a node lies behind open contacts. */
static bool is_dead(const struct pd_sequence *s, size_t node)
{
    const struct pd_case *const c = s->run->study_case;
    for (size_t i = 0; i < c->detectors.count; i++)
        if (s->watcher[i].open && pd_contacts_of(c, i).loads_off && pd_contacts_before(c, i, node))
            return true;
    return false;
}

static void set_state(struct pd_sequence *s)
{
    const struct pd_case *const c = s->run->study_case;
    memcpy(s->run->tie, s->tie, (c->electrodes.count + 1) * sizeof *s->tie);
    for (size_t i = 0; i < c->detectors.count; i++)
        if (s->watcher[i].open)
            pd_contacts_untie(s->run, i);
    for (size_t i = 0; i < c->network->load_count; i++) {
        struct pd_follower *const f = &s->follower[i];
        f->dead = is_dead(s, c->network->load[i].node);
        f->off |= f->dead && f->times.count > 0;
        s->load_a[i] = f->off || f->dead ? 0 : s->base_a[i];
    }
}

/* The chassis, and the rest of the metalwork, as far as open contacts leave them on the PEN. */
static void read_earthing(const struct pd_sequence *s, struct pd_interval *at)
{
    const struct pd_case *const c = s->run->study_case;
    at->chassis_on_pe = at->metalwork_on_pe = true;
    for (size_t i = 0; i < c->detectors.count; i++) {
        const struct pd_contacts contacts = pd_contacts_of(c, i);
        if (!s->watcher[i].open)
            continue;
        at->chassis_on_pe &= !contacts.chassis_let_go;
        at->metalwork_on_pe &= contacts.rest_on_pen;
    }
    const double complex chassis = at->chassis_on_pe ? pd_run_pe(s->run, c->charging_point) : 0;
    const double complex rest = at->metalwork_on_pe ? pd_run_pe(s->run, c->installation) : 0;
    at->chassis_v = cabs(chassis);
    at->metalwork_v = cabs(rest);
    at->reach_v = cabs(rest - chassis);
}

static double line_neutral(const struct pd_sequence *s, size_t node, int line)
{
    const double complex *const v = s->run->solution.v[node];
    return cabs(v[line] - v[PD_N]);
}

static void count_neighbour(const struct pd_sequence *s, size_t house, double volts,
                            struct pd_interval *at)
{
    at->over_count += volts > s->a->over_v;
    at->far_count += volts > s->a->far_v;
    at->under_count += volts < s->a->under_v;
    if (at->highest == PD_NONE || volts > at->highest_v) {
        at->highest = house;
        at->highest_v = volts;
    }
    if (at->lowest == PD_NONE || volts < at->lowest_v) {
        at->lowest = house;
        at->lowest_v = volts;
    }
}

static void read_houses(const struct pd_sequence *s, struct pd_interval *at)
{
    for (size_t i = 0; i < s->a->house_count; i++) {
        const struct pd_house *const house = &s->a->house[i];
        const bool dead = house->own && is_dead(s, house->node);
        for (int line = PD_L1; line < PD_LINES; line++) {
            double *const volts = &at->house_v[i * PD_LINES + (size_t)line];
            const bool there = (house->lines & 1u << line) != 0 && !dead;
            *volts = there ? line_neutral(s, house->node, line) : (double)NAN;
            if (there && !house->own)
                count_neighbour(s, i, *volts, at);
        }
    }
    const struct pd_case *const c = s->run->study_case;
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((c->installation_lines & 1u << line) != 0 && !is_dead(s, c->installation))
            at->line_neutral_v[line] = line_neutral(s, c->installation, line);
}

/* The voltage across the element that is furthest out: below for a stage that has a lower
 * threshold, else above. */
static double across(const struct pd_sequence *s, size_t load, bool least)
{
    const struct pd_network *const network = s->run->study_case->network;
    const struct pd_load *const l = &network->load[load];
    const double complex *const v = s->run->solution.v[l->node];
    struct pd_element element[3];
    const size_t count = pd_load_elements(l, network->system, network->nominal_v, 0, element);
    double found_v = NAN;
    for (size_t k = 0; k < count; k++) {
        const double volts = cabs(v[element[k].from] - v[element[k].to]);
        if (isnan(volts))
            return NAN;
        found_v = k == 0 ? volts : least ? fmin(found_v, volts) : fmax(found_v, volts);
    }
    return found_v;
}

static void run_clock(struct pd_clock *clock, bool holds, double now_s)
{
    if (holds && !clock->running)
        clock->since_s = now_s;
    clock->running = holds;
}

static bool unknown(struct pd_sequence *s, struct pd_interval *at, const char *why,
                    const char *name)
{
    at->known = false;
    snprintf(s->a->why, sizeof s->a->why, why, name);
    return false;
}

static bool read_load(struct pd_sequence *s, size_t load, struct pd_interval *at)
{
    struct pd_follower *const f = &s->follower[load];
    const size_t none = f->times.count;
    if (none == 0)
        return true;
    const double least_v = f->dead ? 0 : across(s, load, true);
    const double most_v = f->dead ? 0 : across(s, load, false);
    if (isnan(least_v) && s->base_a[load] > 0)
        return unknown(s, at, "the voltage across '%s' has no value, and so whether it lets go",
                       s->run->study_case->network->load[load].name);
    for (size_t i = 0; i < none; i++) {
        const struct pd_window_stage *const stage = &f->times.stage[i];
        f->seen_v[i] = isfinite(stage->below_v) ? least_v : most_v;
        run_clock(&f->stage[i], !f->off && pd_window_stage_passed(stage, f->seen_v[i]), s->now_s);
    }
    f->seen_v[none] = least_v;
    run_clock(&f->back,
              f->off && !f->dead && least_v >= f->times.low_v && most_v <= f->times.high_v,
              s->now_s);
    return true;
}

static bool read_detector(struct pd_sequence *s, size_t i, struct pd_interval *at)
{
    const struct pd_case *const c = s->run->study_case;
    const struct pd_detector *const d = &c->detectors.detector[i];
    struct pd_watcher *const w = &s->watcher[i];
    if (w->open) {
        w->held = pd_contacts_held(s->run, i);
        return true;
    }
    const struct pd_view view = pd_run_view(s->run, i);
    const struct pd_sight sight = pd_detector_look(d, &view);
    const bool dead = is_dead(s, c->detector_node[i]);
    w->figure = sight.figure;
    run_clock(&w->delay, sight.kind == PD_SEES && !dead, s->now_s);
    if (dead)
        return true;
    if (sight.kind == PD_SIGHT_UNKNOWN)
        return unknown(s, at,
                       "whether device '%s' sees it: a figure of it, or what it senses, is "
                       "not known",
                       d->name);
    if (sight.kind == PD_SEES && (isnan(d->delay_s) || !d->disconnects_known))
        return unknown(s, at,
                       "device '%s' sees it, but its delay or what it disconnects is not "
                       "declared",
                       d->name);
    if (sight.kind != PD_SEES && sight.may_trip)
        at->doubtful = i;
    return true;
}

static enum pd_status read_person(const struct pd_sequence *s, struct pd_interval *at)
{
    const struct pd_case *const c = s->run->study_case;
    const bool across = s->a->across;
    const struct pd_touch touch = {.prospective_v = across ? at->reach_v : at->chassis_v,
                                   .series_ohm = across ? 0 : c->footing_ohm,
                                   .skin = c->skin,
                                   .people = PD_PEOPLE_5,
                                   .path = across ? PD_HAND_TO_HAND : PD_HANDS_TO_FEET};
    const enum pd_status status = pd_body_current(&s->body, &touch, &at->current);
    return status < PD_OK ? status : PD_OK;
}

static enum pd_status read_solution(struct pd_sequence *s, struct pd_interval *at)
{
    const struct pd_case *const c = s->run->study_case;
    at->known = true;
    read_earthing(s, at);
    read_houses(s, at);
    at->touch = pd_judge(at->chassis_v, c->limits.touch_v);
    const enum pd_status status = read_person(s, at);
    if (status != PD_OK)
        return status;
    if (isnan(at->chassis_v) || isnan(at->metalwork_v)) {
        unknown(s, at, "%s", "nothing ties the neutral: its potential has no value");
        return PD_OK;
    }
    for (size_t i = 0; i < c->network->load_count; i++)
        if (!read_load(s, i, at))
            return PD_OK;
    for (size_t i = 0; i < c->detectors.count; i++)
        if (!read_detector(s, i, at))
            return PD_OK;
    return PD_OK;
}

static const char *standing_why(enum pd_standing standing)
{
    switch (standing) {
    case PD_AMBIGUOUS:
        return "the loads that are not linear leave more than one state possible";
    case PD_RESONANT:
        return "admittances to the drifting neutral cancel, and the answer hangs on their last "
               "digits";
    case PD_SOLVED:
    case PD_UNCONVERGED:
        break;
    }
    return "no steady state was found";
}

enum pd_status pd_sequence_solve(struct pd_sequence *s)
{
    const struct pd_interval blank = {.start_s = s->now_s,
                                      .end_s = NAN,
                                      .chassis_v = NAN,
                                      .metalwork_v = NAN,
                                      .reach_v = NAN,
                                      .line_neutral_v = {NAN, NAN, NAN},
                                      .highest_v = NAN,
                                      .lowest_v = NAN,
                                      .highest = PD_NONE,
                                      .lowest = PD_NONE,
                                      .touch = PD_UNKNOWN,
                                      .exposed_s = NAN,
                                      .current = {NAN, NAN, NAN, NAN},
                                      .doubtful = PD_NONE};
    struct pd_interval *const at = &s->a->interval[s->a->interval_count];
    *at = blank;
    at->house_v = calloc(s->a->house_count * PD_LINES + 1, sizeof *at->house_v);
    if (at->house_v == NULL)
        return PD_ERR_MEMORY;
    s->a->interval_count++;
    for (size_t i = 0; i < s->a->house_count * PD_LINES; i++)
        at->house_v[i] = NAN;
    set_state(s);
    enum pd_status status = pd_run_factor(s->run, s->load_a, s->a->supply_v, NULL);
    if (status == PD_OK)
        status = pd_run_solve(s->run, &s->fault);
    if (status != PD_OK)
        return status;
    at->standing = s->run->solution.standing;
    at->residual = s->run->solution.residual;
    if (at->standing == PD_SOLVED)
        return read_solution(s, at);
    unknown(s, at, "%s", standing_why(at->standing));
    return PD_OK;
}
