/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_FACETS_H
#define PENDRIFT_REPORT_FACETS_H

#include "report/svg.h"
#include "table/status.h"

/* Maps of a quantity known at the corners of triangles, straight in between: bands filled, and
 * lines of one level. A triangle with a corner that is not finite is left out. */

struct pd_facet_corner {
    struct pd_xy at; /* pixels */
    double value;
};

/* Triangles, three corners each, of memory that grows; start it with {0}. */
struct pd_facets {
    struct pd_facet_corner *corner;
    size_t count; /* corners, three for each triangle */
};
void pd_facets_free(struct pd_facets *contour);

/* Adds a triangle. PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_facets_add(struct pd_facets *contour, const struct pd_facet_corner *a,
                             const struct pd_facet_corner *b, const struct pd_facet_corner *c);

/* Fills where low <= value < high: one path, so that no seams show. */
void pd_facets_fill(struct pd_svg *svg, enum pd_ink ink, const struct pd_facets *contour,
                    double low, double high);

/* Draws the line where the value is `level`, its pieces joined end to end. PD_OK or PD_ERR_MEMORY.
 */
enum pd_status pd_facets_line(struct pd_svg *svg, enum pd_ink ink, const struct pd_facets *contour,
                              double level);

#endif
