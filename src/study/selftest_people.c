/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/selftest_people.h"

#include <math.h>

#include "earthing/shock.h"

const char *const pd_tolerable_quantity_names[PD_TOLERABLE_QUANTITIES] = {
    [PD_TOLERABLE_TOUCH_V] = "touch_v", [PD_TOLERABLE_STEP_V] = "step_v"};

enum pd_status pd_selftest_permissible(const struct pd_inputs *inputs, double *touch_v)
{
    struct pd_body body;
    struct pd_shock_curves curves;
    *touch_v = NAN;
    enum pd_status status = pd_body_read(&body, NULL);
    if (status == PD_OK)
        status = pd_shock_curves_read(&curves, NULL);
    if (status == PD_OK)
        status = pd_permissible_touch(&body, &curves, inputs->value[PD_I_TIME_S], touch_v);
    return status == PD_DOUBTFUL ? PD_OK : status;
}

double pd_selftest_tolerable(const struct pd_inputs *inputs, enum pd_tolerable_quantity quantity)
{
    const double soil_ohm_m = inputs->value[PD_I_SOIL_OHM_M], time_s = inputs->value[PD_I_TIME_S];
    return quantity == PD_TOLERABLE_STEP_V ? pd_tolerable_step(soil_ohm_m, time_s)
                                           : pd_tolerable_touch(soil_ohm_m, time_s);
}
