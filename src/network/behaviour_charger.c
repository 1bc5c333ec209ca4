/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "network/behaviour.h"

#include <math.h>

/* A vehicle holds the current it is told, so long as its voltage is within its window; the solver
 * switches it off outside. This is what it draws while on. */
static void draw_charger(const struct pd_point *point, double complex voltage_v,
                         struct pd_draw *draw)
{
    struct pd_point on = *point;
    on.low_v = pd_behaviour_current.low_part * point->nominal_v; /* not the window's */
    pd_behaviour_current.draw(&on, voltage_v, draw);
}

const struct pd_behaviour pd_behaviour_charger = {
    .name = "charger",
    .equation = "I = I_set (cos phi - j sin phi) V/|V| while low_v <= |V| <= high_v, else 0",
    .source = "current set-point: IEC 61851-1, 6 A or more, from memory; window of 0.85 to 1.15 Un "
              "where it is left out: common practice, no source",
    .window = true,
    .low_part = 0.85,
    .high_part = 1.15,
    .draw = draw_charger,
};
