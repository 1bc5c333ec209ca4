/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/worst_search.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "solve/batch.h"

enum { DIRECTIONS = 24, SIZES = 6, ENDS = 3, STATES = DIRECTIONS * SIZES + ENDS };

/* Where the threshold rule puts a load: its first element that ties the neutral speaks for it. */
static bool is_high(const struct pd_worst_settings *s, const struct pd_load *load,
                    double complex direction, double size)
{
    struct pd_element element[3];
    pd_load_elements(load, s->network->system, s->network->nominal_v, 1, element);
    const double complex *const unit = s->network->source.unit_emf;
    const double complex from = unit[element[0].from];
    const double complex to = element[0].to == PD_N ? size * direction : unit[element[0].to];
    const double sign = load->behaviour->generates ? -1 : 1;
    return sign * creal(conj(direction) * element[0].point.turn * (from - to)) > 0;
}

/* The ends first: all high, all low, and nearly low, for a neutral that nothing ties at no load. */
static void fill_state(const struct pd_worst_settings *s, size_t state, double *load_a)
{
    static const double share[ENDS] = {1, 0, 1e-3};
    const size_t place = state - ENDS;
    const double complex direction = cexp(2 * M_PI * I * (double)(place % DIRECTIONS) / DIRECTIONS);
    const double size = (double)(place / DIRECTIONS) / SIZES;
    for (size_t i = 0; i < s->network->load_count; i++) {
        const double low_a = s->low_a[i], high_a = s->high_a[i];
        if (state < ENDS)
            load_a[i] = low_a + share[state] * (high_a - low_a);
        else
            load_a[i] = is_high(s, &s->network->load[i], direction, size) ? high_a : low_a;
    }
}

static void note(struct pd_worst_search *out, size_t k, size_t state, double touch_v)
{
    if (touch_v > out->most_v[k] || isnan(out->most_v[k])) {
        out->most_v[k] = touch_v;
        out->most[k] = isnan(touch_v) ? PD_NONE : state;
    }
    if (touch_v < out->least_v[k] || isnan(out->least_v[k]))
        out->least_v[k] = touch_v;
}

static enum pd_status solve_all(const struct pd_worst_settings *s, const struct pd_cut *cut,
                                struct pd_worst_search *out)
{
    const struct pd_probe probe = {s->target, PD_N};
    const struct pd_batch_settings settings = {.network = s->network,
                                               .tie = s->tie,
                                               .tie_count = s->tie_count,
                                               .cut = cut,
                                               .cut_count = s->section_count,
                                               .probe = &probe,
                                               .probe_count = 1,
                                               .threads = 1};
    struct pd_batch *batch = NULL;
    struct pd_batch_output output = {0};
    double supply_v[STATES];
    for (size_t i = 0; i < STATES; i++)
        supply_v[i] = s->supply_high_v;
    const struct pd_batch_input input = {
        .count = out->states, .load_a = out->load_a, .supply_v = supply_v};
    enum pd_status status = pd_batch_new(&settings, &batch);
    if (status == PD_OK)
        status = pd_batch_output_new(batch, out->states, &output);
    if (status == PD_OK)
        status = pd_batch_solve(batch, &input, &output, NULL, NULL);
    for (size_t k = 0; k < s->section_count && status == PD_OK; k++)
        for (size_t i = 0; i < out->states; i++)
            if (pd_batch_standing(batch, &output, i, k) == PD_SOLVED)
                note(out, k, i, cabs(pd_batch_voltage(batch, &output, i, k, 0)));
    pd_batch_output_free(&output);
    pd_batch_free(&batch);
    return status;
}

static bool all_linear(const struct pd_network *network)
{
    bool linear = true;
    for (size_t i = 0; i < network->load_count; i++)
        linear &= network->load[i].behaviour->linear;
    return linear;
}

enum pd_status pd_worst_search(const struct pd_worst_settings *s, bool managed,
                               struct pd_worst_search *out)
{
    const size_t loads = s->network->load_count, breaks = s->section_count;
    /* A state that must be iterated costs a thousand times as much. */
    const size_t states = all_linear(s->network) ? STATES : ENDS + DIRECTIONS;
    *out = (struct pd_worst_search){.loads = loads, .states = states};
    out->load_a = calloc(STATES * loads + 1, sizeof *out->load_a);
    out->most = calloc(breaks + 1, sizeof *out->most);
    out->most_v = calloc(breaks + 1, sizeof *out->most_v);
    out->least_v = calloc(breaks + 1, sizeof *out->least_v);
    struct pd_cut *const cut = calloc(breaks + 1, sizeof *cut);
    enum pd_status status = out->load_a != NULL && out->most != NULL && out->most_v != NULL &&
                                    out->least_v != NULL && cut != NULL
                                ? PD_OK
                                : PD_ERR_MEMORY;
    for (size_t k = 0; k < breaks && status == PD_OK; k++) {
        out->most[k] = PD_NONE;
        out->most_v[k] = out->least_v[k] = NAN;
        if (s->section[k] != PD_NONE)
            cut[k] = (struct pd_cut){.kind = PD_CUT_OPEN, .section = s->section[k]};
    }
    for (size_t i = 0; i < states && status == PD_OK; i++) {
        fill_state(s, i, &out->load_a[i * loads]);
        if (managed && s->manage != NULL)
            status = s->manage(&out->load_a[i * loads], s->context);
    }
    if (status == PD_OK)
        status = solve_all(s, cut, out);
    free(cut);
    if (status != PD_OK)
        pd_worst_search_free(out);
    return status;
}

