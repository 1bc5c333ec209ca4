/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/rule_device.h"

#include <math.h>
#include <stdio.h>

/* The route that a device belongs to. */
static enum pd_route_kind route_of(const struct pd_detector *d, int lines)
{
    if (d->senses == PD_SENSE_PE)
        return PD_ROUTE_PE_DEVICE;
    if (d->senses == PD_SENSE_LINE && lines == 1)
        return PD_ROUTE_BAND_DEVICE;
    return PD_ROUTE_OTHER_DEVICE;
}

static void set(struct pd_route *route, enum pd_result result, double value, double limit,
                double margin, const char *unit)
{
    route->result = result;
    route->value = value;
    route->limit = limit;
    route->margin = margin;
    route->unit = unit;
}

static const char *const ask_sheet = "see the maker's sheet and fill it in detectors.csv";

/* The potential of PE at which every such device has acted. False, with the route filled, where
 * that is past the limit or not known. */
static bool reach_holds(const struct pd_detector *d, const struct pd_limits *limits,
                        struct pd_route *route)
{
    const double share = pd_detector_share(d), reach_v = pd_detector_window(d).high / share;
    if (isnan(share) || isnan(reach_v)) {
        set(route, PD_RESULT_UNKNOWN, NAN, NAN, NAN, "");
        snprintf(route->why, sizeof route->why,
                 isnan(share) ? "'%s': of its input_ohm and reference_ohm one is not declared; %s."
                              : "'%s': its thresholds are not declared; %s.",
                 d->name, ask_sheet);
        return false;
    }
    if (reach_v <= limits->touch_v)
        return true;
    set(route, PD_DOES_NOT_MEET, reach_v, limits->touch_v, limits->touch_v - reach_v, "V");
    if (share > 0)
        snprintf(route->why, sizeof route->why,
                 "'%s' may not act until PE is at %.1f V, tolerance%s included; the limit is %.0f "
                 "V.",
                 d->name, reach_v, share < 1 ? " and reference electrode" : "", limits->touch_v);
    else
        snprintf(route->why, sizeof route->why,
                 "'%s' never acts: its reference electrode goes wherever PE goes (coupling 1).",
                 d->name);
    return false;
}

/* Thresholds: false, with the route filled, where they fail or are not known. */
static bool thresholds_hold(const struct pd_detector *d, const struct pd_limits *limits,
                            struct pd_route *route)
{
    const double low_v = d->low_v - d->tolerance_v, high_v = d->high_v + d->tolerance_v;
    if (!pd_sense_has_band(d->senses))
        return reach_holds(d, limits, route);
    if (!isfinite(low_v) || !isfinite(high_v)) {
        set(route, PD_RESULT_UNKNOWN, NAN, NAN, NAN, "");
        snprintf(route->why, sizeof route->why, "'%s': its thresholds are not declared; %s.",
                 d->name, ask_sheet);
        return false;
    }
    if (!isfinite(limits->band_low_v) || !isfinite(limits->band_high_v)) {
        set(route, PD_RESULT_UNKNOWN, NAN, NAN, NAN, "");
        snprintf(route->why, sizeof route->why, "Limit set %s gives no voltage band.", limits->set);
        return false;
    }
    if (low_v < limits->band_low_v || high_v > limits->band_high_v) {
        const bool low = limits->band_low_v - low_v > high_v - limits->band_high_v;
        set(route, PD_DOES_NOT_MEET, low ? low_v : high_v,
            low ? limits->band_low_v : limits->band_high_v,
            low ? low_v - limits->band_low_v : limits->band_high_v - high_v, "V");
        snprintf(route->why, sizeof route->why,
                 "'%s' may not act until %.1f V or %.1f V, tolerance included; the band is %.0f to "
                 "%.0f V.",
                 d->name, low_v, high_v, limits->band_low_v, limits->band_high_v);
        return false;
    }
    return true;
}

static void judge_device(const struct pd_detector *d, const struct pd_limits *limits,
                         struct pd_route *route)
{
    if (!thresholds_hold(d, limits, route))
        return;
    if (!d->disconnects_known || !isfinite(d->delay_s) || !isfinite(limits->time_s)) {
        set(route, PD_RESULT_UNKNOWN, NAN, NAN, NAN, "");
        snprintf(route->why, sizeof route->why,
                 "'%s': its delay or what it disconnects is not "
                 "declared; %s.",
                 d->name, ask_sheet);
        return;
    }
    if (d->disconnects != PD_CUTS_LIVE_AND_PE) {
        set(route, PD_DOES_NOT_MEET, NAN, NAN, NAN, "");
        snprintf(route->why, sizeof route->why,
                 "'%s' disconnects %s and leaves the chassis on the PEN; it must let go of live "
                 "conductors and PE.",
                 d->name, pd_disconnects_names[d->disconnects]);
        return;
    }
    if (d->reset == PD_RESET_AUTOMATIC) {
        set(route, PD_DOES_NOT_MEET, NAN, NAN, NAN, "");
        snprintf(route->why, sizeof route->why,
                 "'%s' closes again by itself, on a PEN that may still be open; it must be closed "
                 "by hand (BS 7671 722.411.4.1, from memory).",
                 d->name);
        return;
    }
    const bool in_time = pd_judge(d->delay_s, limits->time_s) == PD_WITHIN;
    set(route, in_time ? PD_MEETS : PD_DOES_NOT_MEET, d->delay_s, limits->time_s,
        limits->time_s - d->delay_s, "s");
    snprintf(route->why, sizeof route->why, "'%s' disconnects live conductors and PE in %.2g s%s.",
             d->name, d->delay_s, in_time ? "" : ", too late");
}

/* How good a result is to have: the best of several devices counts. */
static int rank(enum pd_result result)
{
    static const int ranks[PD_RESULTS] = {
        [PD_MEETS] = 3, [PD_RESULT_UNKNOWN] = 2, [PD_DOES_NOT_MEET] = 1, [PD_NOT_APPLICABLE] = 0};
    return ranks[result];
}

void pd_rule_read_device(const struct pd_case *c, int lines, struct pd_route *route)
{
    snprintf(route->why, sizeof route->why, "No such device is declared.");
    if (route->kind == PD_ROUTE_BAND_DEVICE && lines != 1)
        snprintf(route->why, sizeof route->why, "The installation is not single-phase.");
    for (size_t i = 0; i < c->detectors.count; i++) {
        const struct pd_detector *const d = &c->detectors.detector[i];
        if (route_of(d, lines) != route->kind)
            continue;
        struct pd_route tried = *route;
        if (route->kind == PD_ROUTE_OTHER_DEVICE) {
            set(&tried, PD_RESULT_UNKNOWN, NAN, NAN, NAN, "");
            snprintf(tried.why, sizeof tried.why,
                     "'%s': the rule leaves it to evidence that the device is no less safe than "
                     "routes 1 to 4; the network's reading shows what it sees here.",
                     d->name);
        } else {
            judge_device(d, &c->limits, &tried);
        }
        if (rank(tried.result) > rank(route->result))
            *route = tried;
    }
}
