/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_SOLVE_LANES_H
#define PENDRIFT_SOLVE_LANES_H

#include "solve/plan.h"

/* Solves a group of states as a plan says, all its cuts and probes: PD_LANES states at a time, each
 * number a vector. The room's own. */

struct pd_lane_worker;

/* Whether this machine has the instructions of a width. */
bool pd_width_there(enum pd_width width);

/* Makes a worker with all the memory that it will need. Freed by pd_lane_worker_free. PD_OK or
 * PD_ERR_MEMORY. */
enum pd_status pd_lane_worker_new(const struct pd_batch_kept *kept, const struct pd_plan *plan,
                                  struct pd_lane_worker **out);
void pd_lane_worker_free(struct pd_lane_worker **worker);

/* Solves a group. Lanes behind the last state are not to be read. PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_lane_worker_solve(struct pd_lane_worker *worker,
                                    const struct pd_batch_input *input,
                                    const struct pd_group *group);

#endif
