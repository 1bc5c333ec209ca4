/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>

#include "report/figure.h"
#include "report/lesson.h"

/* The way of the current with the PEN whole and with it open: the case's own lines and electrode,
 * everything else as a diagram has it. */

enum { WIDTH = 900, HEIGHT = 400 };
enum {
    SOURCE = 90,    /* places from left to right: the source's star point, */
    BREAK = 230,    /* the break, */
    OTHERS = 340,   /* loads on other lines, */
    HOUSE = 500,    /* the load on L1, */
    TERMINAL = 590, /* the main earthing terminal, */
    VEHICLE = 740,  /* the vehicle */
    PERSON = 840    /* and who touches it */
};
enum { LINE = 60, PEN = 230, CHASSIS = 280, GROUND = 350 }; /* from top to bottom */

struct story {
    const struct pd_lesson *lesson;
    struct pd_svg svg;
    bool open;      /* the PEN is */
    bool others;    /* there are loads on other lines */
    bool electrode; /* the installation has one on its terminal */
    bool tt;        /* the vehicle is on an electrode of its own */
};

static void line_between(struct story *s, enum pd_ink ink, double x1, double y1, double x2,
                         double y2)
{
    const struct pd_xy ends[] = {{x1, y1}, {x2, y2}};
    if (ink == PD_INK_CURVE_2 || ink == PD_INK_OUTLINE)
        pd_svg_line(&s->svg, ink, x1, y1, x2, y2);
    else
        pd_svg_conductor(&s->svg, ink, ends, 2);
}

/* The way of current: a line with a head at its end, straight along an axis. */
static void arrow(struct story *s, double x1, double y1, double x2, double y2)
{
    const double length = hypot(x2 - x1, y2 - y1), ux = (x2 - x1) / length, uy = (y2 - y1) / length;
    const struct pd_xy head[] = {{x2, y2},
                                 {x2 - 15 * ux - 7 * uy, y2 - 15 * uy + 7 * ux},
                                 {x2 - 15 * ux + 7 * uy, y2 - 15 * uy - 7 * ux}};
    pd_svg_line(&s->svg, PD_INK_CURVE_1, x1, y1, x2 - 12 * ux, y2 - 12 * uy);
    pd_svg_polygon(&s->svg, PD_INK_MARK, head, 3);
}

static void write_text(struct story *s, enum pd_ink ink, double x, double y, enum pd_anchor anchor,
                       const char *text)
{
    pd_svg_label(&s->svg, ink, x, y, anchor, text);
}

static void earth_symbol(struct story *s, double x)
{
    for (int i = 0; i < 3; i++)
        pd_svg_line(&s->svg, PD_INK_OUTLINE, x - 18 + 6 * i, GROUND + 6 * i, x + 18 - 6 * i,
                    GROUND + 6 * i);
}

static void load_box(struct story *s, enum pd_ink line, double x, double top)
{
    line_between(s, line, x, top, x, 115);
    line_between(s, PD_INK_N, x, 175, x, PEN);
    pd_svg_rect(&s->svg, PD_INK_PAPER, x - 16, 115, 32, 60);
    pd_svg_rect(&s->svg, PD_INK_FRAME, x - 16, 115, 32, 60);
}

/* Green and yellow, with blue marks at its ends. */
static void draw_pen(struct story *s)
{
    if (s->open) {
        line_between(s, PD_INK_PE, SOURCE, PEN, BREAK - 24, PEN);
        line_between(s, PD_INK_PE, BREAK + 24, PEN, TERMINAL, PEN);
        pd_svg_line(&s->svg, PD_INK_EDGE, BREAK - 12, PEN - 12, BREAK + 12, PEN + 12);
        pd_svg_line(&s->svg, PD_INK_EDGE, BREAK - 12, PEN + 12, BREAK + 12, PEN - 12);
        write_text(s, PD_INK_ALERT, BREAK, PEN - 22, PD_ANCHOR_MIDDLE, "PEN open");
    } else {
        line_between(s, PD_INK_PE, SOURCE, PEN, TERMINAL, PEN);
        write_text(s, PD_INK_STRONG, BREAK, PEN - 16, PD_ANCHOR_MIDDLE, "PEN");
    }
    line_between(s, PD_INK_N, SOURCE + 10, PEN, SOURCE + 34, PEN);
    line_between(s, PD_INK_N, TERMINAL - 44, PEN, TERMINAL - 20, PEN);
}

