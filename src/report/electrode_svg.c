/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>

#include "report/cautions.h"
#include "report/contour.h"
#include "report/electrode.h"
#include "report/figure.h"
#include "report/foot.h"
#include "report/plot.h"

/* The frame at the left, words at its right. */
enum { WIDTH = 1280, MARGIN = 28, TOP = 112, FRAME_WIDTH = 760, FRAME_HEIGHT = 560, STEPS = 180 };

/* Of the electrode's potential. */
static const double levels[] = {0.8, 0.6, 0.5, 0.4, 0.3, 0.25, 0.2, 0.15, 0.1, 0.07, 0.05};
enum { LEVELS = sizeof levels / sizeof levels[0] };

/* A vehicle in plan, parked beside the electrode: an ordinary size, invented. */
static const double vehicle_m[2] = {4.5, 1.8}, beside_m = 1;

struct map {
    struct pd_plot plot;
    const struct pd_electrode_answer *answer;
    double half_x_m, half_y_m; /* of the electrode */
    double level;
    size_t number; /* of the level: thick and thin take turns */
};

/* How far the electrode's metal reaches from the middle. */
static void measure(struct map *map)
{
    const struct pd_ground *const ground = map->answer->ground;
    for (size_t i = 0; i < pd_ground_segments(ground); i++) {
        const struct pd_leak leak = pd_ground_leak(ground, NULL, i);
        map->half_x_m = fmax(map->half_x_m, fmax(fabs(leak.from.x_m), fabs(leak.to.x_m)));
        map->half_y_m = fmax(map->half_y_m, fmax(fabs(leak.from.y_m), fabs(leak.to.y_m)));
    }
}

static bool has_room(const struct pd_box *box, struct pd_xy at)
{
    return at.x > box->left + 24 && at.x < box->left + box->width - 24 && at.y > box->top + 14 &&
           at.y < box->top + box->height - 8;
}

/* At the lowest point of a line, where there is room for it; else the highest; else the leftmost.
 */
static void draw_label(const struct map *map, const struct pd_xy *point, size_t count)
{
    const struct pd_box *const box = &map->plot.box;
    const struct pd_xy first = pd_plot_at(&map->plot, point[0].x, point[0].y);
    struct pd_xy low = first, high = first, left = first, right = first;
    char label[16];
    for (size_t i = 1; i < count; i++) {
        const struct pd_xy at = pd_plot_at(&map->plot, point[i].x, point[i].y);
        low = at.y > low.y ? at : low;
        high = at.y < high.y ? at : high;
        left = at.x < left.x ? at : left;
        right = at.x > right.x ? at : right;
    }
    const struct pd_xy at = has_room(box, low) ? low : has_room(box, high) ? high : left;
    snprintf(label, sizeof label, "%g%%", 100 * map->level);
    if (has_room(box, at) && right.x - left.x > 54)
        pd_svg_label(map->plot.svg, PD_INK_NOTE, at.x, at.y + 5, PD_ANCHOR_MIDDLE, label);
}

static void draw_line(const struct pd_xy *point, size_t count, void *context)
{
    const struct map *const map = context;
    pd_plot_curve(&map->plot, map->number % 2 == 0 ? PD_INK_CURVE_1 : PD_INK_OUTLINE, point, count);
    draw_label(map, point, count);
}

static enum pd_status draw_lines(struct map *map)
{
    const struct pd_axis *const x = &map->plot.x, *const y = &map->plot.y;
    const double step = (x->high - x->low) / STEPS;
    const size_t down = (size_t)((y->high - y->low) / step) + 2;
    struct pd_grid grid = {
        .across = STEPS + 1, .down = down, .left = x->low, .bottom = y->low, .step = step};
    double *const value = malloc(grid.across * grid.down * sizeof *value);
    if (value == NULL)
        return PD_ERR_MEMORY;
    for (size_t j = 0; j < grid.down; j++)
        for (size_t i = 0; i < grid.across; i++)
            value[j * grid.across + i] = pd_electrode_ground_share(
                map->answer, grid.left + (double)i * step, grid.bottom + (double)j * step);
    grid.value = value;
    enum pd_status status = PD_OK;
    for (map->number = 0; map->number < LEVELS && status == PD_OK; map->number++) {
        map->level = levels[map->number];
        status = pd_contour_trace(&grid, map->level, draw_line, map);
    }
    free(value);
    return status;
}

