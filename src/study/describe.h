/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_DESCRIBE_H
#define PENDRIFT_STUDY_DESCRIBE_H

#include "study/assess.h"

/* Scenarios in words. The room's own. */

/* "with the PEN open in section 'main2', loads high, supply 253.0 V" */
void pd_describe_place(const struct pd_assessment *assessment, const struct pd_scenario *scenario,
                       char *text, size_t size);

/* Why no device acts on a scenario in time. */
void pd_describe_blindness(const struct pd_assessment *assessment,
                           const struct pd_scenario *scenario, char *text, size_t size);

/* The sentence of a scenario over the limit that nothing disconnects in time, after `lead`: how
 * high, where, and why it is not seen. */
enum { PD_HAZARD_MAX = 640 };
void pd_describe_hazard(const struct pd_assessment *assessment, size_t index, const char *lead,
                        char *text, size_t size);

#endif
