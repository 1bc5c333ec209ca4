/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_ALONG_H
#define PENDRIFT_STUDY_ALONG_H

#include <stddef.h>

/* The scenario that decides, looked at along the whole supply: not only here, but at every
 * neighbour's too. */

struct pd_assessment;
struct pd_run;

struct pd_along {
    size_t scenario; /* PD_NONE: there is none, or it did not come out again; nothing below then */
    double *touch_v; /* [count] by node: the protective conductor there to remote earth, V: what a
                        person touches who stands on the ground; NaN where it is not determined */
    size_t count;    /* nodes of the network */
};

/* The scenario that decides: the worst over the limit that nothing disconnects in time, else the
 * worst of all, of an open PEN or a PEN joint gone bad. PD_NONE where none is solved. */
size_t pd_deciding_scenario(const struct pd_assessment *assessment);

/* Solves that scenario again, with the loads it had, into assessment->along. It must come to the
 * touch voltage that the assessment has, within a millionth of the supply: what does not is left
 * out. PD_OK, PD_ERR_MEMORY, PD_ERR_INTERRUPTED. */
enum pd_status pd_run_along(struct pd_run *run, struct pd_assessment *assessment);
void pd_along_free(struct pd_along *along);

#endif
