/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_SAMPLE_H
#define PENDRIFT_REPORT_SAMPLE_H

#include <stdio.h>

#include "report/figure.h"
#include "study/sample.h"

/* A sample on paper. Each function writes to `out`, does not flush or close it, and returns PD_OK,
 * PD_ERR_FILE or PD_ERR_MEMORY as those of report.h do. Each has the seed and all the cautions, and
 * none says how many threads there were: the bytes are the same. */

/* For people: how likely it is comes first. */
enum pd_status pd_sample_text(FILE *out, const struct pd_sample *sample);

/* For programs: one object, "schema": 1; null where a figure is not known. */
enum pd_status pd_sample_json(FILE *out, const struct pd_sample *sample);

/* For a spreadsheet: quantiles, bars of the histogram, breaks, one a row. */
enum pd_status pd_sample_csv(FILE *out, const struct pd_sample *sample);

/* The picture: the distribution of the touch voltage, the limit in it. */
enum pd_status pd_sample_svg(FILE *out, const struct pd_sample *sample);

struct pd_sample_words {
    char text[500];
};

/* "With a PEN open somewhere in the supply, over the limit of 70.0 V in 12.3 % (12.2 to 12.4 %);
 * ..." */
struct pd_sample_words pd_sample_headline(const struct pd_sample *sample);

/* How it was drawn, seed included; where the PEN opens; what the limits mean. */
struct pd_sample_words pd_sample_method(const struct pd_sample *sample);
struct pd_sample_words pd_sample_breaks(const struct pd_sample *sample);
extern const char *const pd_sample_alone_note; /* numbers are drawn independently */
extern const char *const pd_sample_given_note; /* given that a PEN has opened */

/* "uniform 0 to 32", "normal, mean 5, deviation 2, within 0 to 10" */
struct pd_sample_words pd_sample_spread(const struct pd_distribution *distribution);

/* A probability in percent: four digits. */
struct pd_figure pd_sample_percent(double probability);

/* "12.3 % (12.2 to 12.4 %)" */
struct pd_sample_words pd_sample_odds_words(const struct pd_estimate *estimate);

#endif
