/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_INK_H
#define PENDRIFT_REPORT_INK_H

#include <stdio.h>

/* How things look in a picture. An ink is a CSS class: what a line, an area or a text is for, not
 * what colour it has. No two inks of a family differ in colour alone: curves differ in dashes,
 * areas in hatching, shades in lightness, so that a grey print and every kind of colour vision tell
 * them apart. On a dark screen the colours change, on paper never. */

enum pd_ink {
    PD_INK_PAPER, /* what everything stands on */
    PD_INK_FRAME,
    PD_INK_GRID,
    PD_INK_GUIDE,   /* thin dashes: construction lines, leaders */
    PD_INK_OUTLINE, /* thin and whole: what is given, such as the shape of the supply */
    PD_INK_LIMIT,   /* what is not to be passed */
    PD_INK_CURVE_1,
    PD_INK_CURVE_2,
    PD_INK_CURVE_3,
    PD_INK_CURVE_4,
    PD_INK_CURVE_5,
    PD_INK_CURVE_6,
    PD_INK_AREA_1, /* hatched rising, the strongest: what is dangerous */
    PD_INK_AREA_2, /* hatched falling */
    PD_INK_AREA_3, /* dotted */
    PD_INK_AREA_4, /* plain, faint */
    PD_INK_EDGE,   /* the edge of an area */
    PD_INK_MARK,   /* a filled point */
    PD_INK_MARK_HOLLOW,
    PD_INK_MARK_ALERT, /* the point to look at */
    PD_INK_SHADE_0,    /* steps of a map, the lightest first; they turn round on a dark screen */
    PD_INK_SHADE_1,
    PD_INK_SHADE_2,
    PD_INK_SHADE_3,
    PD_INK_SHADE_4,
    PD_INK_SHADE_5,
    PD_INK_SHADE_6,
    PD_INK_SHADE_7,
    PD_INK_L1, /* conductors, by the identification colours (IEC 60445, from memory): brown, */
    PD_INK_L2, /* black, */
    PD_INK_L3, /* grey, */
    PD_INK_N,  /* blue, */
    PD_INK_PE, /* green, with the yellow on top of it */
    PD_INK_PE_STRIPE,
    PD_INK_CASING, /* round a conductor, so that black shows on dark and yellow on light */
    PD_INK_TITLE,
    PD_INK_STRONG,
    PD_INK_TEXT,
    PD_INK_NOTE, /* small, still legible on a slide */
    PD_INK_ALERT,
    PD_INK_HALO, /* paper round a text that stands on lines */
    PD_INKS
};

/* The class's name without its prefix: "curve-1". */
const char *pd_ink_name(enum pd_ink ink);

/* Of an ink for text: its size in pixels, and how wide a character is at most on average. 0 for
 * another. */
double pd_ink_size(enum pd_ink ink);
double pd_ink_advance(enum pd_ink ink);

/* Writes the <style> and <defs> elements, every class and id led by `prefix` and a hyphen. */
void pd_ink_write(FILE *out, const char *prefix);

#endif
