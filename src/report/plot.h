/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_PLOT_H
#define PENDRIFT_REPORT_PLOT_H

#include "report/svg.h"

/* A frame with axes in a picture, and what goes into it by its own quantities. */

struct pd_axis {
    const char *title; /* the quantity and its unit: "touch voltage, V" */
    double low, high;  /* its ends, low < high; > 0 where log */
    bool log;
    size_t ticks; /* at most so many figures; 0: by the length of the axis */
};

struct pd_box {
    double left, top, width, height; /* pixels */
};

struct pd_plot {
    struct pd_svg *svg;
    struct pd_box
        box; /* the frame itself: figures and titles of axes stand to its left and below */
    struct pd_axis x, y;
    bool good; /* both axes have a range */
};

/* What figures and titles take beyond the frame. */
enum { PD_PLOT_LEFT = 76, PD_PLOT_BELOW = 60 };

/* Draws grid, figures and titles. Where an axis is no range the frame says "not determined", and
 * nothing is drawn into it. */
void pd_plot_begin(struct pd_plot *plot, struct pd_svg *svg, struct pd_box box,
                   const struct pd_axis *x, const struct pd_axis *y);
/* Draws the frame, over what was drawn into it. */
void pd_plot_end(struct pd_plot *plot);

/* Widens the range of one of two linear axes, evenly on both sides, until a unit is as long on both
 * in this box: for maps and planes, where a circle must be one. */
void pd_plot_even(struct pd_box box, struct pd_axis *x, struct pd_axis *y);

/* The pixel of a point; not finite where it has none. It may lie outside the frame. */
struct pd_xy pd_plot_at(const struct pd_plot *plot, double x, double y);
bool pd_plot_holds(const struct pd_plot *plot, double x, double y);

/* A curve through points, cut off at the frame; a point that is not finite is a gap. */
void pd_plot_curve(const struct pd_plot *plot, enum pd_ink ink, const struct pd_xy *point,
                   size_t count);

/* A polygon, such as a cell of a map, cut off at the frame. */
void pd_plot_area(const struct pd_plot *plot, enum pd_ink ink, const struct pd_xy *corner,
                  size_t count);

/* A line across the frame at a value of y, or upright at one of x, with a label at its end (may be
 * NULL). Nothing where it lies outside. */
void pd_plot_level(const struct pd_plot *plot, enum pd_ink ink, double y, const char *label);
void pd_plot_upright(const struct pd_plot *plot, enum pd_ink ink, double x, const char *label);

/* A mark; false, and nothing drawn, where it lies outside the frame or nowhere. */
bool pd_plot_mark(const struct pd_plot *plot, enum pd_ink ink, enum pd_mark mark, double x,
                  double y, double size);

/* What an ink stands for. */
enum pd_legend_kind { PD_LEGEND_LINE, PD_LEGEND_AREA, PD_LEGEND_MARK };
struct pd_legend {
    enum pd_legend_kind kind;
    enum pd_ink ink;
    enum pd_mark mark;
    const char *text;
};

enum { PD_LEGEND_ROW = 26 }; /* the height of a row that is not wrapped */

/* A legend from the top left corner down, wrapped to a width; returns the y below it. */
double pd_legend_draw(struct pd_svg *svg, double left, double top, double width,
                      const struct pd_legend *row, size_t count);

#endif
