/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_EXPLAIN_H
#define PENDRIFT_STUDY_EXPLAIN_H

#include "study/assess.h"
#include "study/working.h"

/* The working behind an assessment, as one would write it on a board, with this case's numbers:
 * what the PEN does; what opens; where the current then goes, for the installation alone and for
 * the break that decides; why no fuse and no RCD acts; what each route does about it; what remains.
 * Every figure is the assessment's, or of the functions that it was made with; none is decided
 * here. */
struct pd_explanation {
    const struct pd_assessment *assessment;
    size_t scenario; /* the open PEN that decides; PD_NONE: none is solved */
    double alone_v;  /* result of the installation's own sum, and of the decisive break's; NaN where
                        there is none */
    double closed_v;
    bool complete; /* false: something that it is about is not determined */
    struct pd_working working;
};

/* Explains an assessment, which must outlive *out. PD_OK or PD_ERR_MEMORY. The caller frees *out.
 */
enum pd_status pd_explain(const struct pd_assessment *assessment, struct pd_explanation **out);
void pd_explanation_free(struct pd_explanation **explanation);

#endif
