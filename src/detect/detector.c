/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "detect/detector.h"

#include <math.h>

const char *const pd_sense_names[PD_SENSES] = {
    [PD_SENSE_LINE] = "line-neutral",
    [PD_SENSE_LINES] = "three-line-neutral",
    [PD_SENSE_PE] = "pe-earth",
    [PD_SENSE_STAR_POINT] = "star-point",
};

const char *const pd_disconnects_names[PD_DISCONNECTS] = {
    [PD_CUTS_LINES] = "lines",
    [PD_CUTS_LIVE] = "live",
    [PD_CUTS_LIVE_AND_PE] = "live-and-pe",
};

struct pd_window pd_detector_window(const struct pd_detector *d)
{
    if (d->senses == PD_SENSE_LINE || d->senses == PD_SENSE_LINES)
        return (struct pd_window){d->low_v - d->tolerance_v, d->high_v + d->tolerance_v};
    return (struct pd_window){-INFINITY, d->limit_v + d->tolerance_v};
}

/* Outside the window by this much, volts; below zero inside. NaN where anything is not known. */
static double beyond_window(const struct pd_detector *d, double voltage_v)
{
    const struct pd_window window = pd_detector_window(d);
    const double below = window.low_v - voltage_v;
    const double above = voltage_v - window.high_v;
    return isnan(below) || isnan(above) ? NAN : fmax(below, above);
}

static bool sees(double beyond_v)
{
    return beyond_v > 0;
}

struct finding {
    double beyond_v;
    double figure_v;
};

/* One line: the line it would see least of. Three lines: the one that it sees most of. */
static struct finding watch_lines(const struct pd_detector *d, const struct pd_view *view)
{
    const bool all = d->senses == PD_SENSE_LINES;
    struct finding found = {NAN, NAN};
    for (int line = PD_L1; line < PD_LINES; line++) {
        if ((view->lines & 1u << line) == 0) {
            if (all)
                return (struct finding){NAN, NAN};
            continue;
        }
        const double voltage_v = cabs(view->v[line] - view->v[PD_N]);
        const double beyond_v = beyond_window(d, voltage_v);
        if (isnan(beyond_v))
            return (struct finding){NAN, NAN};
        if (isnan(found.beyond_v) || (all ? beyond_v > found.beyond_v : beyond_v < found.beyond_v))
            found = (struct finding){beyond_v, voltage_v};
    }
    return found;
}

static struct finding watch_threshold(const struct pd_detector *d, double voltage_v)
{
    return (struct finding){beyond_window(d, voltage_v), voltage_v};
}

static struct finding watch(const struct pd_detector *d, const struct pd_view *view)
{
    const unsigned three = 1u << PD_L1 | 1u << PD_L2 | 1u << PD_L3;
    switch (d->senses) {
    case PD_SENSE_LINE:
    case PD_SENSE_LINES:
        return watch_lines(d, view);
    case PD_SENSE_PE:
        return watch_threshold(d, cabs(view->pe_v));
    case PD_SENSE_STAR_POINT:
        if (view->lines != three)
            break;
        return watch_threshold(
            d, cabs(view->v[PD_N] - (view->v[PD_L1] + view->v[PD_L2] + view->v[PD_L3]) / 3));
    }
    return (struct finding){NAN, NAN};
}

struct pd_view pd_view_scaled(const struct pd_view *view, double scale)
{
    struct pd_view scaled = *view;
    scaled.pe_v *= scale;
    for (int k = 0; k < PD_CONDUCTORS; k++)
        scaled.v[k] *= scale;
    return scaled;
}

struct pd_sight pd_detector_look(const struct pd_detector *detector, const struct pd_view *view)
{
    const struct finding found = watch(detector, view);
    struct pd_sight sight = {.kind = PD_SIGHT_UNKNOWN, .time_s = NAN, .figure_v = found.figure_v};
    if (!isfinite(found.beyond_v))
        return sight;
    sight.kind = sees(found.beyond_v) ? PD_SEES : PD_BLIND;
    if (sight.kind == PD_SEES) {
        sight.time_s = detector->delay_s;
        sight.saves_touch =
            detector->disconnects_known && detector->disconnects == PD_CUTS_LIVE_AND_PE;
    }
    return sight;
}

bool pd_sight_in_time(const struct pd_sight *sight, double time_s)
{
    return sight->kind == PD_SEES && sight->saves_touch && isfinite(sight->time_s) &&
           sight->time_s <= time_s;
}
