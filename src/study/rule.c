/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/rule.h"

#include <math.h>
#include <string.h>

#include "solve/millman.h"
#include "study/manage.h"
#include "study/rule_device.h"
#include "study/rule_tt.h"

bool pd_rule_applies(const struct pd_case *c)
{
    return c->earthing == PD_TN_C_S || (c->earthing == PD_TN_S && pd_case_on_pen(c));
}

static double most_loaded_line(const struct pd_star *star)
{
    double most_a = 0;
    for (int line = PD_L1; line < PD_LINES; line++)
        if (star->y_s[line] != 0)
            most_a = fmax(most_a, cabs(star->y_s[line] * star->emf_v[line]));
    return most_a;
}

static int line_count(unsigned lines)
{
    return (int)((lines & 1u) + (lines >> 1 & 1u) + (lines >> 2 & 1u));
}

/* Holds one load state against the worst so far; returns its voltage without an electrode. */
static double note_state(struct pd_alone *alone, const struct pd_star *star, enum pd_loads loads,
                         double limit_v)
{
    const double volts = cabs(pd_star_displacement(star, 0));
    const double ohm = pd_star_electrode_max(star, limit_v);
    if (volts > alone->displacement_v || isnan(alone->displacement_v)) {
        alone->displacement_v = volts;
        alone->displacement_loads = loads;
    }
    if (ohm < alone->electrode_max_ohm) {
        alone->electrode_max_ohm = ohm;
        alone->electrode_loads = loads;
    }
    return volts;
}

/* Whether a state has the loads of the first: where a load's present value is its highest, the
 * state of all high has nothing new. */
static bool is_first_again(const struct pd_load_states *states, size_t i)
{
    return i > 0 && memcmp(pd_load_state(states, i), pd_load_state(states, 0),
                           states->load_count * sizeof *states->load_a) == 0;
}

static struct pd_alone worst_alone(const struct pd_case *c, const struct pd_load_states *states)
{
    const double nominal_v = c->network->nominal_v, limit_v = c->limits.touch_v;
    const double own_s = 1 / pd_case_electrode(c, c->installation);
    struct pd_alone alone = {.supply_v = fmax(c->supply_v, c->limits.supply_high_v),
                             .own_v = NAN,
                             .displacement_v = NAN,
                             .electrode_max_ohm = INFINITY,
                             .divider_ohm = NAN,
                             .annex_ohm = NAN};
    const bool one_line = line_count(c->installation_lines) == 1;
    double line_a = 0;
    for (size_t i = 0; i < states->count; i++) {
        if (is_first_again(states, i))
            continue;
        const struct pd_star star =
            pd_star_of(c->network, c->installation, pd_load_state(states, i), alone.supply_v);
        const double volts = note_state(&alone, &star, states->kind[i], limit_v);
        alone.own_v =
            fmax(alone.own_v, own_s == 0 ? volts : cabs(pd_star_displacement(&star, own_s)));
        if (one_line)
            line_a = fmax(line_a, most_loaded_line(&star) * nominal_v / alone.supply_v);
    }
    if (one_line) {
        alone.divider_ohm = pd_electrode_formula(nominal_v, line_a, limit_v, 1);
        alone.annex_ohm =
            pd_electrode_formula(nominal_v, line_a, limit_v, alone.supply_v / nominal_v);
        /* A power factor below 1 parts the published form from Millman's; the stricter decides. */
        alone.electrode_max_ohm = fmin(alone.electrode_max_ohm, alone.annex_ohm);
    }
    return alone;
}

/* Loads of the installation that are not a vehicle's. Where none is known to be, one of them is
 * taken to be. */
static size_t other_loads(const struct pd_case *c)
{
    size_t own = 0, vehicles = 0;
    for (size_t i = 0; i < c->network->load_count; i++) {
        own += pd_case_own(c, c->network->load[i].node);
        vehicles += pd_gives_way(c, &c->network->load[i]);
    }
    return own - (vehicles > 0 || own == 0 ? vehicles : 1);
}

static void read_balance(const struct pd_case *c, const struct pd_alone *alone,
                         struct pd_route_answer *route)
{
    if (line_count(c->installation_lines) < 3) {
        route->reason = PD_RULE_NOT_THREE_PHASE;
        return;
    }
    route->value = alone->displacement_v;
    route->limit = c->limits.touch_v;
    route->margin = route->limit - route->value;
    route->unit = "V";
    route->by_loads = true;
    route->loads = alone->displacement_loads;
    if (other_loads(c) == 0) {
        route->result = PD_DOES_NOT_MEET;
        route->reason = PD_RULE_ONLY_POINT;
        return;
    }
    switch (pd_judge(route->value, route->limit)) {
    case PD_UNKNOWN:
        route->result = PD_RESULT_UNKNOWN;
        route->reason = PD_RULE_NOTHING_TIES;
        break;
    case PD_WITHIN:
        route->result = PD_MEETS;
        route->reason = PD_RULE_BALANCED;
        break;
    case PD_OVER:
        route->result = PD_DOES_NOT_MEET;
        route->reason = PD_RULE_UNBALANCED;
        break;
    }
}

static void compare_electrode(double has_ohm, double needs_ohm, struct pd_route_answer *route)
{
    route->value = has_ohm;
    route->margin = needs_ohm - has_ohm;
    if (isinf(needs_ohm)) {
        route->margin = NAN;
        route->result = PD_MEETS;
        route->reason = PD_RULE_ANY_ELECTRODE;
        return;
    }
    const enum pd_judgement judgement = pd_judge(has_ohm, needs_ohm);
    route->reason = PD_RULE_ELECTRODE;
    route->result = judgement == PD_WITHIN ? PD_MEETS
                    : judgement == PD_OVER ? PD_DOES_NOT_MEET
                                           : PD_RESULT_UNKNOWN;
}

