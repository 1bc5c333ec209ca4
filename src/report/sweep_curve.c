/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>

#include "report/sweep_draw.h"

static int by_value(const void *a, const void *b)
{
    const struct pd_sweep_point *const p = a, *const q = b;
    return p->value[0] < q->value[0] ? -1 : p->value[0] > q->value[0];
}

/* The points of the curve with the crossings among them, by value; the caller frees. */
static enum pd_status make_track(const struct pd_sweep *sweep, struct pd_sweep_point **out,
                                 size_t *count)
{
    struct pd_sweep_point *const all =
        calloc(sweep->count + 2 * sweep->crossing_count + 1, sizeof *all);
    *out = all;
    *count = 0;
    if (all == NULL)
        return PD_ERR_MEMORY;
    for (size_t i = 0; i < sweep->count; i++)
        all[(*count)++] = sweep->point[i];
    for (size_t i = 0; i < sweep->crossing_count; i++) {
        all[(*count)++] = sweep->crossing[i].low;
        all[(*count)++] = sweep->crossing[i].high;
    }
    qsort(all, *count, sizeof *all, by_value);
    return PD_OK;
}

/* How high the dangerous part of a point reaches, NaN where it has none: of all breaks, or of those
 * that nothing disconnects in time. */
static double height_of(const struct pd_sweep_point *point, bool unseen)
{
    const double height_v = unseen ? point->unseen_v : point->touch_v;
    return point->touch == PD_OVER && height_v > 0 ? height_v : (double)NAN;
}

/* Fills between the limit and what is over it, along each run of points that have some. */
static void fill_over(const struct pd_plot *plot, enum pd_ink ink, bool unseen, double limit_v,
                      const struct pd_sweep_point *all, size_t count, struct pd_xy *corner)
{
    for (size_t i = 0; i < count;) {
        size_t used = 0;
        if (isnan(height_of(&all[i], unseen))) {
            i++;
            continue;
        }
        corner[used++] = (struct pd_xy){all[i].value[0], limit_v};
        for (; i < count && !isnan(height_of(&all[i], unseen)); i++)
            corner[used++] = (struct pd_xy){all[i].value[0], height_of(&all[i], unseen)};
        corner[used] = (struct pd_xy){corner[used - 1].x, limit_v};
        pd_plot_area(plot, ink, corner, used + 1);
    }
}

static void mark(const struct pd_plot *plot, const struct pd_sweep *sweep)
{
    char label[64];
    for (size_t i = 0; i < sweep->crossing_count; i++) {
        const struct pd_sweep_crossing *const c = &sweep->crossing[i];
        const struct pd_sweep_point *const in = c->low.touch == PD_WITHIN ? &c->low : &c->high;
        snprintf(label, sizeof label, "%s %s", pd_sweep_number(in->value[0]).text,
                 pd_sweep_value_unit(sweep, 0));
        pd_plot_upright(plot, PD_INK_GUIDE, in->value[0], label);
        pd_plot_mark(plot, PD_INK_MARK_ALERT, PD_MARK_DIAMOND, in->value[0], in->touch_v, 16);
    }
    pd_plot_mark(plot, PD_INK_MARK_HOLLOW, PD_MARK_SQUARE, sweep->present.value[0],
                 sweep->present.touch_v, 15);
}

/* Whether a device makes a difference anywhere. */
static bool has_seen(const struct pd_sweep *sweep)
{
    for (size_t i = 0; i < sweep->count; i++)
        if (sweep->point[i].touch == PD_OVER && sweep->point[i].disconnected)
            return true;
    return false;
}

/* Whether the worst that nothing disconnects is not the worst of all. */
static bool differs(const struct pd_sweep *sweep)
{
    for (size_t i = 0; i < sweep->count; i++)
        if (sweep->point[i].unseen_v > 0 && sweep->point[i].disconnected)
            return true;
    return false;
}

