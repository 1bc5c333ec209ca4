/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/rule_device.h"

#include <math.h>

/* The route that a device belongs to. */
static enum pd_route_kind route_of(const struct pd_detector *d, int lines)
{
    if (d->senses == PD_SENSE_PE)
        return PD_ROUTE_PE_DEVICE;
    if (d->senses == PD_SENSE_LINE && lines == 1)
        return PD_ROUTE_BAND_DEVICE;
    return PD_ROUTE_OTHER_DEVICE;
}

static void set(struct pd_route_answer *route, enum pd_result result, enum pd_rule_reason reason,
                double value, double limit)
{
    route->result = result;
    route->reason = reason;
    route->value = value;
    route->limit = limit;
    route->margin = limit - value;
    route->unit = isnan(limit) ? "" : "V";
}

/* The potential of PE at which every such device has acted. False, with the route filled, where
 * that is past the limit or not known. */
static bool reach_holds(const struct pd_detector *d, const struct pd_limits *limits,
                        struct pd_route_answer *route)
{
    const double share = pd_detector_share(d), reach_v = pd_detector_window(d).high / share;
    if (isnan(share) || isnan(reach_v)) {
        set(route, PD_RESULT_UNKNOWN, isnan(share) ? PD_RULE_NO_INPUT : PD_RULE_NO_THRESHOLDS, NAN,
            NAN);
        return false;
    }
    if (reach_v <= limits->touch_v)
        return true;
    set(route, PD_DOES_NOT_MEET, share > 0 ? PD_RULE_THRESHOLD_HIGH : PD_RULE_NEVER_ACTS, reach_v,
        limits->touch_v);
    return false;
}

/* Thresholds: false, with the route filled, where they fail or are not known. */
static bool thresholds_hold(const struct pd_detector *d, const struct pd_limits *limits,
                            struct pd_route_answer *route)
{
    const double low_v = d->low_v - d->tolerance_v, high_v = d->high_v + d->tolerance_v;
    if (!pd_sense_has_band(d->senses))
        return reach_holds(d, limits, route);
    if (!isfinite(low_v) || !isfinite(high_v)) {
        set(route, PD_RESULT_UNKNOWN, PD_RULE_NO_THRESHOLDS, NAN, NAN);
        return false;
    }
    if (!isfinite(limits->band_low_v) || !isfinite(limits->band_high_v)) {
        set(route, PD_RESULT_UNKNOWN, PD_RULE_NO_BAND, NAN, NAN);
        return false;
    }
    if (low_v < limits->band_low_v || high_v > limits->band_high_v) {
        const bool low = limits->band_low_v - low_v > high_v - limits->band_high_v;
        set(route, PD_DOES_NOT_MEET, PD_RULE_BAND_WIDE, low ? low_v : high_v,
            low ? limits->band_low_v : limits->band_high_v);
        if (low)
            route->margin = low_v - limits->band_low_v;
        return false;
    }
    return true;
}

static void judge_device(const struct pd_detector *d, const struct pd_limits *limits,
                         struct pd_route_answer *route)
{
    if (!thresholds_hold(d, limits, route))
        return;
    if (!d->disconnects_known || !isfinite(d->delay_s) || !isfinite(limits->time_s)) {
        set(route, PD_RESULT_UNKNOWN, PD_RULE_NO_DELAY, NAN, NAN);
        return;
    }
    if (d->disconnects != PD_CUTS_LIVE_AND_PE) {
        set(route, PD_DOES_NOT_MEET, PD_RULE_LEAVES_PE, NAN, NAN);
        return;
    }
    if (d->reset == PD_RESET_AUTOMATIC) {
        set(route, PD_DOES_NOT_MEET, PD_RULE_CLOSES_ITSELF, NAN, NAN);
        return;
    }
    const bool in_time = pd_judge(d->delay_s, limits->time_s) == PD_WITHIN;
    set(route, in_time ? PD_MEETS : PD_DOES_NOT_MEET, in_time ? PD_RULE_IN_TIME : PD_RULE_TOO_LATE,
        d->delay_s, limits->time_s);
    route->unit = "s";
}

/* How good a result is to have: the best of several devices counts. */
static int rank(enum pd_result result)
{
    static const int ranks[PD_RESULTS] = {
        [PD_MEETS] = 3, [PD_RESULT_UNKNOWN] = 2, [PD_DOES_NOT_MEET] = 1, [PD_NOT_APPLICABLE] = 0};
    return ranks[result];
}

void pd_rule_device(const struct pd_case *c, int lines, struct pd_route_answer *route)
{
    route->reason = route->kind == PD_ROUTE_BAND_DEVICE && lines != 1 ? PD_RULE_NOT_SINGLE_PHASE
                                                                      : PD_RULE_NO_DEVICE;
    for (size_t i = 0; i < c->detectors.count; i++) {
        const struct pd_detector *const d = &c->detectors.detector[i];
        if (route_of(d, lines) != route->kind)
            continue;
        struct pd_route_answer tried = *route;
        tried.detector = d;
        if (route->kind == PD_ROUTE_OTHER_DEVICE)
            set(&tried, PD_RESULT_UNKNOWN, PD_RULE_EVIDENCE, NAN, NAN);
        else
            judge_device(d, &c->limits, &tried);
        if (rank(tried.result) > rank(route->result))
            *route = tried;
    }
}
