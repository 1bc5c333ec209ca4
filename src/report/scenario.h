/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_SCENARIO_H
#define PENDRIFT_REPORT_SCENARIO_H

#include "study/assess.h"

/* What every format needs to know of a scenario. */

extern const char *const pd_standing_names[]; /* by enum pd_standing */

/* Whether its voltages may be shown: solved, and not floating. */
bool pd_scenario_sure(const struct pd_scenario *scenario);

/* `value` where the scenario is sure, NaN otherwise. */
double pd_scenario_figure(const struct pd_scenario *scenario, double value);

/* The name of the section that is broken, NULL where it is healthy. */
const char *pd_scenario_section(const struct pd_assessment *assessment,
                                const struct pd_scenario *scenario);

/* The scenario with the largest touch voltage of that fault with the loads as they are, PD_NONE
 * where none is sure. */
size_t pd_scenario_worst_present(const struct pd_assessment *assessment, enum pd_fault_kind fault);

/* The worst scenario of each section opened, the worst section first; one that could not be solved
 * at all comes before the others, one that only floats after them. Writes up to `room` of them and
 * sets *count to how many there are in all. PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_scenario_sections(const struct pd_assessment *assessment, size_t *worst,
                                    size_t room, size_t *count);

#endif
