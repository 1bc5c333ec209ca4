/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_VERDICT_H
#define PENDRIFT_STUDY_VERDICT_H

#include "study/assess.h"

/* From scenarios and routes to the two readings and the verdict. The room's own. */

/* Counts the scenarios and finds the worst. */
void pd_tally(struct pd_assessment *assessment);

/* The network's reading from the tally and the largest electrode resistance that would do. */
void pd_read_network(struct pd_assessment *assessment, double electrode_max_ohm);

/* The overall verdict and its reasons, the news first. PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_decide(struct pd_assessment *assessment);

/* The verdict of a case with something missing: not determined, with what is missing as reasons. */
enum pd_status pd_decide_missing(struct pd_assessment *assessment);

/* What a scenario is, as part of a sentence: "with the PEN open in section 'main2', loads high,
 * supply 253.0 V". */
void pd_scenario_describe(const struct pd_assessment *assessment,
                          const struct pd_scenario *scenario, char *text, size_t size);

#endif
