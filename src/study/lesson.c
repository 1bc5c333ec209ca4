/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/lesson.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "study/lesson_stops.h"
#include "study/load_states.h"
#include "study/manage.h"
#include "study/run.h"

/* The case with one electrode more, which a stop may put in place of the installation's own. */
struct work {
    struct pd_lesson *lesson;
    struct pd_case varied; /* shares all but tie and mutual_ohm with the case */
    struct pd_load_states none;
    struct pd_run run;
    double *load_a;
    size_t at[PD_LESSON_AXES];
    size_t electrode, supply, brk; /* axes */
    pd_progress_function *progress;
    void *context;
};

static bool vary_case(struct work *w)
{
    const struct pd_case *const c = w->lesson->study_case;
    const size_t ties = c->electrodes.count, all = ties + 1;
    w->varied = *c;
    w->varied.electrodes.count = all;
    w->varied.mutual_ohm = NULL;
    w->varied.tie = calloc(all, sizeof *w->varied.tie);
    if (w->varied.tie == NULL)
        return false;
    if (ties > 0)
        memcpy(w->varied.tie, c->tie, ties * sizeof *c->tie);
    w->varied.tie[ties] = (struct pd_earth_tie){c->installation, INFINITY};
    if (c->mutual_ohm == NULL)
        return true;
    w->varied.mutual_ohm = calloc(all * all, sizeof *w->varied.mutual_ohm);
    for (size_t i = 0; i < ties && w->varied.mutual_ohm != NULL; i++)
        memcpy(&w->varied.mutual_ohm[i * all], &c->mutual_ohm[i * ties],
               ties * sizeof *c->mutual_ohm);
    return w->varied.mutual_ohm != NULL;
}

static enum pd_status work_new(struct work *w)
{
    struct pd_lesson *const l = w->lesson;
    w->electrode = pd_lesson_find(l, PD_LESSON_ELECTRODE);
    w->supply = pd_lesson_find(l, PD_LESSON_SUPPLY);
    w->brk = pd_lesson_find(l, PD_LESSON_BREAK);
    w->load_a = calloc(l->study_case->network->load_count + 1, sizeof *w->load_a);
    if (w->load_a == NULL || !vary_case(w))
        return PD_ERR_MEMORY;
    return pd_run_new(&w->varied, &w->none, 1u << PD_HEALTHY, &w->run);
}

static void work_free(struct work *w)
{
    pd_run_free(&w->run);
    free(w->varied.tie);
    free(w->varied.mutual_ohm);
    free(w->load_a);
}

static enum pd_status set_loads(struct work *w)
{
    const struct pd_lesson *const l = w->lesson;
    const struct pd_network *const n = l->study_case->network;
    for (size_t i = 0; i < n->load_count; i++)
        for (size_t k = 0; k < l->axis_count; k++)
            if (pd_lesson_sets(&l->axis[k], &n->load[i]))
                w->load_a[i] = pd_lesson_load_a(&l->axis[k], w->at[k], &n->load[i]);
    return pd_manage(l->study_case, w->load_a);
}

/* At the declared stop the electrodes stay as they are, also where they lift each other's ground.
 */
static void set_electrode(struct work *w)
{
    const struct pd_case *const c = w->lesson->study_case;
    if (w->electrode == PD_NONE)
        return;
    const struct pd_lesson_axis *const axis = &w->lesson->axis[w->electrode];
    const size_t stop = w->at[w->electrode], ties = c->electrodes.count;
    for (size_t i = 0; i < ties; i++)
        w->run.tie[i].resistance_ohm = stop != axis->declared && pd_lesson_replaces(c, &c->tie[i])
                                           ? (double)INFINITY
                                           : c->tie[i].resistance_ohm;
    w->run.tie[ties].resistance_ohm = stop == axis->declared ? (double)INFINITY : axis->value[stop];
}

static void keep(struct work *w, const struct pd_scenario *s)
{
    struct pd_lesson *const l = w->lesson;
    size_t index = 0;
    for (size_t i = 0; i < l->axis_count; i++)
        index += w->at[i] * l->axis[i].stride;
    struct pd_lesson_answer *const answer = &l->answer[index];
    *answer = (struct pd_lesson_answer){
        .met = s->met,
        .met_v = s->met_v,
        .touch_v = s->touch_v,
        .electrode_a = s->electrode_a,
        .line_neutral_v = {s->line_neutral_v[0], s->line_neutral_v[1], s->line_neutral_v[2]},
        .standing = s->standing,
        .floating = s->floating,
        .touch = s->touch,
    };
    l->unsolved += s->standing != PD_SOLVED;
    for (size_t i = 0; i < l->study_case->detectors.count && i < PD_LESSON_SIGHTS; i++) {
        answer->sees[i] = s->sight[i].kind == PD_SEES;
        answer->unknown[i] = s->sight[i].kind == PD_SIGHT_UNKNOWN;
        answer->in_time[i] = pd_sight_in_time(&s->sight[i], l->study_case->limits.time_s);
    }
}

