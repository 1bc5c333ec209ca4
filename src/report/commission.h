/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_COMMISSION_H
#define PENDRIFT_REPORT_COMMISSION_H

#include "report/thresholds.h"
#include "study/commission.h"

/* What every format of a commissioning sheet says in the same words. */

/* How the test is done, and that no step opens a PEN. */
enum { PD_COMMISSION_RULES = 4 };
extern const char *const pd_commission_rules[PD_COMMISSION_RULES];

/* "L1 to neutral 211.5 V", "PE to reference terminal 47.5 V" */
struct pd_phrase pd_step_phrase(const struct pd_test_sheet *sheet, const struct pd_step *step);

/* "stays closed", "disconnects" */
const char *pd_expected_phrase(enum pd_expected expected);

/* What stays live, or on the PEN, once the device has acted. */
struct pd_phrase pd_left_live_phrase(const struct pd_case *study_case, size_t detector);

/* What the device must do when what is applied goes back to healthy. */
struct pd_phrase pd_back_phrase(const struct pd_detector *detector);

#endif
