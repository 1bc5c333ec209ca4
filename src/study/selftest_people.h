/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_SELFTEST_PEOPLE_H
#define PENDRIFT_STUDY_SELFTEST_PEOPLE_H

#include "study/selftest.h"
#include "study/selftest_inputs.h"

/* Checks of what people stand: EN 50522 and IEEE Std 80. The room's own. */

enum pd_tolerable_quantity { PD_TOLERABLE_TOUCH_V, PD_TOLERABLE_STEP_V };
enum { PD_TOLERABLE_QUANTITIES = 2 };
extern const char *const pd_tolerable_quantity_names[PD_TOLERABLE_QUANTITIES];

/* The permissible touch voltage at time_s, from the program's tables; NaN where it has none. PD_OK
 * or below zero as pd_permissible_touch. */
enum pd_status pd_selftest_permissible(const struct pd_inputs *inputs, double *touch_v);

/* Tolerable touch or step voltage on soil_ohm_m after time_s; NaN where it has none. */
double pd_selftest_tolerable(const struct pd_inputs *inputs, enum pd_tolerable_quantity quantity);

#endif