static void draw_metal(const struct map *map)
{
    const struct pd_ground *const ground = map->answer->ground;
    for (size_t i = 0; i < pd_ground_segments(ground); i++) {
        const struct pd_leak leak = pd_ground_leak(ground, NULL, i);
        const struct pd_xy line[] = {{leak.from.x_m, leak.from.y_m}, {leak.to.x_m, leak.to.y_m}};
        const bool upright =
            fabs(leak.from.x_m - leak.to.x_m) < 1e-9 && fabs(leak.from.y_m - leak.to.y_m) < 1e-9;
        if (!upright)
            pd_plot_curve(&map->plot, PD_INK_EDGE, line, 2);
        else if (leak.from.z_m == 0 || i == 0)
            pd_plot_mark(&map->plot, PD_INK_MARK, PD_MARK_DISC, line[0].x, line[0].y, 11);
    }
}

/* A rectangle with rounded corners, round its middle. */
static size_t body(struct pd_xy *point, double x, double y, double length, double width,
                   double round)
{
    size_t count = 0;
    for (int corner = 0; corner < 4; corner++)
        for (int i = 0; i <= 6; i++) {
            const double turn = M_PI / 2 * (corner + i / 6.0);
            const double cx = (corner == 0 || corner == 3 ? 1 : -1) * (length / 2 - round);
            const double cy = (corner < 2 ? 1 : -1) * (width / 2 - round);
            point[count++] = (struct pd_xy){x + cx + round * cos(turn), y + cy + round * sin(turn)};
        }
    point[count++] = point[0];
    return count;
}

static void draw_vehicle(const struct map *map)
{
    struct pd_xy point[32];
    const double y = map->half_y_m + beside_m + vehicle_m[1] / 2;
    size_t count = body(point, 0, y, vehicle_m[0], vehicle_m[1], 0.45);
    pd_plot_area(&map->plot, PD_INK_PAPER, point, count - 1);
    pd_plot_curve(&map->plot, PD_INK_EDGE, point, count);
    count = body(point, -0.2, y, 0.52 * vehicle_m[0], 0.78 * vehicle_m[1], 0.3);
    pd_plot_curve(&map->plot, PD_INK_EDGE, point, count);
    const struct pd_xy middle = pd_plot_at(&map->plot, -0.2, y);
    pd_svg_text(map->plot.svg, PD_INK_STRONG, middle.x, middle.y + 6, PD_ANCHOR_MIDDLE, 0,
                "vehicle");
}

/* Where somebody stands with a hand on the vehicle: on the electrode's side, at the far end, and on
 * the other side. */
static const double feet_along[] = {0, -0.75, 0};
static size_t feet(const struct map *map, struct pd_xy place[3])
{
    place[0] = (struct pd_xy){0, map->half_y_m + beside_m / 2};
    place[1] =
        (struct pd_xy){feet_along[1] * vehicle_m[0], map->half_y_m + beside_m + vehicle_m[1] / 2};
    place[2] = (struct pd_xy){0, map->half_y_m + beside_m + vehicle_m[1] + 0.5};
    return 3;
}

static void draw_feet(const struct map *map)
{
    struct pd_xy place[3];
    const size_t count = feet(map, place);
    for (size_t i = 0; i < count; i++) {
        const char letter[] = {(char)('A' + i), '\0'};
        const struct pd_xy at = pd_plot_at(&map->plot, place[i].x, place[i].y);
        pd_plot_mark(&map->plot, PD_INK_MARK_ALERT, PD_MARK_DIAMOND, place[i].x, place[i].y, 15);
        pd_svg_label(map->plot.svg, PD_INK_STRONG, at.x + 12, at.y + 6, PD_ANCHOR_START, letter);
    }
}

static double paragraph(struct pd_svg *svg, enum pd_ink ink, struct pd_xy at, double width,
                        const char *text)
{
    pd_svg_paragraph(svg, ink, at.x, at.y, width, text);
    return at.y + pd_svg_paragraph_height(ink, width, text) + 0.6 * pd_ink_size(ink);
}

