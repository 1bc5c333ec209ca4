/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/aftermath.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "study/contacts.h"
#include "study/sequence.h"

const char *const pd_event_names[PD_EVENTS] = {
    [PD_EVENT_BREAK] = "break",           [PD_EVENT_LETS_GO] = "lets go",
    [PD_EVENT_COMES_BACK] = "comes back", [PD_EVENT_DISCONNECTS] = "disconnects",
    [PD_EVENT_RECLOSES] = "recloses",
};

const char *const pd_ending_names[PD_ENDINGS] = {
    [PD_ENDING_SETTLED] = "settled",        [PD_ENDING_HORIZON] = "horizon",
    [PD_ENDING_OSCILLATES] = "oscillates",  [PD_ENDING_BOUND] = "bound",
    [PD_ENDING_UNKNOWN] = "not determined",
};

struct pd_aftermath_settings pd_aftermath_defaults(void)
{
    return (struct pd_aftermath_settings){.section = PD_NONE,
                                          .loads = PD_LOADS_CORNER,
                                          .horizon_s = PD_HORIZON_S,
                                          .events_max = PD_EVENTS_MAX};
}

void pd_aftermath_free(struct pd_aftermath **aftermath)
{
    struct pd_aftermath *const a = *aftermath;
    if (a == NULL)
        return;
    for (size_t i = 0; i < a->interval_count; i++)
        free(a->interval[i].house_v);
    free(a->interval);
    free(a->event);
    free(a->house);
    pd_notes_free(&a->assumptions);
    free(a);
    *aftermath = NULL;
}

/* The scenario to begin with: the worst of those asked for that are solved. Counts those that are
 * not, for a worse one may be among them. */
static const struct pd_scenario *choose(const struct pd_assessment *assessment,
                                        const struct pd_aftermath_settings *settings,
                                        bool any_loads, struct pd_aftermath *a)
{
    const struct pd_scenario *worst = NULL, *unsolved = NULL;
    a->unsolved = 0;
    for (size_t i = 0; i < assessment->scenario_count; i++) {
        const struct pd_scenario *const s = &assessment->scenario[i];
        if (s->fault != PD_OPEN_PEN || s->place.from == PD_NONE ||
            (settings->section != PD_NONE && s->section != settings->section) ||
            (!any_loads && s->loads != settings->loads))
            continue;
        const bool sure = s->standing == PD_SOLVED && !s->floating;
        a->unsolved += s->standing != PD_SOLVED;
        if (sure && (worst == NULL || pd_is_worse(s, worst)))
            worst = s;
        if (!sure && unsolved == NULL)
            unsolved = s;
    }
    return worst != NULL ? worst : unsolved;
}

static unsigned neutral_lines(const struct pd_case *c, size_t node)
{
    unsigned lines = 0;
    for (size_t i = 0; i < c->network->load_count; i++) {
        const struct pd_load *const load = &c->network->load[i];
        struct pd_element element[3];
        const size_t count =
            pd_load_elements(load, c->network->system, c->network->nominal_v, 0, element);
        for (size_t k = 0; k < count && load->node == node; k++)
            if (element[k].to == PD_N)
                lines |= 1u << element[k].from;
    }
    return lines;
}

static enum pd_status list_houses(const struct pd_case *c, struct pd_aftermath *a)
{
    a->house = calloc(c->network->node_count, sizeof *a->house);
    if (a->house == NULL)
        return PD_ERR_MEMORY;
    for (size_t i = 0; i < c->network->node_count; i++) {
        const bool own = pd_case_own(c, i);
        const unsigned lines = own ? c->installation_lines : neutral_lines(c, i);
        if (lines != 0 && (!own || i == c->installation))
            a->house[a->house_count++] = (struct pd_house){i, lines, own};
    }
    return PD_OK;
}

/* Beyond this of nominal an appliance's electronics may not last: common practice, no source. */
static const double far_part = 1.2;

static void set_levels(const struct pd_case *c, struct pd_aftermath *a)
{
    const double nominal_v = c->network->nominal_v;
    a->over_v = isfinite(c->limits.supply_high_v) ? c->limits.supply_high_v : 1.1 * nominal_v;
    a->under_v = isfinite(c->limits.supply_low_v) ? c->limits.supply_low_v : 0.9 * nominal_v;
    a->far_v = far_part * nominal_v;
}

