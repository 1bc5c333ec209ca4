/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/load_states.h"

#include <math.h>
#include <stdlib.h>

#include "study/manage.h"

const char *const pd_loads_names[PD_LOADS_KINDS] = {[PD_LOADS_PRESENT] = "present",
                                                    [PD_LOADS_LOW] = "low",
                                                    [PD_LOADS_HIGH] = "high",
                                                    [PD_LOADS_CORNER] = "worst"};

/* Loads move together by where they are connected, L1, L2, L3, or to more than one line; what
 * generates moves apart from them all, as the sun does. */
enum { ON_LINES = PD_LINES, GENERATING, GROUPS, CORNERS = 1 << GROUPS };

static unsigned group_of(const struct pd_load *load)
{
    if (load->behaviour->generates)
        return GENERATING;
    return load->phase <= PD_ON_L3 ? (unsigned)load->phase : ON_LINES;
}

static unsigned ranged_groups(const struct pd_network *network)
{
    unsigned groups = 0;
    for (size_t i = 0; i < network->load_count; i++)
        if (network->load[i].low_a != network->load[i].high_a)
            groups |= 1u << group_of(&network->load[i]);
    return groups;
}

const double *pd_load_state(const struct pd_load_states *states, size_t state)
{
    return &states->load_a[state * states->load_count];
}

double pd_neighbour_kw_per_a(const struct pd_case *c, const struct pd_load *load)
{
    const struct pd_network *const network = c->network;
    if (load->phase > PD_ON_L3 || load->behaviour->generates || pd_case_own(c, load->node))
        return 0;
    return pd_phase_voltage(load->phase, network->system, network->nominal_v) *
           fabs(load->power_factor) / 1000;
}

/* Brings the neighbours down together, towards the low of each, until their mean is the demand
 * after diversity. */
static void diversify(const struct pd_case *c, double *load_a)
{
    double dwellings = 0, low_kw = 0, all_kw = 0;
    if (!(c->neighbour_kw > 0))
        return;
    for (size_t i = 0; i < c->network->load_count; i++) {
        const double kw_per_a = pd_neighbour_kw_per_a(c, &c->network->load[i]);
        dwellings += kw_per_a > 0;
        low_kw += kw_per_a * c->network->load[i].low_a;
        all_kw += kw_per_a * load_a[i];
    }
    if (all_kw <= dwellings * c->neighbour_kw)
        return;
    const double spare_kw = fmax(0, dwellings * c->neighbour_kw - low_kw);
    const double part = all_kw > low_kw ? spare_kw / (all_kw - low_kw) : 0;
    for (size_t i = 0; i < c->network->load_count; i++) {
        const struct pd_load *const load = &c->network->load[i];
        if (pd_neighbour_kw_per_a(c, load) > 0)
            load_a[i] = load->low_a + part * (load_a[i] - load->low_a);
    }
}

enum pd_status pd_load_states_allow(const struct pd_case *c, double *load_a)
{
    diversify(c, load_a);
    return pd_manage(c, load_a);
}

static enum pd_status fill_main(const struct pd_case *c, struct pd_load_states *states,
                                size_t state)
{
    double *const load_a = &states->load_a[state * states->load_count];
    states->kind[state] = (enum pd_loads)state;
    for (size_t i = 0; i < states->load_count; i++) {
        const struct pd_load *const load = &c->network->load[i];
        load_a[i] = state == PD_LOADS_PRESENT ? load->present_a
                    : state == PD_LOADS_LOW   ? load->low_a
                                              : load->high_a;
    }
    if (state == PD_LOADS_HIGH)
        diversify(c, load_a);
    return pd_manage(c, load_a);
}

static enum pd_status fill_corner(const struct pd_case *c, struct pd_load_states *states,
                                  size_t state, unsigned corner)
{
    double *const load_a = &states->load_a[state * states->load_count];
    states->kind[state] = PD_LOADS_CORNER;
    for (size_t i = 0; i < states->load_count; i++) {
        const struct pd_load *const load = &c->network->load[i];
        load_a[i] = (corner & 1u << group_of(load)) != 0 ? load->high_a : load->low_a;
    }
    return pd_load_states_allow(c, load_a);
}

_Static_assert(PD_LOAD_STATES_MOST == 3 + CORNERS, "room for all corners");

enum pd_status pd_load_states_fill(const struct pd_case *c, struct pd_load_states *states)
{
    const unsigned groups = ranged_groups(c->network);
    enum pd_status status = PD_OK;
    states->load_count = c->network->load_count;
    states->main_count = groups == 0 ? 1 : 3;
    for (size_t state = 0; state < states->main_count && status == PD_OK; state++)
        status = fill_main(c, states, state);
    states->count = states->main_count;
    /* All groups low and all high are among the main states. */
    for (unsigned corner = 1; corner < CORNERS && status == PD_OK; corner++)
        if ((corner & ~groups) == 0 && corner != groups)
            status = fill_corner(c, states, states->count++, corner);
    return status;
}

enum pd_status pd_load_states_new(const struct pd_case *c, struct pd_load_states *states)
{
    states->kind = calloc(PD_LOAD_STATES_MOST, sizeof *states->kind);
    states->load_a =
        calloc(PD_LOAD_STATES_MOST * c->network->load_count + 1, sizeof *states->load_a);
    const enum pd_status status = states->kind != NULL && states->load_a != NULL
                                      ? pd_load_states_fill(c, states)
                                      : PD_ERR_MEMORY;
    if (status != PD_OK)
        pd_load_states_free(states);
    return status;
}

void pd_load_states_free(struct pd_load_states *states)
{
    free(states->kind);
    free(states->load_a);
    *states = (struct pd_load_states){0};
}
