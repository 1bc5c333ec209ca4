/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "study/replay_work.h"

static double hours(int64_t ms)
{
    return (double)ms / 3600e3;
}

/* Of a network that is not linear only what was solved at the declared voltage tells. */
static double declared_hours(const struct pd_replay_work *w, int64_t ms)
{
    bool known = w->replay->linear;
    for (size_t i = 0; i < w->judged_count; i++)
        known |= w->judged_v[i] == w->study_case->supply_v;
    return known ? hours(ms) : NAN;
}

static void sum_curve(const int64_t *part_ms, double *over_h)
{
    int64_t sum_ms = 0;
    for (size_t i = PD_REPLAY_CURVE; i-- > 0;) {
        sum_ms += part_ms[i + 1];
        over_h[i] = hours(sum_ms);
    }
}

static void sum_section(const struct pd_replay_work *w, const struct pd_replay_column *column,
                        struct pd_replay_section *section, double *level_h)
{
    int64_t sum_ms = 0;
    section->over_h = hours(column->over_ms);
    section->unseen_h = hours(column->unseen_ms);
    section->unknown_h = hours(column->unknown_ms);
    section->floating_h = hours(column->floating_ms);
    section->declared_over_h = declared_hours(w, column->declared_ms);
    for (size_t i = PD_REPLAY_LEVELS; i-- > 0;) {
        level_h[i] = hours(sum_ms);
        sum_ms += column->level_ms[i];
    }
    section->over_level_h = level_h;
}

static void sum_record(const struct pd_replay_work *w, struct pd_replay *r)
{
    r->hours = hours(w->all_ms);
    r->step_h = hours(w->step_ms);
    r->gap_h = hours(w->gap_ms);
    r->over_h = hours(w->over_ms);
    r->unseen_h = hours(w->unseen_ms);
    r->unknown_h = hours(w->unknown_ms);
    r->incomplete_h = hours(w->incomplete_ms);
    r->declared_over_h = declared_hours(w, w->declared_ms);
    r->supply_count = w->judged_count;
    memcpy(r->supply_v, w->judged_v, sizeof r->supply_v);
    sum_curve(w->curve_ms[PD_REPLAY_TOUCH], r->over_curve_h);
    sum_curve(w->curve_ms[PD_REPLAY_UNSEEN], r->unseen_curve_h);
}

enum pd_status pd_replay_sum_up(struct pd_replay_work *w)
{
    struct pd_replay *const r = w->replay;
    const size_t detectors = w->study_case->detectors.count;
    const struct pd_replay_list *const list = w->list;
    const size_t peaks = PD_REPLAY_KINDS * w->cuts.count + list[0].count + list[1].count;
    r->section = calloc(w->cuts.count + 1, sizeof *r->section);
    r->level_h = calloc(w->cuts.count * PD_REPLAY_LEVELS + 1, sizeof *r->level_h);
    r->worst = calloc(list[PD_REPLAY_TOUCH].count + 1, sizeof *r->worst);
    r->worst_unseen = calloc(list[PD_REPLAY_UNSEEN].count + 1, sizeof *r->worst_unseen);
    r->sight = calloc(peaks * detectors + 1, sizeof *r->sight);
    if (r->section == NULL || r->level_h == NULL || r->worst == NULL || r->worst_unseen == NULL ||
        r->sight == NULL)
        return PD_ERR_MEMORY;
    sum_record(w, r);
    r->section_count = w->cuts.count;
    r->worst_count = list[PD_REPLAY_TOUCH].count;
    r->worst_unseen_count = list[PD_REPLAY_UNSEEN].count;
    for (size_t cut = 0; cut < w->cuts.count; cut++) {
        r->section[cut].section = w->cuts.fault[cut].section;
        sum_section(w, &w->column[pd_batch_column(w->batch, cut)], &r->section[cut],
                    &r->level_h[cut * PD_REPLAY_LEVELS]);
    }
    return PD_OK;
}

/* The two engines agree where their answers are no further apart than this part of the supply. */
static const double apart_most = 1e-8;

/* The state last factored, so that peaks of one moment share it. */
struct checking {
    struct pd_replay_work *work;
    size_t slot;
    double supply_v;
    struct pd_sight *sight; /* the next free */
};

static enum pd_status factor(struct checking *k, const struct pd_replay_kept *kept)
{
    if (k->slot == kept->slot && k->supply_v == kept->supply_v)
        return PD_OK;
    k->slot = kept->slot;
    k->supply_v = kept->supply_v;
    return pd_run_factor(&k->work->run, k->work->slot[kept->slot].load_a, kept->supply_v, NULL);
}

