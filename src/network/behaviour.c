/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "network/load.h"

#include <math.h>

/* Lagging current falls behind the voltage: Y = (I/U) (cos phi - j sin phi). */
static double complex impedance_admittance(double current_a, double power_factor, double nominal_v,
                                           double complex voltage_v)
{
    (void)voltage_v;
    const double sine = sqrt(fmax(0, 1 - power_factor * power_factor));
    const double magnitude = current_a / nominal_v;
    return CMPLX(magnitude * fabs(power_factor),
                 power_factor > 0 ? -magnitude * sine : magnitude * sine);
}

const struct pd_behaviour pd_behaviours[] = {
    {
        .name = "impedance",
        .equation = "I = U (I_nominal / U_nominal)(cos phi - j sin phi)",
        .source = "Ohm's law; measured exponents near 2 for heaters",
        .linear = true,
        .admittance = impedance_admittance,
    },
};
const size_t pd_behaviour_count = sizeof pd_behaviours / sizeof pd_behaviours[0];
