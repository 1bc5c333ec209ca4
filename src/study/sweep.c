/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/sweep.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "study/sweep_work.h"
#include "table/grow.h"

static size_t count_points(const struct pd_sweep_settings *s)
{
    if (s->vary_count == 0)
        return (s->steps + 1) * (s->steps + 2) / 2;
    return s->vary[0].count * (s->vary_count > 1 ? s->vary[1].count : 1);
}

/* The proportions of every point, in order. */
static void set_values(struct pd_sweep *sweep)
{
    const struct pd_sweep_settings *const s = &sweep->settings;
    const size_t inner = s->vary_count > 1 ? s->vary[1].count : 1;
    if (s->vary_count == 0) {
        size_t p = 0;
        const double part_kw = s->total_kw / (double)s->steps;
        for (size_t i = 0; i <= s->steps; i++)
            for (size_t j = 0; j <= s->steps - i; j++, p++) {
                sweep->point[p].value[0] = part_kw * (double)i;
                sweep->point[p].value[1] = part_kw * (double)j;
                sweep->point[p].value[2] = part_kw * (double)(s->steps - i - j);
            }
        return;
    }
    for (size_t p = 0; p < sweep->count; p++)
        for (size_t i = 0; i < s->vary_count; i++)
            sweep->point[p].value[i] =
                pd_vary_value(&s->vary[i], i + 1 == s->vary_count ? p % inner : p / inner);
    for (size_t p = 0; p < sweep->count && s->vary_count == 1; p++)
        sweep->point[p].value[0] = pd_vary_value(&s->vary[0], p);
}

static void tally(struct pd_sweep *sweep)
{
    sweep->worst = PD_NONE;
    for (size_t p = 0; p < sweep->count; p++) {
        const struct pd_sweep_point *const point = &sweep->point[p];
        sweep->within += point->touch == PD_WITHIN;
        sweep->over += point->touch == PD_OVER;
        sweep->unknown += point->touch == PD_UNKNOWN;
        sweep->unseen += point->unseen_v > 0;
        if (isfinite(point->touch_v) &&
            (sweep->worst == PD_NONE ||
             pd_exceeds(point->touch_v, sweep->point[sweep->worst].touch_v)))
            sweep->worst = p;
    }
}

static enum pd_status find_crossings(struct pd_sweep_work *w)
{
    struct pd_sweep *const sweep = w->sweep;
    enum pd_status status = PD_OK;
    for (size_t p = 1; p < sweep->count && sweep->settings.vary_count == 1 && status == PD_OK;
         p++) {
        const struct pd_sweep_point *const a = &sweep->point[p - 1], *const b = &sweep->point[p];
        if (a->touch == b->touch || a->touch == PD_UNKNOWN || b->touch == PD_UNKNOWN)
            continue;
        struct pd_sweep_crossing *const larger =
            pd_grow(sweep->crossing, sweep->crossing_count, sizeof *larger);
        if (larger == NULL)
            return PD_ERR_MEMORY;
        sweep->crossing = larger;
        status = pd_sweep_work_cross(w, a, b, &sweep->crossing[sweep->crossing_count]);
        sweep->crossing_count += status == PD_OK;
    }
    return status;
}

/* What each line takes as the tables have it, kW; what generates is left out. */
static void present_lines(const struct pd_case *c, double kw[PD_LINES])
{
    memset(kw, 0, PD_LINES * sizeof *kw);
    for (size_t i = 0; i < c->network->load_count; i++) {
        const struct pd_load *const load = &c->network->load[i];
        const unsigned lines = pd_phase_lines(load->phase);
        if (!pd_case_own(c, load->node) || load->behaviour->generates)
            continue;
        const double each_a = pd_phase_current(load->phase, c->network->system,
                                               c->network->nominal_v, 1, load->power_factor);
        for (int line = PD_L1; line < PD_LINES; line++)
            if ((lines & 1u << line) != 0)
                kw[line] += load->present_a / each_a / __builtin_popcount(lines);
    }
}

