/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_NUISANCE_H
#define PENDRIFT_STUDY_NUISANCE_H

#include "study/assess.h"
#include "study/excursions.h"

/* The other failure of detection: acting on a healthy supply. What each device senses with nothing
 * wrong, over the declared supply range and every load state; how often it would have acted on a
 * recorded voltage; and whether thresholds exist that neither do that nor leave too much unseen. */

/* The least and the most of something over the healthy states; NaN where a state has no answer. */
struct pd_healthy_range {
    double low, high;
    enum pd_loads low_loads, high_loads; /* where */
    double low_supply_v, high_supply_v;
};

struct pd_nuisance_device {
    bool determined; /* each healthy state has its answer, and the thresholds are declared */
    bool may_trip;   /* with the tolerance at the end that trips most, in some healthy state */
    struct pd_healthy_range sensed; /* V or A, of any line that it watches */
    bool logged;                    /* the log has what it senses */
    bool lines_missing;             /* but not all lines that it watches or may be on: counts are
                                       the least */
    struct pd_excursions excursions;
    double never_low,
        never_high;         /* the narrowest thresholds that never trip, on this range and this
                               log, without leaning on the delay; never_low NaN for a limit */
    double left_v;          /* and the largest touch voltage that they leave unseen */
    double widest;          /* how far the thresholds may go either way of nominal, or the limit: as
                               pd_widest_reach */
    enum pd_judgement both; /* PD_WITHIN: thresholds exist that do both; PD_OVER: none do */
};

struct pd_nuisance {
    const struct pd_case *study_case;
    struct pd_healthy_range line[PD_LINES]; /* line to neutral at the charging point */
    double drop_v;                          /* the most that is lost on the way there */
    size_t healthy_states;                  /* load states times supply voltages */
    double supply_low_v, supply_high_v;
    bool has_log;
    struct pd_log log;
    struct pd_nuisance_device *device; /* [detectors.count] */
};

/* Studies a case, which must outlive *out, with a recorded log or without (log_path NULL; log_name
 * is for messages). `progress` is called now and then, with NaN while the log is read. A case with
 * something missing is a good call that fills nothing but study_case and the log.
 *
 * PD_OK; the log's rows that were passed over are in `errors` all the same. PD_ERR_INPUT,
 * PD_ERR_FILE: a log that is no use. PD_ERR_MEMORY, PD_ERR_INTERRUPTED. The caller frees *out. */
enum pd_status pd_nuisance_study(const struct pd_case *study_case, const char *log_path,
                                 const char *log_name, pd_progress_function *progress,
                                 void *context, struct pd_nuisance **out, struct pd_errors *errors);

void pd_nuisance_free(struct pd_nuisance **nuisance);

#endif
