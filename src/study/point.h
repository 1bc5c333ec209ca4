/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_POINT_H
#define PENDRIFT_STUDY_POINT_H

#include "study/run.h"
#include "study/scan.h"
#include "study/sweep.h"

/* One point of a sweep worked out: every break in some load states at some supply voltages. The
 * scan finds the worst, the tree engine solves it again, and that is what counts. The room's own.
 */

/* What the points of one case have in common. Start with {0}. */
struct pd_desk {
    struct pd_case *study_case; /* borrowed; its loads, ties and supply may change between points */
    struct pd_load_states states;
    struct pd_run run;
    struct pd_scan *scan;
    size_t room; /* states at a time */
    double *load_a, *supply_v, *tie_ohm;
    struct pd_sight *sight; /* [detectors.count] */
    bool open;
};

/* How the point is read. */
struct pd_desk_rules {
    bool all_loads;    /* the load states of assess, corners too; else present only */
    bool all_supplies; /* both ends of the set's range beside the declared one */
    size_t threads;
};

/* The caller closes it, also after a failure. PD_OK, PD_ERR_MEMORY. */
enum pd_status pd_desk_open(struct pd_case *study_case, const struct pd_desk_rules *rules,
                            struct pd_desk *desk);
void pd_desk_close(struct pd_desk *desk);

/* Works out the case as it now stands and fills all of *point but its values. PD_OK,
 * PD_ERR_MEMORY. */
enum pd_status pd_desk_point(struct pd_desk *desk, const struct pd_desk_rules *rules,
                             struct pd_sweep_point *point);

#endif
