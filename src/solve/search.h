/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_SOLVE_SEARCH_H
#define PENDRIFT_SOLVE_SEARCH_H

#include "solve/engine.h"

/* By which rules the answer of loads that are not linear is searched for (settle.h says why): where
 * from, by which methods in which order, when one has arrived, and what several answers come to.
 * The room's own: settle.c searches by them one at a time, lane_seek.c side by side. */

/* Where to start from: the linear answer; the healthy voltages; low ones turned by an angle; next
 * to none, where constant power has fallen back; and with the neutral of an island at each line in
 * turn, where loads in series leave each other no voltage. */
enum pd_start {
    PD_START_LINEAR,
    PD_START_HEALTHY,
    PD_START_LOW,
    PD_START_COLLAPSED,
    PD_START_DISPLACED,
    PD_STARTS = PD_START_DISPLACED + PD_LINES
};

/* Over the supply voltage: arrived is what moves by no more, answers further apart differ, and what
 * is beyond the bound is no answer. */
#define PD_SEARCH_ARRIVED 1e-12
#define PD_SEARCH_APART 1e-6
#define PD_SEARCH_BOUND 1e6

/* Steps of Anderson's iteration, from one start with one damping. */
enum { PD_SEARCH_STEPS = 60 };

/* What is searched: a network at a supply voltage, with a cut. */
struct pd_search {
    const struct pd_network *network;
    const struct pd_cut *cut;
    double supply_v;
};

/* Whether it has a start; every one has the first four. */
bool pd_search_has(const struct pd_search *search, int start);

/* The voltage across an element at a start other than the linear one, whose voltages are those with
 * nothing injected. */
double complex pd_search_start_v(const struct pd_search *search, int start,
                                 const struct pd_port *port);

/* What is tried from a start, one after the other until something arrives. */
enum pd_method { PD_BY_ITERATION, PD_BY_NEWTON };
enum { PD_METHODS = 2 };
struct pd_attempt {
    enum pd_method method;
    double damping; /* of the iteration */
};

/* The number-th attempt from a start with so many ports. False: there are no more. */
bool pd_search_attempt(int start, size_t ports, int number, struct pd_attempt *attempt);

/* Whether voltages that an attempt arrived at are an answer. Where they are none, nothing more is
 * tried from that start. */
bool pd_search_bounded(const struct pd_search *search, const double complex *u, size_t count);

/* How it stands with one answer more, taken in the order of their starts; from PD_UNCONVERGED on.
 * same: as the first. */
enum pd_standing pd_search_stands(enum pd_standing before, bool same);

#endif
