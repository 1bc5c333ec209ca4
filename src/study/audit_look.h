/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_AUDIT_LOOK_H
#define PENDRIFT_STUDY_AUDIT_LOOK_H

#include "study/audit_tables.h"

/* Whether a row's figures are to be believed. The room's own. */

/* Routes, as bits 1u << enum pd_route_kind (bit 0: that there is no PEN), by what they rest on. */
enum {
    PD_REST_LOADS = 1u << PD_ROUTE_BALANCE | 1u << PD_ROUTE_ELECTRODE,
    PD_REST_ELECTRODE = 1u << PD_ROUTE_ELECTRODE | 1u << PD_ROUTE_TT,
    PD_REST_DEVICE =
        1u << PD_ROUTE_PE_DEVICE | 1u << PD_ROUTE_BAND_DEVICE | 1u << PD_ROUTE_OTHER_DEVICE,
    PD_REST_TT = 1u << PD_ROUTE_TT,
    PD_REST_ALL = (1u << (PD_ROUTES + 1)) - 1
};

struct pd_look {
    unsigned distrusted; /* routes that rest on a figure not to be believed: no answer either way */
    unsigned unproved;   /* routes that are not held to be met, but may be found wanting */
};

/* Adds to result->reasons and its figures. */
struct pd_look pd_audit_look(const struct pd_audit *audit, const struct pd_site *site,
                             unsigned copied, struct pd_audit_result *result);

#endif
