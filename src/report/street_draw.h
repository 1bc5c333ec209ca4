/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_STREET_DRAW_H
#define PENDRIFT_REPORT_STREET_DRAW_H

#include "report/street.h"
#include "report/svg.h"

/* A street being drawn. The room's own. */

/* Of a row, from its top: where its lane runs, its houses' marks, and the bars below them. */
enum {
    PD_STREET_MARGIN = 22,
    PD_STREET_TOP = 12,
    PD_STREET_LANE = 46,
    PD_STREET_HOUSE = 42,
    PD_STREET_BAR = 54
};

/* From which distance between houses on each has its figure; its name too. */
extern const double pd_street_figured_slot, pd_street_named_slot;

struct pd_street_drawing {
    double bar, row; /* pixels: the longest bar, and from row to row */
    const struct pd_assessment *a;
    const struct pd_scenario *s;
    const struct pd_street_lay *lay;
    struct pd_svg *svg;
    double top_v;   /* of the longest bar */
    bool *labelled; /* [count] */
};

double pd_street_lane_y(const struct pd_street_drawing *st, const struct pd_street_place *place);
double pd_street_house_x(const struct pd_street_place *place);

/* Chooses the houses that get a figure: all where there is room, else the one under study and the
 * worst, as far as they do not stand on each other. `tried` is room of [count], all false. */
void pd_street_choose_labels(struct pd_street_drawing *st, bool *tried);
void pd_street_draw_labels(const struct pd_street_drawing *st);

#endif
