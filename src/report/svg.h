/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_SVG_H
#define PENDRIFT_REPORT_SVG_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include "report/ink.h"

/* Writes a picture as SVG 1.1 (W3C Recommendation, second edition), alone or within HTML.
 *
 * Places are in pixels from the top left corner, y downwards. They are written with at most two
 * decimals and a point, whatever the locale. A place that is not finite, or further off than
 * PD_SVG_FAR, is not written: the element is left out, a polyline or path has a gap there, and
 * `left_out` counts it. Texts may hold anything: they are escaped, and what XML cannot hold becomes
 * '?'. A failed write shows in ferror(out). */

enum { PD_SVG_FAR = 1000000 };

struct pd_xy {
    double x, y;
};

struct pd_svg {
    FILE *out;
    const char *prefix;
    double width, height;
    size_t left_out; /* points and elements without a place */
    size_t clips;    /* ids given away */
    bool pen_down;   /* the path's last point was written */
};

/* What a picture says of itself. Texts are borrowed for the call, `prefix` for the picture's life:
 * letters, digits and hyphens, a letter first; pictures on one page need different ones. */
struct pd_svg_head {
    const char *title;       /* <title>: what it shows */
    const char *description; /* <desc>: what is to be seen, for who cannot see it */
    const char *prefix;
    double width, height;
    bool inlined; /* goes into HTML: no XML declaration, shrinks with the page */
};

/* Begins the picture, with its style, patterns and paper. */
void pd_svg_begin(struct pd_svg *svg, FILE *out, const struct pd_svg_head *head);
void pd_svg_end(struct pd_svg *svg);

/* A group; `label` (may be NULL) becomes its <title>, which a browser shows on hovering. */
void pd_svg_group(struct pd_svg *svg, const char *label);
/* A group of which only what is within the rectangle shows. */
void pd_svg_clip(struct pd_svg *svg, double left, double top, double width, double height);
void pd_svg_group_end(struct pd_svg *svg);

void pd_svg_line(struct pd_svg *svg, enum pd_ink ink, double x1, double y1, double x2, double y2);
void pd_svg_rect(struct pd_svg *svg, enum pd_ink ink, double left, double top, double width,
                 double height);
void pd_svg_circle(struct pd_svg *svg, enum pd_ink ink, double x, double y, double radius);
void pd_svg_polyline(struct pd_svg *svg, enum pd_ink ink, const struct pd_xy *point, size_t count);
/* Left out as a whole where any corner has no place. */
void pd_svg_polygon(struct pd_svg *svg, enum pd_ink ink, const struct pd_xy *corner, size_t count);

/* A path in pieces. After a gap, line and arc only move. `large` and `sweep` are SVG's flags: the
 * longer way round; clockwise on the screen. */
void pd_svg_path(struct pd_svg *svg, enum pd_ink ink);
void pd_svg_move_to(struct pd_svg *svg, double x, double y);
void pd_svg_line_to(struct pd_svg *svg, double x, double y);
void pd_svg_arc_to(struct pd_svg *svg, double radius, bool large, bool sweep, double x, double y);
void pd_svg_close(struct pd_svg *svg);
void pd_svg_path_end(struct pd_svg *svg);

/* A conductor in its identification colour, cased so that it shows on any ground: PD_INK_L1 to
 * PD_INK_PE. */
void pd_svg_conductor(struct pd_svg *svg, enum pd_ink ink, const struct pd_xy *point, size_t count);

/* Marks of points: shape tells them apart without colour. */
enum pd_mark { PD_MARK_DISC, PD_MARK_SQUARE, PD_MARK_DIAMOND, PD_MARK_TRIANGLE, PD_MARK_CROSS };
void pd_svg_mark(struct pd_svg *svg, enum pd_ink ink, enum pd_mark mark, double x, double y,
                 double size);

enum pd_anchor { PD_ANCHOR_START, PD_ANCHOR_MIDDLE, PD_ANCHOR_END };
/* One line of text, its baseline through (x, y), turned by so many degrees clockwise about it. */
void pd_svg_text(struct pd_svg *svg, enum pd_ink ink, double x, double y, enum pd_anchor anchor,
                 double turn_deg, const char *text);

/* The same with paper round it, for a text that stands on lines. */
void pd_svg_label(struct pd_svg *svg, enum pd_ink ink, double x, double y, enum pd_anchor anchor,
                  const char *text);

/* A text wrapped between words to a width, the first baseline at y; returns the baseline after the
 * last. The width of characters is estimated on the safe side: no font is at hand. */
double pd_svg_paragraph(struct pd_svg *svg, enum pd_ink ink, double x, double y, double width,
                        const char *text);
/* How much such a paragraph takes in height. */
double pd_svg_paragraph_height(enum pd_ink ink, double width, const char *text);

#endif
