/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_REACH_H
#define PENDRIFT_STUDY_REACH_H

#include "study/run.h"

/* What a device of other thresholds would leave unseen in this case: every PEN between the
 * installation and the substation open, solved in every load state, and mixed two by two between
 * them as between.c does; and a joint of it going bad, of every resistance, as joints.c has it;
 * over the supply range. The room's own. */

/* One solution: the chassis, and what the device has to sense. */
struct pd_unseen_point {
    double complex touch_v; /* NaN: floating, or not solved */
    struct pd_view view;
};

/* Them all, of one device. */
struct pd_unseen_set {
    size_t breaks, levels, states; /* levels: supplies solved for themselves */
    struct pd_unseen_point *open;  /* [breaks][levels][states] */
    struct pd_unseen_point *sound; /* [levels][states] no fault */
    double complex *joint_s;       /* as open; of a linear network: a joint of R ohm lies the share
                                      R c / (1 + R c) of the way from sound to open */
    struct pd_unseen_point *joint; /* [joint_count] of one that is not linear: solved one by one */
    size_t joint_count;
    double scale_low, scale_high; /* of a linear network: the supply range over what was solved */
    bool complete;                /* every state has its answer */
};

/* Solves them for the case's detector `detector`; the caller frees *set, also after a failure.
 * PD_OK, PD_ERR_MEMORY, PD_ERR_INTERRUPTED. */
enum pd_status pd_unseen_set_new(struct pd_run *run, size_t detector, struct pd_unseen_set *set);
void pd_unseen_set_free(struct pd_unseen_set *set);

/* The largest touch voltage that pd_detector_look does not see, volts; 0 where it sees all, and
 * what it cannot tell is not seen. It stops at the first above enough_v (INFINITY: looks at all).
 * Wider thresholds never leave less. */
double pd_largest_unseen(const struct pd_unseen_set *set, const struct pd_detector *detector,
                         double enough_v);

/* The device with other thresholds: nominal_v less and plus `reach` for a band, `reach` itself, V
 * or A, for a limit. Tolerance stays. */
struct pd_detector pd_detector_with_reach(const struct pd_detector *detector, double nominal_v,
                                          double reach);

/* The widest reach that leaves no more than limit_v unseen, by bisection. INFINITY: any does; 0:
 * none does; NaN: not determined, as the set is not complete. */
double pd_widest_reach(const struct pd_unseen_set *set, const struct pd_detector *detector,
                       double nominal_v, double limit_v);

#endif
