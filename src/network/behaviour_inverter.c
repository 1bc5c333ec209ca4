/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "network/behaviour.h"

#include <math.h>

/* Inverters feed current into the network while their voltage is within the interface protection's
 * window; the solver switches them off outside. With a lagging power factor they give reactive
 * power as well (the generator's convention).
 *
 * At 0 V the current would have no direction, and close to it a source of fixed current is a
 * negative resistance without bound. So an inverter gives nothing up to 0.05 Un, all from 0.1 Un
 * on, and in proportion between: common practice, no source, and far below any window. */
static void inject(double complex size_a, double complex slope_s, const struct pd_point *point,
                   double complex voltage_v, struct pd_draw *draw)
{
    const double none_v = 0.05 * point->nominal_v, all_v = 0.1 * point->nominal_v;
    const double magnitude_v = cabs(voltage_v);
    const double share = (magnitude_v - none_v) / (all_v - none_v);
    if (magnitude_v >= all_v)
        pd_draw_sized(-size_a, -slope_s, voltage_v, draw);
    else if (magnitude_v <= none_v)
        *draw = (struct pd_draw){0};
    else /* also where anything is NaN, which stays so */
        pd_draw_sized(-size_a * share, -slope_s * share - size_a / (all_v - none_v), voltage_v,
                      draw);
}

static void inject_current(const struct pd_point *point, double complex voltage_v,
                           struct pd_draw *draw)
{
    inject(point->current_a * point->turn, 0, point, voltage_v, draw);
}

/* Power can be held only up to the greatest current, which is that at low_v. */
static void inject_power(const struct pd_point *point, double complex voltage_v,
                         struct pd_draw *draw)
{
    const double magnitude_v = cabs(voltage_v);
    const double complex power_va = point->nominal_v * point->current_a * point->turn;
    if (magnitude_v >= point->low_v)
        inject(power_va / magnitude_v, -power_va / (magnitude_v * magnitude_v), point, voltage_v,
               draw);
    else
        inject(power_va / point->low_v, 0, point, voltage_v, draw);
}

/* 184 V and 262.2 V on 230 V. */
static const char window_source[] =
    "window of 0.8 to 1.14 Un where it is left out: interface protection of EREC G98, from memory; "
    "its stages with their times are in reference/stages.csv";

const struct pd_behaviour pd_behaviour_inverter_current = {
    .name = "inverter-current",
    .equation = "I = -In (cos phi - j sin phi) V/|V| while low_v <= |V| <= high_v, else 0",
    .source = window_source,
    .generates = true,
    .window = true,
    .low_part = 0.8,
    .high_part = 1.14,
    .draw = inject_current,
};

const struct pd_behaviour pd_behaviour_inverter_power = {
    .name = "inverter-power",
    .equation = "I = -Un In (cos phi - j sin phi) / conj(V) while low_v <= |V| <= high_v, else 0; "
                "never more than at low_v",
    .source = window_source,
    .generates = true,
    .window = true,
    .low_part = 0.8,
    .high_part = 1.14,
    .draw = inject_power,
};
