/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_NETWORK_LOAD_H
#define PENDRIFT_NETWORK_LOAD_H

#include <stdbool.h>
#include <stddef.h>

#include "network/phasor.h"

/* Conductors of a section and of a node. */
enum pd_conductor { PD_L1, PD_L2, PD_L3, PD_N, PD_CONDUCTORS };
enum { PD_LINES = 3 };

enum pd_system { PD_SINGLE_PHASE, PD_SPLIT_PHASE, PD_THREE_PHASE };
enum { PD_SYSTEMS = 3 };
extern const char *const pd_system_names[PD_SYSTEMS];

/* Where a load is connected. PD_ON_L123 is three equal loads, each from a line to neutral. */
enum pd_phase { PD_ON_L1, PD_ON_L2, PD_ON_L3, PD_ON_L12, PD_ON_L23, PD_ON_L31, PD_ON_L123 };
enum { PD_PHASES = 7 };
extern const char *const pd_phase_names[PD_PHASES];

/* The lines that a connection needs, a bit for each (1u << PD_L1 ...). */
unsigned pd_phase_lines(enum pd_phase phase);

/* How a load answers to voltage. The solver asks a behaviour for the admittance that draws its
 * current at a voltage; constant impedance gives the same at every voltage and so needs no
 * iteration. To add one: DEVELOPERS.md, "how to add a load behaviour". */
struct pd_behaviour {
    const char *name;     /* as in loads.csv */
    const char *equation; /* for people */
    const char *source;
    bool linear; /* the admittance does not depend on the voltage */
    /* Admittance in siemens of one element that takes current_a at nominal_v, with the power factor
     * of struct pd_load, when voltage_v is across it. */
    double complex (*admittance)(double current_a, double power_factor, double nominal_v,
                                 double complex voltage_v);
};
extern const struct pd_behaviour pd_behaviours[];
extern const size_t pd_behaviour_count;

/* A load's size is the current each of its elements takes at nominal voltage. */
struct pd_load {
    const char *name; /* copied when added to a network */
    size_t node;
    enum pd_phase phase;
    const struct pd_behaviour *behaviour;
    double power_factor;             /* 0 < pf <= 1 lagging, -1 <= pf < 0 leading */
    double present_a, low_a, high_a; /* low <= present <= high, >= 0 */
    size_t row;                      /* line in loads.csv, for messages */
};

/* One admittance between two conductors of a node. */
struct pd_element {
    int from, to; /* enum pd_conductor */
    double complex y_s;
};

/* The voltage across an element of the connection at nominal voltage: U0 from line to neutral, 2 U0
 * (split phase) or sqrt(3) U0 (three-phase) between lines. Volts. */
double pd_phase_voltage(enum pd_phase phase, enum pd_system system, double nominal_v);

/* The current in each element, ampere, of a load of power_kw (all its elements together) at nominal
 * voltage: P / (elements * U * |pf|). */
double pd_phase_current(enum pd_phase phase, enum pd_system system, double nominal_v,
                        double power_kw, double power_factor);

/* Writes the elements of a load that takes current_a (at nominal voltage) in each; returns how
 * many, 1 to 3. The admittances are those at nominal voltage. */
size_t pd_load_elements(const struct pd_load *load, enum pd_system system, double nominal_v,
                        double current_a, struct pd_element element[3]);

#endif
