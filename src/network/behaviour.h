/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_NETWORK_BEHAVIOUR_H
#define PENDRIFT_NETWORK_BEHAVIOUR_H

#include "network/load.h"

/* The rows of pd_behaviours, each in a file of its own. Within the room only. */
extern const struct pd_behaviour pd_behaviour_impedance;
extern const struct pd_behaviour pd_behaviour_current;
extern const struct pd_behaviour pd_behaviour_power;
extern const struct pd_behaviour pd_behaviour_mixture;
extern const struct pd_behaviour pd_behaviour_charger;
extern const struct pd_behaviour pd_behaviour_inverter_current;
extern const struct pd_behaviour pd_behaviour_inverter_power;

/* Two forms that all behaviours are made of, with their exact derivatives. */

/* I = y V. */
void pd_draw_admittance(double complex y_s, double complex voltage_v, struct pd_draw *draw);

/* A current whose size against the voltage's direction depends on |V| alone: I = g V/|V|, with
 * g = size_a and dg/d|V| = slope_s at this |V|, which is not 0. From |V|^2 = V conj(V):
 *   by_v = (g' + g/|V|)/2,  by_conj = (g' - g/|V|)/2 (V/|V|)^2. */
void pd_draw_sized(double complex size_a, double complex slope_s, double complex voltage_v,
                   struct pd_draw *draw);

#endif
