/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_EXPLAIN_SUM_H
#define PENDRIFT_STUDY_EXPLAIN_SUM_H

#include "study/explain.h"
#include "study/run.h"

/* Millman's sum, worked. The room's own. */

/* What a sum is over. */
struct pd_sum_of {
    const struct pd_case *study_case;
    size_t section;       /* the loads that it feeds; PD_NONE: the installation's */
    const double *load_a; /* [load_count] */
    double supply_v;
};

/* What came of it. */
struct pd_sum {
    double complex y_s;     /* sum of Y */
    double complex drive_a; /* sum of Y E */
    double earth_s;         /* to earth beyond the break */
    double volts;           /* |U_N|; NaN where nothing ties the neutral */
    size_t rows;
};

/* Adds the table of what ties the neutral, each load with its admittance and EMF, and the steps
 * from it to |U_N| = |sum(Y E)| / |sum(Y) + G| (Millman's theorem, any circuits textbook). */
struct pd_sum pd_explain_sum(struct pd_working *working, const struct pd_sum_of *of);

#endif