static void draw_supply(struct story *s)
{
    const struct pd_network *const n = s->lesson->study_case->network;
    pd_svg_rect(&s->svg, PD_INK_AREA_4, 20, LINE - 36, 100, PEN - LINE + 60);
    line_between(s, PD_INK_L1, SOURCE, LINE, HOUSE, LINE);
    write_text(s, PD_INK_STRONG, SOURCE - 14, LINE + 6, PD_ANCHOR_END, "L1");
    if (s->others) {
        line_between(s, PD_INK_L2, SOURCE, LINE + 27, OTHERS, LINE + 27);
        write_text(s, PD_INK_STRONG, SOURCE - 14, LINE + 33, PD_ANCHOR_END, "L2");
        load_box(s, PD_INK_L2, OTHERS, LINE + 27);
        if ((n->lines & 1u << PD_L3) != 0) {
            line_between(s, PD_INK_L3, SOURCE, LINE + 52, OTHERS - 50, LINE + 52);
            write_text(s, PD_INK_STRONG, SOURCE - 14, LINE + 58, PD_ANCHOR_END, "L3");
            load_box(s, PD_INK_L3, OTHERS - 50, LINE + 52);
        }
        write_text(s, PD_INK_NOTE, OTHERS + 26, 150, PD_ANCHOR_START, "loads on");
        write_text(s, PD_INK_NOTE, OTHERS + 26, 166, PD_ANCHOR_START, "other lines");
    }
    load_box(s, PD_INK_L1, HOUSE, LINE);
    write_text(s, PD_INK_NOTE, HOUSE + 26, 150, PD_ANCHOR_START, "loads on L1");
    line_between(s, PD_INK_OUTLINE, SOURCE, PEN, SOURCE, GROUND);
    earth_symbol(s, SOURCE);
    write_text(s, PD_INK_NOTE, SOURCE, LINE - 16, PD_ANCHOR_MIDDLE, "source");
}

static void draw_vehicle(struct story *s)
{
    const struct pd_xy body[] = {{VEHICLE - 60, CHASSIS + 26}, {VEHICLE - 60, CHASSIS},
                                 {VEHICLE - 36, CHASSIS - 6},  {VEHICLE - 18, CHASSIS - 32},
                                 {VEHICLE + 26, CHASSIS - 32}, {VEHICLE + 44, CHASSIS - 6},
                                 {VEHICLE + 62, CHASSIS},      {VEHICLE + 62, CHASSIS + 26}};
    pd_svg_polygon(&s->svg, PD_INK_AREA_4, body, 8);
    pd_svg_polygon(&s->svg, PD_INK_OUTLINE, body, 8);
    pd_svg_circle(&s->svg, PD_INK_MARK_HOLLOW, VEHICLE - 30, CHASSIS + 30, 14);
    pd_svg_circle(&s->svg, PD_INK_MARK_HOLLOW, VEHICLE + 34, CHASSIS + 30, 14);
    if (s->tt) {
        line_between(s, PD_INK_PE, VEHICLE - 60, CHASSIS + 10, VEHICLE - 84, CHASSIS + 10);
        line_between(s, PD_INK_PE, VEHICLE - 84, CHASSIS + 10, VEHICLE - 84, GROUND);
        earth_symbol(s, VEHICLE - 84);
    } else {
        line_between(s, PD_INK_PE, TERMINAL, PEN, VEHICLE, PEN);
        line_between(s, PD_INK_PE, VEHICLE, PEN, VEHICLE, CHASSIS - 32);
    }
}

static void draw_person(struct story *s)
{
    pd_svg_circle(&s->svg, PD_INK_MARK_HOLLOW, PERSON, CHASSIS - 30, 13);
    line_between(s, PD_INK_OUTLINE, PERSON, CHASSIS - 17, PERSON, CHASSIS + 28);
    line_between(s, PD_INK_OUTLINE, PERSON, CHASSIS - 2, VEHICLE + 62, CHASSIS + 8);
    line_between(s, PD_INK_OUTLINE, PERSON, CHASSIS + 28, PERSON - 14, GROUND - 1);
    line_between(s, PD_INK_OUTLINE, PERSON, CHASSIS + 28, PERSON + 14, GROUND - 1);
}

static void draw_terminal(struct story *s)
{
    pd_svg_circle(&s->svg, PD_INK_MARK, TERMINAL, PEN, 9);
    write_text(s, PD_INK_NOTE, TERMINAL, PEN - 28, PD_ANCHOR_MIDDLE, "main earthing terminal");
    if (s->electrode) {
        line_between(s, PD_INK_PE, TERMINAL, PEN, TERMINAL, GROUND);
        earth_symbol(s, TERMINAL);
    }
}

/* Home by the PEN. */
static void current_before(struct story *s)
{
    arrow(s, SOURCE + 40, LINE - 16, HOUSE - 20, LINE - 16);
    arrow(s, HOUSE - 30, 100, HOUSE - 30, 192);
    arrow(s, HOUSE - 30, PEN + 22, SOURCE + 40, PEN + 22);
    write_text(s, PD_INK_TEXT, BREAK + 60, PEN + 48, PD_ANCHOR_MIDDLE,
               "the load current goes home by the PEN");
}

