/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_SELFTEST_STAR_H
#define PENDRIFT_STUDY_SELFTEST_STAR_H

#include "study/selftest.h"
#include "study/selftest_inputs.h"

/* Checks of loads in star: by Millman's closed form and by the tree engine. The room's own. */

enum pd_star_quantity {
    PD_STAR_UN_V,
    PD_STAR_UN_DEG,
    PD_STAR_LINE1_V,
    PD_STAR_LINE2_V,
    PD_STAR_LINE3_V,
    PD_STAR_POWER_W,
    PD_STAR_NEUTRAL_A,
    PD_STAR_ELECTRODE_MAX_OHM
};
enum { PD_STAR_QUANTITIES = 8 };
extern const char *const pd_star_quantity_names[PD_STAR_QUANTITIES];

/* Fills got[], road[] and roads. PD_OK, PD_ERR_MEMORY, or PD_ERR_ARGUMENT where the inputs do not
 * describe a star. */
enum pd_status pd_selftest_star(const struct pd_inputs *inputs, enum pd_star_quantity quantity,
                                struct pd_selftest_result *result);

#endif
