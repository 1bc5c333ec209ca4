/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>

#include "report/figure.h"
#include "report/lesson.h"

/* The plane of neutral displacement. What the script moves has an id; it moves it by what the table
 * has, at so many pixels a volt. */

enum { WIDTH = 620, HEIGHT = 560 };
static const struct pd_box box = {.left = PD_PLOT_LEFT + 8, .top = 16, .width = 520, .height = 470};

struct drawing {
    const struct pd_lesson *lesson;
    struct pd_svg svg;
    struct pd_plot plot;
};

static const struct pd_lesson_axis *supply_axis(const struct pd_lesson *lesson)
{
    return &lesson->axis[pd_lesson_find(lesson, PD_LESSON_SUPPLY)];
}

static double complex emf(const struct pd_lesson *lesson, size_t supply, int line)
{
    return supply_axis(lesson)->value[supply] * lesson->study_case->network->source.unit_emf[line];
}

/* Round the EMFs, earth and the limit. */
static void set_axes(const struct pd_lesson *lesson, struct pd_axis *x, struct pd_axis *y)
{
    const double limit_v = lesson->study_case->limits.touch_v;
    const size_t top = supply_axis(lesson)->count - 1;
    const double high_v = supply_axis(lesson)->value[top];
    const double round_v = limit_v < high_v ? limit_v : 0.2 * high_v;
    *x = (struct pd_axis){.title = "in phase with L1, V", .low = -round_v, .high = round_v};
    *y = (struct pd_axis){
        .title = "a quarter turn ahead of L1, V", .low = -round_v, .high = round_v};
    for (int line = PD_L1; line < PD_LINES; line++) {
        const double complex end = emf(lesson, top, line);
        x->low = fmin(x->low, creal(end));
        x->high = fmax(x->high, creal(end));
        y->low = fmin(y->low, cimag(end));
        y->high = fmax(y->high, cimag(end));
    }
    const double more = 0.12 * (x->high - x->low);
    x->low -= more;
    x->high += more;
    y->low -= more;
    y->high += more;
    pd_plot_even(box, x, y);
}

struct pd_lesson_plane pd_lesson_plane(const struct pd_lesson *lesson)
{
    struct pd_axis x, y;
    set_axes(lesson, &x, &y);
    const double scale = box.width / (x.high - x.low);
    return (struct pd_lesson_plane){
        .x = box.left - x.low * scale, .y = box.top + y.high * scale, .pixels_per_v = scale};
}

struct pd_xy pd_lesson_emf(const struct pd_lesson *lesson, size_t supply, int line)
{
    const struct pd_lesson_plane plane = pd_lesson_plane(lesson);
    const double complex end = emf(lesson, supply, line);
    return (struct pd_xy){plane.x + creal(end) * plane.pixels_per_v,
                          plane.y - cimag(end) * plane.pixels_per_v};
}

static struct pd_xy place(const struct drawing *d, double complex at)
{
    return pd_plot_at(&d->plot, creal(at), cimag(at));
}

/* A group that the script finds. */
static void begin_group(struct drawing *d, const char *id, bool hidden)
{
    fprintf(d->svg.out, "<g id=\"lesson-%s\"%s>\n", id, hidden ? " visibility=\"hidden\"" : "");
}

/* The shape that the EMFs span at one supply voltage, and their names. */
static void draw_supply(struct drawing *d, size_t supply, bool hidden)
{
    const struct pd_network *const n = d->lesson->study_case->network;
    struct pd_xy corner[PD_LINES];
    size_t count = 0;
    char id[32], name[8];
    snprintf(id, sizeof id, "supply-%zu", supply);
    begin_group(d, id, hidden);
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((n->lines & 1u << line) != 0)
            corner[count++] = place(d, emf(d->lesson, supply, line));
    if (count == 1)
        corner[count++] = place(d, 0);
    pd_svg_polygon(&d->svg, PD_INK_OUTLINE, corner, count);
    for (int line = PD_L1; line < PD_LINES; line++) {
        const double complex end = emf(d->lesson, supply, line);
        const struct pd_xy at = place(d, end);
        if ((n->lines & 1u << line) == 0)
            continue;
        snprintf(name, sizeof name, "L%d", line + 1);
        pd_svg_mark(&d->svg, PD_INK_MARK_HOLLOW, PD_MARK_DISC, at.x, at.y, 12);
        pd_svg_label(&d->svg, PD_INK_STRONG, at.x, at.y + (cimag(end) < -1 ? 28 : -14),
                     PD_ANCHOR_MIDDLE, name);
    }
    pd_svg_group_end(&d->svg);
}

