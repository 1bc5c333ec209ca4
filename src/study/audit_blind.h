/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_AUDIT_BLIND_H
#define PENDRIFT_STUDY_AUDIT_BLIND_H

#include "study/case.h"

/* The blind voltages of the devices of an audit: few kinds on many sites, so each is worked out
 * once as long as there is room. The room's own. */
struct pd_blinds;

enum pd_status pd_blinds_new(const struct pd_limits *limits, struct pd_blinds **out);
void pd_blinds_free(struct pd_blinds **blinds);

/* Of the case's first device over the supply range: pd_region_worst, exact. Neighbours may pull
 * from every line of the street, whatever lines the site has. NaN where it is not known. */
double pd_blinds_find(struct pd_blinds *blinds, const struct pd_case *study_case,
                      enum pd_system system);

#endif
