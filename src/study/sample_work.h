/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_SAMPLE_WORK_H
#define PENDRIFT_STUDY_SAMPLE_WORK_H

#include "study/draws.h"
#include "study/sample.h"
#include "study/scan.h"

/* A sample at work: replicates shared out among threads, each summed in the order of its trials.
 * The room's own. */

/* Touch voltages are counted in bins of 20 mV up to 1000 V, and one above. */
enum { PD_BINS = 50000 };
static const double pd_bin_v = 0.02;

/* What a replicate counts of one column of the scan: breaks that are alike. */
struct pd_count {
    size_t determined, over, unseen;
    double sum_v, largest_v;
};

struct pd_replicate {
    struct pd_count *count;            /* [columns] */
    double *bin;                       /* [PD_BINS + 1] weights */
    size_t over_trials, unseen_trials; /* with a break that is over, or over and unseen */
};

struct pd_sample_work {
    const struct pd_case *study_case;
    const struct pd_draws *draws;
    size_t replicates, each, threads;
    struct pd_replicate *replicate; /* [replicates] */
    size_t columns;
    double *column_share; /* [columns] of the breaks' weight */
    size_t *column;       /* [breaks] */
    pd_progress_function *progress;
    void *context;
};

/* Runs all replicates. PD_OK, PD_ERR_MEMORY, PD_ERR_INTERRUPTED. */
enum pd_status pd_sample_work_run(struct pd_sample_work *work);

/* Fills the statistics of the sample from the replicates. PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_sample_sum(const struct pd_sample_work *work, struct pd_sample *sample);

#endif
