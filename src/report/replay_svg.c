/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "report/figure.h"
#include "report/foot.h"
#include "report/plot.h"
#include "report/replay.h"

enum { WIDTH = 1100, MARGIN = 28, LINE = 20, PLOT_HEIGHT = 340, LEGEND_ROOM = 90 };

/* The first whole volt that the worst section never passes. */
static size_t highest(const struct pd_replay *r)
{
    size_t volts = 0;
    while (volts + 1 < PD_REPLAY_CURVE && r->over_curve_h[volts] > 0)
        volts++;
    return volts;
}

/* Voltage against the share of the record in which it is passed. */
static void draw_curve(const struct pd_plot *plot, const struct pd_replay *r, enum pd_ink ink,
                       const double *over_h)
{
    struct pd_xy point[PD_REPLAY_CURVE];
    size_t count = 0;
    for (size_t i = 0; i < PD_REPLAY_CURVE; i++) {
        point[count++] = (struct pd_xy){100 * over_h[i] / r->hours, (double)i};
        if (over_h[i] == 0)
            break;
    }
    if (over_h[0] > 0)
        pd_plot_curve(plot, ink, point, count);
}

static void draw_plot(struct pd_svg *svg, const struct pd_replay *r, double top)
{
    const double limit_v = r->study_case->limits.touch_v;
    const double most_v = fmax((double)highest(r), isfinite(limit_v) ? limit_v : 0);
    const struct pd_axis x = {.title = "share of the record, %", .low = 0, .high = 100};
    const struct pd_axis y = {.title = "touch voltage, V", .low = 0, .high = 1.05 * most_v + 1};
    const struct pd_box box = {MARGIN + PD_PLOT_LEFT, top, WIDTH - 2 * MARGIN - PD_PLOT_LEFT,
                               PLOT_HEIGHT};
    char label[64];
    struct pd_plot plot;
    snprintf(label, sizeof label, "limit %g V", limit_v);
    pd_plot_begin(&plot, svg, box, &x, &y);
    draw_curve(&plot, r, PD_INK_CURVE_1, r->over_curve_h);
    if (r->watched)
        draw_curve(&plot, r, PD_INK_CURVE_2, r->unseen_curve_h);
    pd_plot_level(&plot, PD_INK_LIMIT, limit_v, label);
    pd_plot_end(&plot);
}

static double draw_legend(struct pd_svg *svg, const struct pd_replay *r, double top)
{
    const struct pd_legend rows[] = {
        {.kind = PD_LEGEND_LINE,
         .ink = PD_INK_CURVE_1,
         .text = "the worst section of each moment passes this voltage"},
        {.kind = PD_LEGEND_LINE,
         .ink = PD_INK_CURVE_2,
         .text = "and, over the limit, no declared device disconnects it in time"},
    };
    return pd_legend_draw(svg, MARGIN + PD_PLOT_LEFT, top, WIDTH - 2 * MARGIN - PD_PLOT_LEFT, rows,
                          r->watched ? 2 : 1);
}

static double answer_height(const struct pd_notes *answer)
{
    double height = 0;
    for (size_t i = 0; i < answer->count; i++)
        height +=
            pd_svg_paragraph_height(PD_INK_TEXT, WIDTH - 2 * MARGIN, answer->text[i]) + LINE / 4.0;
    return height;
}

static double draw_answer(struct pd_svg *svg, const struct pd_notes *answer, double y)
{
    for (size_t i = 0; i < answer->count; i++)
        y = pd_svg_paragraph(svg, PD_INK_TEXT, MARGIN, y, WIDTH - 2 * MARGIN, answer->text[i]) +
            LINE / 4.0;
    return y;
}

enum pd_status pd_report_replay_svg(FILE *out, const struct pd_replay *r)
{
    struct pd_notes answer = {0};
    const enum pd_status status = pd_replay_answer_notes(r, &answer);
    if (status != PD_OK) {
        pd_notes_free(&answer);
        return status;
    }
    const double title =
        pd_svg_paragraph_height(PD_INK_TITLE, WIDTH - 2 * MARGIN, r->study_case->title);
    const double above = MARGIN + LINE + title + answer_height(&answer) + LINE;
    const double height = above + PLOT_HEIGHT + PD_PLOT_BELOW + LEGEND_ROOM + pd_foot_height(WIDTH);
    const struct pd_svg_head head = {
        .title = "Duration curve of the touch voltage, had the PEN opened",
        .description = answer.count > 0 ? answer.text[0] : "not determined",
        .prefix = "replay",
        .width = WIDTH,
        .height = height,
    };
    struct pd_svg svg;
    pd_svg_begin(&svg, out, &head);
    const double y = pd_svg_paragraph(&svg, PD_INK_TITLE, MARGIN, MARGIN + LINE, WIDTH - 2 * MARGIN,
                                      r->study_case->title);
    draw_answer(&svg, &answer, y);
    draw_plot(&svg, r, above);
    draw_legend(&svg, r, above + PLOT_HEIGHT + PD_PLOT_BELOW + LINE);
    pd_foot_draw(&svg, height - pd_foot_height(WIDTH));
    pd_svg_end(&svg);
    pd_notes_free(&answer);
    return ferror(out) ? PD_ERR_FILE : PD_OK;
}
