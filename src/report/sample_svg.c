/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "report/cautions.h"
#include "report/foot.h"
#include "report/plot.h"
#include "report/sample.h"

/* The histogram at the left, words and legend at its right, the cautions below. */
enum { WIDTH = 1280, MARGIN = 28, TITLE = 44, SIDE = 700, HEIGHT = 500, GAP = 34 };

static double paragraph(struct pd_svg *svg, enum pd_ink ink, struct pd_xy at, double width,
                        const char *text)
{
    pd_svg_paragraph(svg, ink, at.x, at.y, width, text);
    return at.y + pd_svg_paragraph_height(ink, width, text) + 0.4 * pd_ink_size(ink);
}

static double draw_words(struct pd_svg *svg, const struct pd_sample *sample, struct pd_xy at,
                         double width)
{
    at.y = paragraph(svg, PD_INK_STRONG, at, width, pd_sample_headline(sample).text);
    if (sample->missing)
        return at.y;
    at.y = paragraph(svg, PD_INK_TEXT, at, width, pd_sample_given_note);
    for (size_t i = 0; i < sample->doubts.count; i++)
        at.y = paragraph(svg, PD_INK_TEXT, at, width, sample->doubts.text[i]);
    at.y = paragraph(svg, PD_INK_NOTE, at, width, pd_sample_method(sample).text);
    return paragraph(svg, PD_INK_NOTE, at, width, pd_sample_alone_note);
}

static void draw_bar(const struct pd_plot *plot, enum pd_ink ink, double low_v, double high_v,
                     double percent)
{
    const struct pd_xy corner[] = {{low_v, 0}, {low_v, percent}, {high_v, percent}, {high_v, 0}};
    pd_plot_area(plot, ink, corner, 4);
    pd_plot_curve(plot, PD_INK_OUTLINE, corner, 4);
}

/* A bar that the limit stands in is drawn in two parts. */
static void draw_bars(const struct pd_plot *plot, const struct pd_sample *sample)
{
    const double limit_v = sample->study_case->limits.touch_v;
    for (size_t i = 0; i < PD_BARS; i++) {
        const double low_v = (double)i * sample->bar_v, high_v = low_v + sample->bar_v;
        const double percent = 100 * sample->bar[i];
        if (percent > 0 && low_v < limit_v)
            draw_bar(plot, PD_INK_AREA_2, low_v, fmin(limit_v, high_v), percent);
        if (percent > 0 && high_v > limit_v)
            draw_bar(plot, PD_INK_AREA_1, fmax(limit_v, low_v), high_v, percent);
    }
}

static void draw_plot(struct pd_svg *svg, const struct pd_sample *sample, struct pd_box box)
{
    char title[64];
    double most = 0, last = 1;
    for (size_t i = 0; i < PD_BARS; i++) {
        most = fmax(most, 100 * sample->bar[i]);
        last = sample->bar[i] > 0 ? (double)i + 1 : last;
    }
    snprintf(title, sizeof title, "%% of the weight, in each %.4g V", sample->bar_v);
    const double limit_v = sample->study_case->limits.touch_v;
    const struct pd_axis x = {"touch voltage, V", 0, fmax(last * sample->bar_v, 1.1 * limit_v),
                              false, 0},
                         y = {title, 0, 1.08 * most, false, 0};
    struct pd_plot plot;
    pd_plot_begin(&plot, svg, box, &x, &y);
    draw_bars(&plot, sample);
    pd_plot_upright(&plot, PD_INK_LIMIT, limit_v, "limit");
    pd_plot_end(&plot);
}

static void draw_legend(struct pd_svg *svg, struct pd_xy at, double width)
{
    const struct pd_legend row[] = {
        {PD_LEGEND_AREA, PD_INK_AREA_2, PD_MARK_DISC, "within the limit"},
        {PD_LEGEND_AREA, PD_INK_AREA_1, PD_MARK_DISC, "over the limit, seen or not"},
        {PD_LEGEND_LINE, PD_INK_LIMIT, PD_MARK_DISC, "touch-voltage limit"}};
    pd_legend_draw(svg, at.x, at.y, width, row, 3);
}

enum pd_status pd_sample_svg(FILE *out, const struct pd_sample *sample)
{
    char description[1200];
    const char *const title = sample->study_case->title;
    const double body =
        TITLE - 8 + pd_svg_paragraph_height(PD_INK_TITLE, WIDTH - 2 * MARGIN, title);
    const double foot = body + HEIGHT + PD_PLOT_BELOW + 28;
    const struct pd_box box = {MARGIN + PD_PLOT_LEFT, body, SIDE, HEIGHT};
    const double left = box.left + SIDE + GAP, width = WIDTH - MARGIN - left;
    snprintf(description, sizeof description, "%s %s", pd_sample_headline(sample).text,
             pd_caution_short);
    const struct pd_svg_head head = {.title = title,
                                     .description = description,
                                     .prefix = "sample",
                                     .width = WIDTH,
                                     .height = ceil(foot + pd_foot_height(WIDTH))};
    struct pd_svg svg;
    pd_svg_begin(&svg, out, &head);
    paragraph(&svg, PD_INK_TITLE, (struct pd_xy){MARGIN, TITLE}, WIDTH - 2 * MARGIN, title);
    const double below = draw_words(&svg, sample, (struct pd_xy){left, body + 16}, width);
    if (sample->missing)
        pd_svg_text(&svg, PD_INK_ALERT, MARGIN + SIDE / 2.0, body + HEIGHT / 2.0, PD_ANCHOR_MIDDLE,
                    0, "not determined: the case is incomplete");
    else
        draw_plot(&svg, sample, box);
    draw_legend(&svg, (struct pd_xy){left, below}, width);
    pd_foot_draw(&svg, foot);
    pd_svg_end(&svg);
    return ferror(out) ? PD_ERR_FILE : PD_OK;
}
