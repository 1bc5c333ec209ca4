/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_LOAD_STATES_H
#define PENDRIFT_STUDY_LOAD_STATES_H

#include "study/case.h"

/* The load states that a study runs over: as they are, all at their low, all at their high, and the
 * corners where whole lines are at their low and others at their high. */

enum pd_loads { PD_LOADS_PRESENT, PD_LOADS_LOW, PD_LOADS_HIGH, PD_LOADS_CORNER };
enum { PD_LOADS_KINDS = 4 };
extern const char *const pd_loads_names[PD_LOADS_KINDS]; /* present, low, high, worst */

struct pd_load_states {
    size_t count;      /* 1 where no load has a range */
    size_t main_count; /* present, low and high come first: 1 or 3 */
    size_t load_count;
    enum pd_loads *kind; /* [count] */
    double *load_a;      /* [count][load_count] after load management */
};

/* Makes the states of a case in *states (start it with {0}); the caller frees. A load management
 * limit is applied in each: where a line's own loads add up to more, the vehicle gives way first,
 * down to 0. PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_load_states_new(const struct pd_case *study_case, struct pd_load_states *states);
void pd_load_states_free(struct pd_load_states *states);

/* The load currents of one state, [load_count]. */
const double *pd_load_state(const struct pd_load_states *states, size_t state);

#endif
