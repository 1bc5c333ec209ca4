/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_LOAD_STATES_H
#define PENDRIFT_STUDY_LOAD_STATES_H

#include "study/case.h"

/* The load states that a study runs over: as they are, all at their low, all at their high, and the
 * corners where whole lines are at their low and others at their high, and what generates apart
 * from what takes. */

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

/* Makes the states of a case in *states (start it with {0}); the caller frees. PD_OK or
 * PD_ERR_MEMORY.
 *
 * 1. A demand of the neighbours after diversity (pd_case.neighbour_kw) is applied in high and in
 *    the corners: where the mean of their loads, each a dwelling, is above it, all of them come
 *    down together, in proportion to how far each is above its low, until the mean is that demand
 *    or all are at their low. Present and low stay as declared.
 * 2. A limit of load management is then applied in every state: study/manage.h. */
enum pd_status pd_load_states_new(const struct pd_case *study_case, struct pd_load_states *states);

/* The same into arrays that are there: kind [PD_LOAD_STATES_MOST], load_a [PD_LOAD_STATES_MOST *
 * load_count]. Memory is taken under a demand_limit only. PD_OK or PD_ERR_MEMORY. */
enum { PD_LOAD_STATES_MOST = 35 };
enum pd_status pd_load_states_fill(const struct pd_case *study_case, struct pd_load_states *states);

void pd_load_states_free(struct pd_load_states *states);

/* Brings a state within what the case allows: the two above, in that order. Loads that the case
 * lets range on their own stay. PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_load_states_allow(const struct pd_case *study_case, double *load_a);

/* The load currents of one state, [load_count]. */
const double *pd_load_state(const struct pd_load_states *states, size_t state);

/* The kW at nominal voltage that each ampere of a neighbour's load is: of a load from one line to
 * neutral outside the installation that does not generate. 0 for every other load. */
double pd_neighbour_kw_per_a(const struct pd_case *study_case, const struct pd_load *load);

#endif
