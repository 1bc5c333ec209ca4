/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "report/blind.h"
#include "report/figure.h"
#include "report/plain.h"
#include "report/scenario.h"
#include "study/verdict.h"

const char *const pd_blind_hull_note =
    "The figures hold for a stiff supply and loads that are resistances, with any electrode: these "
    "keep the neutral within the shape that the EMFs and earth span. Loads that are not "
    "resistances "
    "(motors, inverters, chargers) can take it outside. It is the plane of an open PEN: line "
    "and PEN changed over, which a device on that one line does not see, is not in it. A case's "
    "own "
    "scenarios are solved with its "
    "own loads and cables, and are shown wherever they lie.";

const char *const pd_blind_share_note =
    "Shares are of the plane (or of its line), not of the time: they say how much room there is to "
    "be missed in, not how likely that is.";

const char *const pd_blind_alone_note = "Each detector is taken by itself, as if it let go of "
                                        "everything that it sees; what all of them "
                                        "together leave is what assess says.";

const char *pd_blind_kind_name(enum pd_region_kind kind)
{
    static const char *const names[] = {[PD_REGION_KNOWN] = "known",
                                        [PD_REGION_UNKNOWN] = "not determined",
                                        [PD_REGION_ELSEWHERE] = "not in this plane"};
    return names[kind];
}

const char *pd_blind_title(const struct pd_blind *blind)
{
    return blind->study_case != NULL ? blind->study_case->title : "A detector by itself, no case";
}

double pd_blind_angle_deg(double complex displacement_v)
{
    return cabs(displacement_v) > 1e-9 ? carg(displacement_v) * 180 / M_PI : 0;
}

bool pd_blind_shows(const struct pd_blind_device *device, const struct pd_scenario *scenario)
{
    return pd_scenario_sure(scenario) && pd_fault_judged(scenario->fault) &&
           fabs(scenario->supply_v / device->view[PD_VIEW_DRAWN].supply_v - 1) < 0.005;
}

static const char *sense_words(enum pd_sense sense)
{
    switch (sense) {
    case PD_SENSE_LINE:
        return "one line to neutral";
    case PD_SENSE_LINES:
        return "three lines to neutral";
    case PD_SENSE_PE:
        return "protective conductor to earth";
    case PD_SENSE_STAR_POINT:
        return "neutral to the mean of the lines";
    default:
        return (size_t)sense < PD_SENSES ? pd_sense_names[sense] : "-";
    }
}

const char *pd_blind_sense_stands(enum pd_sense sense)
{
    switch (sense) {
    case PD_SENSE_LINE:
        return "unseen is a ring about that line's EMF. A neutral that is drawn sideways, towards "
               "another line, keeps its distance from this one: no threshold that leaves a healthy "
               "supply alone can see it.";
    case PD_SENSE_LINES:
        return "unseen is only where the rings about all three EMFs overlap: a small patch about "
               "earth.";
    case PD_SENSE_PE:
        return "unseen is a disc about earth, as wide as the threshold: it measures the "
               "displacement "
               "itself. Its reference electrode must stand clear of other electrodes.";
    case PD_SENSE_STAR_POINT:
        return "unseen is a disc, as wide as the threshold, about the mean of the three EMFs: "
               "earth "
               "while the supply is balanced.";
    default:
        return "the plane of neutral displacement says nothing about it, for good or ill: what it "
               "senses is no voltage of this plane. Look at the scenarios.";
    }
}

struct pd_blind_words pd_blind_watches(const struct pd_detector *d)
{
    const struct pd_window window = pd_detector_window(d);
    const char *const senses = sense_words(d->senses);
    struct pd_blind_words words;
    if (isnan(window.low_v) || isnan(window.high_v))
        snprintf(words.text, sizeof words.text, "%s, threshold not declared", senses);
    else if (isfinite(window.low_v))
        snprintf(words.text, sizeof words.text, "%s, sure to act outside %s to %s V", senses,
                 pd_figure_v(window.low_v).text, pd_figure_v(window.high_v).text);
    else
        snprintf(words.text, sizeof words.text, "%s, sure to act over %s V", senses,
                 pd_figure_v(window.high_v).text);
    return words;
}

