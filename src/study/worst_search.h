/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_WORST_SEARCH_H
#define PENDRIFT_STUDY_WORST_SEARCH_H

#include "study/worst.h"

/* Looks for bad loads, by the batch engine: what is found is a start, and is solved again by those
 * who lean on it. The room's own. */

/* What was tried and the best of it. */
struct pd_worst_search {
    size_t loads, states;
    double *load_a;           /* [states][loads] */
    size_t *most;             /* [section_count] state with the largest touch voltage; PD_NONE */
    double *most_v, *least_v; /* [section_count] NaN where none has a figure */
};

/* Tries states where each load is at an end of its range: at the high where, u being the
 * displacement, Re(e^-jd y_k (E_k - u)) > 0, for directions d and sizes of u. On a stiff star the
 * largest displacement in direction d is one of these (Dinkelbach's method finds it so). `managed`:
 * each state is first brought to what load management allows. The caller frees *out. As
 * pd_worst_find. */
enum pd_status pd_worst_search(const struct pd_worst_settings *settings, bool managed,
                               struct pd_worst_search *out);
/* Goes from a state of one break to the best of its neighbours, where one load is at another end of
 * its range, as long as that is better; of up to 64 loads then by ever smaller shares of the range,
 * for a maximum that lies within. *load_a and *volts (at the highest supply). */
enum pd_status pd_worst_climb(const struct pd_worst_settings *settings, size_t section,
                              double *load_a, double *volts);

void pd_worst_search_free(struct pd_worst_search *search);

#endif
