/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_WORST_H
#define PENDRIFT_STUDY_WORST_H

#include "detect/detector.h"
#include "network/network.h"
#include "solve/tree.h"

/* The certified worst case: for every break the largest touch voltage over all loads within their
 * declared ranges and over the supply range. Two figures, never one for the other: a bound that is
 * proved (study/island.h has the proof), and the best that was found, with the loads that attain
 * it. Nobody knows the loads at the moment a PEN breaks.
 *
 * What is exact. On a stiff star (no impedance between the EMFs and the loads, electrodes at one
 * neutral) the two agree within tolerance_v, for any mixture of power factors. With cables they
 * agree where the proof settles every load's end of its range, which it mostly does; else the gap
 * is what is left. Loads that are not linear leave a gap of some volts at best. Where the proof
 * does not contract (cables that would drop most of the supply at full load) or power factors of
 * opposite sign nearly cancel, there is no bound: INFINITY, and nothing may rest on it.
 *
 * What the bound leaves out to be safe: load management and diversity. The box of the ranges is
 * larger than what they allow; `manage` keeps the best found to what they allow.
 */

enum pd_worst_method {
    PD_WORST_ALONE,  /* no range: the one state was solved */
    PD_WORST_CELLS,  /* branch and bound beyond the break */
    PD_WORST_INTACT, /* target on the intact side: a bound on drops along the PEN */
    PD_WORST_NONE    /* no bound */
};
enum { PD_WORST_METHODS = 4 };
extern const char *const pd_worst_method_names[PD_WORST_METHODS];

/* Changes load_a[load_count] to a state that load management and diversity allow. */
typedef enum pd_status pd_worst_manage(double *load_a, void *context);

struct pd_worst_settings {
    const struct pd_network *network;
    const struct pd_earth_tie *tie; /* [tie_count] */
    size_t tie_count;
    const double *low_a, *high_a; /* [load_count] 0 <= low <= high */
    double supply_low_v, supply_high_v;
    size_t target;         /* node whose neutral's potential to earth is the touch voltage */
    const size_t *section; /* [section_count] breaks; PD_NONE: no break */
    size_t section_count;
    const struct pd_detectors *detectors; /* NULL: none */
    const size_t *detector_node;
    unsigned detector_lines; /* of the installation */
    double limit_v, time_s;  /* for what detectors do not see; NaN: not asked */
    pd_worst_manage *manage; /* NULL: none */
    void *context;           /* of manage and progress */
    /* Called after each break. Return false to stop. NULL: none. */
    bool (*progress)(void *context);
    bool most_only;     /* nothing but bound_v and what attains it */
    double tolerance_v; /* at which a gap is closed, > 0 */
    size_t cells_most;  /* the budget of each figure of a break, in cells of the plane */
};

struct pd_worst_break {
    size_t section;
    enum pd_worst_method method;
    double bound_v;        /* the touch voltage is never above it; INFINITY: no bound */
    double attained_v;     /* the largest found, 0 where none is */
    const double *load_a;  /* [load_count] what attains it, at the highest supply */
    double least_bound_v;  /* never below it at the highest supply; 0 where under 5 V was found */
    double least_v;        /* the least found */
    double unseen_bound_v; /* above the limit and not seen in time: never above it; 0: all is seen;
                              INFINITY: no bound; NaN: not asked */
    size_t cells;
};

struct pd_worst {
    struct pd_worst_break *brk; /* [count] as the settings' sections */
    size_t count;
    size_t worst;   /* largest bound; of equal ones the first */
    double *load_a; /* [count][load_count] */
};

/* Sets tolerance_v and cells_most to what an assessment takes for such a network: a gap of that
 * size is closed enough, and where each cell of the plane costs more there are fewer, and wider, so
 * that a street of 200 houses takes about a second. */
void pd_worst_effort(struct pd_worst_settings *settings);

/* Fills *out, which the caller frees. PD_OK, PD_ERR_MEMORY, PD_ERR_ARGUMENT (a figure out of
 * range), PD_ERR_INTERRUPTED. A bound that is not to be had is a good call. */
enum pd_status pd_worst_find(const struct pd_worst_settings *settings, struct pd_worst *out);
void pd_worst_free(struct pd_worst *worst);

#endif
