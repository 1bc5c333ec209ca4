/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/rule.h"

#include <math.h>
#include <stdio.h>

#include "solve/millman.h"
#include "study/manage.h"
#include "study/rule_device.h"
#include "study/rule_tt.h"

const char *const pd_route_names[PD_ROUTES + 1] = {
    [PD_ROUTE_BALANCE] = "three-phase balance",
    [PD_ROUTE_ELECTRODE] = "electrode on the main earthing terminal",
    [PD_ROUTE_PE_DEVICE] = "device sensing PE to earth",
    [PD_ROUTE_BAND_DEVICE] = "device watching line-neutral voltage",
    [PD_ROUTE_OTHER_DEVICE] = "another device",
    [PD_ROUTE_TT] = "PME terminal not used (TT)",
};

const char *const pd_result_names[PD_RESULTS] = {[PD_MEETS] = "meets",
                                                 [PD_DOES_NOT_MEET] = "does not meet",
                                                 [PD_NOT_APPLICABLE] = "not applicable",
                                                 [PD_RESULT_UNKNOWN] = "not determined"};

/* What the installation's own loads make of an open PEN, the worst over the load states. */
struct alone {
    double supply_v;
    double own_v;          /* with the electrodes that are there; NaN where it has no figure */
    double displacement_v; /* without an electrode; NaN where no state ties the neutral */
    enum pd_loads displacement_loads;
    double electrode_max_ohm;
    enum pd_loads electrode_loads;
    double divider_ohm,
        annex_ohm; /* the published forms, for a single-phase installation; else NaN */
};

bool pd_rule_applies(const struct pd_case *c)
{
    return c->earthing == PD_TN_C_S || (c->earthing == PD_TN_S && pd_case_on_pen(c));
}

double pd_round_down(double ohm)
{
    const double steps = ohm < 10 ? 100 : ohm < 100 ? 10 : 1;
    return isfinite(ohm) ? floor(ohm * steps) / steps : ohm;
}

static double most_loaded_line(const struct pd_star *star)
{
    double most_a = 0;
    for (int line = PD_L1; line < PD_LINES; line++)
        most_a = fmax(most_a, cabs(star->y_s[line] * star->emf_v[line]));
    return most_a;
}

static int line_count(unsigned lines)
{
    return (int)((lines & 1u) + (lines >> 1 & 1u) + (lines >> 2 & 1u));
}

/* Holds one load state against the worst so far. */
static void note_state(struct alone *alone, const struct pd_star *star, enum pd_loads loads,
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
}

static struct alone worst_alone(const struct pd_case *c, const struct pd_load_states *states)
{
    const double nominal_v = c->network->nominal_v, limit_v = c->limits.touch_v;
    const double own_s = 1 / pd_case_electrode(c, c->installation);
    struct alone alone = {.supply_v = fmax(c->supply_v, c->limits.supply_high_v),
                          .own_v = NAN,
                          .displacement_v = NAN,
                          .electrode_max_ohm = INFINITY,
                          .divider_ohm = NAN,
                          .annex_ohm = NAN};
    double line_a = 0;
    for (size_t i = 0; i < states->count; i++) {
        const struct pd_star star =
            pd_star_of(c->network, c->installation, pd_load_state(states, i), alone.supply_v);
        note_state(&alone, &star, states->kind[i], limit_v);
        alone.own_v = fmax(alone.own_v, cabs(pd_star_displacement(&star, own_s)));
        line_a = fmax(line_a, most_loaded_line(&star) * nominal_v / alone.supply_v);
    }
    if (line_count(c->installation_lines) == 1) {
        alone.divider_ohm = pd_electrode_formula(nominal_v, line_a, limit_v, 1);
        alone.annex_ohm =
            pd_electrode_formula(nominal_v, line_a, limit_v, alone.supply_v / nominal_v);
        /* A power factor below 1 parts the published form from Millman's; the stricter decides. */
        alone.electrode_max_ohm = fmin(alone.electrode_max_ohm, alone.annex_ohm);
    }
    return alone;
}

