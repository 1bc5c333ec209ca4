/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "detect/detector.h"

#include <math.h>

const char *const pd_sense_names[PD_SENSES] = {
    [PD_SENSE_LINE] = "line-neutral",     [PD_SENSE_LINES] = "three-line-neutral",
    [PD_SENSE_PE] = "pe-earth",           [PD_SENSE_STAR_POINT] = "star-point",
    [PD_SENSE_PE_CURRENT] = "pe-current",
};

const char *const pd_disconnects_names[PD_DISCONNECTS] = {
    [PD_CUTS_LINES] = "lines",
    [PD_CUTS_LIVE] = "live",
    [PD_CUTS_LIVE_AND_PE] = "live-and-pe",
};

const char *const pd_reset_names[PD_RESETS] = {"", "manual", "automatic"};

const char *pd_sense_unit(enum pd_sense sense)
{
    return sense == PD_SENSE_PE_CURRENT ? "A" : "V";
}

bool pd_sense_has_band(enum pd_sense sense)
{
    return sense == PD_SENSE_LINE || sense == PD_SENSE_LINES;
}

double pd_detector_share(const struct pd_detector *d)
{
    const double apart = isnan(d->coupling) ? 1 : 1 - d->coupling;
    if (d->senses != PD_SENSE_PE)
        return 1;
    if (d->reference_ohm == 0 || (isnan(d->reference_ohm) && isnan(d->input_ohm)))
        return apart;
    return apart * d->input_ohm / (d->input_ohm + d->reference_ohm);
}

/* The two ends of a threshold's tolerance: beyond the far one every device acts, beyond the near
 * one some device may. The figure that is beyond by most, or by least, is the one that counts. */
enum end { NEAR, FAR };

static struct pd_window window_of(const struct pd_detector *d, enum end end)
{
    const double volts = end == FAR ? d->tolerance_v : -d->tolerance_v;
    const double amps = end == FAR ? d->tolerance_a : -d->tolerance_a;
    if (pd_sense_has_band(d->senses))
        return (struct pd_window){d->low_v - volts, d->high_v + volts};
    if (d->senses == PD_SENSE_PE_CURRENT)
        return (struct pd_window){-INFINITY, d->limit_a + amps};
    return (struct pd_window){-INFINITY, d->limit_v + volts};
}

struct pd_window pd_detector_window(const struct pd_detector *d)
{
    return window_of(d, FAR);
}

struct finding {
    double beyond; /* the threshold, by this much; below zero inside. NaN: not known */
    double figure;
};
static const struct finding nothing = {NAN, NAN};

/* NaN where either end of the window is not known. */
static struct finding watch_figure(const struct pd_detector *d, enum end end, double figure)
{
    const struct pd_window window = window_of(d, end);
    const double below = window.low - figure, above = figure - window.high;
    return (struct finding){isnan(below) || isnan(above) ? NAN : fmax(below, above), figure};
}

/* One line: the line that it would see least of, or for the near end most of. Three lines: the one
 * that it sees most of. */
static struct finding watch_lines(const struct pd_detector *d, const struct pd_view *view,
                                  enum end end)
{
    const bool all = d->senses == PD_SENSE_LINES, most = all || end == NEAR;
    struct finding found = nothing;
    for (int line = PD_L1; line < PD_LINES; line++) {
        const bool there = (view->lines & 1u << line) != 0;
        if (!there && all)
            return nothing;
        if (!there)
            continue;
        const struct finding one = watch_figure(d, end, cabs(view->v[line] - view->v[PD_N]));
        if (isnan(one.beyond))
            return nothing;
        if (isnan(found.beyond) || (most ? one.beyond > found.beyond : one.beyond < found.beyond))
            found = one;
    }
    return found;
}

static struct finding watch(const struct pd_detector *d, const struct pd_view *view, enum end end)
{
    const unsigned three = 1u << PD_L1 | 1u << PD_L2 | 1u << PD_L3;
    switch (d->senses) {
    case PD_SENSE_LINE:
    case PD_SENSE_LINES:
        return watch_lines(d, view, end);
    case PD_SENSE_PE:
        return watch_figure(d, end, cabs(view->pe_v) * pd_detector_share(d));
    case PD_SENSE_PE_CURRENT:
        return watch_figure(d, end, cabs(view->electrode_a));
    case PD_SENSE_STAR_POINT:
        if (view->lines != three)
            break;
        return watch_figure(
            d, end, cabs(view->v[PD_N] - (view->v[PD_L1] + view->v[PD_L2] + view->v[PD_L3]) / 3));
    }
    return nothing;
}

struct pd_view pd_view_scaled(const struct pd_view *view, double scale)
{
    struct pd_view scaled = *view;
    scaled.pe_v *= scale;
    scaled.electrode_a *= scale;
    for (int k = 0; k < PD_CONDUCTORS; k++)
        scaled.v[k] *= scale;
    return scaled;
}

struct pd_view pd_view_between(const struct pd_view *a, const struct pd_view *b,
                               double complex share)
{
    struct pd_view between = *a;
    between.pe_v += share * (b->pe_v - a->pe_v);
    between.electrode_a += share * (b->electrode_a - a->electrode_a);
    for (int k = 0; k < PD_CONDUCTORS; k++)
        between.v[k] += share * (b->v[k] - a->v[k]);
    return between;
}

double pd_detector_beyond(const struct pd_detector *d, const struct pd_view *view)
{
    return watch(d, view, FAR).beyond;
}

struct pd_sight pd_detector_look(const struct pd_detector *d, const struct pd_view *view)
{
    const struct finding far = watch(d, view, FAR), near = watch(d, view, NEAR);
    struct pd_sight sight = {.kind = PD_SIGHT_UNKNOWN, .time_s = NAN, .figure = far.figure};
    if (!isfinite(far.beyond) || !isfinite(near.beyond))
        return sight;
    sight.kind = far.beyond > 0 ? PD_SEES : PD_BLIND;
    sight.may_trip = near.beyond > 0;
    if (sight.kind == PD_SEES) {
        sight.time_s = d->delay_s;
        sight.saves_touch = d->disconnects_known && d->disconnects == PD_CUTS_LIVE_AND_PE;
        sight.recloses = d->reset == PD_RESET_AUTOMATIC;
    }
    return sight;
}

static bool lets_go_in_time(const struct pd_sight *sight, double time_s)
{
    return sight->kind == PD_SEES && sight->saves_touch && isfinite(sight->time_s) &&
           sight->time_s <= time_s;
}

bool pd_sight_in_time(const struct pd_sight *sight, double time_s)
{
    return lets_go_in_time(sight, time_s) && !sight->recloses;
}

bool pd_sight_in_time_until_reset(const struct pd_sight *sight, double time_s)
{
    return lets_go_in_time(sight, time_s) && sight->recloses;
}
