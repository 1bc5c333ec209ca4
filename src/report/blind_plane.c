/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/blind_plane.h"

#include <math.h>

#include "report/blind.h"
#include "report/figure.h"

static struct pd_xy place(const struct pd_plot *plot, double complex at)
{
    return pd_plot_at(plot, creal(at), cimag(at));
}

static double pixels_per_volt(const struct pd_plot *plot)
{
    return plot->box.width / (plot->x.high - plot->x.low);
}

/* Round what is to be seen, with a margin: the shape, and the limit's circle about earth. */
static void set_axes(const struct pd_blind *blind, const struct pd_region *region,
                     struct pd_box box, struct pd_axis *x, struct pd_axis *y)
{
    const double round_v = isfinite(blind->touch_v) && blind->touch_v < region->supply_v
                               ? blind->touch_v
                               : 0.2 * region->supply_v;
    *x = (struct pd_axis){.title = "in phase with L1, V", .low = -round_v, .high = round_v};
    *y = (struct pd_axis){
        .title = "a quarter turn ahead of L1, V", .low = -round_v, .high = round_v};
    for (size_t i = 0; i < region->corner_count; i++) {
        x->low = fmin(x->low, creal(region->corner[i]));
        x->high = fmax(x->high, creal(region->corner[i]));
        y->low = fmin(y->low, cimag(region->corner[i]));
        y->high = fmax(y->high, cimag(region->corner[i]));
    }
    const double more = 0.1 * fmax(x->high - x->low, y->high - y->low);
    x->low -= more;
    x->high += more;
    y->low -= more;
    y->high += more;
    pd_plot_even(box, x, y);
}

static void draw_shape(const struct pd_plot *plot, const struct pd_region *region, enum pd_ink ink)
{
    struct pd_xy corner[PD_REGION_CORNERS];
    for (size_t i = 0; i < region->corner_count; i++)
        corner[i] = place(plot, region->corner[i]);
    pd_svg_polygon(plot->svg, ink, corner, region->corner_count);
}

/* An arc anticlockwise in the plane turns the other way on the screen, where y points down; SVG
 * cannot draw more than a full turn at once, so each arc goes in two halves. */
static void arc_to(const struct pd_plot *plot, const struct pd_piece *piece)
{
    const double turn = piece->to_rad - piece->from_rad;
    const double complex middle =
        piece->centre + piece->radius * cexp(I * (piece->from_rad + turn / 2));
    const double radius = piece->radius * pixels_per_volt(plot);
    const struct pd_xy half = place(plot, middle), end = place(plot, piece->to);
    pd_svg_arc_to(plot->svg, radius, false, turn < 0, half.x, half.y);
    pd_svg_arc_to(plot->svg, radius, false, turn < 0, end.x, end.y);
}

static void draw_pieces(const struct pd_plot *plot, const struct pd_region *region, enum pd_ink ink)
{
    const bool flat = region->corner_count == 2;
    if (region->piece_count == 0)
        return;
    pd_svg_path(plot->svg, ink);
    for (size_t i = 0; i < region->piece_count; i++) {
        const struct pd_piece *const piece = &region->piece[i];
        const bool starts = flat || i == 0 || piece->loop != region->piece[i - 1].loop;
        const struct pd_xy from = place(plot, piece->from), to = place(plot, piece->to);
        if (starts)
            pd_svg_move_to(plot->svg, from.x, from.y);
        if (piece->arc)
            arc_to(plot, piece);
        else
            pd_svg_line_to(plot->svg, to.x, to.y);
        if (!flat && (i + 1 == region->piece_count || region->piece[i + 1].loop != piece->loop))
            pd_svg_close(plot->svg);
    }
    pd_svg_path_end(plot->svg);
}

/* A segment has no area: its parts become bars across it. */
static void draw_bars(const struct pd_plot *plot, const struct pd_region *region, enum pd_ink ink)
{
    const double complex along = region->corner[1] - region->corner[0];
    const double complex across = I * along / cabs(along) * (11 / pixels_per_volt(plot));
    for (size_t i = 0; i < region->piece_count; i++) {
        const struct pd_piece *const piece = &region->piece[i];
        const struct pd_xy corner[] = {
            place(plot, piece->from - across), place(plot, piece->to - across),
            place(plot, piece->to + across), place(plot, piece->from + across)};
        pd_svg_polygon(plot->svg, ink, corner, 4);
        pd_svg_polygon(plot->svg, PD_INK_EDGE, corner, 4);
    }
}