/* One break's batch, and room for as many states as there are loads. */
struct climb {
    const struct pd_worst_settings *settings;
    struct pd_batch *batch;
    struct pd_batch_output output;
    double *state_a, *supply_v;
};

static enum pd_status climb_new(const struct pd_worst_settings *s, size_t section,
                                struct climb *climb)
{
    const size_t loads = s->network->load_count, states = 2 * loads;
    const struct pd_probe probe = {s->target, PD_N};
    const struct pd_cut cut = {.kind = section == PD_NONE ? PD_CUT_NONE : PD_CUT_OPEN,
                               .section = section == PD_NONE ? 0 : section};
    const struct pd_batch_settings settings = {.network = s->network,
                                               .tie = s->tie,
                                               .tie_count = s->tie_count,
                                               .cut = &cut,
                                               .cut_count = 1,
                                               .probe = &probe,
                                               .probe_count = 1,
                                               .threads = 1};
    *climb = (struct climb){.settings = s};
    climb->state_a = calloc(states * loads + 1, sizeof *climb->state_a);
    climb->supply_v = calloc(states + 1, sizeof *climb->supply_v);
    if (climb->state_a == NULL || climb->supply_v == NULL)
        return PD_ERR_MEMORY;
    for (size_t i = 0; i < states; i++)
        climb->supply_v[i] = s->supply_high_v;
    const enum pd_status status = pd_batch_new(&settings, &climb->batch);
    return status == PD_OK ? pd_batch_output_new(climb->batch, states, &climb->output) : status;
}

static void climb_free(struct climb *climb)
{
    pd_batch_output_free(&climb->output);
    pd_batch_free(&climb->batch);
    free(climb->state_a);
    free(climb->supply_v);
}

/* Solves every neighbour of a state, one load up or down by a share of its range; *best the number
 * of the best, PD_NONE where none is better. */
static enum pd_status try_neighbours(struct climb *climb, const double *load_a, double share,
                                     double *volts, size_t *best)
{
    const struct pd_worst_settings *const s = climb->settings;
    const size_t loads = s->network->load_count, states = 2 * loads;
    enum pd_status status = PD_OK;
    *best = PD_NONE;
    for (size_t k = 0; k < states && status == PD_OK; k++) {
        const size_t i = k / 2;
        const double step_a = share * (s->high_a[i] - s->low_a[i]);
        double *const state_a = &climb->state_a[k * loads];
        memcpy(state_a, load_a, loads * sizeof *load_a);
        state_a[i] = k % 2 == 0 ? fmin(s->high_a[i], load_a[i] + step_a)
                                : fmax(s->low_a[i], load_a[i] - step_a);
        if (s->manage != NULL)
            status = s->manage(state_a, s->context);
    }
    const struct pd_batch_input input = {
        .count = states, .load_a = climb->state_a, .supply_v = climb->supply_v};
    if (status == PD_OK)
        status = pd_batch_solve(climb->batch, &input, &climb->output, NULL, NULL);
    for (size_t k = 0; k < states && status == PD_OK; k++) {
        const double found_v = cabs(pd_batch_voltage(climb->batch, &climb->output, k, 0, 0));
        if (pd_batch_standing(climb->batch, &climb->output, k, 0) == PD_SOLVED &&
            found_v > *volts + 1e-9) {
            *volts = found_v;
            *best = k;
        }
    }
    return status;
}

enum pd_status pd_worst_climb(const struct pd_worst_settings *s, size_t section, double *load_a,
                              double *volts)
{
    enum { STEPS = 300, LOADS_WITHIN = 64 };
    const size_t loads = s->network->load_count;
    const double least_share = loads <= LOADS_WITHIN ? 1.0 / 4096 : 1;
    double share = 1;
    struct climb climb;
    enum pd_status status = climb_new(s, section, &climb);
    for (int step = 0; step < STEPS && status == PD_OK && share >= least_share; step++) {
        size_t best;
        status = try_neighbours(&climb, load_a, share, volts, &best);
        if (status == PD_OK && best != PD_NONE)
            memcpy(load_a, &climb.state_a[best * loads], loads * sizeof *load_a);
        else
            share /= 2;
    }
    climb_free(&climb);
    return status;
}

void pd_worst_search_free(struct pd_worst_search *search)
{
    free(search->load_a);
    free(search->most);
    free(search->most_v);
    free(search->least_v);
    *search = (struct pd_worst_search){0};
}