/* By other lines' loads, the electrode, and whoever touches. */
static void current_after(struct story *s)
{
    if (!s->others && !s->electrode && s->tt)
        return; /* there is no way at all */
    arrow(s, SOURCE + 40, LINE - 16, HOUSE - 20, LINE - 16);
    arrow(s, HOUSE - 30, 100, HOUSE - 30, 192);
    if (s->others) {
        arrow(s, HOUSE - 40, PEN + 22, OTHERS - 10, PEN + 22);
        arrow(s, OTHERS - 26, 200, OTHERS - 26, 108);
    }
    if (s->electrode)
        arrow(s, TERMINAL + 20, PEN + 20, TERMINAL + 20, GROUND - 6);
    if (!s->tt) {
        arrow(s, TERMINAL + 30, PEN - 14, VEHICLE - 20, PEN - 14);
        arrow(s, PERSON + 24, CHASSIS - 6, PERSON + 24, GROUND - 6);
    }
    if (s->electrode || !s->tt)
        arrow(s, PERSON - 40, GROUND + 26, SOURCE + 40, GROUND + 26);
}

/* What the metalwork has then: of the lesson's own states. */
static void draw_voltage(struct story *s)
{
    const struct pd_lesson_preset *const preset =
        pd_lesson_preset(s->lesson, s->open ? PD_PRESET_DECLARED : PD_PRESET_HEALTHY);
    char text[64];
    if (preset == NULL)
        return;
    const struct pd_lesson_answer *const answer = pd_lesson_at(s->lesson, preset->at);
    const double volts = s->tt ? answer->met_v : answer->touch_v;
    if (isfinite(volts))
        snprintf(text, sizeof text, "%s at %s V to earth", s->tt ? "terminal" : "chassis",
                 pd_figure_v(volts).text);
    else
        snprintf(text, sizeof text, "%s: not determined", s->tt ? "terminal" : "chassis");
    write_text(s, s->open ? PD_INK_ALERT : PD_INK_STRONG, WIDTH - 24, LINE + 40, PD_ANCHOR_END,
               text);
}

static void draw(struct pd_html *html, const struct pd_lesson *lesson, bool open,
                 const struct pd_svg_head *head)
{
    const struct pd_case *const c = lesson->study_case;
    struct story s = {
        .lesson = lesson,
        .open = open,
        .others = (c->network->lines & ~(1u << PD_L1)) != 0,
        .electrode = !isinf(pd_case_electrode(c, c->installation)), /* NaN: one not measured */
        .tt = c->earthing == PD_TT,
    };
    pd_svg_begin(&s.svg, html->out, head);
    pd_svg_line(&s.svg, PD_INK_FRAME, 20, GROUND, WIDTH - 20, GROUND);
    draw_supply(&s);
    draw_pen(&s);
    draw_vehicle(&s);
    draw_person(&s);
    draw_terminal(&s);
    if (open)
        current_after(&s);
    else
        current_before(&s);
    draw_voltage(&s);
    pd_svg_end(&s.svg);
}

void pd_lesson_story(struct pd_html *html, const struct pd_lesson *lesson)
{
    if (lesson->study_case->network == NULL || !pd_case_on_pen(lesson->study_case))
        return;
    const struct pd_svg_head before = {
        .title = "The way of the current with the PEN whole",
        .description = "Current leaves the source on L1, goes through the load and home by the "
                       "PEN. The vehicle's chassis is bonded to the main earthing terminal, which "
                       "the PEN holds near earth.",
        .prefix = "before",
        .width = WIDTH,
        .height = HEIGHT,
        .inlined = true,
    };
    const struct pd_svg_head after = {
        .title = "The way of the current with the PEN open",
        .description =
            "Current leaves the source on L1, goes through the load to the main earthing "
            "terminal, and from there through loads on other lines, through electrodes, or through "
            "whoever touches the metalwork bonded to it, to earth and back to the source.",
        .prefix = "after",
        .width = WIDTH,
        .height = HEIGHT,
        .inlined = true,
    };
    pd_html_section(html, "story", "The way of the current");
    pd_html_picture(html);
    draw(html, lesson, false, &before);
    pd_html_picture_end(html,
                        "Before. Conductors in their identification colours (IEC 60445, from "
                        "memory): lines brown, black and grey, neutral blue, protective green "
                        "and yellow; the PEN green and yellow with blue at its ends.");
    pd_html_picture(html);
    draw(html, lesson, true, &after);
    pd_html_picture_end(html, "After. A diagram, not a plan: what matters is that the load current "
                              "now has no way home that is not through other loads or earth.");
    pd_html_section_end(html);
}