static void draw_unseen(const struct pd_plot *plot, const struct pd_blind *blind,
                        const struct pd_blind_device *device)
{
    const struct pd_region *const region = &device->view[PD_VIEW_DRAWN];
    struct pd_region hazard = *region;
    pd_region_keep_hazard(device->detector, &device->reach, blind->touch_v, &hazard);
    if (region->corner_count == 2) {
        draw_bars(plot, region, PD_INK_AREA_2);
        draw_bars(plot, &hazard, PD_INK_AREA_1);
        return;
    }
    draw_pieces(plot, region, PD_INK_AREA_2);
    draw_pieces(plot, &hazard, PD_INK_AREA_1);
    draw_pieces(plot, region, PD_INK_EDGE);
}

static void draw_ring(const struct pd_plot *plot, enum pd_ink ink, double complex centre,
                      double radius_v)
{
    const struct pd_xy at = place(plot, centre);
    if (radius_v > 0)
        pd_svg_circle(plot->svg, ink, at.x, at.y, radius_v * pixels_per_volt(plot));
}

/* The circles on which what the device reads is just on a threshold. */
static void draw_thresholds(const struct pd_plot *plot, const struct pd_blind_device *device)
{
    const struct pd_window window = pd_detector_window(device->detector);
    const double supply_v = device->view[PD_VIEW_DRAWN].supply_v;
    if (device->detector->senses != PD_SENSE_LINE && device->detector->senses != PD_SENSE_LINES)
        return; /* the disc shows it */
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((device->reach.watched & 1u << line) != 0) {
            draw_ring(plot, PD_INK_GUIDE, supply_v * device->reach.unit_emf[line], window.low_v);
            draw_ring(plot, PD_INK_GUIDE, supply_v * device->reach.unit_emf[line], window.high_v);
        }
}

static bool watches_line(const struct pd_blind_device *device, int line)
{
    const enum pd_sense senses = device->detector->senses;
    return (senses == PD_SENSE_LINE || senses == PD_SENSE_LINES) &&
           (device->reach.watched & 1u << line) != 0;
}

/* A line's name outside the shape: over or under an EMF that points up or down, else over it at the
 * frame's side. */
static void draw_name(const struct pd_plot *plot, int line, double complex emf, bool watched)
{
    const struct pd_box *const box = &plot->box;
    const struct pd_xy at = place(plot, emf);
    const bool right = creal(emf) > 0, upright = fabs(cimag(emf)) > 0.2 * fabs(creal(emf));
    const double side = right ? box->left + box->width - 8 : box->left + 8;
    char name[32];
    snprintf(name, sizeof name, "L%d%s", line + 1, watched ? ", watched" : "");
    pd_svg_mark(plot->svg, PD_INK_MARK_HOLLOW, PD_MARK_DISC, at.x, at.y, 11);
    if (upright)
        pd_svg_label(plot->svg, PD_INK_STRONG, at.x - 4, at.y + (cimag(emf) > 0 ? -14 : 27),
                     PD_ANCHOR_START, name);
    else
        pd_svg_label(plot->svg, PD_INK_STRONG, side, at.y - 20,
                     right ? PD_ANCHOR_END : PD_ANCHOR_START, name);
}

static void draw_names(const struct pd_plot *plot, const struct pd_blind_device *device)
{
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((device->reach.lines & 1u << line) != 0)
            draw_name(plot, line,
                      device->view[PD_VIEW_DRAWN].supply_v * device->reach.unit_emf[line],
                      watches_line(device, line));
    const struct pd_xy earth = place(plot, 0);
    pd_svg_mark(plot->svg, PD_INK_MARK_HOLLOW, PD_MARK_CROSS, earth.x, earth.y, 15);
    pd_svg_label(plot->svg, PD_INK_STRONG, earth.x - 12, earth.y + 26, PD_ANCHOR_END, "earth");
}

