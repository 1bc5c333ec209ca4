/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_PICTURED_H
#define PENDRIFT_STUDY_PICTURED_H

#include "study/blind.h"
#include "study/electrode.h"
#include "study/sweep.h"

/* What the pictures beside an assessment are drawn from: the studies of the same case that have
 * something to show, and of the others why not. */

enum pd_pictured_kind {
    PD_PICTURED_PLANE,     /* what devices do not see, in the plane of neutral displacement */
    PD_PICTURED_ELECTRODE, /* touch voltage against the resistance of an electrode on the MET */
    PD_PICTURED_SPLIT,     /* touch voltage against the split of the demand over three lines */
    PD_PICTURED_GROUND     /* the ground's potential round an electrode */
};
enum { PD_PICTURED_KINDS = 4, PD_PICTURED_WHY = 200 };

struct pd_pictured {
    struct pd_blind *blind;                       /* NULL: left out */
    struct pd_sweep *electrode, *split;           /* NULL: left out */
    struct pd_electrode_answer *ground;           /* NULL: left out */
    char ground_of[PD_NAME_MAX + 1];              /* the electrode's name */
    char why[PD_PICTURED_KINDS][PD_PICTURED_WHY]; /* the sentence for what is left out, "" else */
};

/* Works them out for an assessment of the case in `folder`. Tables that have changed since are
 * errors. `progress` may be NULL. PD_OK, PD_ERR_INPUT or PD_ERR_FILE with lines in `errors`,
 * PD_ERR_MEMORY, PD_ERR_INTERRUPTED. The caller frees *out, NULL after a failure. */
enum pd_status pd_pictured_new(const char *folder, const struct pd_assessment *assessment,
                               pd_progress_function *progress, void *context,
                               struct pd_pictured **out, struct pd_errors *errors);
void pd_pictured_free(struct pd_pictured **pictured);

#endif
