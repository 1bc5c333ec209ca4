/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_COMMISSION_H
#define PENDRIFT_STUDY_COMMISSION_H

#include "study/assess.h"

/* A commissioning sheet: for each device of a case, what to put on its own terminals just inside
 * and just outside each threshold, and what must come of it. Voltages and currents are simulated,
 * with the supply off: no step touches a PEN. */

enum pd_expected {
    PD_STAYS_CLOSED, /* no device within tolerance may act */
    PD_ACTS          /* every device within tolerance acts */
};

struct pd_step {
    size_t detector;
    double value; /* of what is set: V or A */
    int line;     /* whose line-neutral voltage it is; -1: what the device senses itself */
    double line_v[PD_LINES]; /* all line-neutral voltages to apply; NaN: none on that line */
    enum pd_expected expected;
    double
        within_s; /* acts: the declared delay, NaN not declared. Stays closed: how long to wait */
    double pe_v;  /* of pe-earth: PE's potential that the step stands for; NaN otherwise */
};

struct pd_test_sheet {
    const struct pd_case *study_case;
    struct pd_step *step;
    size_t count;
    struct pd_notes untested; /* devices and thresholds that no step can be set out for, and why */
    struct pd_notes unproved; /* what the steps do not prove, the worst unseen scenario first */
    bool complete;            /* each device has its steps, and the case was assessed */
};

/* Sets out the sheet of an assessment, which with its case must outlive *out. A step stands 0.5 V
 * (2 % of a current) beyond the end of the tolerance, and is there only where pd_detector_look says
 * of it what is expected. PD_OK or PD_ERR_MEMORY. The caller frees *out. */
enum pd_status pd_commission(const struct pd_assessment *assessment, struct pd_test_sheet **out);
void pd_test_sheet_free(struct pd_test_sheet **sheet);

#endif
