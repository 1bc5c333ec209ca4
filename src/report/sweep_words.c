/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "report/figure.h"
#include "report/plain.h"
#include "report/sweep.h"

const char *const pd_sweep_judgements[] = {
    [PD_WITHIN] = "within", [PD_OVER] = "over", [PD_UNKNOWN] = "not determined"};

size_t pd_sweep_values(const struct pd_sweep *sweep)
{
    const size_t count = sweep->settings.vary_count;
    return count > 0 ? count : (size_t)PD_LINES;
}

struct pd_sweep_name pd_sweep_value_name(const struct pd_sweep *sweep, size_t i)
{
    struct pd_sweep_name words;
    if (sweep->settings.vary_count == 0) {
        snprintf(words.text, sizeof words.text, "L%zu", i + 1);
        return words;
    }
    const struct pd_address *const at = &sweep->settings.vary[i].at;
    if (strcmp(at->table, "case.csv") == 0 || sweep->settings.met_electrode)
        snprintf(words.text, sizeof words.text, "%.150s", at->row);
    else
        snprintf(words.text, sizeof words.text, "%.150s %s", pd_plain(at->row).text, at->column);
    return words;
}

const char *pd_sweep_value_unit(const struct pd_sweep *sweep, size_t i)
{
    return sweep->settings.vary_count > 0 ? pd_vary_unit(&sweep->settings.vary[i]) : "kW";
}

const char *pd_sweep_section(const struct pd_sweep *sweep, size_t section)
{
    return section != PD_NONE ? sweep->study_case->network->node[section].section : "-";
}

/* To so many digits: to the nearest (way 0), down (below 0) or up. */
static double rounded(double value, int digits, int way)
{
    if (value == 0 || !isfinite(value))
        return value;
    const double unit = pow(10, floor(log10(fabs(value))) - digits + 1);
    const double parts = value / unit;
    return unit * (way < 0 ? floor(parts) : way > 0 ? ceil(parts) : round(parts));
}

static struct pd_figure number(double value, int way)
{
    struct pd_figure words;
    if (isfinite(value))
        snprintf(words.text, sizeof words.text, "%.5g", rounded(value, 5, way) + 0.0);
    else
        snprintf(words.text, sizeof words.text, "-");
    return words;
}

struct pd_figure pd_sweep_number(double value)
{
    return number(value, 0);
}

/* The value on the side that is within the limit, rounded further into it. */
static struct pd_figure crossing_at(const struct pd_sweep_crossing *crossing)
{
    const bool low = crossing->low.touch == PD_WITHIN;
    return number(low ? crossing->low.value[0] : crossing->high.value[0], low ? -1 : 1);
}

static const char *blank(const char *unit)
{
    return unit[0] != '\0' ? " " : "";
}

static void say_throughout(const struct pd_sweep *sweep, struct pd_sweep_words *words)
{
    const struct pd_vary *const vary = &sweep->settings.vary[0];
    const char *const unit = pd_vary_unit(vary);
    const char *const how = sweep->over == 0     ? "Within the limit of"
                            : sweep->within == 0 ? "Over the limit of"
                                                 : "On both sides of the limit of";
    snprintf(words->text, sizeof words->text, "%s %s V from %s to %s%s%s, at every %svalue tried.",
             how, pd_figure_v(sweep->study_case->limits.touch_v).text,
             number(fmin(vary->from, vary->to), 0).text, number(fmax(vary->from, vary->to), 0).text,
             blank(unit), unit, sweep->unknown > 0 ? "other " : "");
}

