/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_CONTOUR_H
#define PENDRIFT_REPORT_CONTOUR_H

#include <stddef.h>

#include "report/svg.h"
#include "table/status.h"

/* Lines of equal value on a grid of values, straight from one grid line to the next (marching
 * squares; at a saddle the mean of the corners decides). */

struct pd_grid {
    const double *value; /* [down * across], x runs first */
    size_t across, down; /* both 2 or more */
    double left, bottom, step;
};

/* Called for each line: whole loops end where they began. The points are lent. */
typedef void pd_contour_function(const struct pd_xy *point, size_t count, void *context);

/* Finds every line at a level. A value that is not finite counts as below it. PD_OK or
 * PD_ERR_MEMORY. */
enum pd_status pd_contour_trace(const struct pd_grid *grid, double level,
                                pd_contour_function *function, void *context);

#endif
