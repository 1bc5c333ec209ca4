/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_AUDIT_CASE_H
#define PENDRIFT_STUDY_AUDIT_CASE_H

#include "study/audit.h"

/* Small cases for the sites of an audit: one for each kind of supply and charger, made once and
 * filled anew for each site. The room's own. */

enum pd_site_earth {
    PD_EARTH_ON_PEN,   /* the supply's PEN */
    PD_EARTH_TN_S,     /* no PEN anywhere */
    PD_EARTH_TT_ALL,   /* the whole installation on its own electrode */
    PD_EARTH_TT_BESIDE /* the charging point alone, beside a house on PME */
};
enum { PD_SITE_EARTHS = 4 };

struct pd_site_case;

/* Makes the case for this kind: substation, `installation` on a section, `point` on a circuit of
 * its own. *out stays NULL where the system has no such phase. PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_site_case_new(const struct pd_limits *limits, enum pd_system system,
                                enum pd_phase charger, enum pd_site_earth earth,
                                struct pd_site_case **out);
void pd_site_case_free(struct pd_site_case **site_case);

/* Fills it from a site. `loads` false: none is known. */
void pd_site_case_fill(struct pd_site_case *site_case, const struct pd_site *site, bool loads,
                       double electrode_ohm, double rcd_a);
const struct pd_case *pd_site_case_get(const struct pd_site_case *site_case);

/* The demand columns that the system uses: whether each is given. */
bool pd_site_has_demands(const struct pd_site *site, enum pd_system system);

#endif
