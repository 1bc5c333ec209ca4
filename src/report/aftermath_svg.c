/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>

#include "report/aftermath.h"
#include "report/cautions.h"
#include "report/figure.h"
#include "report/foot.h"
#include "report/plot.h"

/* Two plots over one time at the left, what happens in words at the right, the cautions below. */
enum { WIDTH = 1280, MARGIN = 28, TITLE = 44, SIDE = 660, EACH = 250, BETWEEN = 76, GAP = 46 };
enum { EVENTS_SHOWN = 10 };

/* What is drawn as steps: a voltage of an interval, NaN where there is none. */
enum quantity { CHASSIS, METALWORK, LINE_1, LINE_2, LINE_3, HIGHEST, QUANTITIES };

static const struct {
    enum pd_ink ink;
    const char *text;
} quantities[QUANTITIES] = {
    [CHASSIS] = {PD_INK_CURVE_1, "the charging point's chassis to earth"},
    [METALWORK] = {PD_INK_CURVE_2, "the rest of the metalwork to earth"},
    [LINE_1] = {PD_INK_CURVE_3, "L1 to neutral at the installation"},
    [LINE_2] = {PD_INK_CURVE_4, "L2 to neutral"},
    [LINE_3] = {PD_INK_CURVE_5, "L3 to neutral"},
    [HIGHEST] = {PD_INK_CURVE_6, "the neighbours' highest line to neutral"},
};

static double value_of(const struct pd_interval *at, enum quantity quantity)
{
    if (!at->known)
        return NAN;
    switch (quantity) {
    case CHASSIS:
        return at->chassis_v;
    case METALWORK:
        return at->metalwork_v;
    case LINE_1:
    case LINE_2:
    case LINE_3:
        return at->line_neutral_v[quantity - LINE_1];
    case HIGHEST:
        return at->highest_v;
    case QUANTITIES:
        break;
    }
    return NAN;
}

static bool is_there(const struct pd_aftermath *a, enum quantity quantity)
{
    for (size_t i = 0; i < a->interval_count; i++)
        if (isfinite(value_of(&a->interval[i], quantity)))
            return true;
    return false;
}

/* The end of the time axis: past the last event and the limit's time. */
static double end_of(const struct pd_aftermath *a)
{
    const double last_s = a->interval_count > 0 ? a->interval[a->interval_count - 1].start_s : 0;
    const double limit_s = a->study_case->limits.time_s;
    double end_s = fmax(1, 1.25 * last_s);
    if (isfinite(limit_s))
        end_s = fmax(end_s, 1.3 * limit_s);
    return end_s;
}

/* Where events are seconds and minutes apart the axis of time is logarithmic, and begins shortly
 * before the first; 0: it is linear. */
static double log_from(const struct pd_aftermath *a)
{
    enum { FAR_APART = 12 };
    double first_s = 0;
    for (size_t i = a->interval_count; i > 1; i--)
        if (a->interval[i - 1].start_s > 0)
            first_s = a->interval[i - 1].start_s;
    return first_s > 0 && end_of(a) > FAR_APART * first_s ? first_s / 3 : 0;
}

static void draw_steps(const struct pd_plot *plot, const struct pd_aftermath *a,
                       enum quantity quantity, struct pd_xy *point)
{
    const double end_s = end_of(a);
    for (size_t i = 0; i < a->interval_count; i++) {
        const struct pd_interval *const at = &a->interval[i];
        const bool last = i + 1 == a->interval_count;
        const double volts = value_of(at, quantity);
        const double to_s = !last                               ? at->end_s
                            : a->ending == PD_ENDING_OSCILLATES ? at->end_s
                            : a->ending == PD_ENDING_BOUND      ? at->end_s
                                                                : end_s;
        point[2 * i] = (struct pd_xy){fmax(at->start_s, log_from(a)), volts};
        point[2 * i + 1] = (struct pd_xy){fmin(to_s, end_s), volts};
    }
    pd_plot_curve(plot, quantities[quantity].ink, point, 2 * a->interval_count);
}