static double draw_legend(struct pd_svg *svg, const struct pd_sweep *sweep,
                          const struct pd_sweep_place *place)
{
    struct pd_legend row[8] = {
        {PD_LEGEND_LINE, PD_INK_CURVE_1, PD_MARK_DISC, "largest touch voltage of all breaks"},
        {PD_LEGEND_LINE, PD_INK_LIMIT, PD_MARK_DISC, "touch-voltage limit"},
        {PD_LEGEND_AREA, PD_INK_AREA_1, PD_MARK_DISC, "over it, and nothing lets go in time"}};
    size_t count = 3;
    if (has_seen(sweep))
        row[count++] = (struct pd_legend){PD_LEGEND_AREA, PD_INK_AREA_3, PD_MARK_DISC,
                                          "over it, and a device lets go in time"};
    if (differs(sweep))
        row[count++] = (struct pd_legend){PD_LEGEND_LINE, PD_INK_CURVE_2, PD_MARK_DISC,
                                          "largest over it that nothing lets go of in time"};
    if (sweep->crossing_count > 0)
        row[count++] = (struct pd_legend){PD_LEGEND_MARK, PD_INK_MARK_ALERT, PD_MARK_DIAMOND,
                                          "the limit is crossed"};
    if (isfinite(sweep->present.value[0]) && isfinite(sweep->present.touch_v))
        row[count++] = (struct pd_legend){PD_LEGEND_MARK, PD_INK_MARK_HOLLOW, PD_MARK_SQUARE,
                                          "as the tables have it"};
    return pd_legend_draw(svg, place->legend_left, place->legend_top, place->legend_width, row,
                          count);
}

static double top_voltage(const struct pd_sweep *sweep)
{
    double top = 1.3 * sweep->study_case->limits.touch_v;
    for (size_t i = 0; i < sweep->count; i++)
        top = fmax(top, 1.08 * sweep->point[i].touch_v);
    return isfinite(sweep->present.touch_v) ? fmax(top, 1.08 * sweep->present.touch_v) : top;
}

static void draw_points(const struct pd_plot *plot, const struct pd_sweep *sweep,
                        const struct pd_sweep_point *all, size_t count, struct pd_xy *corner)
{
    const double limit_v = sweep->study_case->limits.touch_v;
    if (has_seen(sweep))
        fill_over(plot, PD_INK_AREA_3, false, limit_v, all, count, corner);
    fill_over(plot, PD_INK_AREA_1, true, limit_v, all, count, corner);
    for (size_t i = 0; i < count; i++)
        corner[i] = (struct pd_xy){all[i].value[0],
                                   all[i].touch == PD_UNKNOWN ? (double)NAN : all[i].touch_v};
    pd_plot_level(plot, PD_INK_LIMIT, limit_v, "limit");
    pd_plot_curve(plot, PD_INK_CURVE_1, corner, count);
    for (size_t i = 0; i < count; i++)
        corner[i].y = all[i].unseen_v > 0 ? all[i].unseen_v : (double)NAN;
    if (differs(sweep))
        pd_plot_curve(plot, PD_INK_CURVE_2, corner, count);
    mark(plot, sweep);
}

enum pd_status pd_sweep_draw_curve(struct pd_svg *svg, const struct pd_sweep *sweep,
                                   const struct pd_sweep_place *place, double *below)
{
    const struct pd_vary *const vary = &sweep->settings.vary[0];
    const char *const unit = pd_vary_unit(vary);
    char title[260];
    snprintf(title, sizeof title, "%s%s%s", pd_sweep_value_name(sweep, 0).text,
             unit[0] != '\0' ? ", " : "", unit);
    const struct pd_axis x = {title, fmin(vary->from, vary->to), fmax(vary->from, vary->to),
                              vary->log, 0},
                         y = {"touch voltage, V", 0, top_voltage(sweep), false, 0};
    struct pd_sweep_point *all = NULL;
    size_t count = 0;
    enum pd_status status = make_track(sweep, &all, &count);
    struct pd_xy *const corner = calloc(count + 4, sizeof *corner);
    if (corner == NULL)
        status = PD_ERR_MEMORY;
    struct pd_plot plot;
    pd_plot_begin(&plot, svg, place->box, &x, &y);
    if (status == PD_OK)
        draw_points(&plot, sweep, all, count, corner);
    pd_plot_end(&plot);
    *below = draw_legend(svg, sweep, place);
    free(all);
    free(corner);
    return status;
}
