/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "study/lesson_stops.h"

/* What a lesson is about: the terminal that drifts. On TT the chassis does not. */
static double drift_v(const struct pd_lesson *l, const size_t at[PD_LESSON_AXES])
{
    const struct pd_lesson_answer *const answer = pd_lesson_at(l, at);
    return l->study_case->earthing == PD_TT ? answer->met_v : answer->touch_v;
}

/* As declared, at the highest supply voltage, with the PEN open. */
static struct pd_lesson_preset as_declared(const struct pd_lesson *l,
                                           enum pd_lesson_preset_kind kind)
{
    struct pd_lesson_preset preset = {.kind = kind};
    for (size_t i = 0; i < l->axis_count; i++)
        preset.at[i] =
            l->axis[i].kind == PD_LESSON_SUPPLY ? l->axis[i].count - 1 : l->axis[i].declared;
    return preset;
}

static void add(struct pd_lesson *l, const struct pd_lesson_preset *preset)
{
    l->preset[l->preset_count++] = *preset;
}

static size_t line_axes(const struct pd_lesson *l)
{
    size_t count = 0; /* they come first */
    while (count < l->axis_count && l->axis[count].kind == PD_LESSON_LINE)
        count++;
    return count;
}

static unsigned lines_beyond(const struct pd_network *n, size_t section)
{
    unsigned lines = 0;
    for (size_t i = 0; i < n->load_count; i++)
        if (pd_network_downstream(n, section, n->load[i].node))
            lines |= pd_phase_lines(n->load[i].phase);
    return lines;
}

/* The break where lines can hold each other: that of the lesson's beginning, or the next towards
 * the source. 0 where there is none. */
static size_t shared_break(const struct pd_lesson *l)
{
    const struct pd_lesson_axis *const axis = &l->axis[pd_lesson_find(l, PD_LESSON_BREAK)];
    for (size_t stop = axis->declared; stop > 0; stop--) {
        const unsigned lines = lines_beyond(l->study_case->network, axis->section[stop]);
        if ((lines & (lines - 1)) != 0)
            return stop;
    }
    return 0;
}

/* Every line at every stop above nothing. */
static void add_balanced(struct pd_lesson *l)
{
    const size_t lines = line_axes(l), electrode = pd_lesson_find(l, PD_LESSON_ELECTRODE);
    struct pd_lesson_preset tried = as_declared(l, PD_PRESET_BALANCED), best = tried;
    double best_v = NAN;
    size_t all = 1;
    tried.at[pd_lesson_find(l, PD_LESSON_BREAK)] = shared_break(l);
    if (electrode != PD_NONE)
        tried.at[electrode] = 0;
    for (size_t i = 0; i < lines; i++)
        all *= l->axis[i].count;
    for (size_t k = 0; k < all; k++) {
        bool loaded = true;
        for (size_t i = 0, rest = k; i < lines; rest /= l->axis[i].count, i++) {
            tried.at[i] = rest % l->axis[i].count;
            loaded &= l->axis[i].value[tried.at[i]] > 0;
        }
        const double volts = drift_v(l, tried.at);
        if (!loaded || !isfinite(volts) || (isfinite(best_v) && !pd_exceeds(best_v, volts)))
            continue;
        best = tried;
        best_v = volts;
    }
    if (lines >= 2 && isfinite(best_v))
        add(l, &best);
}

static void add_one_line(struct pd_lesson *l)
{
    const size_t lines = line_axes(l), between = pd_lesson_find(l, PD_LESSON_BETWEEN);
    struct pd_lesson_preset best = {.kind = PD_PRESET_ONE_LINE};
    double best_v = NAN;
    for (size_t k = 0; k < lines; k++) {
        struct pd_lesson_preset tried = as_declared(l, PD_PRESET_ONE_LINE);
        for (size_t i = 0; i < lines; i++)
            if (i != k)
                tried.at[i] = 0;
        tried.at[pd_lesson_find(l, PD_LESSON_BREAK)] = shared_break(l);
        if (between != PD_NONE)
            tried.at[between] = 0;
        const double volts = drift_v(l, tried.at);
        if (isfinite(volts) && (isnan(best_v) || pd_exceeds(volts, best_v))) {
            best = tried;
            best_v = volts;
        }
    }
    if (lines >= 2 && isfinite(best_v))
        add(l, &best);
}

static bool hazard(const struct pd_lesson_answer *answer)
{
    bool in_time = false;
    for (size_t i = 0; i < PD_LESSON_SIGHTS; i++)
        in_time |= answer->in_time[i];
    return answer->touch == PD_OVER && !in_time;
}

/* Where there are more devices than the lesson looks at, one of those may see what the others do
 * not. */
static void add_unseen(struct pd_lesson *l)
{
    const size_t electrode = pd_lesson_find(l, PD_LESSON_ELECTRODE);
    const size_t devices = l->study_case->detectors.count;
    struct pd_lesson_preset best = {.kind = PD_PRESET_UNSEEN};
    double best_v = NAN;
    for (size_t k = 0; k < l->count && devices > 0 && devices <= PD_LESSON_SIGHTS; k++) {
        const struct pd_lesson_answer *const answer = &l->answer[k];
        if (!hazard(answer) || (isfinite(best_v) && !pd_exceeds(answer->touch_v, best_v)))
            continue;
        struct pd_lesson_preset tried = {.kind = PD_PRESET_UNSEEN};
        bool declared = true;
        for (size_t i = 0; i < l->axis_count; i++) {
            tried.at[i] = k / l->axis[i].stride % l->axis[i].count;
            declared &= i == electrode ? tried.at[i] == l->axis[i].declared
                                       : !pd_lesson_below(l, &l->axis[i], tried.at[i]);
        }
        if (!declared)
            continue;
        best = tried;
        best_v = answer->touch_v;
    }
    if (isfinite(best_v))
        add(l, &best);
}

static void add_electrode(struct pd_lesson *l)
{
    const size_t electrode = pd_lesson_find(l, PD_LESSON_ELECTRODE);
    struct pd_lesson_preset tried = as_declared(l, PD_PRESET_ELECTRODE);
    if (electrode == PD_NONE || tried.at[electrode] + 1 == l->axis[electrode].count)
        return;
    do
        tried.at[electrode]++;
    while (tried.at[electrode] + 1 < l->axis[electrode].count &&
           pd_judge(drift_v(l, tried.at), l->study_case->limits.touch_v) != PD_WITHIN);
    add(l, &tried);
}

void pd_lesson_choose(struct pd_lesson *l)
{
    struct pd_lesson_preset healthy = as_declared(l, PD_PRESET_HEALTHY);
    const struct pd_lesson_preset declared = as_declared(l, PD_PRESET_DECLARED);
    healthy.at[pd_lesson_find(l, PD_LESSON_BREAK)] = 0;
    if (l->path_count > 0)
        add(l, &healthy);
    add(l, &declared);
    if (shared_break(l) != 0) {
        add_balanced(l);
        add_one_line(l);
    }
    add_unseen(l);
    add_electrode(l);
}