/* Every break at one supply voltage; of a linear network what follows for the others, too. */
static enum pd_status run_breaks(struct work *w, size_t level, struct pd_sight *sight)
{
    const struct pd_lesson_axis *const breaks = &w->lesson->axis[w->brk];
    const struct pd_lesson_axis *const supply = &w->lesson->axis[w->supply];
    enum pd_status status = pd_run_factor(&w->run, w->load_a, supply->value[level], NULL);
    const bool linear = pd_tree_linear(w->run.tree);
    for (size_t b = 0; b < breaks->count && status == PD_OK; b++) {
        const size_t section = breaks->section[b];
        const struct pd_fault healthy = {.kind = PD_HEALTHY, .section = PD_NONE};
        const struct pd_fault fault = section == PD_NONE ? healthy : pd_open_pen(section);
        status = pd_run_solve(&w->run, &fault);
        w->at[w->brk] = b;
        for (size_t v = level; status == PD_OK && v < (linear ? supply->count : level + 1); v++) {
            struct pd_scenario scenario;
            pd_run_fill(&w->run, &fault, PD_LOADS_PRESENT, supply->value[v], &scenario, sight);
            w->at[w->supply] = v;
            keep(w, &scenario);
        }
    }
    return status;
}

static enum pd_status run_supplies(struct work *w, struct pd_sight *sight)
{
    enum pd_status status = run_breaks(w, 0, sight);
    const size_t levels = pd_tree_linear(w->run.tree) ? 1 : w->lesson->axis[w->supply].count;
    for (size_t level = 1; level < levels && status == PD_OK; level++)
        status = run_breaks(w, level, sight);
    return status;
}

static enum pd_status run_all(struct work *w, struct pd_sight *sight)
{
    struct pd_lesson *const l = w->lesson;
    const size_t step = l->axis[w->supply].stride * l->axis[w->supply].count;
    enum pd_status status = PD_OK;
    for (size_t done = 0; done < l->count && status == PD_OK; done += step) {
        for (size_t i = 0; i < l->axis_count; i++)
            w->at[i] = done / l->axis[i].stride % l->axis[i].count;
        if (w->progress != NULL && !w->progress((double)done / (double)l->count, w->context))
            return PD_ERR_INTERRUPTED;
        status = set_loads(w);
        set_electrode(w);
        if (status == PD_OK)
            status = run_supplies(w, sight);
    }
    return status;
}

static enum pd_status tabulate(struct pd_lesson *lesson, pd_progress_function *progress,
                               void *context)
{
    struct work w = {.lesson = lesson, .progress = progress, .context = context};
    const size_t detectors = lesson->study_case->detectors.count;
    struct pd_sight *const sight = calloc(detectors + 1, sizeof *sight);
    lesson->answer = calloc(lesson->count, sizeof *lesson->answer);
    enum pd_status status = sight != NULL && lesson->answer != NULL ? work_new(&w) : PD_ERR_MEMORY;
    if (status == PD_OK)
        status = run_all(&w, sight);
    work_free(&w);
    free(sight);
    return status;
}

enum pd_status pd_lesson_new(const struct pd_case *c, size_t section,
                             pd_progress_function *progress, void *context, struct pd_lesson **out)
{
    struct pd_lesson *const lesson = *out = calloc(1, sizeof *lesson);
    if (lesson == NULL)
        return PD_ERR_MEMORY;
    lesson->study_case = c;
    if (c->network == NULL || c->missing.count > 0)
        return PD_OK;
    enum pd_status status = pd_lesson_stops(lesson, section);
    if (status == PD_OK)
        status = tabulate(lesson, progress, context);
    if (status == PD_OK)
        pd_lesson_choose(lesson);
    else
        pd_lesson_free(out);
    return status;
}

void pd_lesson_free(struct pd_lesson **lesson)
{
    if (*lesson != NULL)
        free((*lesson)->answer);
    free(*lesson);
    *lesson = NULL;
}

const struct pd_lesson_answer *pd_lesson_at(const struct pd_lesson *lesson,
                                            const size_t at[PD_LESSON_AXES])
{
    size_t index = 0;
    for (size_t i = 0; i < lesson->axis_count; i++)
        index += at[i] * lesson->axis[i].stride;
    return &lesson->answer[index];
}

size_t pd_lesson_find(const struct pd_lesson *lesson, enum pd_lesson_kind kind)
{
    for (size_t i = 0; i < lesson->axis_count; i++)
        if (lesson->axis[i].kind == kind)
            return i;
    return PD_NONE;
}

const struct pd_lesson_preset *pd_lesson_preset(const struct pd_lesson *lesson,
                                                enum pd_lesson_preset_kind kind)
{
    for (size_t i = 0; i < lesson->preset_count; i++)
        if (lesson->preset[i].kind == kind)
            return &lesson->preset[i];
    return NULL;
}