static void name_scenario(struct pd_route *route, const struct alone *alone, enum pd_loads loads)
{
    snprintf(route->scenario, sizeof route->scenario,
             "installation alone, PEN open, loads %s, supply %.1f V", pd_loads_names[loads],
             alone->supply_v);
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

static void read_balance(const struct pd_case *c, const struct alone *alone, struct pd_route *route)
{
    if (line_count(c->installation_lines) < 3) {
        snprintf(route->why, sizeof route->why, "The installation is not three-phase.");
        return;
    }
    route->value = alone->displacement_v;
    route->limit = c->limits.touch_v;
    route->margin = route->limit - route->value;
    route->unit = "V";
    name_scenario(route, alone, alone->displacement_loads);
    if (other_loads(c) == 0) {
        route->result = PD_DOES_NOT_MEET;
        snprintf(route->why, sizeof route->why,
                 "The installation supplies nothing but the charging point.");
        return;
    }
    switch (pd_judge(route->value, route->limit)) {
    case PD_UNKNOWN:
        route->result = PD_RESULT_UNKNOWN;
        snprintf(route->why, sizeof route->why,
                 "No load ties the neutral in any load state: its potential has no figure.");
        break;
    case PD_WITHIN:
        route->result = PD_MEETS;
        snprintf(route->why, sizeof route->why,
                 "With the PEN open the load alone, taken as impedances, keeps the main earthing "
                 "terminal within %.0f V.",
                 route->limit);
        break;
    case PD_OVER:
        route->result = PD_DOES_NOT_MEET;
        snprintf(route->why, sizeof route->why,
                 "With the PEN open the load, taken as impedances, leaves the main earthing "
                 "terminal at %.1f V.",
                 route->value);
        break;
    }
}

static void read_electrode(const struct pd_case *c, const struct alone *alone,
                           struct pd_route *route)
{
    const double needs_ohm = alone->electrode_max_ohm;
    const double has_ohm = pd_case_electrode(c, c->installation);
    route->unit = "ohm";
    route->limit = isfinite(needs_ohm) ? needs_ohm : NAN;
    if (isfinite(needs_ohm))
        name_scenario(route, alone, alone->electrode_loads);
    if (isnan(alone->displacement_v)) {
        route->result = PD_RESULT_UNKNOWN;
        snprintf(route->why, sizeof route->why,
                 "No load ties the neutral in any load state: no resistance can be worked out.");
        return;
    }
    if (isinf(has_ohm) && isinf(needs_ohm)) {
        snprintf(
            route->why, sizeof route->why,
            "No electrode on the main earthing terminal, and with these loads none is needed.");
        return;
    }
    if (isinf(has_ohm)) {
        route->result = PD_DOES_NOT_MEET;
        snprintf(route->why, sizeof route->why,
                 "No electrode on the main earthing terminal; one of at most %g ohm, in the dry "
                 "season too, would do.",
                 pd_round_down(needs_ohm));
        return;
    }
    route->value = has_ohm;
    route->margin = needs_ohm - has_ohm;
    if (isinf(needs_ohm)) {
        route->margin = NAN;
        route->result = PD_MEETS;
        snprintf(route->why, sizeof route->why,
                 "These loads keep the terminal within %.0f V whatever the electrode.",
                 c->limits.touch_v);
        return;
    }
    route->result = pd_judge(has_ohm, needs_ohm) == PD_WITHIN ? PD_MEETS
                    : pd_judge(has_ohm, needs_ohm) == PD_OVER ? PD_DOES_NOT_MEET
                                                              : PD_RESULT_UNKNOWN;
    snprintf(route->why, sizeof route->why, "Needs at most %g ohm, has %.4g ohm in the dry season.",
             pd_round_down(needs_ohm), has_ohm);
}

static void start_routes(struct pd_assessment *a)
{
    for (int i = 0; i < PD_ROUTES; i++)
        a->route[i] = (struct pd_route){.kind = (enum pd_route_kind)(i + 1),
                                        .result = PD_NOT_APPLICABLE,
                                        .value = NAN,
                                        .limit = NAN,
                                        .margin = NAN,
                                        .unit = ""};
}

static void read_route(const struct pd_case *c, const struct alone *alone, struct pd_route *route)
{
    if ((c->limits.routes & 1u << route->kind) == 0) {
        snprintf(route->why, sizeof route->why, "Limit set %s does not list this route.",
                 c->limits.set);
        return;
    }
    if (c->earthing == PD_TT && route->kind != PD_ROUTE_TT) {
        snprintf(route->why, sizeof route->why,
                 "The charging point is not earthed at the PME terminal.");
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
        pd_rule_read_device(c, line_count(c->installation_lines), route);
        return;
    case PD_ROUTE_TT:
        if (c->earthing == PD_TT)
            pd_tt_route(c, route);
        else
            snprintf(route->why, sizeof route->why,
                     "The charging point is earthed at the PME terminal.");
        return;
    }
}

static enum pd_result best_result(const struct pd_assessment *a)
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

static enum pd_result result_of(const struct pd_assessment *a, enum pd_route_kind kind)
{
    return a->route[kind - 1].result;
}

/* One device's answer stands for all: met by any, in doubt where any is, failed where any is there.
 */
static enum pd_result device_result(const struct pd_assessment *a)
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

enum pd_status pd_rule_read(const struct pd_case *c, const struct pd_load_states *states,
                            struct pd_assessment *a)
{
    start_routes(a);
    a->divider_ohm = a->annex_ohm = a->alone_v = NAN;
    if (!pd_rule_applies(c) && c->earthing != PD_TT) {
        for (int i = 0; i < PD_ROUTES; i++)
            snprintf(a->route[i].why, sizeof a->route[i].why,
                     "No PEN between the installation and the substation.");
        a->rule_result = PD_MEETS;
        a->rule = (struct pd_reading){PD_NOT_NEEDED, INFINITY, PD_NOT_NEEDED};
        return PD_OK;
    }
    const struct alone alone = worst_alone(c, states);
    for (int i = 0; i < PD_ROUTES; i++)
        read_route(c, &alone, &a->route[i]);
    a->rule_result = best_result(a);
    a->alone_v = alone.own_v;

    const bool tt = c->earthing == PD_TT;
    const double has_ohm = pd_case_electrode(c, tt ? c->charging_point : c->installation);
    const enum pd_result by_electrode = tt ? pd_tt_electrode(c) : result_of(a, PD_ROUTE_ELECTRODE);
    a->rule.electrode = answer_of(by_electrode, isfinite(has_ohm), a->rule_result);
    a->rule.electrode_max_ohm = tt                            ? a->route[PD_ROUTE_TT - 1].limit
                                : isnan(alone.displacement_v) ? NAN
                                                              : alone.electrode_max_ohm;
    a->rule.detection = answer_of(device_result(a), c->detectors.count > 0, a->rule_result);
    if (!tt) {
        a->divider_ohm = alone.divider_ohm;
        a->annex_ohm = alone.annex_ohm;
    }
    return PD_OK;
}
