/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_BLIND_H
#define PENDRIFT_STUDY_BLIND_H

#include "detect/region.h"
#include "study/assess.h"

/* What detectors cannot see: each one's blind region over the supply range, and of a case the
 * scenarios that are over the touch limit and not seen. */

enum pd_blind_view {
    PD_VIEW_DECLARED, /* at the declared supply voltage */
    PD_VIEW_LOW,      /* at the low end of the range */
    PD_VIEW_HIGH,
    PD_VIEW_WORST, /* where the region reaches furthest */
    PD_VIEW_DRAWN  /* of the picture: that of the worst scenario not seen, else of the worst region;
                      the same for every detector, so that they can be compared */
};
enum { PD_BLIND_VIEWS = 5 };

/* A device is looked at by itself, as if it acted on all that it sees, at once: what others see,
 * and what it disconnects, is for pd_assess. */
struct pd_blind_device {
    const struct pd_detector *detector;
    struct pd_assessment *assessment; /* of the case with this device alone, its search for what
                                         goes unseen included; NULL without a case */
    struct pd_case alone;             /* that case: borrows all that it holds */
    struct pd_detector acting;        /* its one device */
    struct pd_reach reach;
    struct pd_region_worst worst; /* over the supply range */
    struct pd_region_worst three; /* what the same thresholds on all three lines would leave; kind
                                     PD_REGION_UNKNOWN where this is not a device on one line of a
                                     three-phase supply */
    struct pd_region view[PD_BLIND_VIEWS];
    size_t *unseen; /* [unseen_count] scenarios solved, over the limit and not seen: those that the
                       verdict counts first, then by touch voltage, the worst first */
    size_t unseen_count;
    size_t judged_count;  /* of these, those that the verdict counts */
    size_t over_count;    /* scenarios over the limit that the verdict counts */
    size_t unknown_count; /* those that the verdict counts of which it is not known whether the
                             device sees them */
};

struct pd_blind {
    const struct pd_case *study_case; /* NULL: a detector by itself */
    enum pd_system system;
    double supply_v, low_v, high_v; /* declared, and the range */
    double touch_v;                 /* the limit; NaN where there is none */
    struct pd_limits limits;        /* where it comes from */
    bool own_touch;                 /* it was given, not taken from the set */
    struct pd_blind_device *device;
    size_t count;
};

/* A detector without a case. Voltages left out are NaN: the supply range and the touch limit are
 * then those of the limit set, the band too for a device that has one. */
struct pd_blind_alone {
    struct pd_detector detector;
    enum pd_system system;
    double low_v, high_v; /* supply */
    double touch_v;
    const char *limit_set;
};

/* Of a case, which must outlive *out. A case with something missing, or a detector whose thresholds
 * are not declared, is a good call: what cannot be known is PD_REGION_UNKNOWN. PD_OK,
 * PD_ERR_MEMORY, PD_ERR_INTERRUPTED. The caller frees *out. */
enum pd_status pd_blind_case(const struct pd_case *study_case, pd_progress_function *progress,
                             void *context, struct pd_blind **out);

/* Of a detector alone; alone->detector is filled up and must outlive *out. PD_ERR_ARGUMENT where
 * the supply range is none. */
enum pd_status pd_blind_alone(struct pd_blind_alone *alone, struct pd_blind **out);

void pd_blind_free(struct pd_blind **blind);

/* Whether the figures of some detector are not determined. */
bool pd_blind_unknown(const struct pd_blind *blind);

#endif
