/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_AUDIT_STREET_H
#define PENDRIFT_STUDY_AUDIT_STREET_H

#include "study/audit_case.h"

/* A street for the sites of an audit to stand in: each takes the place of its installation under
 * study, and the network is solved with every PEN open. The room's own. */
struct pd_street;

/* Reads the case; what its own installation had is taken out. Errors: a case that is wrong or
 * incomplete, not TN-C-S, or of another nominal voltage than the limit set. The caller frees *out.
 */
enum pd_status pd_street_new(const char *folder, const struct pd_limits *limits,
                             struct pd_street **out, struct pd_errors *errors);
void pd_street_free(struct pd_street **street);

struct pd_street_answer {
    bool fits;         /* the service has the site's lines */
    double touch_v;    /* largest, any break, any load state; NaN where some were not solved */
    double unseen_v;   /* largest over the limit that nothing disconnects in time; 0: none */
    double neighbours; /* other people's loads beyond the break of unseen_v, or else of touch_v */
};

/* Assesses the street with this site, which is on its PEN, in it: milliseconds. Answers are kept
 * for sites that are alike. PD_OK, PD_ERR_MEMORY. */
enum pd_status pd_street_find(struct pd_street *street, const struct pd_case *site,
                              struct pd_street_answer *answer);

#endif
