/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_SCAN_H
#define PENDRIFT_STUDY_SCAN_H

#include "solve/batch.h"
#include "study/case.h"

/* Many states of a case, the PEN open in every section, and of each the chassis' voltage and what
 * the devices make of it: for sweeps and samples. By the batch engine, which measures no residual:
 * what is decided on is solved again (study/point.h). The room's own. */

struct pd_scan;

/* What one break does in one state. */
struct pd_glance {
    enum pd_standing standing;
    bool floating;           /* solved, but nothing ties the neutral: touch_v is NaN */
    double touch_v;          /* chassis to remote earth; NaN where it is not to be judged */
    enum pd_judgement touch; /* against the case's limit */
    bool disconnected;       /* a device lets go of live conductors and PE within the set's time */
};

/* Makes a scan of `room` states at a time; the case must outlive it, with its loads and ties as
 * many as they are. `threads` as in solve/batch.h. The caller frees *out. PD_OK, PD_ERR_MEMORY. */
enum pd_status pd_scan_new(const struct pd_case *study_case, size_t room, size_t threads,
                           struct pd_scan **out);
void pd_scan_free(struct pd_scan **scan);

/* The breaks: every section with a PEN, in the order of the network's nodes; the node that the
 * broken section of one feeds. */
size_t pd_scan_breaks(const struct pd_scan *scan);
size_t pd_scan_section(const struct pd_scan *scan, size_t which);

/* The column of a break, and how many there are: breaks of one column are the same to the chassis
 * and the devices in every state. */
size_t pd_scan_column(const struct pd_scan *scan, size_t which);
size_t pd_scan_columns(const struct pd_scan *scan);

/* Solves up to `room` states. Returns as pd_batch_solve. */
enum pd_status pd_scan_solve(struct pd_scan *scan, const struct pd_batch_input *input);

/* A break in a state of the last pd_scan_solve. */
struct pd_glance pd_scan_look(const struct pd_scan *scan, size_t state, size_t which);

#endif
