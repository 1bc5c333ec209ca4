/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_SVG_PUT_H
#define PENDRIFT_REPORT_SVG_PUT_H

#include "report/svg.h"

/* What the elements of svg.h are put together from. The writer's own. */

/* Whether each of the places can be written; counts it where one cannot. */
bool pd_svg_placed(struct pd_svg *svg, const double *value, size_t count);

/* A number with at most two decimals and no trailing zeros, |value| < PD_SVG_FAR. */
void pd_svg_put_number(FILE *out, double value);

/* A blank, then name="value". */
void pd_svg_put_attribute(FILE *out, const char *name, double value);

/* Text as XML may have it. */
void pd_svg_put_text(FILE *out, const char *text, size_t length);

/* The beginning of an element, open for more attributes. */
void pd_svg_put_element(struct pd_svg *svg, const char *element, enum pd_ink ink);

/* A step of a path, or a pair of numbers after any text. */
void pd_svg_put_step(struct pd_svg *svg, const char *step, double x, double y);

#endif
