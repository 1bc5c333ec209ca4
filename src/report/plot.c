/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/plot.h"

#include <math.h>

#include "report/figure.h"
#include "report/ticks.h"

static bool is_range(const struct pd_axis *axis)
{
    return isfinite(axis->low) && isfinite(axis->high) && axis->low < axis->high &&
           isfinite(axis->high - axis->low) && (!axis->log || axis->low > 0);
}

/* Where a value stands on its axis: 0 at the low end, 1 at the high one. */
static double share(const struct pd_axis *axis, double value)
{
    if (axis->log)
        return value > 0 ? log(value / axis->low) / log(axis->high / axis->low) : (double)NAN;
    return (value - axis->low) / (axis->high - axis->low);
}

struct pd_xy pd_plot_at(const struct pd_plot *plot, double x, double y)
{
    const struct pd_box *const box = &plot->box;
    if (!plot->good)
        return (struct pd_xy){NAN, NAN};
    return (struct pd_xy){box->left + box->width * share(&plot->x, x),
                          box->top + box->height * (1 - share(&plot->y, y))};
}

/* Half a pixel over the edge still counts as within. */
static bool in_box(const struct pd_box *box, struct pd_xy at)
{
    return at.x >= box->left - 0.5 && at.x <= box->left + box->width + 0.5 &&
           at.y >= box->top - 0.5 && at.y <= box->top + box->height + 0.5;
}

bool pd_plot_holds(const struct pd_plot *plot, double x, double y)
{
    return in_box(&plot->box, pd_plot_at(plot, x, y));
}

static struct pd_ticks ticks_of(const struct pd_axis *axis, double length, double apart)
{
    if (axis->log)
        return pd_ticks_log(axis->low, axis->high);
    const double fit = floor(length / apart);
    return pd_ticks_linear(axis->low, axis->high,
                           axis->ticks > 0 ? axis->ticks
                           : fit > 2       ? (size_t)fit
                                           : 2);
}

/* A decade needs as many decimals as it has. */
static struct pd_figure tick_figure(const struct pd_axis *axis, const struct pd_ticks *ticks,
                                    size_t i)
{
    const double at = ticks->at[i];
    const double below = axis->log ? -floor(log10(at) + 1e-9) : ticks->decimals;
    return pd_figure(at, below > 0 ? (int)below : 0);
}

static void draw_x(const struct pd_plot *plot)
{
    const struct pd_box *const box = &plot->box;
    const double bottom = box->top + box->height;
    const struct pd_ticks ticks = ticks_of(&plot->x, box->width, 70);
    for (size_t i = 0; i < ticks.count; i++) {
        const double x = box->left + box->width * share(&plot->x, ticks.at[i]);
        pd_svg_line(plot->svg, PD_INK_GRID, x, box->top, x, bottom);
        if (ticks.labelled[i])
            pd_svg_text(plot->svg, PD_INK_TEXT, x, bottom + 22, PD_ANCHOR_MIDDLE, 0,
                        tick_figure(&plot->x, &ticks, i).text);
    }
    pd_svg_text(plot->svg, PD_INK_TEXT, box->left + box->width / 2, bottom + 48, PD_ANCHOR_MIDDLE,
                0, plot->x.title);
}

static void draw_y(const struct pd_plot *plot)
{
    const struct pd_box *const box = &plot->box;
    const struct pd_ticks ticks = ticks_of(&plot->y, box->height, 45);
    for (size_t i = 0; i < ticks.count; i++) {
        const double y = box->top + box->height * (1 - share(&plot->y, ticks.at[i]));
        pd_svg_line(plot->svg, PD_INK_GRID, box->left, y, box->left + box->width, y);
        if (ticks.labelled[i])
            pd_svg_text(plot->svg, PD_INK_TEXT, box->left - 10, y + 6, PD_ANCHOR_END, 0,
                        tick_figure(&plot->y, &ticks, i).text);
    }
    pd_svg_text(plot->svg, PD_INK_TEXT, box->left - 58, box->top + box->height / 2,
                PD_ANCHOR_MIDDLE, -90, plot->y.title);
}

void pd_plot_begin(struct pd_plot *plot, struct pd_svg *svg, struct pd_box box,
                   const struct pd_axis *x, const struct pd_axis *y)
{
    *plot = (struct pd_plot){.svg = svg, .box = box, .x = *x, .y = *y};
    plot->good = is_range(x) && is_range(y);
    if (!plot->good) {
        pd_svg_text(svg, PD_INK_ALERT, box.left + box.width / 2, box.top + box.height / 2,
                    PD_ANCHOR_MIDDLE, 0, "not determined");
        return;
    }
    draw_x(plot);
    draw_y(plot);
}

void pd_plot_end(struct pd_plot *plot)
{
    pd_svg_rect(plot->svg, PD_INK_FRAME, plot->box.left, plot->box.top, plot->box.width,
                plot->box.height);
}

static void widen(struct pd_axis *axis, double range)
{
    const double more = (range - (axis->high - axis->low)) / 2;
    axis->low -= more;
    axis->high += more;
}

void pd_plot_even(struct pd_box box, struct pd_axis *x, struct pd_axis *y)
{
    const double unit_x = (x->high - x->low) / box.width; /* of the quantity in a pixel */
    const double unit_y = (y->high - y->low) / box.height;
    if (unit_x < unit_y)
        widen(x, unit_y * box.width);
    else
        widen(y, unit_x * box.height);
}