static void say_crossings(const struct pd_sweep *sweep, struct pd_sweep_words *words)
{
    const char *const unit = pd_sweep_value_unit(sweep, 0);
    const struct pd_figure limit = pd_figure_v(sweep->study_case->limits.touch_v);
    const size_t room = sizeof words->text;
    if (sweep->crossing_count == 1) {
        const struct pd_sweep_crossing *const only = &sweep->crossing[0];
        const bool low = only->low.touch == PD_WITHIN;
        snprintf(words->text, room, "%s the limit of %s V up to %s%s%s, %s it above that.",
                 low ? "Within" : "Over", limit.text, crossing_at(only).text, blank(unit), unit,
                 low ? "over" : "within");
        return;
    }
    size_t used = (size_t)snprintf(words->text, room, "Crosses the limit of %s V %zu times: at ",
                                   limit.text, sweep->crossing_count);
    for (size_t i = 0; i < sweep->crossing_count && used + 40 < room; i++)
        used += (size_t)snprintf(words->text + used, room - used, "%s%s", i > 0 ? ", " : "",
                                 crossing_at(&sweep->crossing[i]).text);
    snprintf(words->text + used, room - used, "%s%s.", blank(unit), unit);
}

static void say_points(const struct pd_sweep *sweep, struct pd_sweep_words *words)
{
    const bool lines = sweep->settings.vary_count == 0;
    const struct pd_figure limit = pd_figure_v(sweep->study_case->limits.touch_v);
    if (lines)
        snprintf(words->text, sizeof words->text,
                 "%s kW on three lines: over the limit of %s V at %zu of %zu splits, within it at "
                 "%zu.",
                 number(sweep->settings.total_kw, 0).text, limit.text, sweep->over, sweep->count,
                 sweep->within);
    else
        snprintf(words->text, sizeof words->text,
                 "Over the limit of %s V at %zu of %zu points, within it at %zu.", limit.text,
                 sweep->over, sweep->count, sweep->within);
}

struct pd_sweep_words pd_sweep_headline(const struct pd_sweep *sweep)
{
    struct pd_sweep_words words = {"Not determined: the case is incomplete."};
    struct pd_sweep_words unknown;
    if (sweep->missing)
        return words;
    if (sweep->settings.vary_count != 1)
        say_points(sweep, &words);
    else if (sweep->crossing_count > 0)
        say_crossings(sweep, &words);
    else
        say_throughout(sweep, &words);
    if (sweep->unknown == 0)
        return words;
    if (sweep->unknown == sweep->count)
        snprintf(unknown.text, sizeof unknown.text, "Not determined at any point.");
    else
        snprintf(unknown.text, sizeof unknown.text, "Not determined at %zu of %zu points. %.300s",
                 sweep->unknown, sweep->count, words.text);
    return unknown;
}

struct pd_sweep_words pd_sweep_quantity(const struct pd_sweep *sweep, size_t i)
{
    const struct pd_vary *const vary = &sweep->settings.vary[i];
    struct pd_sweep_words words;
    if (sweep->settings.vary_count == 0) {
        snprintf(words.text, sizeof words.text,
                 "the installation's whole demand, %s kW at power factor 1, split over L1, L2 and "
                 "L3 in parts of 1/%zu; its own loads stand aside, neighbours stay",
                 number(sweep->settings.total_kw, 0).text, sweep->settings.steps);
        return words;
    }
    const char *const unit = pd_vary_unit(vary);
    const bool is_case = strcmp(vary->at.table, "case.csv") == 0;
    snprintf(words.text, sizeof words.text, "'%.150s'%s%s in %s, %s to %s%s%s, %zu values%s%s",
             pd_plain(vary->at.row).text, is_case ? "" : " ", is_case ? "" : vary->at.column,
             vary->at.table, number(vary->from, 0).text, number(vary->to, 0).text, blank(unit),
             unit, vary->count, vary->log ? " in even proportions" : "",
             strcmp(vary->at.column, "resistance_ohm") == 0
                 ? ", as read: the electrode's season_factor comes on top"
                 : "");
    return words;
}

/* A touch voltage of 0 V to earth must not pass for all there is. */
static const char beside_pme[] = "Not in it: the voltage from this TT chassis to PME metalwork in "
                                 "reach, which drifts; see assess.";

