/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_RULE_TT_H
#define PENDRIFT_STUDY_RULE_TT_H

#include "study/rule.h"

/* Route 6: a charging point on an electrode of its own, its earth fault, and what drifts beside it.
 * The room's own. */

/* R_A alone, in the dry season: at most 50 V over the RCD's rated current (IEC 60364-4-41 411.5.3),
 * and at most 200 ohm, above which it may not be stable (note in BS 7671 542.2, seen quoted).
 * PD_RESULT_UNKNOWN where R_A or the rating is not known, or there is no electrode. */
enum pd_result pd_tt_electrode(const struct pd_case *study_case);

/* Decides the route of a case on TT: R_A, and simultaneous contact where the house beside the
 * charging point has its metalwork on a PEN. A distance not declared is not determined. */
void pd_tt_route(const struct pd_case *study_case, struct pd_route_answer *route);

/* 50 V over the RCD's rated current, and the stable 200 ohm. */
double pd_tt_touch_ohm(double rcd_a);
double pd_tt_stable_ohm(void);

/* Fills assessment->tt when the scenarios are there. */
void pd_tt_read(struct pd_assessment *assessment);

#endif