/* What nobody knows, or nobody followed. */
static void draw_unknown(const struct pd_plot *plot, const struct pd_aftermath *a, double high_v)
{
    const struct pd_interval *const last = &a->interval[a->interval_count - 1];
    const double end_s = end_of(a);
    const double from_s = fmax(last->known ? last->end_s : last->start_s, log_from(a));
    if (a->ending == PD_ENDING_SETTLED || a->ending == PD_ENDING_HORIZON || from_s >= end_s)
        return;
    const struct pd_xy corner[] = {{from_s, 0}, {end_s, 0}, {end_s, high_v}, {from_s, high_v}};
    pd_plot_area(plot, PD_INK_AREA_3, corner, 4);
}

static void draw_events(const struct pd_plot *plot, const struct pd_aftermath *a)
{
    for (size_t i = 1; i < a->interval_count; i++) {
        char number[24];
        snprintf(number, sizeof number, "%zu", i + 1);
        pd_plot_upright(plot, PD_INK_GUIDE, a->interval[i].start_s,
                        a->interval_count <= EVENTS_SHOWN + 1 ? number : NULL);
    }
}

static double highest(const struct pd_aftermath *a, enum quantity from, enum quantity to)
{
    double most_v = 0;
    for (size_t i = 0; i < a->interval_count; i++)
        for (int q = (int)from; q <= (int)to; q++)
            most_v = fmax(most_v, value_of(&a->interval[i], (enum quantity)q)); /* not NaN */
    return most_v;
}

static void draw_plot(struct pd_svg *svg, const struct pd_aftermath *a, struct pd_box box,
                      enum quantity from, enum quantity to, struct pd_xy *point)
{
    const struct pd_limits *const limits = &a->study_case->limits;
    const bool earth = from == CHASSIS;
    const double floor_v = earth ? limits->touch_v : a->over_v;
    const double high_v = 1.12 * fmax(highest(a, from, to), isfinite(floor_v) ? floor_v : 100);
    const double log_s = log_from(a);
    const struct pd_axis x = {.title = earth ? "" : "time since the break, s",
                              .low = log_s,
                              .high = end_of(a),
                              .log = log_s > 0};
    const struct pd_axis y = {
        .title = earth ? "to earth, V" : "line to neutral, V", .low = 0, .high = high_v};
    struct pd_plot plot;
    pd_plot_begin(&plot, svg, box, &x, &y);
    draw_unknown(&plot, a, high_v);
    draw_events(&plot, a);
    if (earth) {
        pd_plot_level(&plot, PD_INK_LIMIT, limits->touch_v, "touch limit");
        pd_plot_upright(&plot, PD_INK_LIMIT, limits->time_s, "time allowed");
    } else {
        pd_plot_level(&plot, PD_INK_OUTLINE, a->over_v, "supply range");
        pd_plot_level(&plot, PD_INK_OUTLINE, a->under_v, NULL);
    }
    for (int q = (int)from; q <= (int)to; q++) /* dashes show on top of what is whole */
        draw_steps(&plot, a, (enum quantity)q, point);
    pd_plot_end(&plot);
}

static double paragraph(struct pd_svg *svg, enum pd_ink ink, struct pd_xy at, double width,
                        const char *text)
{
    if (text[0] == '\0')
        return at.y;
    if (svg != NULL)
        pd_svg_paragraph(svg, ink, at.x, at.y, width, text);
    return at.y + pd_svg_paragraph_height(ink, width, text) + 0.4 * pd_ink_size(ink);
}

static double draw_list(struct pd_svg *svg, const struct pd_aftermath *a, struct pd_xy at,
                        double width)
{
    for (size_t i = 0; i < a->event_count && a->event[i].interval <= EVENTS_SHOWN; i++) {
        struct pd_aftermath_words line;
        const struct pd_event *const event = &a->event[i];
        snprintf(line.text, sizeof line.text, "%zu  %s s  %.700s", event->interval + 1,
                 pd_figure(event->time_s, 2).text, pd_aftermath_event(a, event).text);
        at.y = paragraph(svg, PD_INK_NOTE, at, width, line.text);
    }
    if (a->interval_count > EVENTS_SHOWN + 1)
        at.y = paragraph(svg, PD_INK_NOTE, at, width, "and so on: the text output has them all");
    return at.y;
}

