/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>

#include "report/cautions.h"
#include "report/foot.h"
#include "report/sweep_draw.h"

/* The picture at the left, words and legend at its right, the cautions below. */
enum { WIDTH = 1280, MARGIN = 28, TITLE = 44, SIDE = 700, HEIGHT = 560, GAP = 34 };

static double paragraph(struct pd_svg *svg, enum pd_ink ink, struct pd_xy at, double width,
                        const char *text)
{
    pd_svg_paragraph(svg, ink, at.x, at.y, width, text);
    return at.y + pd_svg_paragraph_height(ink, width, text) + 0.4 * pd_ink_size(ink);
}

struct description {
    char text[2400];
};

static struct description describe(const struct pd_sweep *sweep)
{
    struct description d;
    snprintf(d.text, sizeof d.text, "%s %s %s %s", pd_sweep_headline(sweep).text,
             sweep->missing ? "" : pd_sweep_present(sweep).text,
             sweep->missing ? "" : pd_sweep_largest(sweep).text, pd_caution_short);
    return d;
}

static double draw_words(struct pd_svg *svg, const struct pd_sweep *sweep, struct pd_xy at,
                         double width)
{
    const size_t count = sweep->settings.vary_count > 0 ? sweep->settings.vary_count : 1;
    struct pd_sweep_words varied;
    at.y = paragraph(svg, PD_INK_STRONG, at, width, pd_sweep_headline(sweep).text);
    if (sweep->missing)
        return at.y;
    at.y = paragraph(svg, PD_INK_TEXT, at, width, pd_sweep_present(sweep).text);
    for (size_t i = 0; i < count; i++) {
        snprintf(varied.text, sizeof varied.text, "Varied: %.580s.",
                 pd_sweep_quantity(sweep, i).text);
        at.y = paragraph(svg, PD_INK_NOTE, at, width, varied.text);
    }
    snprintf(varied.text, sizeof varied.text, "Computed: %.580s", pd_sweep_method(sweep).text);
    at.y = paragraph(svg, PD_INK_NOTE, at, width, varied.text);
    if (sweep->settings.vary_count == 0)
        at.y =
            paragraph(svg, PD_INK_NOTE, at, width,
                      "The nearer to a corner, the larger that line's share; figures stand where "
                      "the line of a share begins, L1 at the left, L2 at the right, L3 below.");
    if (sweep->unknown > 0)
        at.y = paragraph(svg, PD_INK_NOTE, at, width,
                         "Points that are not determined are left blank.");
    return at.y;
}

static enum pd_status draw_body(struct pd_svg *svg, const struct pd_sweep *sweep, double top)
{
    const bool triangle = sweep->settings.vary_count == 0;
    struct pd_sweep_place place = {
        .box = {MARGIN + PD_PLOT_LEFT, top + (triangle ? 18 : 0), SIDE, HEIGHT}};
    double below;
    place.legend_left = place.box.left + SIDE + GAP;
    place.legend_width = WIDTH - MARGIN - place.legend_left;
    place.legend_top =
        draw_words(svg, sweep, (struct pd_xy){place.legend_left, top + 16}, place.legend_width);
    if (sweep->missing) {
        pd_svg_text(svg, PD_INK_ALERT, MARGIN + SIDE / 2.0, top + HEIGHT / 2.0, PD_ANCHOR_MIDDLE, 0,
                    "not determined: the case is incomplete");
        return PD_OK;
    }
    if (triangle)
        return pd_sweep_draw_triangle(svg, sweep, &place, &below);
    return sweep->settings.vary_count == 1 ? pd_sweep_draw_curve(svg, sweep, &place, &below)
                                           : pd_sweep_draw_map(svg, sweep, &place, &below);
}

enum pd_status pd_sweep_svg(FILE *out, const struct pd_sweep *sweep)
{
    const struct description description = describe(sweep);
    const char *const title = sweep->study_case->title;
    const double body =
        TITLE - 8 + pd_svg_paragraph_height(PD_INK_TITLE, WIDTH - 2 * MARGIN, title);
    const double foot = body + HEIGHT + PD_PLOT_BELOW + 28;
    const struct pd_svg_head head = {.title = title,
                                     .description = description.text,
                                     .prefix = "sweep",
                                     .width = WIDTH,
                                     .height = ceil(foot + pd_foot_height(WIDTH))};
    struct pd_svg svg;
    pd_svg_begin(&svg, out, &head);
    paragraph(&svg, PD_INK_TITLE, (struct pd_xy){MARGIN, TITLE}, WIDTH - 2 * MARGIN, title);
    const enum pd_status status = draw_body(&svg, sweep, body);
    pd_foot_draw(&svg, foot);
    pd_svg_end(&svg);
    return status == PD_OK && ferror(out) ? PD_ERR_FILE : status;
}

enum { OWN_WIDTH = 880, OWN_TOP = 24, OWN_FOOT = 46 };

static enum pd_status draw_inlined(FILE *out, const struct pd_sweep *sweep,
                                   const struct pd_svg_head *head, double *below)
{
    const bool triangle = sweep->settings.vary_count == 0;
    const double height = triangle ? 520 : 420;
    const double left = MARGIN + PD_PLOT_LEFT;
    const struct pd_sweep_place place = {
        .box = {left, OWN_TOP + (triangle ? 18 : 0), OWN_WIDTH - MARGIN - left, height},
        .legend_left = MARGIN,
        .legend_top = OWN_TOP + height + PD_PLOT_BELOW + 22,
        .legend_width = OWN_WIDTH - 2 * MARGIN};
    struct pd_svg svg;
    pd_svg_begin(&svg, out, head);
    const enum pd_status status = triangle ? pd_sweep_draw_triangle(&svg, sweep, &place, below)
                                           : pd_sweep_draw_curve(&svg, sweep, &place, below);
    pd_svg_text(&svg, PD_INK_NOTE, MARGIN, head->height - 20, PD_ANCHOR_START, 0, pd_caution_short);
    pd_svg_end(&svg);
    return status == PD_OK && ferror(out) ? PD_ERR_FILE : status;
}

enum pd_status pd_sweep_svg_inlined(FILE *out, const struct pd_sweep *sweep, const char *title,
                                    const char *prefix)
{
    const struct description description = describe(sweep);
    struct pd_svg_head head = {.title = title,
                               .description = description.text,
                               .prefix = prefix,
                               .width = OWN_WIDTH,
                               .inlined = true};
    char *nowhere = NULL;
    size_t length = 0;
    double below = 0;
    FILE *const first = open_memstream(&nowhere, &length); /* only to see how high it comes */
    if (first == NULL)
        return PD_ERR_MEMORY;
    enum pd_status status = draw_inlined(first, sweep, &head, &below);
    fclose(first);
    free(nowhere);
    head.height = ceil(below + OWN_FOOT);
    return status == PD_OK ? draw_inlined(out, sweep, &head, &below) : status;
}
