/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "network/behaviour.h"

#include <math.h>

/* The first is the one of a load that names none. */
const struct pd_behaviour *const pd_behaviours[] = {
    &pd_behaviour_impedance,     &pd_behaviour_current, &pd_behaviour_power,
    &pd_behaviour_mixture,       &pd_behaviour_charger, &pd_behaviour_inverter_current,
    &pd_behaviour_inverter_power};
const size_t pd_behaviour_count = sizeof pd_behaviours / sizeof pd_behaviours[0];

double complex pd_turn(double power_factor)
{
    /* NaN, not a guess, for a power factor beyond 1. */
    const double sine = sqrt((1 - power_factor) * (1 + power_factor));
    return CMPLX(fabs(power_factor), power_factor > 0 ? -sine : sine);
}

void pd_draw_admittance(double complex y_s, double complex voltage_v, struct pd_draw *draw)
{
    *draw = (struct pd_draw){.current_a = y_s * voltage_v, .by_v_s = y_s};
}

void pd_draw_sized(double complex size_a, double complex slope_s, double complex voltage_v,
                   struct pd_draw *draw)
{
    const double magnitude_v = cabs(voltage_v);
    const double complex direction = voltage_v / magnitude_v;
    const double complex chord_s = size_a / magnitude_v;
    draw->current_a = size_a * direction;
    draw->by_v_s = (slope_s + chord_s) / 2;
    draw->by_conj_s = (slope_s - chord_s) / 2 * (direction * direction);
}