static void draw_limit(const struct pd_plot *plot, double touch_v)
{
    const struct pd_xy top = place(plot, touch_v * cexp(I * 2.4));
    char label[48];
    if (!isfinite(touch_v))
        return;
    draw_ring(plot, PD_INK_LIMIT, 0, touch_v);
    snprintf(label, sizeof label, "%s V", pd_figure(touch_v, 0).text);
    pd_svg_label(plot->svg, PD_INK_ALERT, top.x - 8, top.y - 6, PD_ANCHOR_END, label);
}

/* Within the limit first, so that what matters lies on top. */
static void draw_scenarios(const struct pd_plot *plot, const struct pd_blind_device *device)
{
    const struct pd_assessment *const a = device->assessment;
    for (int pass = 0; pass < 3; pass++)
        for (size_t i = 0; a != NULL && i < a->scenario_count; i++) {
            const struct pd_scenario *const s = &a->scenario[i];
            const bool over = s->touch == PD_OVER, unseen = s->sight[0].kind != PD_SEES;
            if (!pd_blind_shows(device, s) || pass != over + (over && unseen))
                continue;
            pd_plot_mark(plot, pass == 2 ? PD_INK_MARK : PD_INK_MARK_HOLLOW,
                         pass == 2   ? PD_MARK_TRIANGLE
                         : pass == 1 ? PD_MARK_SQUARE
                                     : PD_MARK_DISC,
                         creal(s->met), cimag(s->met), pass == 0 ? 6 : 10);
        }
}

static void draw_worst(const struct pd_plot *plot, const struct pd_region *region)
{
    if (!(region->worst_v > 0))
        return;
    const struct pd_xy at = place(plot, region->worst), earth = place(plot, 0);
    char label[48];
    snprintf(label, sizeof label, "%s V", pd_figure_v(region->worst_v).text);
    pd_svg_line(plot->svg, PD_INK_OUTLINE, earth.x, earth.y, at.x, at.y);
    pd_svg_mark(plot->svg, PD_INK_MARK_ALERT, PD_MARK_DIAMOND, at.x, at.y, 17);
    const bool left = at.x < earth.x - 30;
    pd_svg_label(plot->svg, PD_INK_ALERT, at.x + (left ? -16 : 16),
                 at.y + (at.y >= earth.y ? 22 : -10), left ? PD_ANCHOR_END : PD_ANCHOR_START,
                 label);
}

void pd_blind_plane(struct pd_svg *svg, const struct pd_blind *blind,
                    const struct pd_blind_device *device, struct pd_box box)
{
    const struct pd_region *const region = &device->view[PD_VIEW_DRAWN];
    struct pd_axis x, y;
    struct pd_plot plot;
    if (region->corner_count < 2 || !(region->supply_v > 0)) {
        pd_svg_rect(svg, PD_INK_FRAME, box.left, box.top, box.width, box.height);
        pd_svg_text(svg, PD_INK_ALERT, box.left + box.width / 2, box.top + box.height / 2,
                    PD_ANCHOR_MIDDLE, 0, pd_blind_kind_name(region->kind));
        return;
    }
    set_axes(blind, region, box, &x, &y);
    pd_plot_begin(&plot, svg, box, &x, &y);
    pd_svg_clip(svg, box.left, box.top, box.width, box.height);
    draw_shape(&plot, region, PD_INK_AREA_4);
    draw_unseen(&plot, blind, device);
    draw_thresholds(&plot, device);
    draw_shape(&plot, region, PD_INK_OUTLINE);
    draw_limit(&plot, blind->touch_v);
    draw_scenarios(&plot, device);
    draw_names(&plot, device);
    draw_worst(&plot, region);
    if (region->kind != PD_REGION_KNOWN)
        pd_svg_label(svg, PD_INK_ALERT, box.left + box.width / 2, box.top + 30, PD_ANCHOR_MIDDLE,
                     pd_blind_kind_name(region->kind));
    pd_svg_group_end(svg);
    pd_plot_end(&plot);
}
