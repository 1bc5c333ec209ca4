/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/load_states.h"

#include <math.h>
#include <stdlib.h>

const char *const pd_loads_names[PD_LOADS_KINDS] = {[PD_LOADS_PRESENT] = "present",
                                                    [PD_LOADS_LOW] = "low",
                                                    [PD_LOADS_HIGH] = "high",
                                                    [PD_LOADS_CORNER] = "worst"};

/* Loads move together by where they are connected: L1, L2, L3, or to more than one line. */
enum { GROUPS = 4, CORNERS = 1 << GROUPS };

static unsigned group_of(const struct pd_load *load)
{
    return load->phase <= PD_ON_L3 ? (unsigned)load->phase : GROUPS - 1;
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

/* The current that the installation's loads take from a line, the vehicle's or the others', each at
 * its own power factor. */
static double complex line_total(const struct pd_case *c, const double *load_a, int line,
                                 bool vehicle)
{
    double complex total_a = 0;
    for (size_t i = 0; i < c->network->load_count; i++) {
        const struct pd_load *const load = &c->network->load[i];
        if (pd_case_own(c, load->node) && (pd_phase_lines(load->phase) & 1u << line) != 0 &&
            pd_case_vehicle(c, load) == vehicle)
            total_a += load_a[i] * pd_turn(load->power_factor);
    }
    return total_a;
}

/* The largest share s of the vehicle's current, 0 to 1, that keeps |others + s vehicle| at or below
 * the limit. */
static double vehicle_share(const struct pd_case *c, const double *load_a, int line)
{
    const double limit_a = c->demand_limit_a;
    const double complex vehicle_a = line_total(c, load_a, line, true);
    const double complex others_a = line_total(c, load_a, line, false);
    if (cabs(others_a + vehicle_a) <= limit_a)
        return 1;
    if (cabs(others_a) >= limit_a)
        return 0;
    const double square = creal(vehicle_a * conj(vehicle_a));
    const double half = creal(others_a * conj(vehicle_a));
    const double rest = creal(others_a * conj(others_a)) - limit_a * limit_a;
    return (sqrt(half * half - square * rest) - half) / square;
}

/* Load management: each of the vehicle's loads is held by the fullest of its lines. Sums of
 * magnitudes are at least the true currents, so the vehicle is never left too much. */
static void manage(const struct pd_case *c, double *load_a)
{
    if (!(c->demand_limit_a > 0))
        return;
    double share[PD_LINES];
    for (int line = PD_L1; line < PD_LINES; line++)
        share[line] = vehicle_share(c, load_a, line);
    for (size_t i = 0; i < c->network->load_count; i++) {
        const struct pd_load *const load = &c->network->load[i];
        if (!pd_case_own(c, load->node) || !pd_case_vehicle(c, load))
            continue;
        double least = 1;
        for (int line = PD_L1; line < PD_LINES; line++)
            if ((pd_phase_lines(load->phase) & 1u << line) != 0 && share[line] < least)
                least = share[line];
        load_a[i] *= least;
    }
}

static void fill_main(const struct pd_case *c, struct pd_load_states *states, size_t state)
{
    double *const load_a = &states->load_a[state * states->load_count];
    states->kind[state] = (enum pd_loads)state;
    for (size_t i = 0; i < states->load_count; i++) {
        const struct pd_load *const load = &c->network->load[i];
        load_a[i] = state == PD_LOADS_PRESENT ? load->present_a
                    : state == PD_LOADS_LOW   ? load->low_a
                                              : load->high_a;
    }
    manage(c, load_a);
}

static void fill_corner(const struct pd_case *c, struct pd_load_states *states, size_t state,
                        unsigned corner)
{
    double *const load_a = &states->load_a[state * states->load_count];
    states->kind[state] = PD_LOADS_CORNER;
    for (size_t i = 0; i < states->load_count; i++) {
        const struct pd_load *const load = &c->network->load[i];
        load_a[i] = (corner & 1u << group_of(load)) != 0 ? load->high_a : load->low_a;
    }
    manage(c, load_a);
}

enum pd_status pd_load_states_new(const struct pd_case *c, struct pd_load_states *states)
{
    const unsigned groups = ranged_groups(c->network);
    const size_t most = 3 + CORNERS;
    states->load_count = c->network->load_count;
    states->kind = calloc(most, sizeof *states->kind);
    states->load_a = calloc(most * states->load_count + 1, sizeof *states->load_a);
    if (states->kind == NULL || states->load_a == NULL) {
        pd_load_states_free(states);
        return PD_ERR_MEMORY;
    }
    states->main_count = groups == 0 ? 1 : 3;
    for (size_t state = 0; state < states->main_count; state++)
        fill_main(c, states, state);
    states->count = states->main_count;
    /* All groups low and all high are among the main states. */
    for (unsigned corner = 1; corner < CORNERS; corner++)
        if ((corner & ~groups) == 0 && corner != groups)
            fill_corner(c, states, states->count++, corner);
    return PD_OK;
}

void pd_load_states_free(struct pd_load_states *states)
{
    free(states->kind);
    free(states->load_a);
    *states = (struct pd_load_states){0};
}
