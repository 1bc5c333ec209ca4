/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_SWEEP_DRAW_H
#define PENDRIFT_REPORT_SWEEP_DRAW_H

#include "report/plot.h"
#include "report/sweep.h"

/* The three pictures of a sweep, each into a box and with its legend at a place; each returns the y
 * below the legend in *below. PD_OK or PD_ERR_MEMORY. */
struct pd_sweep_place {
    struct pd_box box;
    double legend_left, legend_top, legend_width;
};

enum pd_status pd_sweep_draw_curve(struct pd_svg *svg, const struct pd_sweep *sweep,
                                   const struct pd_sweep_place *place, double *below);
enum pd_status pd_sweep_draw_map(struct pd_svg *svg, const struct pd_sweep *sweep,
                                 const struct pd_sweep_place *place, double *below);
enum pd_status pd_sweep_draw_triangle(struct pd_svg *svg, const struct pd_sweep *sweep,
                                      const struct pd_sweep_place *place, double *below);

/* The edges of the shades of a map, volts, the first 0: *count bands, at most 8. */
enum { PD_SWEEP_BANDS = 8 };
void pd_sweep_bands(const struct pd_sweep *sweep, double edge[PD_SWEEP_BANDS + 1], size_t *count);

/* Where a map is drawn over the limit with nothing that lets go in time: 1, elsewhere 0. Lines of
 * it are worth drawing where devices make a difference. */
bool pd_sweep_has_edge(const struct pd_sweep *sweep);
double pd_sweep_edge_value(const struct pd_sweep_point *point);

/* The legend of those shades, the limit and what is marked. */
double pd_sweep_map_legend(struct pd_svg *svg, const struct pd_sweep *sweep,
                           const struct pd_sweep_place *place, bool marked);

#endif
