/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "network/behaviour.h"

#include <math.h>

/* Electronic supplies hold their power, so their current rises as the voltage falls: until they no
 * longer can. Below low_v the load is the impedance that draws the same power at low_v. */
static void draw_power(const struct pd_point *point, double complex voltage_v, struct pd_draw *draw)
{
    const double magnitude_v = cabs(voltage_v);
    const double complex power_va = point->nominal_v * point->current_a * point->turn;
    if (magnitude_v >= point->low_v)
        pd_draw_sized(power_va / magnitude_v, -power_va / (magnitude_v * magnitude_v), voltage_v,
                      draw);
    else
        pd_draw_admittance(power_va / (point->low_v * point->low_v), voltage_v, draw);
}

const struct pd_behaviour pd_behaviour_power = {
    .name = "power",
    .equation = "I = Un In (cos phi - j sin phi) / conj(V); below low_v the impedance of the same "
                "power at low_v",
    .source = "by definition, S = V conj(I); the fall-back, at 0.7 Un where low_v is left out: "
              "common practice of load-flow calculation, no source",
    .low_part = 0.7,
    .high_part = NAN,
    .draw = draw_power,
};
