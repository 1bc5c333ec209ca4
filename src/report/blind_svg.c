/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "report/blind.h"
#include "report/blind_plane.h"
#include "report/cautions.h"
#include "report/figure.h"
#include "report/foot.h"

/* One detector: the plane at the left, words at its right. Several: planes side by side, two in a
 * row and all at one supply voltage, each with its words below. */
enum { WIDTH = 1280, MARGIN = 28, TITLE = 44, ONE_SIDE = 650, TWO_SIDE = 520, LEGEND = 156 };

/* The figures of the region at the picture's supply voltage. */
static struct pd_blind_words figures(const struct pd_blind_device *device)
{
    const struct pd_region *const region = &device->view[PD_VIEW_DRAWN];
    struct pd_blind_words words = {""};
    if (region->kind == PD_REGION_KNOWN)
        snprintf(words.text, sizeof words.text,
                 "At %s V, as drawn: unseen up to %s V, in %s %% of the %s; in %s %% of it unseen "
                 "and over the limit.",
                 pd_figure_v(region->supply_v).text, pd_figure_v(region->worst_v).text,
                 pd_figure(100 * region->unseen_share, 1).text,
                 region->corner_count == 2 ? "line" : "area",
                 pd_figure(100 * region->hazard_share, 1).text);
    return words;
}

/* Draws it, or where svg is NULL only finds the y below it. */
static double paragraph(struct pd_svg *svg, enum pd_ink ink, struct pd_xy at, double width,
                        const char *text)
{
    if (text[0] == '\0')
        return at.y;
    if (svg != NULL)
        pd_svg_paragraph(svg, ink, at.x, at.y, width, text);
    return at.y + pd_svg_paragraph_height(ink, width, text) + 0.4 * pd_ink_size(ink);
}

static double draw_words(struct pd_svg *svg, const struct pd_blind *blind,
                         const struct pd_blind_device *device, struct pd_xy at, double width)
{
    at.y = paragraph(svg, PD_INK_STRONG, at, width, pd_blind_headline(blind, device).text);
    at.y = paragraph(svg, PD_INK_TEXT, at, width, figures(device).text);
    return paragraph(svg, PD_INK_TEXT, at, width, pd_blind_here(device).text);
}

/* What the words below a row of two planes take. */
static double words_height(const struct pd_blind *blind, size_t row)
{
    double height = 0;
    for (size_t i = 2 * row; i < blind->count && i < 2 * row + 2; i++)
        height = fmax(height, draw_words(NULL, blind, &blind->device[i], (struct pd_xy){0, 0},
                                         WIDTH / 2.0 - 2 * MARGIN));
    return height + 24;
}

/* Up to `most` rows one under the other, the rest at `across` to their right. */
static double draw_rows(struct pd_svg *svg, const struct pd_blind *blind, struct pd_xy at,
                        double width, size_t most, double across)
{
    const struct pd_legend row[] = {
        {PD_LEGEND_AREA, PD_INK_AREA_1, PD_MARK_DISC, "not seen, and over the touch limit"},
        {PD_LEGEND_AREA, PD_INK_AREA_2, PD_MARK_DISC, "not seen, within the limit"},
        {PD_LEGEND_LINE, PD_INK_LIMIT, PD_MARK_DISC, "touch limit"},
        {PD_LEGEND_LINE, PD_INK_GUIDE, PD_MARK_DISC, "where its reading is on a threshold"},
        {PD_LEGEND_MARK, PD_INK_MARK_ALERT, PD_MARK_DIAMOND, "furthest point not seen"},
        {PD_LEGEND_MARK, PD_INK_MARK, PD_MARK_TRIANGLE, "this case: over the limit, not seen"},
        {PD_LEGEND_MARK, PD_INK_MARK_HOLLOW, PD_MARK_SQUARE, "this case: over the limit, seen"},
        {PD_LEGEND_MARK, PD_INK_MARK_HOLLOW, PD_MARK_DISC, "this case: within the limit"}};
    const size_t count = blind->study_case != NULL ? 8 : 5, half = count < most ? count : most;
    if (svg == NULL)
        return at.y + PD_LEGEND_ROW * (double)half; /* none of the texts is wrapped */
    const double below = pd_legend_draw(svg, at.x, at.y, width, row, half);
    return half == count ? below
                         : fmax(below, pd_legend_draw(svg, at.x + across, at.y, width, row + half,
                                                      count - half));
}

static double draw_legend(struct pd_svg *svg, const struct pd_blind *blind, struct pd_xy at,
                          double width)
{
    return draw_rows(svg, blind, at, width, blind->count > 1 ? 4 : 8, WIDTH / 2.0);
}

/* The words at the right of the one plane; where svg is NULL only the y below them. */
static double draw_column(struct pd_svg *svg, const struct pd_blind *blind, double top)
{
    const double left = MARGIN + PD_PLOT_LEFT + ONE_SIDE + 34, width = WIDTH - MARGIN - left;
    double y = draw_words(svg, blind, &blind->device[0], (struct pd_xy){left, top + 16}, width);
    y = draw_legend(svg, blind, (struct pd_xy){left, y + 2}, width) + 22;
    return paragraph(svg, PD_INK_NOTE, (struct pd_xy){left, y}, width, pd_blind_hull_note);
}

static double body_height(const struct pd_blind *blind)
{
    double height = LEGEND;
    if (blind->count <= 1)
        return fmax(ONE_SIDE + PD_PLOT_BELOW + 14,
                    blind->count == 1 ? draw_column(NULL, blind, 0) : 0);
    for (size_t row = 0; 2 * row < blind->count; row++)
        height += TWO_SIDE + PD_PLOT_BELOW + words_height(blind, row);
    return height;
}

