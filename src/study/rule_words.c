/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>

#include "study/rule.h"
#include "study/rule_tt.h"
#include "table/figure.h"

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

double pd_round_down(double ohm)
{
    const double steps = ohm < 10 ? 100 : ohm < 100 ? 10 : 1;
    return isfinite(ohm) ? floor(ohm * steps) / steps : ohm;
}

static const char *const ask_sheet = "see the maker's sheet and fill it in detectors.csv";

/* What a route rests on besides a figure: what it is not. */
static void say_not(const struct pd_case *c, struct pd_route *route, enum pd_rule_reason reason)
{
    static const char *const words[PD_RULE_REASONS] = {
        [PD_RULE_NO_PEN] = "No PEN between the installation and the substation.",
        [PD_RULE_NOT_ON_PME] = "The charging point is not earthed at the PME terminal.",
        [PD_RULE_ON_PME] = "The charging point is earthed at the PME terminal.",
        [PD_RULE_NOT_THREE_PHASE] = "The installation is not three-phase.",
        [PD_RULE_ONLY_POINT] = "The installation supplies nothing but the charging point.",
        [PD_RULE_NONE_NEEDED] =
            "No electrode on the main earthing terminal, and with these loads none is needed.",
        [PD_RULE_NO_DEVICE] = "No such device is declared.",
        [PD_RULE_NOT_SINGLE_PHASE] = "The installation is not single-phase.",
        [PD_RULE_TT_NO_RCD] =
            "The RCD's rating is not known: add a row rcd_rating,30,mA to case.csv.",
    };
    if (reason == PD_RULE_NOT_LISTED)
        snprintf(route->why, sizeof route->why, "Limit set %s does not list this route.",
                 c->limits.set);
    else if (reason == PD_RULE_TT_NO_ELECTRODE)
        snprintf(route->why, sizeof route->why,
                 "The case has no electrode at '%s': a TT charging point needs one, measured.",
                 c->network->node[c->charging_point].name);
    else if (words[reason] != NULL)
        snprintf(route->why, sizeof route->why, "%s", words[reason]);
}

static void say_electrode(struct pd_route *route)
{
    const struct pd_figure_pair pair =
        pd_figure_pair(route->value, route->limit, route->margin, "ohm");
    snprintf(route->why, sizeof route->why, "Needs at most %s ohm, has %s ohm in the dry season.",
             pair.limit.text, pair.value.text);
}

static void say_loads(const struct pd_case *c, struct pd_route *route, enum pd_rule_reason reason)
{
    char *const why = route->why;
    const size_t size = sizeof route->why;
    if (reason == PD_RULE_NOTHING_TIES && route->kind == PD_ROUTE_BALANCE)
        snprintf(why, size,
                 "No load ties the neutral in any load state: its potential has no figure.");
    else if (reason == PD_RULE_NOTHING_TIES)
        snprintf(why, size,
                 "No load ties the neutral in any load state: no resistance can be worked out.");
    else if (reason == PD_RULE_BALANCED)
        snprintf(why, size,
                 "With the PEN open the load alone, taken as impedances, keeps the main earthing "
                 "terminal within %s V.",
                 pd_figure_v(route->limit).text);
    else if (reason == PD_RULE_UNBALANCED)
        snprintf(why, size,
                 "With the PEN open the load, taken as impedances, leaves the main earthing "
                 "terminal at %.1f V.",
                 route->value);
    else if (reason == PD_RULE_NO_ELECTRODE)
        snprintf(why, size,
                 "No electrode on the main earthing terminal; one of at most %s ohm, in the dry "
                 "season too, would do.",
                 pd_figure_ohm_most(route->limit).text);
    else if (reason == PD_RULE_ANY_ELECTRODE)
        snprintf(why, size, "These loads keep the terminal within %s V whatever the electrode.",
                 pd_figure_v(c->limits.touch_v).text);
    else if (reason == PD_RULE_ELECTRODE)
        say_electrode(route);
}

