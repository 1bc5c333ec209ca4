/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "network/behaviour.h"

#include <math.h>

/* Heaters, kettles, incandescent lamps: a fixed impedance. Lagging current falls behind. */
static void draw_impedance(const struct pd_point *point, double complex voltage_v,
                           struct pd_draw *draw)
{
    pd_draw_admittance(point->current_a / point->nominal_v * point->turn, voltage_v, draw);
}

const struct pd_behaviour pd_behaviour_impedance = {
    .name = "impedance",
    .equation = "I = V (In/Un) (cos phi - j sin phi)",
    .source = "Ohm's law; an open measurement set has exponents of 1.98 to 2.00 for heaters",
    .linear = true,
    .low_part = NAN,
    .high_part = NAN,
    .draw = draw_impedance,
};