/* Returns the y below them. */
static double draw_words(const struct map *map, struct pd_xy at, double width)
{
    struct pd_svg *const svg = map->plot.svg;
    struct pd_xy place[3];
    char text[480];
    const size_t count = feet(map, place);
    at.y = paragraph(svg, PD_INK_STRONG, at, width, "A hand on the vehicle, feet on the ground at");
    for (size_t i = 0; i < count; i++) {
        const double share = pd_electrode_ground_share(map->answer, place[i].x, place[i].y);
        snprintf(text, sizeof text, "%c: ground %s %%, touch voltage %s %%", (char)('A' + i),
                 pd_figure(100 * share, 0).text, pd_figure(100 * (1 - share), 0).text);
        at.y = paragraph(svg, PD_INK_TEXT, at, width, text);
    }
    at.y += 10;
    at.y = paragraph(svg, PD_INK_TEXT, at, width,
                     "Percent of the electrode's potential to remote earth. The vehicle's chassis "
                     "is bonded to the electrode and stands at 100 %; the lines are the ground's "
                     "surface. Soil as it is; the tyres insulate; no footing resistance.");
    const struct pd_legend row[] = {
        {PD_LEGEND_LINE, PD_INK_CURVE_1, PD_MARK_DISC, "ground at one potential"},
        {PD_LEGEND_LINE, PD_INK_OUTLINE, PD_MARK_DISC, "the same, between"},
        {PD_LEGEND_MARK, PD_INK_MARK, PD_MARK_DISC, "rod"},
        {PD_LEGEND_MARK, PD_INK_MARK_ALERT, PD_MARK_DIAMOND, "feet"}};
    at.y = pd_legend_draw(svg, at.x, at.y + 6, width, row, 4) + 16;
    snprintf(text, sizeof text, "Soil: %.300s.", pd_electrode_soil(&map->answer->question).text);
    return paragraph(svg, PD_INK_NOTE, at, width, text);
}

/* Into a box, the words at a place; *below is the y below these. */
static enum pd_status draw_contour(struct pd_svg *svg, const struct pd_electrode_answer *answer,
                                   struct pd_box box, struct pd_xy words, double width,
                                   double *below)
{
    struct map map = {.answer = answer};
    measure(&map);
    const double side = fmax(4, map.half_x_m + 2);
    struct pd_axis x = {.title = "along the electrode, m", .low = -side, .high = side};
    struct pd_axis y = {.title = "across it, m",
                        .low = -map.half_y_m - 2.4,
                        .high = map.half_y_m + beside_m + vehicle_m[1] + 1.4};
    pd_plot_even(box, &x, &y);
    pd_plot_begin(&map.plot, svg, box, &x, &y);
    const enum pd_status status = draw_lines(&map);
    draw_vehicle(&map);
    draw_metal(&map);
    draw_feet(&map);
    pd_plot_end(&map.plot);
    *below = draw_words(&map, words, width);
    return status;
}

enum { POINTS = 241 };

/* Square to the line, outwards; near the rod the points are closer. */
static void draw_profile(struct pd_svg *svg, const struct pd_electrode_answer *answer)
{
    struct pd_plot plot;
    const struct pd_box box = {MARGIN + PD_PLOT_LEFT, TOP, FRAME_WIDTH, FRAME_HEIGHT};
    const double far_m = 20;
    const struct pd_axis x = {
        .title = "from the middle, square to a line of rods, m", .low = 0, .high = far_m};
    const struct pd_axis y = {
        .title = "percent of the electrode's potential", .low = 0, .high = 100};
    struct pd_xy ground[POINTS], touch[POINTS], step[POINTS];
    for (int i = 0; i < POINTS; i++) {
        const double at_m = far_m * pow((double)i / (POINTS - 1), 2);
        const double share = pd_electrode_ground_share(answer, 0, at_m);
        const double further = pd_electrode_ground_share(answer, 0, at_m + 1);
        ground[i] = (struct pd_xy){at_m, 100 * share};
        touch[i] = (struct pd_xy){at_m, 100 * (1 - share)};
        step[i] = (struct pd_xy){at_m, 100 * fabs(share - further)};
    }
    pd_plot_begin(&plot, svg, box, &x, &y);
    pd_plot_curve(&plot, PD_INK_CURVE_1, touch, POINTS);
    pd_plot_curve(&plot, PD_INK_CURVE_2, ground, POINTS);
    pd_plot_curve(&plot, PD_INK_CURVE_3, step, POINTS);
    pd_plot_end(&plot);
    const double left = box.left + FRAME_WIDTH + 34, width = WIDTH - MARGIN - left;
    const struct pd_legend row[] = {
        {PD_LEGEND_LINE, PD_INK_CURVE_1, PD_MARK_DISC,
         "touch voltage: what is bonded to the electrode, feet on the ground there"},
        {PD_LEGEND_LINE, PD_INK_CURVE_2, PD_MARK_DISC, "the ground's surface"},
        {PD_LEGEND_LINE, PD_INK_CURVE_3, PD_MARK_DISC, "step voltage, 1 m outwards"}};
    struct pd_xy below = {left, pd_legend_draw(svg, left, TOP + 6, width, row, 3) + 24};
    char text[480];
    snprintf(text, sizeof text, "Soil: %.300s.", pd_electrode_soil(&answer->question).text);
    below.y = paragraph(svg, PD_INK_TEXT, below, width, text);
    paragraph(svg, PD_INK_TEXT, below, width,
              "Far off, the whole of the electrode's potential is between hand and feet: the touch "
              "voltage to remote earth that the other studies use.");
}