/* The case as its tables have it, and the numbers that are to be varied. */
static enum pd_status read_present(struct pd_sweep_work *w)
{
    struct pd_sweep *const sweep = w->sweep;
    const struct pd_sweep_settings *const s = &sweep->settings;
    struct pd_override item[2];
    struct pd_case *unused = NULL;
    double *const value = sweep->present.value;
    value[0] = value[1] = value[2] = NAN;
    enum pd_status status = pd_case_read(w->folder, &sweep->study_case, w->errors);
    if (status != PD_OK)
        return status;
    sweep->missing = sweep->study_case->missing.count > 0;
    if (s->met_electrode) {
        value[0] = sweep->missing
                       ? (double)NAN
                       : pd_case_electrode(sweep->study_case, sweep->study_case->installation);
        return PD_OK;
    }
    for (size_t i = 0; i < s->vary_count; i++)
        item[i] =
            (struct pd_override){.at = s->vary[i].at, .value = s->vary[i].from, .was = &value[i]};
    status = pd_case_read_set(w->folder, &(struct pd_overrides){item, s->vary_count}, &unused,
                              s->vary_count > 0 ? w->errors : NULL);
    pd_case_free(&unused);
    if (status == PD_OK && !sweep->missing && s->vary_count == 0)
        present_lines(sweep->study_case, value);
    return status;
}

static enum pd_status solve_present(struct pd_sweep_work *w)
{
    struct pd_desk desk = {.room = 0};
    enum pd_status status = pd_desk_open(w->sweep->study_case, &w->rules, &desk);
    if (status == PD_OK)
        status = pd_desk_point(&desk, &w->rules, &w->sweep->present);
    pd_desk_close(&desk);
    return status;
}

static enum pd_status solve_points(struct pd_sweep_work *w, pd_progress_function *progress,
                                   void *context)
{
    struct pd_sweep *const sweep = w->sweep;
    enum pd_status status = PD_OK;
    for (size_t p = 0; p < sweep->count && status == PD_OK; p++) {
        status = pd_sweep_work_point(w, &sweep->point[p]);
        if (status == PD_OK && progress != NULL && p % 16 == 0 &&
            !progress((double)p / (double)sweep->count, context))
            status = PD_ERR_INTERRUPTED;
    }
    return status;
}

/* Where the supply voltage itself is varied, the ends of its range are not tried as well. */
static bool varies_supply(const struct pd_sweep_settings *s)
{
    for (size_t i = 0; i < s->vary_count; i++)
        if (strcmp(s->vary[i].at.table, "case.csv") == 0 &&
            (strncmp(s->vary[i].at.row, "supply_voltage", strlen("supply_voltage")) == 0 ||
             strcmp(s->vary[i].at.row, "nominal_voltage") == 0))
            return true;
    return false;
}

static enum pd_status run(struct pd_sweep_work *w, pd_progress_function *progress, void *context)
{
    struct pd_sweep *const sweep = w->sweep;
    enum pd_status status = read_present(w);
    if (status != PD_OK || sweep->missing)
        return status;
    sweep->count = count_points(&sweep->settings);
    sweep->point = calloc(sweep->count, sizeof *sweep->point);
    if (sweep->point == NULL)
        return PD_ERR_MEMORY;
    set_values(sweep);
    status = pd_sweep_work_start(w);
    if (status == PD_OK)
        status = solve_present(w);
    if (status == PD_OK)
        status = solve_points(w, progress, context);
    if (status == PD_OK)
        status = find_crossings(w);
    tally(sweep);
    return status;
}

enum pd_status pd_sweep_run(const char *folder, const struct pd_sweep_settings *settings,
                            pd_progress_function *progress, void *context, struct pd_sweep **out,
                            struct pd_errors *errors)
{
    struct pd_sweep *const sweep = *out = calloc(1, sizeof *sweep);
    if (sweep == NULL)
        return PD_ERR_MEMORY;
    sweep->settings = *settings;
    sweep->worst = PD_NONE;
    sweep->all_supplies = !varies_supply(settings);
    struct pd_sweep_work work = {
        .folder = folder,
        .sweep = sweep,
        .rules = {.all_loads = settings->all_loads,
                  .all_supplies = sweep->all_supplies,
                  .threads = 1},
        .errors = errors,
    };
    const enum pd_status status = run(&work, progress, context);
    pd_sweep_work_end(&work);
    if (status != PD_OK)
        pd_sweep_free(out);
    return status;
}

void pd_sweep_free(struct pd_sweep **sweep)
{
    if (sweep == NULL || *sweep == NULL)
        return;
    pd_case_free(&(*sweep)->study_case);
    free((*sweep)->point);
    free((*sweep)->crossing);
    free(*sweep);
    *sweep = NULL;
}