static struct pd_blind_words not_known(const struct pd_blind_device *device)
{
    struct pd_blind_words words;
    if (device->worst.kind == PD_REGION_ELSEWHERE)
        snprintf(words.text, sizeof words.text,
                 "'%.60s' senses %s: the plane of neutral displacement says nothing about it.",
                 device->detector->name, sense_words(device->detector->senses));
    else
        snprintf(words.text, sizeof words.text,
                 "What '%.60s' is blind to is not determined: its thresholds are not declared, or "
                 "the lines that it needs are not at its node.",
                 device->detector->name);
    return words;
}

/* The lowest supply voltage looked at that the device takes for a fault; NaN where there is none.
 */
static double trips_at(const struct pd_blind_device *device)
{
    double trips_v = NAN;
    for (size_t i = 0; i < PD_BLIND_VIEWS; i++)
        if (device->view[i].sees_health)
            trips_v = fmin(device->view[i].supply_v, trips_v); /* NaN gives way */
    return trips_v;
}

/* What this case has beyond the geometry: it must not read as if there were no more. */
static struct pd_blind_words beyond(const struct pd_blind_device *device)
{
    struct pd_blind_words words = {""};
    const double worst_v =
        device->judged_count > 0 ? device->assessment->scenario[device->unseen[0]].touch_v : 0;
    if (device->unknown_count > 0)
        snprintf(words.text, sizeof words.text, " In %zu scenarios of this case: not determined.",
                 device->unknown_count);
    else if (!(worst_v <= device->worst.worst_v))
        snprintf(words.text, sizeof words.text, " In this case, outside that shape, up to %s V.",
                 pd_figure_v(worst_v).text);
    else if (device->judged_count == 0 && device->unseen_count > 0) {
        const struct pd_scenario *const s = &device->assessment->scenario[device->unseen[0]];
        snprintf(words.text, sizeof words.text, " Of other faults it misses '%s', at %s V.",
                 pd_fault_names[s->fault], pd_figure_v(s->touch_v).text);
    }
    return words;
}

struct pd_blind_words pd_blind_headline(const struct pd_blind *blind,
                                        const struct pd_blind_device *device)
{
    static const char *const stands[] = {[PD_WITHIN] = ", within the limit",
                                         [PD_OVER] = ", over the limit",
                                         [PD_UNKNOWN] = "; no limit to hold it against"};
    if (device->worst.kind != PD_REGION_KNOWN)
        return not_known(device);
    const enum pd_judgement judgement = pd_judge(device->worst.worst_v, blind->touch_v);
    struct pd_blind_words words;
    char limit[48] = "", three[96] = "", trips[96] = "";
    if (judgement != PD_UNKNOWN)
        snprintf(limit, sizeof limit, " of %s V", pd_figure_v(blind->touch_v).text);
    if (device->three.kind == PD_REGION_KNOWN)
        snprintf(three, sizeof three, " Three lines watched alike would leave %s V.",
                 pd_figure_v(device->three.worst_v).text);
    if (isfinite(trips_at(device)))
        snprintf(trips, sizeof trips, " It lets go of a healthy supply of %s V.",
                 pd_figure_v(trips_at(device)).text);
    snprintf(words.text, sizeof words.text, "'%.60s' is blind up to %s V to earth%s%s.%.100s%s%s",
             device->detector->name, pd_figure_v(device->worst.worst_v).text, stands[judgement],
             limit, beyond(device).text, three, trips);
    return words;
}

struct pd_blind_words pd_blind_here(const struct pd_blind_device *device)
{
    struct pd_blind_words words = {""};
    const struct pd_assessment *const a = device->assessment;
    if (a == NULL || a->scenario_count == 0)
        return words;
    if (device->over_count == 0 || device->judged_count == 0) {
        snprintf(words.text, sizeof words.text,
                 device->over_count == 0
                     ? "No scenario of this case is over the limit."
                     : "Of this case's %zu scenarios over the limit it sees all.",
                 device->over_count);
        return words;
    }
    const struct pd_scenario *const s = &a->scenario[device->unseen[0]];
    char where[200];
    pd_scenario_describe(a, s, where, sizeof where);
    snprintf(words.text, sizeof words.text,
             "Of this case's %zu scenarios over the limit it does not see %zu: up to %s V on the "
             "chassis %s.",
             device->over_count, device->judged_count, pd_figure_v(s->touch_v).text, where);
    return words;
}