static enum pd_status note_waits(const struct pd_load *load, const struct pd_window_times *times,
                                 struct pd_notes *notes)
{
    char stages[200] = "";
    for (size_t i = 0, used = 0; i < times->count && used < sizeof stages; i++) {
        const struct pd_window_stage *const t = &times->stage[i];
        const bool below = isfinite(t->below_v);
        used += (size_t)snprintf(stages + used, sizeof stages - used, "%s%s %.1f V for %.3g s",
                                 i == 0 ? "" : ", ", below ? "below" : "above",
                                 below ? t->below_v : t->above_v, t->time_s);
    }
    const bool times_known = isfinite(load->trip_s) && isfinite(load->reconnect_s);
    return pd_notes_add(
        notes, "'%.40s' lets go %s, and comes back after %.3g s within its window%s%s%s",
        load->name, stages, times->reconnect_s,
        times_known ? " (as declared)" : ": times not declared; ", times_known ? "" : times->status,
        times_known ? "" : ", reference/window_times.csv and stages.csv");
}

static enum pd_status note_detector(const struct pd_case *c, size_t i, struct pd_notes *notes)
{
    const struct pd_detector *const d = &c->detectors.detector[i];
    if (!pd_contacts_of(c, i).loads_off)
        return pd_notes_add(notes,
                            "device '%.60s' disconnects the charging point, which has no node of "
                            "its own: the loads are taken to stay on",
                            d->name);
    return PD_OK;
}

static enum pd_status make_sequence(struct pd_sequence *s, size_t intervals_max)
{
    const struct pd_case *const c = s->run->study_case;
    const size_t loads = c->network->load_count, ties = c->electrodes.count + 1;
    s->intervals_max = intervals_max;
    s->state_size = pd_sequence_state_size(c);
    s->base_a = calloc(loads + 1, sizeof *s->base_a);
    s->load_a = calloc(loads + 1, sizeof *s->load_a);
    s->tie = calloc(ties, sizeof *s->tie);
    s->follower = calloc(loads + 1, sizeof *s->follower);
    s->watcher = calloc(c->detectors.count + 1, sizeof *s->watcher);
    s->seen_state = calloc(intervals_max * s->state_size, sizeof *s->seen_state);
    s->a->interval = calloc(intervals_max, sizeof *s->a->interval);
    if (s->base_a == NULL || s->load_a == NULL || s->tie == NULL || s->follower == NULL ||
        s->watcher == NULL || s->seen_state == NULL || s->a->interval == NULL)
        return PD_ERR_MEMORY;
    memcpy(s->tie, s->run->tie, ties * sizeof *s->tie);
    const enum pd_status status = pd_body_read(&s->body, NULL);
    return status == PD_OK ? pd_shock_curves_read(&s->curves, NULL) : status;
}

static void free_sequence(struct pd_sequence *s)
{
    free(s->base_a);
    free(s->load_a);
    free(s->tie);
    free(s->follower);
    free(s->watcher);
    free(s->seen_state);
}

static enum pd_status set_loads(struct pd_sequence *s, const struct pd_loads_place *place)
{
    const struct pd_network *const network = s->run->study_case->network;
    const double *const from_a = pd_load_state(s->run->states, place->from);
    const double *const to_a = pd_load_state(s->run->states, place->to);
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < network->load_count && status == PD_OK; i++) {
        struct pd_window_times *const times = &s->follower[i].times;
        s->base_a[i] = (1 - place->share) * from_a[i] + place->share * to_a[i];
        if (!(s->base_a[i] > 0)) /* not on, and so neither to let go nor to come back */
            continue;
        status = pd_window_times_of(&network->load[i], network->system, network->nominal_v, times);
        if (status == PD_OK && times->count > 0)
            status = note_waits(&network->load[i], times, &s->a->assumptions);
    }
    for (size_t i = 0; i < s->run->study_case->detectors.count && status == PD_OK; i++)
        status = note_detector(s->run->study_case, i, &s->a->assumptions);
    return status;
}

static void name_sources(const struct pd_sequence *s)
{
    const struct pd_body_curve *const body = &s->body.curve[s->run->study_case->skin];
    const struct pd_shock_curve *const c2 = &s->curves.curve[PD_CURVE_C2];
    snprintf(s->a->body_source, sizeof s->a->body_source, "%.150s (%.34s)", body->source,
             body->status);
    snprintf(s->a->curve_source, sizeof s->a->curve_source, "%.150s (%.34s)", c2->source,
             c2->status);
}

