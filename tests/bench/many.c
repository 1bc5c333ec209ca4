/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "many.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "stopwatch.h"

static void *room(size_t count, size_t size)
{
    void *const memory = calloc(count, size);
    must(memory != NULL, "out of memory");
    return memory;
}

static void repeat_states(const struct many_plan *plan, struct many *many)
{
    const size_t loads = many->street.network->load_count;
    many->load_a = room(plan->states * loads, sizeof *many->load_a);
    many->supply_v = room(plan->states, sizeof *many->supply_v);
    for (size_t s = 0; s < plan->states; s++) {
        const struct pd_operating *const state = &many->street.operating[s % STREET_STATES];
        memcpy(many->load_a + s * loads, state->load_a, loads * sizeof *many->load_a);
        many->supply_v[s] = state->supply_v;
    }
    many->input = (struct pd_batch_input){
        .count = plan->states, .load_a = many->load_a, .supply_v = many->supply_v};
}

static void choose_probes(const struct many_plan *plan, struct many *many)
{
    const size_t houses = plan->street.houses;
    many->probe_count = plan->every_house ? houses : 1;
    many->probe = room(many->probe_count, sizeof *many->probe);
    for (size_t k = 0; k < many->probe_count; k++) {
        char name[32];
        snprintf(name, sizeof name, "house%zu", plan->every_house ? k : houses / 2);
        many->probe[k] = (struct pd_probe){pd_network_find(many->street.network, name), PD_N};
        must(many->probe[k].node != PD_NONE, "a house is not there");
    }
}

void many_new(const struct many_plan *plan, struct many *many)
{
    *many = (struct many){0};
    street_new(&plan->street, &many->street);
    repeat_states(plan, many);
    choose_probes(plan, many);
    many->cut_count = many->street.network->node_count - 1;
    many->cut = room(many->cut_count, sizeof *many->cut);
    for (size_t i = 0; i < many->cut_count; i++)
        many->cut[i] = (struct pd_cut){.kind = PD_CUT_OPEN, .section = i + 1};
}

void many_free(struct many *many)
{
    free(many->load_a);
    free(many->supply_v);
    free(many->cut);
    free(many->probe);
    street_free(&many->street);
    *many = (struct many){0};
}

void run_new(const struct many *many, size_t first, size_t count, size_t threads,
             enum pd_width width, struct run *run)
{
    const struct pd_operating *const state = &many->street.operating[0];
    const struct pd_batch_settings settings = {
        .network = many->street.network,
        .tie = state->tie,
        .tie_count = state->tie_count,
        .cut = many->cut + first,
        .cut_count = count,
        .probe = many->probe,
        .probe_count = many->probe_count,
        .threads = threads,
        .width = width,
    };
    *run = (struct run){.many = many, .first = first, .count = count};
    must(pd_batch_new(&settings, &run->batch) == PD_OK, "no batch could be made");
    must(pd_batch_output_new(run->batch, many->input.count, &run->output) == PD_OK,
         "out of memory");
}

void run_free(struct run *run)
{
    pd_batch_output_free(&run->output);
    pd_batch_free(&run->batch);
}

void run_solve(struct run *run)
{
    must(pd_batch_solve(run->batch, &run->many->input, &run->output, NULL, NULL) == PD_OK,
         "the batch is refused");
    keep(run->output.re);
}

double run_difference(const struct run *run, size_t state, size_t section,
                      const double complex (*v)[PD_CONDUCTORS])
{
    const struct many *const many = run->many;
    double worst = 0;
    for (size_t k = 0; k < many->probe_count; k++) {
        const double complex ours =
            pd_batch_voltage(run->batch, &run->output, state, section - 1 - run->first, k);
        const double complex peer = v[many->probe[k].node][many->probe[k].conductor];
        const double apart = cabs(ours - peer) / many->supply_v[state];
        if (!(apart <= worst))
            worst = isnan(apart) ? INFINITY : apart;
    }
    return worst;
}
