/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_SWEEP_WORK_H
#define PENDRIFT_STUDY_SWEEP_WORK_H

#include "study/point.h"

/* How a sweep works out its points: by reading the case for each with its numbers in place, or,
 * where a number only changes what the engine takes for each state, in the case already read. The
 * room's own. */

/* What a number is, for the second road. */
enum pd_move_kind { PD_MOVE_LOAD, PD_MOVE_TIE, PD_MOVE_SUPPLY };
struct pd_move {
    enum pd_move_kind kind;
    size_t which;  /* load or electrode */
    double factor; /* ampere of the load, dry-season ohm of the tie, for each unit of the number */
};

struct pd_sweep_work {
    const char *folder;
    struct pd_sweep *sweep;
    struct pd_desk_rules rules;
    struct pd_errors *errors;
    struct pd_case *moved; /* NULL: the case is read for each point */
    struct pd_desk desk;   /* of `moved` */
    struct pd_move move[3];
};

/* Chooses the road. Reads the case at the ends of the ranges, so that their errors show first. */
enum pd_status pd_sweep_work_start(struct pd_sweep_work *work);
void pd_sweep_work_end(struct pd_sweep_work *work);

/* Works out the point with point->value. */
enum pd_status pd_sweep_work_point(struct pd_sweep_work *work, struct pd_sweep_point *point);

/* Where the judgement changes between two neighbouring points of a sweep over one quantity. */
enum pd_status pd_sweep_work_cross(struct pd_sweep_work *work, const struct pd_sweep_point *from,
                                   const struct pd_sweep_point *to,
                                   struct pd_sweep_crossing *crossing);

#endif