struct pd_sweep_words pd_sweep_method(const struct pd_sweep *sweep)
{
    const struct pd_limits *const limits = &sweep->study_case->limits;
    struct pd_sweep_words words;
    snprintf(words.text, sizeof words.text,
             "the PEN open in every section in turn at each point, loads %s, supply %s V",
             sweep->settings.all_loads ? "present, low, high and at the corners of their ranges"
                                       : "present",
             pd_figure_v(sweep->study_case->supply_v).text);
    const size_t used = strlen(words.text);
    if (sweep->all_supplies)
        snprintf(words.text + used, sizeof words.text - used,
                 ", %s V and %s V; the largest touch voltage is kept.",
                 pd_figure_v(limits->supply_low_v).text, pd_figure_v(limits->supply_high_v).text);
    else
        snprintf(words.text + used, sizeof words.text - used,
                 " unless it is varied; the largest touch voltage is kept.");
    const size_t length = strlen(words.text);
    if (pd_tt_beside_pme(sweep->study_case))
        snprintf(words.text + length, sizeof words.text - length, " %s", beside_pme);
    return words;
}

/* What a point comes to. */
static void say_point(const struct pd_sweep *sweep, const struct pd_sweep_point *point, char *text,
                      size_t size)
{
    if (!isfinite(point->touch_v)) {
        snprintf(text, size, "not determined");
        return;
    }
    snprintf(text, size, "%s V with the PEN open in section '%.60s', %s%s",
             pd_figure_v(point->touch_v).text,
             pd_plain_short(pd_sweep_section(sweep, point->section), 40).text,
             point->touch == PD_OVER     ? "over the limit, "
             : point->touch == PD_WITHIN ? "within the limit"
                                         : "but others are not determined",
             point->touch != PD_OVER ? ""
             : point->disconnected   ? "and a device lets go of it in time"
                                     : "and no device lets go of it in time");
}

struct pd_sweep_words pd_sweep_present(const struct pd_sweep *sweep)
{
    struct pd_sweep_words words;
    char value[160] = "", outcome[240];
    size_t used = 0;
    for (size_t i = 0; i < pd_sweep_values(sweep); i++)
        if (isfinite(sweep->present.value[i]) && used + 60 < sizeof value)
            used += (size_t)snprintf(value + used, sizeof value - used, ", %s%s%s",
                                     number(sweep->present.value[i], 0).text,
                                     blank(pd_sweep_value_unit(sweep, i)),
                                     pd_sweep_value_unit(sweep, i));
    say_point(sweep, &sweep->present, outcome, sizeof outcome);
    snprintf(words.text, sizeof words.text, "As the tables have it%s: %s.", value, outcome);
    return words;
}

struct pd_sweep_words pd_sweep_largest(const struct pd_sweep *sweep)
{
    struct pd_sweep_words words = {"No point is determined."};
    char value[160] = "", outcome[240];
    size_t used = 0;
    if (sweep->worst == PD_NONE)
        return words;
    const struct pd_sweep_point *const worst = &sweep->point[sweep->worst];
    for (size_t i = 0; i < pd_sweep_values(sweep); i++)
        used +=
            (size_t)snprintf(value + used, sizeof value - used, "%s%s%s%s", i > 0 ? ", " : "",
                             number(worst->value[i], 0).text, blank(pd_sweep_value_unit(sweep, i)),
                             pd_sweep_value_unit(sweep, i));
    say_point(sweep, worst, outcome, sizeof outcome);
    const size_t length =
        (size_t)snprintf(words.text, sizeof words.text, "Largest, at %s: %s.", value, outcome);
    const struct pd_sweep_point *unseen = worst;
    for (size_t i = 0; i < sweep->count; i++)
        if (sweep->point[i].unseen_v > 0 && !(unseen->unseen_v >= sweep->point[i].unseen_v))
            unseen = &sweep->point[i];
    if (unseen->unseen_v > 0)
        snprintf(words.text + length, sizeof words.text - length,
                 " Over the limit with no device that lets go in time at %zu of %zu points, up to "
                 "%s V with the PEN open in section '%.60s'.",
                 sweep->unseen, sweep->count, pd_figure_v(unseen->unseen_v).text,
                 pd_plain_short(pd_sweep_section(sweep, unseen->unseen_section), 40).text);
    return words;
}