static double draw_legend(struct pd_svg *svg, const struct pd_aftermath *a, struct pd_xy at,
                          double width)
{
    struct pd_legend row[QUANTITIES + 1];
    size_t count = 0;
    for (int q = 0; q < QUANTITIES; q++)
        if (is_there(a, (enum quantity)q))
            row[count++] = (struct pd_legend){PD_LEGEND_LINE, quantities[q].ink, PD_MARK_DISC,
                                              quantities[q].text};
    if (a->ending == PD_ENDING_UNKNOWN || a->ending == PD_ENDING_OSCILLATES ||
        a->ending == PD_ENDING_BOUND)
        row[count++] = (struct pd_legend){PD_LEGEND_AREA, PD_INK_AREA_3, PD_MARK_DISC,
                                          a->ending == PD_ENDING_UNKNOWN      ? "not determined"
                                          : a->ending == PD_ENDING_OSCILLATES ? "again and again"
                                                                              : "not followed"};
    if (svg == NULL)
        return at.y + PD_LEGEND_ROW * (double)(count + 1);
    return pd_legend_draw(svg, at.x, at.y, width, row, count);
}

/* The words at the right; where svg is NULL only the y below them. */
static double draw_column(struct pd_svg *svg, const struct pd_aftermath *a, double top)
{
    const double left = MARGIN + PD_PLOT_LEFT + SIDE + GAP, width = WIDTH - MARGIN - left;
    double y = top + 16;
    y = paragraph(svg, PD_INK_STRONG, (struct pd_xy){left, y}, width,
                  pd_aftermath_headline(a).text);
    y = paragraph(svg, PD_INK_TEXT, (struct pd_xy){left, y}, width, pd_aftermath_start(a).text);
    y = draw_list(svg, a, (struct pd_xy){left, y + 4}, width);
    y = draw_legend(svg, a, (struct pd_xy){left, y + 2}, width) + 22;
    y = paragraph(svg, PD_INK_NOTE, (struct pd_xy){left, y}, width,
                  pd_aftermath_neighbours(a).text);
    return paragraph(svg, PD_INK_NOTE, (struct pd_xy){left, y}, width, pd_aftermath_body(a).text);
}

static enum pd_status draw_body(struct pd_svg *svg, const struct pd_aftermath *a, double top)
{
    draw_column(svg, a, top);
    if (a->interval_count == 0) {
        pd_svg_text(svg, PD_INK_ALERT, MARGIN + SIDE / 2.0, top + EACH, PD_ANCHOR_MIDDLE, 0,
                    "not determined");
        return PD_OK;
    }
    struct pd_xy *const point = calloc(2 * a->interval_count, sizeof *point);
    if (point == NULL)
        return PD_ERR_MEMORY;
    const struct pd_box upper = {MARGIN + PD_PLOT_LEFT, top + 12, SIDE, EACH};
    const struct pd_box lower = {MARGIN + PD_PLOT_LEFT, top + 12 + EACH + BETWEEN, SIDE, EACH};
    draw_plot(svg, a, upper, CHASSIS, METALWORK, point);
    draw_plot(svg, a, lower, LINE_1, HIGHEST, point);
    free(point);
    return PD_OK;
}

enum pd_status pd_aftermath_svg(FILE *out, const struct pd_aftermath *a)
{
    struct pd_aftermath_words d;
    const char *const title = a->study_case->title;
    snprintf(d.text, sizeof d.text, "%.420s %.200s %.240s", pd_aftermath_headline(a).text,
             pd_aftermath_start(a).text, pd_caution_short);
    const double body =
        TITLE - 8 + pd_svg_paragraph_height(PD_INK_TITLE, WIDTH - 2 * MARGIN, title);
    const double foot =
        fmax(body + 2 * EACH + BETWEEN + PD_PLOT_BELOW + 40, draw_column(NULL, a, body) + 10);
    const struct pd_svg_head head = {.title = title,
                                     .description = d.text,
                                     .prefix = "aftermath",
                                     .width = WIDTH,
                                     .height = ceil(foot + pd_foot_height(WIDTH))};
    struct pd_svg svg;
    pd_svg_begin(&svg, out, &head);
    paragraph(&svg, PD_INK_TITLE, (struct pd_xy){MARGIN, TITLE}, WIDTH - 2 * MARGIN, title);
    const enum pd_status status = draw_body(&svg, a, body);
    pd_foot_draw(&svg, foot);
    pd_svg_end(&svg);
    return status == PD_OK && ferror(out) ? PD_ERR_FILE : status;
}
