/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_EARTHING_SEGMENTS_H
#define PENDRIFT_EARTHING_SEGMENTS_H

#include <gsl/gsl_matrix.h>

#include "earthing/segment.h"

/* Conductors cut into segments and solved. The room's own. */
struct pd_segments {
    struct pd_segment *segment;
    size_t count;
    size_t electrodes;
    gsl_matrix *share;      /* segment's current for 1 A from an electrode, the others open */
    gsl_matrix *resistance; /* electrodes by electrodes, ohm */
    double residual;        /* of the segments' equations, over the right sides */
};

/* Cuts into about `wanted` segments of like length, at least one for each conductor, and at the
 * boundary of the layers; then `finer` times as many. PD_OK, PD_ERR_MEMORY, PD_ERR_ARGUMENT (more
 * than PD_SEGMENTS_MOST). Start with {0}; free in any case. */
enum pd_status pd_segments_cut(struct pd_segments *segments, const struct pd_conductors *conductors,
                               const struct pd_soil *soil, size_t wanted, size_t finer);

/* Fills share, resistance and residual. PD_OK, PD_ERR_MEMORY, PD_ERR_ARGUMENT (not to be solved).
 */
enum pd_status pd_segments_solve(struct pd_segments *segments, const struct pd_images *images);

void pd_segments_free(struct pd_segments *segments);

#endif
