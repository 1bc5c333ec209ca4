/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_CERTIFY_H
#define PENDRIFT_STUDY_CERTIFY_H

#include "study/run.h"

/* What a certified worst case of a case is made of, to be changed by those who ask what if. The
 * room's own. */
struct pd_certifier {
    struct pd_run *run;
    struct pd_case what_if;   /* a copy of the case's own figures, not of what they point to */
    double *low_a, *high_a;   /* [load_count] */
    struct pd_earth_tie *tie; /* [electrodes.count + 1]; the last, at the installation, a probe */
    size_t *section;          /* [section_count] */
    size_t section_count;
};

/* Starts with the case as it is: every break and none, no probe. The caller frees. */
enum pd_status pd_certifier_new(struct pd_run *run, struct pd_certifier *certifier);
void pd_certifier_free(struct pd_certifier *certifier);

/* The settings of pd_worst_find; they point into the certifier. */
struct pd_worst_settings pd_certifier_settings(struct pd_certifier *certifier);

/* The node whose neutral the proof is about; PD_NONE where no PEN moves what can be touched. */
size_t pd_certify_target(const struct pd_case *study_case);

#endif
