/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "network/behaviour.h"

#include <math.h>

/* Of constant size however low the voltage, the current would have no direction left at 0 V; below
 * low_v it is that of the impedance that draws the same current at low_v. */
static void draw_current(const struct pd_point *point, double complex voltage_v,
                         struct pd_draw *draw)
{
    const double complex size_a = point->current_a * point->turn;
    if (cabs(voltage_v) >= point->low_v)
        pd_draw_sized(size_a, 0, voltage_v, draw);
    else
        pd_draw_admittance(size_a / point->low_v, voltage_v, draw);
}

const struct pd_behaviour pd_behaviour_current = {
    .name = "current",
    .equation = "I = In (cos phi - j sin phi) V/|V|; below low_v the impedance of the same current "
                "at low_v",
    .source = "by definition; the fall-back, at 0.1 Un where low_v is left out: common practice, "
              "no source",
    .low_part = 0.1,
    .high_part = NAN,
    .draw = draw_current,
};
