/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_NETWORK_WINDOW_TIME_H
#define PENDRIFT_NETWORK_WINDOW_TIME_H

#include "network/load.h"
#include "table/status.h"

/* How long a load with a window waits: outside it until it lets go, inside until it is on again. */

/* One threshold of it. A side without one is NaN. */
struct pd_window_stage {
    char name[32];
    double below_v, above_v; /* across an element */
    double time_s;
};

enum { PD_WINDOW_STAGES_MAX = 8 };
struct pd_window_times {
    struct pd_window_stage stage[PD_WINDOW_STAGES_MAX];
    size_t count;         /* 0: the load has no window */
    double low_v, high_v; /* back within these it waits to come on again */
    double reconnect_s;
    char status[32]; /* how sure the times are that the case does not declare */
    char source[200];
};

/* Fills *times for a load. An inverter has the stages of reference/stages.csv: the ones at its
 * behaviour's window take the window that the load declares, those further out stay at or beyond
 * it. A charger has one stage on either side. trip_s and reconnect_s of the load come before
 * reference/window_times.csv. PD_OK, PD_ERR_MEMORY, PD_ERR_INPUT (a fault of the program's own
 * tables). */
enum pd_status pd_window_times_of(const struct pd_load *load, enum pd_system system,
                                  double nominal_v, struct pd_window_times *times);

/* Whether a voltage is past a stage's threshold; NaN is. */
bool pd_window_stage_passed(const struct pd_window_stage *stage, double voltage_v);

#endif