static void draw_limit(struct drawing *d)
{
    const double limit_v = d->lesson->study_case->limits.touch_v;
    const struct pd_xy earth = place(d, 0);
    char label[48];
    if (isfinite(limit_v)) {
        const double radius = limit_v * pd_lesson_plane(d->lesson).pixels_per_v;
        pd_svg_circle(&d->svg, PD_INK_LIMIT, earth.x, earth.y, radius);
        snprintf(label, sizeof label, "limit %s V", pd_figure(limit_v, 0).text);
        pd_svg_label(&d->svg, PD_INK_ALERT, earth.x, earth.y + radius + 21, PD_ANCHOR_MIDDLE,
                     label);
    }
    pd_svg_mark(&d->svg, PD_INK_MARK_HOLLOW, PD_MARK_CROSS, earth.x, earth.y, 15);
    pd_svg_label(&d->svg, PD_INK_STRONG, earth.x - 12, earth.y + 24, PD_ANCHOR_END, "earth");
}

/* A line whose far end the script moves. */
static void moved_line(struct drawing *d, const char *id, enum pd_ink ink, struct pd_xy from,
                       struct pd_xy to)
{
    fprintf(d->svg.out,
            "<line id=\"lesson-%s\" class=\"%s-%s\" x1=\"%.2f\" y1=\"%.2f\" x2=\"%.2f\" "
            "y2=\"%.2f\"/>\n",
            id, d->svg.prefix, pd_ink_name(ink), from.x, from.y, to.x, to.y);
}

/* As the script would: by what the table has. */
static struct pd_xy neutral_at(const struct drawing *d, const struct pd_lesson_answer *answer,
                               bool *there)
{
    int value[PD_LESSON_FIELDS + 1];
    pd_lesson_record(d->lesson, answer, value);
    *there = value[0] != PD_LESSON_NOTHING && value[1] != PD_LESSON_NOTHING;
    return place(d, *there ? CMPLX(value[0] / 10.0, value[1] / 10.0) : 0);
}

/* The neutral, how far it is from earth, and what is left between it and each line. */
static void draw_neutral(struct drawing *d, const struct pd_lesson_preset *preset, size_t supply)
{
    bool there;
    const struct pd_lesson_answer *const answer = pd_lesson_at(d->lesson, preset->at);
    const struct pd_xy at = neutral_at(d, answer, &there);
    begin_group(d, "neutral", !there);
    for (int line = PD_L1; line < PD_LINES; line++) {
        char id[16];
        snprintf(id, sizeof id, "to-l%d", line + 1);
        if ((d->lesson->study_case->network->lines & 1u << line) != 0)
            moved_line(d, id, PD_INK_GUIDE, place(d, emf(d->lesson, supply, line)), at);
    }
    moved_line(d, "drift", PD_INK_EDGE, place(d, 0), at);
    fprintf(d->svg.out, "<g id=\"lesson-point\" transform=\"translate(%.2f %.2f)\">\n", at.x, at.y);
    pd_svg_mark(&d->svg, PD_INK_MARK_ALERT, PD_MARK_DIAMOND, 0, 0, 18);
    pd_svg_label(&d->svg, PD_INK_ALERT, 15, -12, PD_ANCHOR_START, "N");
    pd_svg_group_end(&d->svg);
    pd_svg_group_end(&d->svg);
    fprintf(d->svg.out, "<g id=\"lesson-no-point\"%s>\n", there ? " visibility=\"hidden\"" : "");
    pd_svg_label(&d->svg, PD_INK_ALERT, box.left + box.width / 2, box.top + 30, PD_ANCHOR_MIDDLE,
                 "the neutral's potential is not determined");
    pd_svg_group_end(&d->svg);
}

void pd_lesson_plane_draw(struct pd_html *html, const struct pd_lesson *lesson,
                          const struct pd_lesson_preset *preset)
{
    struct drawing d = {.lesson = lesson};
    struct pd_axis x, y;
    const size_t supply = preset->at[pd_lesson_find(lesson, PD_LESSON_SUPPLY)];
    const struct pd_svg_head head = {
        .title = "The neutral in the plane of displacement",
        .description = "The EMFs of the lines, earth at the centre of the limit's circle, and the "
                       "neutral, which takes the chassis with it: its distance from earth is the "
                       "chassis voltage, its distance from the end of a line's EMF what is left "
                       "between that line and neutral. The figures beside it say where it is.",
        .prefix = "plane",
        .width = WIDTH,
        .height = HEIGHT,
        .inlined = true,
    };
    pd_svg_begin(&d.svg, html->out, &head);
    set_axes(lesson, &x, &y);
    pd_plot_begin(&d.plot, &d.svg, box, &x, &y);
    for (size_t i = 0; i < supply_axis(lesson)->count; i++)
        draw_supply(&d, i, i != supply);
    draw_limit(&d);
    draw_neutral(&d, preset, supply);
    pd_plot_end(&d.plot);
    pd_svg_end(&d.svg);
}
