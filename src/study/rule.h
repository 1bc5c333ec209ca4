/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_RULE_H
#define PENDRIFT_STUDY_RULE_H

#include "study/assess.h"

/* The rule's reading: what the limit set's method asks of the installation alone, on a stiff source
 * at the top of the supply range. The room's own. */

/* Fills the assessment's routes, rule_result, rule, divider_ohm and annex_ohm. PD_OK. */
enum pd_status pd_rule_read(const struct pd_case *study_case, const struct pd_load_states *states,
                            struct pd_assessment *assessment);

/* Whether the set's rule for a PME terminal applies: the charging point's earth is a PEN's, here or
 * further up the supply. */
bool pd_rule_applies(const struct pd_case *study_case);

/* Rounded down to what is worth saying (2 decimals below 10, 1 below 100, none above): a resistance
 * not to be passed must not be rounded up. */
double pd_round_down(double ohm);

#endif
