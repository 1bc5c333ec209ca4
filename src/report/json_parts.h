/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_JSON_PARTS_H
#define PENDRIFT_REPORT_JSON_PARTS_H

#include <jansson.h>

#include "study/assess.h"

/* Parts that the JSON of several commands shares; NULL without memory. */
json_t *pd_json_limits(const struct pd_limits *limits);
json_t *pd_json_arrangement(const struct pd_case *study_case);
json_t *pd_json_line_voltages(const struct pd_scenario *scenario, unsigned lines);
json_t *pd_json_sights(const struct pd_detectors *detectors, const struct pd_scenario *scenario);

#endif