/* Narrows [*from, *to] of the way p to p + d to where q <= edge in one direction: Liang and
 * Barsky's test. False where nothing is left. */
static bool narrow(double d, double room, double *from, double *to)
{
    if (d == 0)
        return room >= 0;
    const double t = room / d;
    if (d < 0)
        *from = fmax(*from, t);
    else
        *to = fmin(*to, t);
    return *from <= *to;
}

/* Cuts a line off at the frame; false where all of it lies outside. */
static bool cut(const struct pd_box *box, struct pd_xy *a, struct pd_xy *b)
{
    const double dx = b->x - a->x, dy = b->y - a->y;
    const struct pd_xy start = *a;
    double from = 0, to = 1;
    if (!isfinite(dx) || !isfinite(dy))
        return false;
    if (!narrow(-dx, start.x - box->left, &from, &to) ||
        !narrow(dx, box->left + box->width - start.x, &from, &to) ||
        !narrow(-dy, start.y - box->top, &from, &to) ||
        !narrow(dy, box->top + box->height - start.y, &from, &to))
        return false;
    if (from > 0) /* an end within the frame stays as it is, however far off the other is */
        *a = (struct pd_xy){start.x + from * dx, start.y + from * dy};
    if (to < 1)
        *b = (struct pd_xy){start.x + to * dx, start.y + to * dy};
    return true;
}

void pd_plot_curve(const struct pd_plot *plot, enum pd_ink ink, const struct pd_xy *point,
                   size_t count)
{
    if (!plot->good)
        return;
    struct pd_xy last = {NAN, NAN}; /* where the pen stands */
    pd_svg_path(plot->svg, ink);
    for (size_t i = 1; i < count; i++) {
        struct pd_xy a = pd_plot_at(plot, point[i - 1].x, point[i - 1].y);
        struct pd_xy b = pd_plot_at(plot, point[i].x, point[i].y);
        if (!cut(&plot->box, &a, &b))
            continue;
        if (!(a.x == last.x && a.y == last.y))
            pd_svg_move_to(plot->svg, a.x, a.y);
        pd_svg_line_to(plot->svg, b.x, b.y);
        last = b;
    }
    pd_svg_path_end(plot->svg);
}

void pd_plot_area(const struct pd_plot *plot, enum pd_ink ink, const struct pd_xy *corner,
                  size_t count)
{
    const struct pd_box *const box = &plot->box;
    if (!plot->good)
        return;
    pd_svg_clip(plot->svg, box->left, box->top, box->width, box->height);
    pd_svg_path(plot->svg, ink);
    for (size_t i = 0; i < count; i++) {
        const struct pd_xy at = pd_plot_at(plot, corner[i].x, corner[i].y);
        pd_svg_line_to(plot->svg, at.x, at.y);
    }
    pd_svg_close(plot->svg);
    pd_svg_path_end(plot->svg);
    pd_svg_group_end(plot->svg);
}

void pd_plot_level(const struct pd_plot *plot, enum pd_ink ink, double y, const char *label)
{
    const struct pd_box *const box = &plot->box;
    const double at = box->top + box->height * (1 - share(&plot->y, y));
    if (!plot->good || !in_box(box, (struct pd_xy){box->left, at}))
        return;
    pd_svg_line(plot->svg, ink, box->left, at, box->left + box->width, at);
    if (label != NULL)
        pd_svg_text(plot->svg, PD_INK_STRONG, box->left + box->width - 8, at - 7, PD_ANCHOR_END, 0,
                    label);
}

void pd_plot_upright(const struct pd_plot *plot, enum pd_ink ink, double x, const char *label)
{
    const struct pd_box *const box = &plot->box;
    const double at = box->left + box->width * share(&plot->x, x);
    if (!plot->good || !in_box(box, (struct pd_xy){at, box->top}))
        return;
    pd_svg_line(plot->svg, ink, at, box->top, at, box->top + box->height);
    if (label != NULL)
        pd_svg_text(plot->svg, PD_INK_STRONG, at - 7, box->top + 8, PD_ANCHOR_END, -90, label);
}

bool pd_plot_mark(const struct pd_plot *plot, enum pd_ink ink, enum pd_mark mark, double x,
                  double y, double size)
{
    if (!plot->good || !pd_plot_holds(plot, x, y))
        return false;
    const struct pd_xy at = pd_plot_at(plot, x, y);
    pd_svg_mark(plot->svg, ink, mark, at.x, at.y, size);
    return true;
}

double pd_legend_draw(struct pd_svg *svg, double left, double top, double width,
                      const struct pd_legend *row, size_t count)
{
    enum { SAMPLE = 44, TEXT = 56 };
    double y = top;
    for (size_t i = 0; i < count; i++) {
        const double middle = y + 10;
        if (row[i].kind == PD_LEGEND_LINE) {
            pd_svg_line(svg, row[i].ink, left, middle, left + SAMPLE, middle);
        } else if (row[i].kind == PD_LEGEND_AREA) {
            pd_svg_rect(svg, row[i].ink, left, y, SAMPLE, 20);
            pd_svg_rect(svg, PD_INK_EDGE, left, y, SAMPLE, 20);
        } else {
            pd_svg_mark(svg, row[i].ink, row[i].mark, left + SAMPLE / 2.0, middle, 14);
        }
        const double below =
            pd_svg_paragraph(svg, PD_INK_TEXT, left + TEXT, y + 16, width - TEXT, row[i].text);
        y = fmax(below - 10, y + PD_LEGEND_ROW);
    }
    return y;
}
