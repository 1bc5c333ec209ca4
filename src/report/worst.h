/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_WORST_H
#define PENDRIFT_REPORT_WORST_H

#include "study/assess.h"

/* The certified worst case and the questions turned round, in words that every format shares. */
struct pd_worst_words {
    char text[400];
};

/* "228.7 V, with the PEN open in section 'main4', supply 253.0 V" */
struct pd_worst_words pd_worst_bound(const struct pd_assessment *a,
                                     const struct pd_worst_break *brk);
/* "228.0 V, a gap of 0.7 V: 5 loads at their high, 15 at their low, 1 between" */
struct pd_worst_words pd_worst_found(const struct pd_assessment *a,
                                     const struct pd_worst_break *brk);
/* What can pass the limit without a device that disconnects in time. */
struct pd_worst_words pd_worst_unseen_words(const struct pd_assessment *a);
struct pd_worst_words pd_worst_answer(const struct pd_assessment *a,
                                      const struct pd_answer_to *answer);

/* Why no question is turned round; NULL where one is, or there is nothing to ask. */
const char *pd_worst_not_asked(const struct pd_assessment *assessment);

/* Why there is no certified worst case. */
const char *pd_worst_nothing(const struct pd_assessment *a);

/* The section of a break, NULL for none. */
const char *pd_worst_section(const struct pd_assessment *a, const struct pd_worst_break *brk);

#endif