static void read_electrode(const struct pd_case *c, const struct pd_alone *alone,
                           struct pd_route_answer *route)
{
    const double needs_ohm = alone->electrode_max_ohm;
    const double has_ohm = pd_case_electrode(c, c->installation);
    route->unit = "ohm";
    route->limit = isfinite(needs_ohm) ? needs_ohm : NAN;
    route->by_loads = isfinite(needs_ohm);
    route->loads = alone->electrode_loads;
    if (isnan(alone->displacement_v)) {
        route->result = PD_RESULT_UNKNOWN;
        route->reason = PD_RULE_NOTHING_TIES;
    } else if (isinf(has_ohm) && isinf(needs_ohm)) {
        route->reason = PD_RULE_NONE_NEEDED;
    } else if (isinf(has_ohm)) {
        route->result = PD_DOES_NOT_MEET;
        route->reason = PD_RULE_NO_ELECTRODE;
    } else {
        compare_electrode(has_ohm, needs_ohm, route);
    }
}

static void start_routes(struct pd_rule_answer *answer, enum pd_rule_reason reason)
{
    for (int i = 0; i < PD_ROUTES; i++)
        answer->route[i] = (struct pd_route_answer){.kind = (enum pd_route_kind)(i + 1),
                                                    .result = PD_NOT_APPLICABLE,
                                                    .reason = reason,
                                                    .value = NAN,
                                                    .limit = NAN,
                                                    .margin = NAN,
                                                    .unit = ""};
}

static void read_route(const struct pd_case *c, const struct pd_alone *alone,
                       struct pd_route_answer *route)
{
    if ((c->limits.routes & 1u << route->kind) == 0) {
        route->reason = PD_RULE_NOT_LISTED;
        return;
    }
    if (c->earthing == PD_TT && route->kind != PD_ROUTE_TT) {
        route->reason = PD_RULE_NOT_ON_PME;
        return;
    }
    switch (route->kind) {
    case PD_ROUTE_BALANCE:
        read_balance(c, alone, route);
        return;
    case PD_ROUTE_ELECTRODE:
        read_electrode(c, alone, route);
        return;
    case PD_ROUTE_PE_DEVICE:
    case PD_ROUTE_BAND_DEVICE:
    case PD_ROUTE_OTHER_DEVICE:
        pd_rule_device(c, line_count(c->installation_lines), route);
        return;
    case PD_ROUTE_TT:
        if (c->earthing == PD_TT)
            pd_tt_route(c, route);
        else
            route->reason = PD_RULE_ON_PME;
        return;
    }
}

static enum pd_result best_result(const struct pd_rule_answer *a)
{
    enum pd_result best = PD_DOES_NOT_MEET;
    for (int i = 0; i < PD_ROUTES; i++) {
        if (a->route[i].result == PD_MEETS)
            return PD_MEETS;
        if (a->route[i].result == PD_RESULT_UNKNOWN)
            best = PD_RESULT_UNKNOWN;
    }
    return best;
}

static enum pd_result result_of(const struct pd_rule_answer *a, enum pd_route_kind kind)
{
    return a->route[kind - 1].result;
}

/* One device's answer stands for all: met by any, in doubt where any is, failed where any is there.
 */
static enum pd_result device_result(const struct pd_rule_answer *a)
{
    enum pd_result best = PD_NOT_APPLICABLE;
    for (int kind = PD_ROUTE_PE_DEVICE; kind <= PD_ROUTE_OTHER_DEVICE; kind++) {
        const enum pd_result result = result_of(a, (enum pd_route_kind)kind);
        if (result == PD_MEETS)
            return PD_MEETS;
        if (result == PD_RESULT_UNKNOWN || best == PD_NOT_APPLICABLE)
            best = result;
    }
    return best;
}

static enum pd_answer answer_of(enum pd_result own, bool there, enum pd_result all)
{
    if (own == PD_MEETS && there)
        return PD_SUFFICIENT;
    if (all == PD_MEETS)
        return PD_NOT_NEEDED;
    if (own == PD_RESULT_UNKNOWN || all == PD_RESULT_UNKNOWN)
        return PD_ANSWER_UNKNOWN;
    return there ? PD_INSUFFICIENT : PD_NEEDED;
}

void pd_rule_decide(const struct pd_case *c, const struct pd_load_states *states,
                    struct pd_rule_answer *a)
{
    const bool tt = c->earthing == PD_TT;
    a->applies = pd_rule_applies(c) || tt;
    start_routes(a, PD_RULE_NO_PEN);
    if (!a->applies) {
        a->result = PD_MEETS;
        a->reading = (struct pd_reading){PD_NOT_NEEDED, INFINITY, PD_NOT_NEEDED};
        a->alone =
            (struct pd_alone){NAN, NAN, NAN, PD_LOADS_PRESENT, NAN, PD_LOADS_PRESENT, NAN, NAN};
        return;
    }
    a->alone = worst_alone(c, states);
    for (int i = 0; i < PD_ROUTES; i++)
        read_route(c, &a->alone, &a->route[i]);
    a->result = best_result(a);

    const double has_ohm = pd_case_electrode(c, tt ? c->charging_point : c->installation);
    const enum pd_result by_electrode = tt ? pd_tt_electrode(c) : result_of(a, PD_ROUTE_ELECTRODE);
    a->reading.electrode = answer_of(by_electrode, isfinite(has_ohm), a->result);
    a->reading.electrode_max_ohm = tt ? a->route[PD_ROUTE_TT - 1].limit
                                   : isnan(a->alone.displacement_v) ? NAN
                                                                    : a->alone.electrode_max_ohm;
    a->reading.detection = answer_of(device_result(a), c->detectors.count > 0, a->result);
}
