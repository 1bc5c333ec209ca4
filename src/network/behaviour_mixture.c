/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "network/behaviour.h"

#include <math.h>

/* ZIP: shares of impedance, current and power, all at the load's power factor. low_v is where the
 * share of constant power falls back; that of constant current does so at its own default. */
static void draw_mixture(const struct pd_point *point, double complex voltage_v,
                         struct pd_draw *draw)
{
    const struct pd_behaviour *const kinds[] = {&pd_behaviour_impedance, &pd_behaviour_current,
                                                &pd_behaviour_power};
    struct pd_draw sum = {0};
    for (size_t i = 0; i < 3; i++) {
        struct pd_point share = *point;
        struct pd_draw one;
        if (kinds[i] == &pd_behaviour_current)
            share.low_v = kinds[i]->low_part * point->nominal_v;
        kinds[i]->draw(&share, voltage_v, &one);
        sum.current_a += point->part[i] * one.current_a;
        sum.by_v_s += point->part[i] * one.by_v_s;
        sum.by_conj_s += point->part[i] * one.by_conj_s;
    }
    *draw = sum;
}

const struct pd_behaviour pd_behaviour_mixture = {
    .name = "mixture",
    .equation = "I = z I_impedance + i I_current + p I_power, z + i + p = 1, each of the same size "
                "at Un",
    .source = "the ZIP load model: common practice, no source; shares of reference/mixtures.csv "
              "each with theirs",
    .low_part = 0.7,
    .high_part = NAN,
    .draw = draw_mixture,
};
