/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_SWEEP_H
#define PENDRIFT_REPORT_SWEEP_H

#include <stdio.h>

#include "report/figure.h"
#include "study/sweep.h"

/* A sweep on paper. Each function writes to `out`, does not flush or close it, and returns PD_OK,
 * PD_ERR_FILE or PD_ERR_MEMORY as those of report.h do. Each has all the cautions. */

/* For people: where the limit is crossed comes first. */
enum pd_status pd_sweep_text(FILE *out, const struct pd_sweep *sweep);

/* For programs: one object, "schema": 1; null where a figure is not known. */
enum pd_status pd_sweep_json(FILE *out, const struct pd_sweep *sweep);

/* For a spreadsheet: a row for each point. */
enum pd_status pd_sweep_csv(FILE *out, const struct pd_sweep *sweep);

/* The picture: a curve of one quantity, a map of two, a triangle of the three lines' shares. */
enum pd_status pd_sweep_svg(FILE *out, const struct pd_sweep *sweep);
/* The same without words, of one quantity or the triangle, to go into a page of HTML that says the
 * rest, the cautions too. */
enum pd_status pd_sweep_svg_inlined(FILE *out, const struct pd_sweep *sweep, const char *title,
                                    const char *prefix);

/* Parts that several of them have in common. */

struct pd_sweep_words {
    char text[600];
};
struct pd_sweep_name {
    char text[200];
};

/* "Within the limit of 70.0 V up to 2.05 ohm, over it above that." */
struct pd_sweep_words pd_sweep_headline(const struct pd_sweep *sweep);

/* "'rod' resistance_ohm in electrodes.csv, 0.5 to 500 ohm, 60 values in even proportions" */
struct pd_sweep_words pd_sweep_quantity(const struct pd_sweep *sweep, size_t i);

/* What was computed at each point. */
struct pd_sweep_words pd_sweep_method(const struct pd_sweep *sweep);

/* The case as its tables have it. */
struct pd_sweep_words pd_sweep_present(const struct pd_sweep *sweep);

/* The largest touch voltage of all, and how many points no device makes safe. */
struct pd_sweep_words pd_sweep_largest(const struct pd_sweep *sweep);

/* How many values a point has, the name of each ("rod resistance_ohm", "L1 kW") and its unit. */
size_t pd_sweep_values(const struct pd_sweep *sweep);
struct pd_sweep_name pd_sweep_value_name(const struct pd_sweep *sweep, size_t i);
const char *pd_sweep_value_unit(const struct pd_sweep *sweep, size_t i);

/* The name of a section by the node that it feeds; "-" where there is none. */
const char *pd_sweep_section(const struct pd_sweep *sweep, size_t section);

/* A number of the sweep as people read it: five digits. */
struct pd_figure pd_sweep_number(double value);

/* "within", "over", "not determined" */
extern const char *const pd_sweep_judgements[];

#endif
