/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_ASSESS_HTML_H
#define PENDRIFT_REPORT_ASSESS_HTML_H

#include "report/mirror.h"
#include "study/assess.h"
#include "study/pictured.h"

/* An assessment as one page of HTML for the job file: verdict and cautions first, the case as
 * given, what was found, pictures, and the record by which it can be made again. It needs nothing
 * but itself and no script. Every figure in it is one of pd_report_json's, told by data-from.
 *
 * PD_OK, PD_ERR_FILE (what was written may be cut off) or PD_ERR_MEMORY. */
struct pd_assess_page {
    const struct pd_assessment *assessment;
    const struct pd_pictured *pictured; /* of the same case; NULL: no pictures but the street */
    const char *command;                /* what makes this page again */
};
enum pd_status pd_assess_html(FILE *out, const struct pd_assess_page *page);

/* The parts of the page that have a file of their own. The room's own. */

/* The case as given: arrangement, limits, loads, electrodes, devices. */
void pd_assess_html_case(struct pd_mirror *m, const struct pd_case *study_case);
/* The two readings, the routes, the worst case and what turns it round. */
void pd_assess_html_found(struct pd_mirror *m, const struct pd_assessment *a);
/* What is left after a device has acted, a charging point on TT, a person, other faults. */
void pd_assess_html_beside(struct pd_mirror *m);
/* The pictures, each with its caption, or why it is left out. */
enum pd_status pd_assess_html_pictures(struct pd_mirror *m, const struct pd_assess_page *page);
/* Scenarios, assumptions, what is from memory, command, version, digests. */
enum pd_status pd_assess_html_record(struct pd_mirror *m, const struct pd_assess_page *page);

#endif
