/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/replay.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "study/replay_setup.h"
#include "study/replay_work.h"

const char *const pd_replay_supply_names[PD_REPLAY_SUPPLIES] = {
    [PD_REPLAY_RANGE] = "range", [PD_REPLAY_DECLARED] = "declared", [PD_REPLAY_TOP] = "top"};

/* How long each row lasts: until the next, or the record's step where that is a gap. A clock that
 * is a little off makes no gap. */
static void weigh(struct pd_replay_work *w, const int64_t *next_ms)
{
    struct pd_replay_rows *const rows = &w->rows;
    for (size_t i = 0; i < rows->count; i++) {
        const int64_t *const end_ms = i + 1 < rows->count ? &rows->at_ms[i + 1] : next_ms;
        int64_t last_ms = end_ms != NULL ? *end_ms - rows->at_ms[i] : w->before_ms;
        if (last_ms - w->step_ms > w->step_ms / 2) {
            w->replay->gaps++;
            w->gap_ms += last_ms - w->step_ms;
            last_ms = w->step_ms;
        }
        rows->last_ms[i] = w->before_ms = last_ms;
    }
}

static bool on_batch(size_t done, size_t count, void *context)
{
    const struct pd_replay_work *const w = context;
    (void)done, (void)count;
    return w->settings->progress == NULL ||
           w->settings->progress(w->replay->moments, w->bytes, w->settings->progress_context);
}

static enum pd_status solve(struct pd_replay_work *w)
{
    enum pd_status status = PD_OK;
    for (size_t level = 0; level < w->solved_count && status == PD_OK; level++) {
        const struct pd_batch_input input = {
            .count = w->rows.count, .load_a = w->rows.load_a, .supply_v = w->rows.supply_v[level]};
        status = pd_batch_solve(w->batch, &input, &w->output[level], on_batch, w);
    }
    return status;
}

/* A seat's share of the columns. */
struct share {
    struct pd_replay_work *work;
    size_t seat;
    pthread_t thread;
    bool started;
};

static void *tally_share(void *context)
{
    const struct share *const share = context;
    struct pd_replay_work *const w = share->work;
    pd_replay_tally_columns(w, &w->seat[share->seat], share->seat * w->column_count / w->seat_count,
                            (share->seat + 1) * w->column_count / w->seat_count);
    return NULL;
}

/* A thread that cannot be started leaves its share to this one. */
static void tally(struct pd_replay_work *w)
{
    struct share share[PD_REPLAY_SEATS] = {0};
    for (size_t i = 0; i < w->seat_count; i++)
        share[i] = (struct share){.work = w, .seat = i};
    for (size_t i = 1; i < w->seat_count; i++)
        share[i].started = pthread_create(&share[i].thread, NULL, tally_share, &share[i]) == 0;
    for (size_t i = 0; i < w->seat_count; i++)
        if (!share[i].started)
            tally_share(&share[i]);
    for (size_t i = 1; i < w->seat_count; i++)
        if (share[i].started)
            pthread_join(share[i].thread, NULL);
}

/* Solves the rows gathered and adds them up; next_ms NULL: there are no more. */
static enum pd_status flush(struct pd_replay_work *w, const int64_t *next_ms)
{
    struct pd_replay_rows *const rows = &w->rows;
    if (w->step_ms == 0)
        w->step_ms = w->before_ms = pd_profile_step(rows->at_ms, rows->count);
    weigh(w, next_ms);
    enum pd_status status = solve(w);
    if (status == PD_OK) {
        tally(w);
        status = pd_replay_take_rows(w);
    }
    w->replay->moments += rows->count;
    rows->count = 0;
    return status;
}

static enum pd_status on_moment(const struct pd_profile_moment *moment, void *context)
{
    struct pd_replay_work *const w = context;
    struct pd_replay_rows *const rows = &w->rows;
    const size_t loads = w->study_case->network->load_count;
    w->bytes = moment->bytes;
    w->replay->time_unit = moment->unit;
    if (rows->count == rows->room) {
        const enum pd_status status = flush(w, &moment->at_ms);
        if (status != PD_OK)
            return status;
    }
    const size_t row = rows->count++;
    memcpy(&rows->load_a[row * loads], moment->load_a, loads * sizeof *rows->load_a);
    rows->at_ms[row] = moment->at_ms;
    rows->known[row] = moment->known;
    rows->slot[row] = PD_NONE;
    snprintf(rows->time[row], sizeof rows->time[row], "%s", moment->time);
    w->replay->unknown_moments += !moment->known;
    if (w->replay->moments == 0 && row == 0)
        memcpy(w->replay->first, rows->time[row], sizeof w->replay->first);
    memcpy(w->replay->last, rows->time[row], sizeof w->replay->last);
    return PD_OK;
}

static enum pd_status run(struct pd_replay_work *w, struct pd_profile_load *load,
                          struct pd_errors *errors)
{
    const struct pd_replay_settings *const s = w->settings;
    enum pd_status status = pd_profile_read(s->profile, s->profile_name, w->study_case->network,
                                            on_moment, w, load, errors);
    if (status == PD_OK && w->replay->moments + w->rows.count < 2)
        return pd_errors_add(errors, PD_ERR_INPUT, s->profile_name, 0, "",
                             "has one moment; how long it lasts is not to be told, give two or "
                             "more");
    if (status == PD_OK && w->rows.count > 0)
        status = flush(w, NULL);
    if (status == PD_OK)
        status = pd_replay_sum_up(w);
    if (status == PD_OK)
        status = pd_replay_check(w);
    return status == PD_OK ? pd_replay_assume(w, load) : status;
}

static enum pd_status refuse(const struct pd_case *c, const struct pd_replay_settings *s)
{
    const struct pd_network *const network = c->network;
    if (c->missing.count > 0 || network == NULL || s->profile == NULL || s->worst == 0)
        return PD_ERR_ARGUMENT;
    if (s->section != PD_NONE && (s->section == 0 || s->section >= network->node_count ||
                                  network->node[s->section].separate))
        return PD_ERR_ARGUMENT;
    return s->place == PD_REPLAY_NODE && s->node >= network->node_count ? PD_ERR_ARGUMENT : PD_OK;
}

enum pd_status pd_replay(const struct pd_case *c, const struct pd_replay_settings *settings,
                         struct pd_replay **out, struct pd_errors *errors)
{
    *out = NULL;
    if (refuse(c, settings) != PD_OK)
        return PD_ERR_ARGUMENT;
    struct pd_replay_work w = {.study_case = c, .settings = settings};
    struct pd_profile_load *const load = calloc(c->network->load_count + 1, sizeof *load);
    w.replay = *out = calloc(1, sizeof **out);
    enum pd_status status = PD_ERR_MEMORY;
    if (w.replay != NULL && load != NULL) {
        w.replay->study_case = c;
        w.replay->settings = *settings;
        w.replay->watched = settings->place == PD_REPLAY_POINT;
        status = pd_replay_work_new(&w, errors);
    }
    if (status == PD_OK)
        status = run(&w, load, errors);
    pd_replay_work_free(&w);
    free(load);
    if (status != PD_OK)
        pd_replay_free(out);
    return status;
}

void pd_replay_free(struct pd_replay **replay)
{
    struct pd_replay *const r = *replay;
    if (r == NULL)
        return;
    free(r->section);
    free(r->worst);
    free(r->worst_unseen);
    free(r->sight);
    free(r->level_h);
    pd_notes_free(&r->assumptions);
    free(r);
    *replay = NULL;
}
