/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_EXPLAIN_SECTIONS_H
#define PENDRIFT_STUDY_EXPLAIN_SECTIONS_H

#include "study/explain_sum.h"

/* The sections of an explanation. The room's own. */
struct pd_explaining {
    const struct pd_assessment *a;
    struct pd_explanation *e;
    const struct pd_load_states *states;
    const struct pd_scenario *decides; /* NULL: none is solved */
    const double *decides_a;           /* [load_count] its loads */
    struct pd_sum alone, closed;
    double top_v; /* highest supply voltage: what the installation alone is worked at */
};

void pd_explain_pen(struct pd_explaining *x);
void pd_explain_break(struct pd_explaining *x);
void pd_explain_alone(struct pd_explaining *x);
void pd_explain_network(struct pd_explaining *x);
void pd_explain_fuse(struct pd_explaining *x);
void pd_explain_routes(struct pd_explaining *x);
void pd_explain_rest(struct pd_explaining *x);

#endif
