/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_SAMPLE_H
#define PENDRIFT_STUDY_SAMPLE_H

#include <stdint.h>

#include "study/assess.h"
#include "study/distribution.h"

/* Sample: loads, supply and electrodes drawn at random from their distributions, many times over,
 * and the PEN open in a section drawn by weight: how likely each touch voltage is, given that a PEN
 * has opened. Every section is solved in every trial and counted with its weight, so that the place
 * of the break adds no scatter.
 *
 * Confidence limits are from independent randomisations (replicates) of one quasi-random sequence:
 * mean +- t s / sqrt(R), Student's t with R - 1 degrees of freedom, 95 % (Owen, Monte Carlo Theory,
 * Methods and Examples, chapter 17, from memory). */

struct pd_sample_settings {
    size_t trials; /* in all; rounded up to the same number in each replicate */
    uint64_t seed;
    size_t replicates; /* PD_REPLICATES_LEAST to PD_REPLICATES_MOST */
    size_t threads;    /* 0: one for each processor that the program may use */
};
enum {
    PD_TRIALS = 100000,
    PD_TRIALS_MOST = 1000000000,
    PD_REPLICATES = 16,
    PD_REPLICATES_LEAST = 4,
    PD_REPLICATES_MOST = 256
};

/* An estimate with its 95 % confidence limits. NaN where there is none. */
struct pd_estimate {
    double value, low, high;
};

/* What is counted of one break, or of all by weight: probabilities. */
struct pd_sample_odds {
    struct pd_estimate over;           /* over the limit */
    struct pd_estimate unseen;         /* over it, and no device disconnects in time */
    struct pd_estimate unknown;        /* not solved, or no potential defined */
    struct pd_estimate mean_v;         /* of the touch voltage, where determined */
    double largest_v;                  /* that was met with; NaN */
    size_t over_trials, unseen_trials; /* in which it happened */
};

struct pd_sample_break {
    size_t section; /* the node that it feeds */
    double share;   /* its weight over that of all */
    struct pd_sample_odds odds;
};

enum { PD_QUANTILES = 8, PD_BARS = 40 };
extern const double pd_quantile_levels[PD_QUANTILES]; /* 0.05 ... 0.999 */

/* What was drawn, for the record. */
struct pd_sample_drawn {
    char name[PD_NAME_MAX + 48];         /* "vehicle current_a" */
    struct pd_distribution distribution; /* without its arrays */
    bool declared;
};

struct pd_sample {
    struct pd_case *study_case;
    struct pd_sample_settings settings; /* trials as they were made */
    size_t dimensions, sobol;           /* numbers drawn; those by Sobol's sequence */
    struct pd_sample_drawn *drawn;      /* [dimensions] */
    bool declared_breaks;               /* weights of breaks are the case's own, else all alike */
    struct pd_sample_odds odds;
    struct pd_sample_break *at; /* [break_count] */
    size_t break_count;
    struct pd_estimate quantile_v[PD_QUANTILES];
    double bar_v;           /* width of a bar of the histogram */
    double bar[PD_BARS];    /* share of each, the first from 0 V */
    double beyond;          /* share above the last */
    struct pd_notes doubts; /* what its own statistics are too thin for */
    bool missing;           /* the case is incomplete: nothing was computed */
};

/* Samples the case of a folder, by distributions.csv where it has one. `progress` may be NULL. The
 * numbers depend on case and settings, not on the threads. PD_OK, PD_ERR_INPUT, PD_ERR_FILE,
 * PD_ERR_MEMORY, PD_ERR_INTERRUPTED; lines in `errors`. The caller frees *out. */
enum pd_status pd_sample_run(const char *folder, const struct pd_sample_settings *settings,
                             pd_progress_function *progress, void *context, struct pd_sample **out,
                             struct pd_errors *errors);
void pd_sample_free(struct pd_sample **sample);

#endif
