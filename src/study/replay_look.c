/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "study/replay_work.h"
#include "study/unseen.h"

static int64_t microvolts(double value_v)
{
    return (int64_t)(1e6 * value_v + 0.5);
}

/* Where a group of rows stands in an output. */
static size_t place_of(const struct pd_replay_work *w, size_t row, size_t column, size_t probe)
{
    const size_t group = row / PD_LANES * w->column_count + column;
    return (group * w->probe_count + probe) * PD_LANES + row % PD_LANES;
}

static enum pd_standing standing_of(const struct pd_replay_work *w, size_t level, size_t row,
                                    size_t column)
{
    const size_t group = row / PD_LANES * w->column_count + column;
    return (enum pd_standing)w->output[level].standing[group * PD_LANES + row % PD_LANES];
}

/* Puts the voltages wanted into the seat's solution; the others there are NaN. */
static void take_voltages(const struct pd_replay_work *w, struct pd_replay_seat *seat, size_t level,
                          size_t row, size_t column)
{
    const struct pd_batch_output *const output = &w->output[level];
    for (size_t i = 0; i < w->probe_count; i++) {
        const size_t at = place_of(w, row, column, i);
        seat->run.solution.v[w->probe[i].node][w->probe[i].conductor] =
            CMPLX(output->re[at], output->im[at]);
    }
    seat->run.solved_v = w->judged_v[level];
}

/* The largest of the places; NaN where any is. */
static double complex largest_at(const struct pd_replay_work *w, const struct pd_replay_seat *seat,
                                 size_t *node)
{
    double complex largest_v = 0;
    double size_v = -1;
    for (size_t i = 0; i < w->at_count; i++) {
        const double complex own_v = pd_run_pe(&seat->run, w->at[i].node);
        const double own_size_v = cabs(own_v);
        if (!(own_size_v <= size_v)) {
            largest_v = own_v;
            size_v = own_size_v;
            *node = w->at[i].node;
        }
        if (isnan(own_size_v))
            break;
    }
    return largest_v;
}

/* What of a moment over the limit nothing disconnects, at the supply voltages that this solution
 * answers. */
static void look_for_unseen(const struct pd_replay_work *w, struct pd_replay_seat *seat,
                            double complex touch_v, double supply_v, struct pd_replay_look *look)
{
    const struct pd_case *const c = w->study_case;
    const double scale = supply_v / seat->run.solved_v;
    double unseen_v = 0;
    for (size_t i = 0; i < c->detectors.count; i++)
        seat->view[i] = pd_run_view(&seat->run, i);
    if (w->replay->linear && w->settings->supply == PD_REPLAY_RANGE)
        unseen_v = pd_worst_unseen(&seat->run, touch_v, seat->view, &supply_v);
    else if (!pd_device_acts(c, seat->view, scale))
        unseen_v = scale * cabs(touch_v);
    if (unseen_v > look->unseen_v) {
        look->unseen_v = unseen_v;
        look->unseen_supply_v = supply_v;
    }
}

/* What one solution tells; false where it is not determined. */
static bool look_at_level(const struct pd_replay_work *w, struct pd_replay_seat *seat, size_t level,
                          struct pd_replay_look *look)
{
    const double limit_v = w->study_case->limits.touch_v;
    const double solved_v = w->judged_v[level], declared_v = w->study_case->supply_v;
    const double supply_v = w->replay->linear ? w->top_v : solved_v;
    size_t node = PD_NONE;
    const double complex phasor_v = largest_at(w, seat, &node);
    const double touch_v = supply_v / solved_v * cabs(phasor_v);
    if (isnan(touch_v)) {
        look->floating = true;
        return false;
    }
    if (!(touch_v <= look->touch_v)) {
        look->touch_v = touch_v;
        look->supply_v = supply_v;
        look->node = node;
    }
    if (w->replay->linear || solved_v == declared_v)
        look->declared_over |= pd_judge(declared_v / solved_v * cabs(phasor_v), limit_v) == PD_OVER;
    const enum pd_judgement touch = pd_judge(touch_v, limit_v);
    if (touch == PD_OVER)
        look->touch = PD_OVER;
    if (touch == PD_OVER && w->replay->watched)
        look_for_unseen(w, seat, phasor_v, supply_v, look);
    return touch != PD_UNKNOWN;
}

void pd_replay_look(const struct pd_replay_work *w, struct pd_replay_seat *seat, size_t row,
                    size_t column, struct pd_replay_look *look)
{
    bool determined = w->rows.known[row];
    *look = (struct pd_replay_look){.touch_v = NAN, .node = PD_NONE, .touch = PD_WITHIN};
    for (size_t level = 0; level < w->solved_count && w->rows.known[row]; level++) {
        if (standing_of(w, level, row, column) != PD_SOLVED) {
            determined = false;
            continue;
        }
        take_voltages(w, seat, level, row, column);
        determined &= look_at_level(w, seat, level, look);
    }
    if (!determined && look->touch != PD_OVER)
        look->touch = PD_UNKNOWN;
}

static void mark(struct pd_replay_mark *m, double v, size_t row)
{
    const int64_t own_uv = microvolts(v);
    if (own_uv > m->uv)
        *m = (struct pd_replay_mark){own_uv, row};
}

