/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_LIMITS_LIMITS_H
#define PENDRIFT_LIMITS_LIMITS_H

#include <stdbool.h>
#include <stddef.h>

#include "table/status.h"

/* A limit set: what results are held against, where the figures come from and how sure they are. */

/* The routes by which an outdoor charging point may be protected (DESIGN section 4). */
enum pd_route_kind {
    PD_ROUTE_BALANCE =
        1, /* three-phase installation whose load keeps the terminal within the limit */
    PD_ROUTE_ELECTRODE,   /* electrode on the main earthing terminal, low enough */
    PD_ROUTE_PE_DEVICE,   /* device sensing PE to true earth */
    PD_ROUTE_BAND_DEVICE, /* device watching line-neutral voltage, single-phase */
    PD_ROUTE_OTHER_DEVICE,
    PD_ROUTE_TT /* PME terminal not used: electrode of its own */
};
enum { PD_ROUTES = 6 };

/* A figure that a set does not give is NaN, so that every comparison with it fails. */
struct pd_limits {
    char set[64];
    double nominal_v;
    double touch_v;
    double band_low_v, band_high_v; /* line to neutral */
    double time_s;                  /* to disconnect in */
    double supply_low_v, supply_high_v;
    double rcd_a;    /* the RCD that the set asks of a charging point */
    unsigned routes; /* bit 1u << enum pd_route_kind */
    char status[64]; /* how sure the figures are */
    char source[400];
    char checked[16];
};

/* Called for each set. Return false to stop. */
typedef bool pd_limits_function(const struct pd_limits *limits, void *context);

/* Walks reference/limits.csv. PD_OK, PD_ERR_MEMORY, PD_ERR_INPUT (a fault of the program's own
 * table). */
enum pd_status pd_limits_each(pd_limits_function *function, void *context,
                              struct pd_errors *errors);

/* Finds a set by its id. PD_ERR_INPUT where there is none: *nearest (may be NULL) becomes the
 * nearest id or an empty text; no error line is added, the caller knows the place. */
enum pd_status pd_limits_find(const char *set, struct pd_limits *limits, char nearest[64]);

/* How a figure stands to a limit it must not pass. */
enum pd_judgement { PD_WITHIN, PD_OVER, PD_UNKNOWN };

/* The one comparison behind every verdict. Anything not finite is PD_UNKNOWN. Equal is within. */
enum pd_judgement pd_judge(double value, double limit);

/* The largest electrode resistance for one line's load on a single-phase supply, ohm:
 *   limit U0 / (I (factor U0 - limit)).
 * With factor 1 the divider form; with the supply's voltage factor (1.1 for 253 V on 230 V) the
 * form of the annex to BS 7671 section 722 (from memory, low confidence). INFINITY where factor U0
 * <= limit or no current flows; NaN for anything negative or not finite. */
double pd_electrode_formula(double nominal_v, double current_a, double limit_v, double factor);

#endif
