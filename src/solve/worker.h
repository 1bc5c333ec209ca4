/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_SOLVE_WORKER_H
#define PENDRIFT_SOLVE_WORKER_H

#include "solve/batch.h"

/* What solves one group of states, with working memory of its own: each thread has one. The room's
 * own. */

/* The settings of a batch as it keeps them. */
struct pd_batch_kept {
    struct pd_batch_settings settings; /* with arrays of the batch's own */
    size_t *column;                    /* [cut_count] the column of each cut */
    struct pd_cut *cut;                /* [columns] one cut of each column */
    size_t columns;
};

/* One group: states first to first + count - 1, at most PD_LANES. */
struct pd_group {
    size_t first, count;
    double *re, *im;         /* [columns][probes][PD_LANES] */
    unsigned char *standing; /* [columns][PD_LANES] */
};

/* By the tree engine, state by state and cut by cut. Freed by pd_plain_worker_free. */
struct pd_plain_worker;
enum pd_status pd_plain_worker_new(const struct pd_batch_kept *kept, struct pd_plain_worker **out);
void pd_plain_worker_free(struct pd_plain_worker **worker);
enum pd_status pd_plain_worker_solve(struct pd_plain_worker *worker,
                                     const struct pd_batch_input *input,
                                     const struct pd_group *group);

/* One state and one cut of it at a time. The state's tree, not yet eliminated, stays the worker's.
 * A column is written as far as `lane` goes. */
enum pd_status pd_plain_worker_take(struct pd_plain_worker *worker,
                                    const struct pd_batch_input *input, size_t state,
                                    struct pd_tree **tree);
enum pd_status pd_plain_worker_cut(struct pd_plain_worker *worker, const struct pd_group *group,
                                   size_t column, size_t lane);

#endif