enum pd_status pd_electrode_svg(FILE *out, const struct pd_electrode_answer *answer,
                                enum pd_electrode_picture picture)
{
    const double foot = TOP + FRAME_HEIGHT + PD_PLOT_BELOW + 12;
    const struct pd_svg_head head = {
        .title = picture == PD_PICTURE_CONTOUR
                     ? "The ground's potential round an electrode, and a vehicle beside it"
                     : "The ground's potential beside an electrode",
        .description = pd_electrode_headline(answer).text,
        .prefix = "ground",
        .width = WIDTH,
        .height = ceil(foot + pd_foot_height(WIDTH))};
    struct pd_svg svg;
    enum pd_status status = PD_OK;
    const double left = MARGIN + PD_PLOT_LEFT + FRAME_WIDTH + 34;
    double below;
    pd_svg_begin(&svg, out, &head);
    pd_svg_text(&svg, PD_INK_TITLE, MARGIN, 44, PD_ANCHOR_START, 0, head.title);
    pd_svg_paragraph(&svg, PD_INK_TEXT, MARGIN, 74, WIDTH - 2 * MARGIN, head.description);
    if (answer->ground == NULL)
        pd_svg_text(&svg, PD_INK_ALERT, WIDTH / 2.0, TOP + FRAME_HEIGHT / 2.0, PD_ANCHOR_MIDDLE, 0,
                    "not determined");
    else if (picture == PD_PICTURE_CONTOUR)
        status = draw_contour(
            &svg, answer, (struct pd_box){MARGIN + PD_PLOT_LEFT, TOP, FRAME_WIDTH, FRAME_HEIGHT},
            (struct pd_xy){left, TOP + 16}, WIDTH - MARGIN - left, &below);
    else
        draw_profile(&svg, answer);
    pd_foot_draw(&svg, foot);
    pd_svg_end(&svg);
    return ferror(out) ? PD_ERR_FILE : status;
}

enum { OWN_WIDTH = 880, OWN_TOP = 16, OWN_HEIGHT = 560, OWN_FOOT = 46 };

static enum pd_status draw_inlined(FILE *out, const struct pd_electrode_answer *answer,
                                   const struct pd_svg_head *head, double *below)
{
    const double left = MARGIN + PD_PLOT_LEFT;
    struct pd_svg svg;
    pd_svg_begin(&svg, out, head);
    const enum pd_status status = draw_contour(
        &svg, answer, (struct pd_box){left, OWN_TOP, OWN_WIDTH - MARGIN - left, OWN_HEIGHT},
        (struct pd_xy){MARGIN, OWN_TOP + OWN_HEIGHT + PD_PLOT_BELOW + 30}, OWN_WIDTH - 2 * MARGIN,
        below);
    pd_svg_text(&svg, PD_INK_NOTE, MARGIN, head->height - 20, PD_ANCHOR_START, 0, pd_caution_short);
    pd_svg_end(&svg);
    return ferror(out) ? PD_ERR_FILE : status;
}

enum pd_status pd_electrode_svg_inlined(FILE *out, const struct pd_electrode_answer *answer,
                                        const char *prefix)
{
    const struct pd_electrode_words words = pd_electrode_headline(answer);
    struct pd_svg_head head = {.title = "The ground's potential round the electrode, and a vehicle "
                                        "beside it",
                               .description = words.text,
                               .prefix = prefix,
                               .width = OWN_WIDTH,
                               .inlined = true};
    char *nowhere = NULL;
    size_t length = 0;
    double below = 0;
    FILE *const first = open_memstream(&nowhere, &length); /* only to see how high it comes */
    if (first == NULL)
        return PD_ERR_MEMORY;
    const enum pd_status status = draw_inlined(first, answer, &head, &below);
    fclose(first);
    free(nowhere);
    head.height = ceil(below + OWN_FOOT);
    return status == PD_OK ? draw_inlined(out, answer, &head, &below) : status;
}
