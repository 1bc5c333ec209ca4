/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "study/replay_work.h"

/* The seats' shares of the columns taken together, moment by moment and in order. */

static struct pd_replay_tally join(const struct pd_replay_work *w, size_t row)
{
    struct pd_replay_tally all = w->seat[0].tally[row];
    for (size_t i = 1; i < w->seat_count; i++) {
        const struct pd_replay_tally *const own = &w->seat[i].tally[row];
        all.over += own->over;
        all.unseen += own->unseen;
        all.unknown += own->unknown;
        all.declared += own->declared;
        for (int kind = 0; kind < PD_REPLAY_KINDS; kind++)
            if (own->uv[kind] > all.uv[kind]) {
                all.uv[kind] = own->uv[kind];
                all.column[kind] = own->column[kind];
            }
    }
    return all;
}

/* Level i: above i - 1 and up to i volts. */
static void add_to_curve(struct pd_replay_work *w, enum pd_replay_kind kind, int64_t uv,
                         int64_t last_ms)
{
    const int64_t volts = (uv + 999999) / 1000000;
    if (uv >= 0)
        w->curve_ms[kind][volts < PD_REPLAY_CURVE ? volts : PD_REPLAY_CURVE] += last_ms;
}

static void add_to_sums(struct pd_replay_work *w, const struct pd_replay_tally *t, int64_t last_ms)
{
    w->all_ms += last_ms;
    w->over_ms += t->over > 0 ? last_ms : 0;
    w->unseen_ms += t->unseen > 0 ? last_ms : 0;
    w->declared_ms += t->declared > 0 ? last_ms : 0;
    w->incomplete_ms += t->unknown > 0 ? last_ms : 0;
    w->unknown_ms += t->unknown > 0 && t->over == 0 ? last_ms : 0;
    for (int kind = 0; kind < PD_REPLAY_KINDS; kind++)
        add_to_curve(w, (enum pd_replay_kind)kind, t->uv[kind], last_ms);
}

/* What a row comes to in the column where it is the highest; NaN where it has none. */
static double voltage_in(struct pd_replay_work *w, enum pd_replay_kind kind, size_t row,
                         size_t column)
{
    struct pd_replay_look look;
    if (column == PD_NONE)
        return NAN;
    pd_replay_look(w, &w->seat[0], row, column, &look);
    return kind == PD_REPLAY_TOUCH ? look.touch_v : look.unseen_v;
}

/* 0 means that everything over the limit is disconnected: not where that is not known or not told.
 */
static double unseen_or_none(const struct pd_replay_work *w, double unseen_v, bool determined)
{
    if (unseen_v > 0)
        return unseen_v;
    return determined && w->replay->watched ? 0 : NAN;
}

static size_t section_of(const struct pd_replay_work *w, size_t column)
{
    return column == PD_NONE ? PD_NONE : w->cuts.fault[w->column[column].cut].section;
}

static enum pd_status tell_answers(struct pd_replay_work *w, size_t row)
{
    enum pd_status status = PD_OK;
    for (size_t cut = 0; cut < w->cuts.count && status == PD_OK; cut++) {
        struct pd_replay_look look;
        pd_replay_look(w, &w->seat[0], row, pd_batch_column(w->batch, cut), &look);
        const struct pd_replay_answer answer = {
            .time = w->rows.time[row],
            .section = w->cuts.fault[cut].section,
            .touch_v = look.touch_v,
            .touch = look.touch,
            .unseen_v = unseen_or_none(w, look.unseen_v, look.touch != PD_UNKNOWN)};
        status = w->settings->answer(&answer, w->settings->context);
    }
    return status;
}

static enum pd_status tell_moment(struct pd_replay_work *w, size_t row,
                                  const struct pd_replay_tally *t)
{
    const struct pd_replay_moment moment = {
        .time = w->rows.time[row],
        .hours = (double)w->rows.last_ms[row] / 3600e3,
        .touch_v = voltage_in(w, PD_REPLAY_TOUCH, row, t->column[PD_REPLAY_TOUCH]),
        .section = section_of(w, t->column[PD_REPLAY_TOUCH]),
        .unseen_v = unseen_or_none(
            w, voltage_in(w, PD_REPLAY_UNSEEN, row, t->column[PD_REPLAY_UNSEEN]), t->unknown == 0),
        .unseen_section = section_of(w, t->column[PD_REPLAY_UNSEEN]),
        .over = t->over,
        .unseen = t->unseen,
        .unknown = t->unknown,
    };
    return w->settings->moment(&moment, w->settings->context);
}

enum pd_status pd_replay_take_rows(struct pd_replay_work *w)
{
    enum pd_status status = pd_replay_keep_columns(w);
    for (size_t row = 0; row < w->rows.count && status == PD_OK; row++) {
        const struct pd_replay_tally t = join(w, row);
        add_to_sums(w, &t, w->rows.last_ms[row]);
        for (int kind = 0; kind < PD_REPLAY_KINDS && status == PD_OK; kind++)
            if (t.uv[kind] >= 0)
                status =
                    pd_replay_offer(w, (enum pd_replay_kind)kind, row, t.uv[kind], t.column[kind]);
        if (status == PD_OK && w->settings->answer != NULL)
            status = tell_answers(w, row);
        if (status == PD_OK && w->settings->moment != NULL)
            status = tell_moment(w, row, &t);
    }
    return status;
}
