/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_JSON_PARTS_H
#define PENDRIFT_REPORT_JSON_PARTS_H

#include <jansson.h>

#include "study/assess.h"

/* Parts of the JSON report that have a file of their own. Each returns NULL where memory is short.
 * The room's own. */

/* What the deciding scenarios do to a person. */
json_t *pd_json_person(const struct pd_assessment *assessment);

/* A charging point on TT; null for another. */
json_t *pd_json_tt(const struct pd_assessment *assessment);

/* The installation's own electrodes: their ground and the season. */
json_t *pd_json_earth(const struct pd_assessment *assessment);

/* The certified worst case, null where there is none; the questions turned round. */
json_t *pd_json_worst(const struct pd_assessment *assessment);
json_t *pd_json_answers(const struct pd_assessment *assessment);

/* The loads and electrodes as the tables have them; the digests of these; the scenario that
 * decides, along the whole supply (null where there is none). */
json_t *pd_json_declared(const struct pd_case *study_case);
json_t *pd_json_inputs(const struct pd_case *study_case);
json_t *pd_json_along(const struct pd_assessment *assessment);

/* The whole object of pd_report_json; the caller owns it. */
json_t *pd_json_assessment(const struct pd_assessment *assessment);

/* Parts that the JSON of several commands shares. */
json_t *pd_json_limits(const struct pd_limits *limits);
json_t *pd_json_arrangement(const struct pd_case *study_case);
json_t *pd_json_line_voltages(const struct pd_scenario *scenario, unsigned lines);
json_t *pd_json_sights(const struct pd_detectors *detectors, const struct pd_scenario *scenario);

#endif