static enum pd_status follow(struct pd_run *run, const struct pd_scenario *scenario,
                             size_t events_max, struct pd_aftermath *a)
{
    struct pd_sequence sequence = {.run = run, .a = a, .fault = pd_open_pen(scenario->section)};
    run->hold_windows = true;
    a->determined = true;
    a->section = scenario->section;
    a->loads = scenario->loads;
    a->supply_v = scenario->supply_v;
    a->assessed_v = scenario->standing == PD_SOLVED ? scenario->touch_v : (double)NAN;
    enum pd_status status = make_sequence(&sequence, events_max + 1);
    if (status == PD_OK)
        status = set_loads(&sequence, &scenario->place);
    if (status == PD_OK)
        status = pd_sequence_run(&sequence);
    if (status == PD_OK)
        name_sources(&sequence);
    free_sequence(&sequence);
    return status;
}

static enum pd_status begin(const struct pd_case *c, const struct pd_assessment *assessment,
                            const struct pd_aftermath_settings *settings, struct pd_aftermath *a)
{
    struct pd_load_states states = {0};
    struct pd_run run;
    const struct pd_scenario *scenario =
        choose(assessment, settings, settings->loads == PD_LOADS_CORNER, a);
    enum pd_status status = PD_OK;
    if (scenario == NULL && settings->loads != PD_LOADS_CORNER) {
        scenario = choose(assessment, settings, true, a);
        status =
            pd_notes_add(&a->assumptions, "no load has a range, so that '%s' is what is present",
                         pd_loads_names[settings->loads]);
    }
    if (scenario == NULL) {
        snprintf(a->why, sizeof a->why,
                 "there is no break to follow: no scenario of an open PEN "
                 "whose loads are known");
        return status;
    }
    if (status == PD_OK)
        status = pd_load_states_new(c, &states);
    if (status != PD_OK)
        return status;
    status = pd_run_new(c, &states, 1u << PD_HEALTHY | 1u << PD_OPEN_PEN, &run);
    if (status == PD_OK) {
        status = follow(&run, scenario, settings->events_max, a);
        pd_run_free(&run);
    }
    pd_load_states_free(&states);
    return status;
}

static enum pd_status look_at(const struct pd_case *c, const struct pd_aftermath_settings *settings,
                              pd_progress_function *progress, void *context, struct pd_aftermath *a)
{
    const struct pd_assess_settings faults = {.faults = 1u << PD_HEALTHY | 1u << PD_OPEN_PEN};
    struct pd_assessment *assessment = NULL;
    enum pd_status status = list_houses(c, a);
    set_levels(c, a);
    if (status == PD_OK)
        status = pd_assess(c, &faults, progress, context, &assessment);
    if (status == PD_OK)
        status = begin(c, assessment, settings, a);
    pd_assessment_free(&assessment);
    return status;
}

enum pd_status pd_aftermath(const struct pd_case *c, const struct pd_aftermath_settings *settings,
                            pd_progress_function *progress, void *context,
                            struct pd_aftermath **out)
{
    *out = NULL;
    if (!(settings->horizon_s > 0) || settings->events_max == 0)
        return PD_ERR_ARGUMENT;
    const size_t section = settings->section;
    if (c->network != NULL && section != PD_NONE &&
        (section == 0 || section >= c->network->node_count || c->network->node[section].separate))
        return PD_ERR_ARGUMENT;
    struct pd_aftermath *a = calloc(1, sizeof *a);
    if (a == NULL)
        return PD_ERR_MEMORY;
    *a = (struct pd_aftermath){.study_case = c,
                               .section = PD_NONE,
                               .across = c->earthing == PD_TT,
                               .horizon_s = settings->horizon_s,
                               .supply_v = NAN,
                               .assessed_v = NAN,
                               .ending = PD_ENDING_UNKNOWN,
                               .repeats_from_s = NAN,
                               .period_s = NAN,
                               .held = PD_NONE};
    enum pd_status status = PD_OK;
    if (c->network == NULL || c->missing.count > 0)
        snprintf(a->why, sizeof a->why, "something that must be known is missing");
    else
        status = look_at(c, settings, progress, context, a);
    if (status != PD_OK)
        pd_aftermath_free(&a);
    *out = a;
    return status;
}
