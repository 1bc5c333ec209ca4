/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/person.h"

#include <math.h>
#include <stdio.h>

#include "study/assess.h"

const char *const pd_shock_names[PD_SHOCKS] = {
    [PD_SHOCK_LARGEST] = "largest touch voltage",
    [PD_SHOCK_UNSEEN] = "largest that nothing disconnects in time",
    [PD_SHOCK_DISCONNECTED] = "largest that is disconnected in time",
    [PD_SHOCK_REACH] = "chassis in one hand, PME metalwork in the other"};

const char *const pd_moment_names[PD_MOMENTS] = {[PD_MOMENT_DEVICE] = "device",
                                                 [PD_MOMENT_LIMIT] = "limit set",
                                                 [PD_MOMENT_UNTIL] = "until someone acts"};

const char pd_person_warning[] =
    "Within the limit is not harmless: the limit is what a standard accepts, not what a body "
    "stands. The verdict does not rest on these figures, and they are not a prognosis: children, "
    "illness, broken skin, a fall, or the head in the path can make it worse.";

/* No one frees a vehicle's owner from it at a stated time: the curves end here. */
static const double until_s = 10;

/* The tables, read once for all shocks. */
struct tables {
    struct pd_body body;
    struct pd_shock_curves curves;
};

void pd_person_unknown(struct pd_person *person)
{
    *person = (struct pd_person){0};
    for (int kind = 0; kind < PD_SHOCKS; kind++) {
        struct pd_shock *const shock = &person->shock[kind];
        shock->scenario = PD_NONE;
        shock->touch = (struct pd_touch){.prospective_v = NAN, .series_ohm = NAN};
        shock->current = (struct pd_body_current){NAN, NAN, NAN, NAN};
        for (int moment = 0; moment < PD_MOMENTS; moment++)
            shock->time_s[moment] = NAN;
    }
}

/* The first device that takes the voltage off the chassis. */
static double device_time(const struct pd_assessment *a, const struct pd_scenario *s)
{
    double time_s = NAN;
    for (size_t i = 0; i < a->study_case->detectors.count; i++)
        if (s->sight[i].kind == PD_SEES && s->sight[i].saves_touch)
            time_s = fmin(time_s, s->sight[i].time_s); /* the other where one is NaN */
    return time_s;
}

static enum pd_status fill(const struct pd_assessment *a, const struct tables *tables,
                           enum pd_shock_kind kind, size_t scenario, struct pd_shock *shock)
{
    const struct pd_case *const c = a->study_case;
    if (scenario >= a->scenario_count)
        return PD_OK;
    const struct pd_scenario *const s = &a->scenario[scenario];
    const bool reach = kind == PD_SHOCK_REACH;
    shock->scenario = scenario;
    shock->touch = (struct pd_touch){.prospective_v = reach ? s->reach_v : s->touch_v,
                                     .series_ohm = reach ? 0 : c->footing_ohm,
                                     .skin = c->skin,
                                     .people = PD_PEOPLE_5,
                                     .path = reach ? PD_HAND_TO_HAND : PD_HANDS_TO_FEET};
    const enum pd_status status = pd_body_current(&tables->body, &shock->touch, &shock->current);
    shock->overstated = status == PD_DOUBTFUL;
    /* A device takes the chassis off; what else is in reach it leaves as it is. */
    shock->time_s[PD_MOMENT_DEVICE] = reach ? NAN : device_time(a, s);
    shock->time_s[PD_MOMENT_LIMIT] = c->limits.time_s;
    shock->time_s[PD_MOMENT_UNTIL] = until_s;
    for (int moment = 0; moment < PD_MOMENTS; moment++)
        shock->zone[moment] = pd_zone_of(&tables->curves, shock->current.body_a,
                                         shock->current.heart_a, shock->time_s[moment]);
    return status < PD_OK ? status : PD_OK;
}

/* The largest touch voltage over the limit that something disconnects in time, of the judged
 * faults. */
static size_t worst_disconnected(const struct pd_assessment *a)
{
    size_t worst = PD_NONE;
    for (size_t i = 0; i < a->scenario_count; i++) {
        const struct pd_scenario *const s = &a->scenario[i];
        if (pd_fault_judged(s->fault) && s->touch == PD_OVER && s->disconnected &&
            (worst == PD_NONE || pd_exceeds(s->touch_v, a->scenario[worst].touch_v)))
            worst = i;
    }
    return worst;
}

static void name_sources(const struct pd_case *c, const struct tables *tables,
                         struct pd_person *person)
{
    const struct pd_body_curve *const curve = &tables->body.curve[c->skin];
    const struct pd_body_path *const path = &tables->body.path[PD_HANDS_TO_FEET];
    const struct pd_shock_curve *const c2 = &tables->curves.curve[PD_CURVE_C2];
    const struct pd_shock_curve *const c3 = &tables->curves.curve[PD_CURVE_C3];
    snprintf(person->body_source, sizeof person->body_source, "%s (%s)", curve->source,
             curve->status);
    snprintf(person->path_source, sizeof person->path_source, "%s (%s)", path->source,
             path->status);
    snprintf(person->curve_source, sizeof person->curve_source,
             "%.60s (a, b, c1, c3: %.34s) and %.30s (c2: %.14s)", c3->source, c3->status,
             c2->source, c2->status);
}

enum pd_status pd_person_read(struct pd_assessment *a)
{
    const size_t scenario[PD_SHOCKS] = {
        [PD_SHOCK_LARGEST] = a->worst,
        [PD_SHOCK_UNSEEN] = a->worst_unseen,
        [PD_SHOCK_DISCONNECTED] = worst_disconnected(a),
        [PD_SHOCK_REACH] = a->tt.worst_reach,
    };
    struct tables tables;
    pd_person_unknown(&a->person);
    enum pd_status status = pd_body_read(&tables.body, NULL);
    if (status == PD_OK)
        status = pd_shock_curves_read(&tables.curves, NULL);
    if (status != PD_OK)
        return status;
    name_sources(a->study_case, &tables, &a->person);
    for (int kind = 0; kind < PD_SHOCKS && status == PD_OK; kind++)
        status = fill(a, &tables, (enum pd_shock_kind)kind, scenario[kind], &a->person.shock[kind]);
    return status;
}