static void draw_one(struct pd_svg *svg, const struct pd_blind *blind, double top)
{
    const struct pd_box box = {MARGIN + PD_PLOT_LEFT, top, ONE_SIDE, ONE_SIDE};
    pd_blind_plane(svg, blind, &blind->device[0], box);
    draw_column(svg, blind, top);
}

static void draw_several(struct pd_svg *svg, const struct pd_blind *blind, double top)
{
    const double half = WIDTH / 2.0;
    double y = top;
    for (size_t i = 0; i < blind->count; i++) {
        const double left = i % 2 == 0 ? 0 : half;
        const struct pd_box box = {left + MARGIN + PD_PLOT_LEFT - 8, y, TWO_SIDE, TWO_SIDE};
        pd_blind_plane(svg, blind, &blind->device[i], box);
        draw_words(svg, blind, &blind->device[i],
                   (struct pd_xy){left + MARGIN, y + TWO_SIDE + PD_PLOT_BELOW + 24},
                   half - 2 * MARGIN);
        if (i % 2 == 1 || i + 1 == blind->count)
            y += TWO_SIDE + PD_PLOT_BELOW + words_height(blind, i / 2);
    }
    draw_legend(svg, blind, (struct pd_xy){MARGIN, y + 10}, half - 2 * MARGIN);
}

static void draw_none(struct pd_svg *svg, double top)
{
    pd_svg_text(svg, PD_INK_ALERT, WIDTH / 2.0, top + ONE_SIDE / 2.0, PD_ANCHOR_MIDDLE, 0,
                "not determined: no detector is declared");
}

struct description {
    char text[4096];
};

/* What is to be seen, for who cannot see it: what is said of each detector, and the cautions' gist.
 */
static void describe(const struct pd_blind *blind, struct description *d)
{
    const size_t room = sizeof d->text;
    int used = snprintf(d->text, room, "%s",
                        blind->count > 0 ? "The plane of neutral displacement."
                                         : "Not determined: no detector is declared.");
    for (size_t i = 0; i < blind->count && (size_t)used < room; i++)
        used += snprintf(d->text + used, room - (size_t)used, " %s %s %s",
                         pd_blind_headline(blind, &blind->device[i]).text,
                         figures(&blind->device[i]).text, pd_blind_here(&blind->device[i]).text);
    if ((size_t)used < room)
        snprintf(d->text + used, room - (size_t)used, " %s", pd_caution_short);
}

enum pd_status pd_blind_svg(FILE *out, const struct pd_blind *blind)
{
    struct description description = {""};
    describe(blind, &description);
    const double note = blind->count > 1 ? pd_svg_paragraph_height(PD_INK_NOTE, WIDTH - 2 * MARGIN,
                                                                   pd_blind_hull_note)
                                         : 0;
    const double body =
        TITLE - 8 +
        pd_svg_paragraph_height(PD_INK_TITLE, WIDTH - 2 * MARGIN, pd_blind_title(blind));
    const double foot = body + body_height(blind) + note;
    const struct pd_svg_head head = {.title = pd_blind_title(blind),
                                     .description = description.text,
                                     .prefix = "blind",
                                     .width = WIDTH,
                                     .height = ceil(foot + pd_foot_height(WIDTH))};
    struct pd_svg svg;
    pd_svg_begin(&svg, out, &head);
    paragraph(&svg, PD_INK_TITLE, (struct pd_xy){MARGIN, TITLE}, WIDTH - 2 * MARGIN, head.title);
    if (blind->count == 0)
        draw_none(&svg, body);
    else if (blind->count == 1)
        draw_one(&svg, blind, body);
    else
        draw_several(&svg, blind, body);
    if (note > 0)
        paragraph(&svg, PD_INK_NOTE, (struct pd_xy){MARGIN, foot - note}, WIDTH - 2 * MARGIN,
                  pd_blind_hull_note);
    pd_foot_draw(&svg, foot);
    pd_svg_end(&svg);
    return ferror(out) ? PD_ERR_FILE : PD_OK;
}

enum pd_status pd_blind_svg_inlined(FILE *out, const struct pd_blind *blind, size_t device,
                                    const char *prefix)
{
    enum { OWN_WIDTH = 880, OWN_TOP = 16, OWN_FOOT = 46 };
    const struct pd_blind_device *const d = &blind->device[device];
    const double legend = OWN_TOP + ONE_SIDE + PD_PLOT_BELOW + 14;
    const struct pd_blind_words words = pd_blind_headline(blind, d);
    struct pd_svg svg;
    const struct pd_svg_head head = {.title = "What the device does not see",
                                     .description = words.text,
                                     .prefix = prefix,
                                     .width = OWN_WIDTH,
                                     .height = legend + 4 * 30 + OWN_FOOT,
                                     .inlined = true};
    pd_svg_begin(&svg, out, &head);
    pd_blind_plane(&svg, blind, d,
                   (struct pd_box){(OWN_WIDTH - ONE_SIDE) / 2.0, OWN_TOP, ONE_SIDE, ONE_SIDE});
    draw_rows(&svg, blind, (struct pd_xy){MARGIN, legend}, OWN_WIDTH / 2.0 - MARGIN, 4,
              OWN_WIDTH / 2.0);
    pd_svg_text(&svg, PD_INK_NOTE, MARGIN, head.height - 20, PD_ANCHOR_START, 0, pd_caution_short);
    pd_svg_end(&svg);
    return ferror(out) ? PD_ERR_FILE : PD_OK;
}
