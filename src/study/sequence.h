/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_SEQUENCE_H
#define PENDRIFT_STUDY_SEQUENCE_H

#include "earthing/shock.h"
#include "network/window_time.h"
#include "study/aftermath.h"
#include "study/run.h"

/* The clocks of a sequence of events, and the state that they act on. The room's own. */

/* A clock runs from since_s while what it waits for holds. */
struct pd_clock {
    bool running;
    double since_s;
};

/* A load with a window, or one without (times.count 0), which stays as it is. */
struct pd_follower {
    struct pd_window_times times;
    bool off;  /* has let go */
    bool dead; /* behind open contacts */
    struct pd_clock stage[PD_WINDOW_STAGES_MAX];
    struct pd_clock back;
    double seen_v[PD_WINDOW_STAGES_MAX + 1]; /* across the element that counts for each stage, and
                                                for coming back */
};

struct pd_watcher {
    bool open;
    double opened_s;
    bool held;             /* open, and what it senses keeps it so */
    struct pd_clock delay; /* closed: since it sees */
    double figure;
};

struct pd_sequence {
    struct pd_run *run;
    struct pd_aftermath *a;
    struct pd_fault fault;
    double *base_a, *load_a;      /* [load_count] of the scenario, and of the interval */
    struct pd_earth_tie *tie;     /* [electrodes.count + 1] as the case has them */
    struct pd_follower *follower; /* [load_count] */
    struct pd_watcher *watcher;   /* [detectors.count] */
    double now_s;
    double *seen_state; /* [intervals_max][state_size] each interval's state, to find repeats */
    size_t state_size, intervals_max;
    struct pd_body body;
    struct pd_shock_curves curves;
};

/* Solves the present state into a new interval of the aftermath and reads every voltage. PD_OK or
 * PD_ERR_MEMORY, PD_ERR_INTERRUPTED. An interval that is not `known` has left `why`. */
enum pd_status pd_sequence_solve(struct pd_sequence *sequence);

/* How many figures a state has. */
size_t pd_sequence_state_size(const struct pd_case *study_case);

/* Runs it to its end. As above. */
enum pd_status pd_sequence_run(struct pd_sequence *sequence);

#endif