static void say_device(const struct pd_case *c, struct pd_route *route,
                       const struct pd_route_answer *answer)
{
    const struct pd_detector *const d = answer->detector;
    const struct pd_limits *const limits = &c->limits;
    char *const why = route->why;
    const size_t size = sizeof route->why;
    if (d == NULL)
        return;
    if (answer->reason == PD_RULE_NO_THRESHOLDS)
        snprintf(why, size, "'%s': its thresholds are not declared; %s.", d->name, ask_sheet);
    else if (answer->reason == PD_RULE_NO_INPUT)
        snprintf(why, size, "'%s': of its input_ohm and reference_ohm one is not declared; %s.",
                 d->name, ask_sheet);
    else if (answer->reason == PD_RULE_NO_BAND)
        snprintf(why, size, "Limit set %s gives no voltage band.", limits->set);
    else if (answer->reason == PD_RULE_BAND_WIDE)
        snprintf(why, size,
                 "'%s' may not act until %.1f V or %.1f V, tolerance included; the band is %.1f to "
                 "%.1f V.",
                 d->name, d->low_v - d->tolerance_v, d->high_v + d->tolerance_v, limits->band_low_v,
                 limits->band_high_v);
    else if (answer->reason == PD_RULE_THRESHOLD_HIGH)
        snprintf(why, size,
                 "'%s' may not act until PE is at %.1f V, tolerance%s included; the limit is %.1f "
                 "V.",
                 d->name, answer->value, pd_detector_share(d) < 1 ? " and reference electrode" : "",
                 limits->touch_v);
    else if (answer->reason == PD_RULE_NEVER_ACTS)
        snprintf(why, size,
                 "'%s' never acts: its reference electrode goes wherever PE goes (coupling 1).",
                 d->name);
    else if (answer->reason == PD_RULE_NO_DELAY)
        snprintf(why, size, "'%s': its delay or what it disconnects is not declared; %s.", d->name,
                 ask_sheet);
    else if (answer->reason == PD_RULE_LEAVES_PE)
        snprintf(why, size,
                 "'%s' disconnects %s and leaves the chassis on the PEN; it must let go of live "
                 "conductors and PE.",
                 d->name, pd_disconnects_names[d->disconnects]);
    else if (answer->reason == PD_RULE_CLOSES_ITSELF)
        snprintf(why, size,
                 "'%s' closes again by itself, on a PEN that may still be open; it must be closed "
                 "by hand (BS 7671 722.411.4.1, from memory).",
                 d->name);
    else if (answer->reason == PD_RULE_IN_TIME || answer->reason == PD_RULE_TOO_LATE)
        snprintf(why, size, "'%s' disconnects live conductors and PE in %s s%s.", d->name,
                 pd_figure_s(d->delay_s).text,
                 answer->reason == PD_RULE_IN_TIME ? "" : ", too late");
    else if (answer->reason == PD_RULE_EVIDENCE)
        snprintf(why, size,
                 "'%s': the rule leaves it to evidence that the device is no less safe than "
                 "routes 1 to 4; the network's reading shows what it sees here.",
                 d->name);
}

static void say_tt(const struct pd_case *c, struct pd_route *route, enum pd_rule_reason reason)
{
    if (reason == PD_RULE_TT)
        snprintf(route->why, sizeof route->why,
                 "R_A at most 50 V / %.0f mA = %.0f ohm, and at most %.0f ohm to be stable. Keep "
                 "the vehicle and its electrode out of reach and influence of PME metalwork.",
                 1000 * c->rcd_a, pd_tt_touch_ohm(c->rcd_a), pd_tt_stable_ohm());
    else if (reason == PD_RULE_REACH_UNKNOWN)
        snprintf(
            route->why, sizeof route->why,
            "R_A is good, but how far metalwork on the PME terminal is from the charging point "
            "and any vehicle at it is not known: add a row reach,<distance>,m. Within %g m "
            "both can be touched at once (common practice, from memory).",
            pd_tt_reach_m);
    else if (reason == PD_RULE_REACH_NEAR)
        snprintf(
            route->why, sizeof route->why,
            "R_A is good, but metalwork on the PME terminal is %g m from the charging point or "
            "a vehicle at it. Within %g m both can be touched at once (common practice, from "
            "memory), and it drifts with the PEN: move one of them.",
            c->reach_m, pd_tt_reach_m);
}

static void say(const struct pd_case *c, const struct pd_rule_answer *answer,
                const struct pd_route_answer *from, struct pd_route *route)
{
    *route = (struct pd_route){.kind = from->kind,
                               .result = from->result,
                               .value = from->value,
                               .limit = from->limit,
                               .margin = from->margin,
                               .unit = from->unit};
    if (from->by_loads)
        snprintf(route->scenario, sizeof route->scenario,
                 "installation alone, PEN open, loads %s, supply %.1f V",
                 pd_loads_names[from->loads], answer->alone.supply_v);
    say_not(c, route, from->reason);
    say_loads(c, route, from->reason);
    say_device(c, route, from);
    say_tt(c, route, from->reason);
}

enum pd_status pd_rule_read(const struct pd_case *c, const struct pd_load_states *states,
                            struct pd_assessment *a)
{
    struct pd_rule_answer answer;
    pd_rule_decide(c, states, &answer);
    for (int i = 0; i < PD_ROUTES; i++)
        say(c, &answer, &answer.route[i], &a->route[i]);
    a->rule_result = answer.result;
    a->rule = answer.reading;
    a->alone_v = answer.alone.own_v;
    a->divider_ohm = c->earthing == PD_TT ? NAN : answer.alone.divider_ohm;
    a->annex_ohm = c->earthing == PD_TT ? NAN : answer.alone.annex_ohm;
    return PD_OK;
}
