/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdarg.h>
#include <string.h>

#include "report/aftermath.h"
#include "report/figure.h"
#include "report/person.h"
#include "report/plain.h"
#include "report/thresholds.h"

const char *const pd_aftermath_note =
    "Between two events everything is taken to stand still: transients, and what electronics do in "
    "the first tenths of a second, are not in it. Appliances that an overvoltage destroys, fuses "
    "and people are not in it either. Times of devices are the longest that are declared or "
    "published: one may act sooner, and what follows may then be in another order. A zone is that "
    "of the interval's current for all the time since the break that there was one.";

const struct pd_interval *pd_aftermath_last(const struct pd_aftermath *a)
{
    for (size_t i = a->interval_count; i > 0; i--)
        if (a->interval[i - 1].known)
            return &a->interval[i - 1];
    return NULL;
}

static void add(struct pd_aftermath_words *words, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

static void add(struct pd_aftermath_words *words, const char *format, ...)
{
    const size_t used = strlen(words->text);
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(words->text + used, sizeof words->text - used, format, arguments);
    va_end(arguments);
}

static double highest_chassis(const struct pd_aftermath *a)
{
    double most_v = 0;
    for (size_t i = 0; i < a->interval_count; i++)
        if (a->interval[i].known)
            most_v = fmax(most_v, a->interval[i].chassis_v);
    return most_v;
}

/* What is left at the end of a sequence that has one. */
static void say_end(struct pd_aftermath_words *words, const struct pd_aftermath *a)
{
    const struct pd_interval *const last = pd_aftermath_last(a);
    const double limit_v = a->study_case->limits.touch_v, time_s = a->study_case->limits.time_s;
    if (last->touch == PD_UNKNOWN)
        add(words, "The chassis ends at %s V; the limit set has no limit to hold it against.",
            pd_figure_v(last->chassis_v).text);
    else if (last->touch == PD_OVER)
        add(words,
            "The chassis is over the limit of %s V and stays there: up to %s V, %s V at the end. "
            "Nothing takes it off.",
            pd_figure_v(limit_v).text, pd_figure_v(highest_chassis(a)).text,
            pd_figure_v(last->chassis_v).text);
    else if (a->over_s > 0)
        add(words, "The chassis is over the limit of %s V for %s s, up to %s V, %s; then at %s V.",
            pd_figure_v(limit_v).text, pd_figure_s(a->over_s).text,
            pd_figure_v(highest_chassis(a)).text,
            pd_judge(a->last_over_s, time_s) == PD_WITHIN ? "within the time of the limit set"
            : isfinite(time_s)                            ? "longer than the limit set allows"
                                                          : "and the limit set has no time",
            pd_figure_v(last->chassis_v).text);
    else
        add(words, "The chassis stays within the limit of %s V: at most %s V.",
            pd_figure_v(limit_v).text, pd_figure_v(highest_chassis(a)).text);
    if (last->touch == PD_WITHIN && pd_judge(last->reach_v, limit_v) != PD_WITHIN)
        add(words,
            " But the rest of the metalwork is at %s V to it: who reaches both bridges that.",
            pd_figure_v(last->reach_v).text);
    if (a->held != PD_NONE)
        add(words,
            " Device '%s' is kept open only by what it senses: with another load it closes again "
            "by itself, and the chassis is live.",
            pd_plain_short(a->study_case->detectors.detector[a->held].name, 30).text);
    if (a->ending == PD_ENDING_HORIZON)
        add(words, " Something is still due after the %s s that were followed.",
            pd_figure_s(a->horizon_s).text);
}

struct pd_aftermath_words pd_aftermath_headline(const struct pd_aftermath *a)
{
    struct pd_aftermath_words words = {""};
    const struct pd_interval *const last = pd_aftermath_last(a);
    if (a->interval_count == 0) {
        add(&words, "Not determined: %s.", a->why);
        return words;
    }
    const double from_s = a->interval[a->interval_count - 1].start_s;
    switch (a->ending) {
    case PD_ENDING_UNKNOWN:
        add(&words, "Not determined from here: from %s s on %s.", pd_figure_s(from_s).text, a->why);
        if (last != NULL)
            add(&words, " Until then the chassis is at up to %s V.",
                pd_figure_v(highest_chassis(a)).text);
        return words;
    case PD_ENDING_OSCILLATES:
        add(&words,
            "It does not come to rest: from %s s on the same comes again every %s s, with the "
            "chassis at up to %s V; the limit is %s V.",
            pd_figure_s(a->repeats_from_s).text, pd_figure_s(a->period_s).text,
            pd_figure_v(highest_chassis(a)).text, pd_figure_v(a->study_case->limits.touch_v).text);
        return words;
    case PD_ENDING_BOUND:
        add(&words,
            "Not followed to an end: something happened at %zu instants in %s s, and no end of it "
            "is in sight. The chassis is at up to %s V.",
            a->interval_count - 1, pd_figure_s(from_s).text, pd_figure_v(highest_chassis(a)).text);
        return words;
    case PD_ENDING_SETTLED:
    case PD_ENDING_HORIZON:
        break;
    }
    say_end(&words, a);
    if (a->unsolved > 0)
        add(&words, " Other loads or breaks are not determined, and may be worse.");
    return words;
}

struct pd_aftermath_words pd_aftermath_metalwork(const struct pd_aftermath *a)
{
    struct pd_aftermath_words words = {""};
    const struct pd_interval *const last = pd_aftermath_last(a);
    double most_v = 0;
    if (last == NULL)
        return words;
    for (size_t i = 0; i < a->interval_count; i++)
        if (a->interval[i].known)
            most_v = fmax(most_v, a->interval[i].metalwork_v);
    add(&words, "The rest of the installation's metalwork: up to %s V; ", pd_figure_v(most_v).text);
    if (last->metalwork_on_pe)
        add(&words, "at the end %s V, still bonded to the PEN beyond the break.",
            pd_figure_v(last->metalwork_v).text);
    else
        add(&words, "at the end off the PEN.");
    return words;
}

static const char *house_name(const struct pd_aftermath *a, size_t house)
{
    return house == PD_NONE ? "-" : a->study_case->network->node[a->house[house].node].name;
}

struct pd_aftermath_words pd_aftermath_neighbours(const struct pd_aftermath *a)
{
    struct pd_aftermath_words words = {""};
    const struct pd_interval *high = NULL, *low = NULL;
    size_t over = 0, far = 0;
    for (size_t i = 0; i < a->interval_count; i++) {
        const struct pd_interval *const at = &a->interval[i];
        if (!at->known || at->highest == PD_NONE)
            continue;
        over = at->over_count > over ? at->over_count : over;
        far = at->far_count > far ? at->far_count : far;
        high = high == NULL || at->highest_v > high->highest_v ? at : high;
        low = low == NULL || at->lowest_v < low->lowest_v ? at : low;
    }
    if (high == NULL)
        return words;
    add(&words,
        "Neighbours' appliances: up to %s V line to neutral ('%s'), down to %s V ('%s'); at once "
        "up to %zu lines over %s V, %zu over %s V.",
        pd_figure_v(high->highest_v).text, pd_plain_short(house_name(a, high->highest), 30).text,
        pd_figure_v(low->lowest_v).text, pd_plain_short(house_name(a, low->lowest), 30).text, over,
        pd_figure_v(a->over_v).text, far, pd_figure_v(a->far_v).text);
    return words;
}

struct pd_aftermath_words pd_aftermath_body(const struct pd_aftermath *a)
{
    struct pd_aftermath_words words = {""};
    const struct pd_interval *worst = NULL;
    for (size_t i = 0; i < a->interval_count; i++) {
        const struct pd_interval *const at = &a->interval[i];
        if (at->known && at->zone.known &&
            (worst == NULL || at->zone.most > worst->zone.most ||
             (at->zone.most == worst->zone.most && at->current.body_a > worst->current.body_a)))
            worst = at;
    }
    if (worst == NULL)
        return words;
    add(&words,
        "A person %s since the break: at the worst %s, %s mA from %s s on, after %s s of it: %s.",
        a->across ? "with the chassis in one hand and the rest of the metalwork in the other"
                  : "holding the chassis",
        pd_person_zone(&worst->zone).text, pd_figure_ma(worst->current.body_a).text,
        pd_figure_s(worst->start_s).text, pd_figure_s(worst->exposed_s).text,
        pd_zone_effect(worst->zone.most));
    return words;
}

struct pd_aftermath_words pd_aftermath_start(const struct pd_aftermath *a)
{
    struct pd_aftermath_words words = {""};
    if (!a->determined)
        return words;
    add(&words, "PEN open in section '%s', loads %s, supply %s V.",
        pd_plain_short(a->study_case->network->node[a->section].section, 40).text,
        pd_loads_names[a->loads], pd_figure_v(a->supply_v).text);
    if (a->unsolved > 0)
        add(&words,
            " %zu scenarios that it was chosen from are not determined: a worse one may be among "
            "them.",
            a->unsolved);
    return words;
}

static void say_load(struct pd_aftermath_words *words, const struct pd_aftermath *a,
                     const struct pd_event *event)
{
    const char *const name = a->study_case->network->load[event->load].name;
    const bool low = event->figure < event->threshold;
    add(words, "'%s' %s: ", pd_plain_short(name, 30).text, pd_event_names[event->kind]);
    if (event->kind == PD_EVENT_LETS_GO)
        add(words, "%s V, %s (%s %s V), for %s s", pd_figure_v(event->figure).text, event->stage,
            low ? "below" : "above", pd_figure_v(event->threshold).text,
            pd_figure_s(event->waited_s).text);
    else
        add(words, "%s V, within its window, for %s s", pd_figure_v(event->figure).text,
            pd_figure_s(event->waited_s).text);
}

static void say_detector(struct pd_aftermath_words *words, const struct pd_aftermath *a,
                         const struct pd_event *event)
{
    const struct pd_detector *const d = &a->study_case->detectors.detector[event->detector];
    if (event->kind == PD_EVENT_RECLOSES)
        add(words, "device '%s' closes again by itself after %s s",
            pd_plain_short(d->name, 30).text, pd_figure_s(event->waited_s).text);
    else
        add(words, "device '%s' disconnects %s: senses %s, beyond %s, for %s s",
            pd_plain_short(d->name, 30).text, pd_disconnects_phrase(d),
            pd_sensed_phrase(d, event->figure).text, pd_threshold_phrase(d).text,
            pd_figure_s(event->waited_s).text);
}

struct pd_aftermath_words pd_aftermath_event(const struct pd_aftermath *a,
                                             const struct pd_event *event)
{
    struct pd_aftermath_words words = {""};
    if (event->load != PD_NONE)
        say_load(&words, a, event);
    else if (event->detector != PD_NONE)
        say_detector(&words, a, event);
    else
        add(&words, "the PEN opens");
    return words;
}
