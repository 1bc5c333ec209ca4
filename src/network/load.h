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

/* How a load answers to voltage: each behaviour is one small file, behaviour_*.c, and a row of
 * pd_behaviours. To add one: DEVELOPERS.md, "how to add a load behaviour". */

/* One element of a load, as its behaviour sees it. */
struct pd_point {
    double current_a;     /* size: the current at nominal voltage, >= 0 */
    double nominal_v;     /* across the element */
    double complex turn;  /* cos phi - j sin phi: the current's unit phasor against the voltage's */
    double low_v, high_v; /* the behaviour's own voltages: its window, or where it falls back; NaN
                             where it does not use them */
    double part[3]; /* a mixture's shares at nominal voltage: impedance, current, power; sum 1 */
};

/* What it draws at a voltage, ampere into its first conductor, and how that answers to a small
 * change: dI = by_v_s dV + by_conj_s conj(dV). Exact in each regime of a behaviour; at a voltage
 * where it passes from one to another the current is continuous, its derivative need not be. */
struct pd_draw {
    double complex current_a;
    double complex by_v_s, by_conj_s;
};

struct pd_behaviour {
    const char *name;     /* as in loads.csv */
    const char *equation; /* for people */
    const char *source;
    bool linear;    /* I = y V with y the same at every voltage: needs no iteration */
    bool generates; /* its current flows into the network */
    bool window;    /* it lets go where its voltage is outside low_v to high_v */
    double low_part,
        high_part; /* low_v, high_v where none is declared, over nominal; NaN: not used */
    /* The element while it is on: a window is the solver's to apply. NaN in, NaN out. */
    void (*draw)(const struct pd_point *point, double complex voltage_v, struct pd_draw *draw);
};
extern const struct pd_behaviour *const pd_behaviours[];
extern const size_t pd_behaviour_count;

/* cos phi - j sin phi of a power factor: 0 < pf <= 1 lagging, -1 <= pf < 0 leading; NaN beyond. */
double complex pd_turn(double power_factor);

/* A load's size is the current each of its elements takes at nominal voltage. */
struct pd_load {
    const char *name; /* copied when added to a network */
    size_t node;
    enum pd_phase phase;
    const struct pd_behaviour *behaviour;
    double power_factor;             /* 0 < pf <= 1 lagging, -1 <= pf < 0 leading */
    double present_a, low_a, high_a; /* low <= present <= high, >= 0 */
    double low_v, high_v;            /* the behaviour's voltages; NaN or 0: its default */
    double trip_s, reconnect_s;      /* how long outside its window until it lets go, and how long
                                        inside until it is on again; NaN: not declared */
    double part[3];                  /* a mixture's shares: impedance, current, power */
    double share, least_a;           /* under load management; NaN: not given, see study/manage.h */
    double unit_a;                   /* ampere for each unit in which loads.csv gives the load */
    bool in_kw;                      /* that unit is kW at nominal voltage; else ampere */
    size_t row;                      /* line in loads.csv, for messages */
};

/* What a load's size may be, in either unit. */
enum { PD_LOAD_MOST = 10000 };

/* What is connected between two conductors of a node. */
struct pd_element {
    int from, to; /* enum pd_conductor */
    const struct pd_behaviour *behaviour;
    struct pd_point point;
};

/* The voltage across an element of the connection at nominal voltage: U0 from line to neutral, 2 U0
 * (split phase) or sqrt(3) U0 (three-phase) between lines. Volts. */
double pd_phase_voltage(enum pd_phase phase, enum pd_system system, double nominal_v);

/* The current in each element, ampere, of a load of power_kw (all its elements together) at nominal
 * voltage: P / (elements * U * |pf|). */
double pd_phase_current(enum pd_phase phase, enum pd_system system, double nominal_v,
                        double power_kw, double power_factor);

/* Writes the elements of a load that takes current_a (at nominal voltage) in each, its voltages
 * filled in where the load gives none; returns how many, 1 to 3. */
size_t pd_load_elements(const struct pd_load *load, enum pd_system system, double nominal_v,
                        double current_a, struct pd_element element[3]);

/* The admittance that draws an element's current at nominal voltage, siemens: exact for a linear
 * one, where an iteration starts for the others. */
double complex pd_element_admittance(const struct pd_element *element);

#endif