static void tally_kind(struct pd_replay_tally *t, enum pd_replay_kind kind, double v, size_t column)
{
    const int64_t own_uv = microvolts(v);
    if (own_uv > t->uv[kind]) {
        t->uv[kind] = own_uv;
        t->column[kind] = column;
    }
}

/* Level i: above (i - 1) and up to i steps. */
static size_t level_of(double v, double step_v, size_t levels)
{
    const double level = v / step_v;
    if (level >= (double)(levels - 1))
        return levels - 1;
    return (size_t)level + ((double)(size_t)level < level);
}

static void tally_voltage(struct pd_replay_work *w, struct pd_replay_tally *t, size_t row,
                          size_t column, double touch_v)
{
    struct pd_replay_column *const c = &w->column[column];
    c->level_ms[level_of(touch_v, PD_REPLAY_LEVEL_V, PD_REPLAY_LEVELS)] += w->rows.last_ms[row];
    mark(&c->mark[PD_REPLAY_TOUCH], touch_v, row);
    tally_kind(t, PD_REPLAY_TOUCH, touch_v, column);
}

static void tally_row(struct pd_replay_work *w, struct pd_replay_seat *seat, size_t row,
                      size_t column)
{
    struct pd_replay_column *const c = &w->column[column];
    struct pd_replay_tally *const t = &seat->tally[row];
    const int64_t last_ms = w->rows.last_ms[row];
    struct pd_replay_look look;
    pd_replay_look(w, seat, row, column, &look);
    if (look.touch == PD_UNKNOWN) {
        c->unknown_ms += last_ms;
        c->floating_ms += look.floating ? last_ms : 0;
        t->unknown += c->shared;
    }
    if (look.touch == PD_OVER) {
        c->over_ms += last_ms;
        t->over += c->shared;
    }
    if (look.declared_over) {
        c->declared_ms += last_ms;
        t->declared += c->shared;
    }
    if (look.unseen_v > 0) {
        c->unseen_ms += last_ms;
        t->unseen += c->shared;
        mark(&c->mark[PD_REPLAY_UNSEEN], look.unseen_v, row);
        tally_kind(t, PD_REPLAY_UNSEEN, look.unseen_v, column);
    }
    if (!isnan(look.touch_v))
        tally_voltage(w, t, row, column, look.touch_v);
}

/* The largest touch voltage of each lane of a group, at the highest supply voltage. NaN stays. */
static void group_voltages(const struct pd_replay_work *w, size_t group, size_t column,
                           double touch_v[PD_LANES])
{
    double largest[PD_LANES] = {0}, nan[PD_LANES] = {0};
    for (size_t level = 0; level < w->solved_count; level++) {
        const double scale = w->replay->linear ? w->top_v / w->judged_v[0] : 1;
        for (size_t i = 0; i < w->at_count; i++) {
            const size_t at = place_of(w, group * PD_LANES, column, i);
            const double *const re = &w->output[level].re[at], *const im = &w->output[level].im[at];
            const double square = w->at[i].factor * w->at[i].factor * scale * scale;
            for (size_t lane = 0; lane < PD_LANES; lane++) {
                const double own = square * (re[lane] * re[lane] + im[lane] * im[lane]);
                largest[lane] = own <= largest[lane] ? largest[lane] : own;
                nan[lane] += 0 * own; /* the comparison alone would lose one of several */
            }
        }
    }
    for (size_t lane = 0; lane < PD_LANES; lane++)
        touch_v[lane] = sqrt(largest[lane]) + nan[lane];
}

/* Most moments are within the limit in most columns: a group that is so as a whole needs no look.
 */
static bool group_within(const struct pd_replay_work *w, size_t group, const double *touch_v)
{
    double largest_v = 0;
    bool known = true;
    if ((group + 1) * PD_LANES > w->rows.count)
        return false;
    for (size_t lane = 0; lane < PD_LANES; lane++) {
        largest_v = touch_v[lane] <= largest_v ? largest_v : touch_v[lane];
        known &= !isnan(touch_v[lane]) & w->rows.known[group * PD_LANES + lane];
    }
    return known && pd_judge(largest_v, w->study_case->limits.touch_v) == PD_WITHIN;
}

static void tally_group(struct pd_replay_work *w, struct pd_replay_seat *seat, size_t group,
                        size_t column)
{
    double touch_v[PD_LANES];
    group_voltages(w, group, column, touch_v);
    const bool within = group_within(w, group, touch_v);
    for (size_t lane = 0; lane < PD_LANES; lane++) {
        const size_t row = group * PD_LANES + lane;
        if (within)
            tally_voltage(w, &seat->tally[row], row, column, touch_v[lane]);
        else if (row < w->rows.count)
            tally_row(w, seat, row, column);
    }
}

void pd_replay_tally_columns(struct pd_replay_work *w, struct pd_replay_seat *seat, size_t first,
                             size_t end)
{
    const size_t groups = (w->rows.count + PD_LANES - 1) / PD_LANES;
    for (size_t row = 0; row < w->rows.count; row++)
        seat->tally[row] = (struct pd_replay_tally){.uv = {-1, -1}, .column = {PD_NONE, PD_NONE}};
    for (size_t column = first; column < end; column++)
        for (int kind = 0; kind < PD_REPLAY_KINDS; kind++)
            w->column[column].mark[kind].uv = -1;
    for (size_t group = 0; group < groups; group++)
        for (size_t column = first; column < end; column++)
            tally_group(w, seat, group, column);
}