/* Solves a moment again, at its supply voltage and with the PEN open in `section`. */
static enum pd_status solve_again(struct checking *k, enum pd_replay_kind kind,
                                  const struct pd_replay_kept *kept, struct pd_replay_peak *peak)
{
    struct pd_run *const run = &k->work->run;
    struct pd_replay *const r = k->work->replay;
    const struct pd_fault *const fault = &k->work->cuts.fault[k->work->column[kept->column].cut];
    enum pd_status status = factor(k, kept);
    if (status == PD_OK)
        status = pd_run_solve(run, fault);
    if (status != PD_OK)
        return status;
    pd_run_fill(run, fault, PD_LOADS_PRESENT, kept->supply_v, &peak->scenario, k->sight);
    k->sight += k->work->study_case->detectors.count;
    const double touch_v = cabs(pd_run_pe(run, kept->node));
    const double apart_v = fabs(touch_v - kept->v);
    peak->checked = peak->scenario.standing == PD_SOLVED && apart_v <= apart_most * kept->supply_v;
    if (kind == PD_REPLAY_UNSEEN)
        peak->checked = peak->checked && pd_is_hazard(&peak->scenario);
    /* what is below is rounding, another for each width of vector, as is a supply voltage on a
     * device's edge that was found with it */
    peak->scenario.residual = ceil(peak->scenario.residual * 1e12) * 1e-12;
    if (peak->checked) {
        r->largest_residual = fmax(r->largest_residual, peak->scenario.residual);
        r->largest_apart_v = fmax(r->largest_apart_v, ceil(apart_v * 1e9) * 1e-9);
    }
    return PD_OK;
}

static enum pd_status check(struct checking *k, enum pd_replay_kind kind,
                            const struct pd_replay_kept *kept, struct pd_replay_peak *peak)
{
    enum pd_status status = PD_OK;
    *peak = (struct pd_replay_peak){.there = kept->uv >= 0, .node = PD_NONE};
    if (!peak->there)
        return PD_OK;
    peak->touch_v = kept->v;
    peak->supply_v = kept->supply_v;
    peak->node = kept->node;
    peak->section = k->work->cuts.fault[k->work->column[kept->column].cut].section;
    if (kept->slot != PD_NONE) {
        const struct pd_replay_slot *const slot = &k->work->slot[kept->slot];
        memcpy(peak->time, slot->time, sizeof peak->time);
        peak->moment = slot->moment;
        status = solve_again(k, kind, kept, peak);
    }
    k->work->replay->unchecked += !peak->checked;
    return status;
}

static enum pd_status check_columns(struct checking *k)
{
    struct pd_replay_work *const w = k->work;
    struct pd_replay_section *const section = w->replay->section;
    enum pd_status status = PD_OK;
    for (size_t cut = 0; cut < w->cuts.count && status == PD_OK; cut++) {
        const struct pd_replay_column *const column = &w->column[pd_batch_column(w->batch, cut)];
        if (column->cut == cut) {
            status = check(k, PD_REPLAY_TOUCH, &column->kept[PD_REPLAY_TOUCH], &section[cut].touch);
            if (status == PD_OK)
                status = check(k, PD_REPLAY_UNSEEN, &column->kept[PD_REPLAY_UNSEEN],
                               &section[cut].unseen);
            continue;
        }
        section[cut].touch = section[column->cut].touch;
        section[cut].unseen = section[column->cut].unseen;
        section[cut].touch.section = section[cut].unseen.section = section[cut].section;
    }
    return status;
}

static enum pd_status check_list(struct checking *k, enum pd_replay_kind kind,
                                 struct pd_replay_peak *peak)
{
    const struct pd_replay_list *const list = &k->work->list[kind];
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < list->count && status == PD_OK; i++)
        status = check(k, kind, &list->kept[i], &peak[i]);
    return status;
}

enum pd_status pd_replay_check(struct pd_replay_work *w)
{
    struct checking k = {.work = w, .slot = PD_NONE, .sight = w->replay->sight};
    enum pd_status status = check_list(&k, PD_REPLAY_TOUCH, w->replay->worst);
    if (status == PD_OK)
        status = check_list(&k, PD_REPLAY_UNSEEN, w->replay->worst_unseen);
    return status == PD_OK ? check_columns(&k) : status;
}
