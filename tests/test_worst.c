/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "grow.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "solve/batch.h"
#include "study/worst.h"

/* The certified worst case against trying everything: every corner of the ranges, a grid within
 * them where power factors are mixed, and random loads by the batch engine, which shares no code
 * with the proof. */

/* A street: a main of joints, houses on services, every load with its range. */
struct town {
    struct pd_network *network;
    struct pd_earth_tie tie[2];
    size_t ties;
    double *low_a, *high_a;
    size_t target;
    size_t *section, sections;
};

struct plan {
    size_t joints, houses; /* houses: of each joint */
    double scale;          /* of the cables; 0: a stiff star */
    double factor_least;   /* of power factors, 1: all unity */
    bool low_zero, earthed;
};

static double complex cable(struct stream *stream, double scale, double ohm)
{
    return scale * ohm * stream_uniform(stream, 0.5, 1.5) * (1 + I * stream_uniform(stream, 0, 0.6));
}

static void lay(struct pd_network *network, const char *from, const char *to, double complex line,
                double complex pen, unsigned lines)
{
    const struct pd_section section = {.name = to,
                                       .from = from,
                                       .to = to,
                                       .z_ohm = pd_matrix_diagonal(line, pen),
                                       .lines = lines};
    assert_int_equal(pd_network_add_section(network, &section, NULL), PD_OK);
}

static void lay_street(struct stream *stream, const struct plan *plan, struct pd_network *network)
{
    char from[32] = "substation", joint[32], house[32];
    for (size_t j = 0; j < plan->joints; j++) {
        snprintf(joint, sizeof joint, "joint%zu", j);
        const double complex line = cable(stream, plan->scale, 0.012);
        lay(network, from, joint, line, line * stream_uniform(stream, 1, 1.6), 0);
        for (size_t h = 0; h < plan->houses; h++) {
            snprintf(house, sizeof house, "house%zu", j * plan->houses + h);
            const double complex service = cable(stream, plan->scale, 0.03);
            lay(network, joint, house, service, service, 1u << (j * plan->houses + h) % 3);
        }
        snprintf(from, sizeof from, "%s", joint);
    }
    assert_int_equal(pd_network_close(network, NULL), PD_OK);
}

static double power_factor(struct stream *stream, double least)
{
    const double size = stream_uniform(stream, least, 1);
    return least < 1 && stream_below(stream, 4) == 0 ? -size : size;
}

static void build(struct stream *stream, const struct plan *plan, struct town *town)
{
    char house[32];
    *town = (struct town){0};
    assert_int_equal(pd_network_new(PD_THREE_PHASE, 230, &town->network), PD_OK);
    town->network->source.z_ohm = plan->scale * (0.005 + 0.017 * I);
    town->network->source.electrode_ohm = plan->earthed ? stream_uniform(stream, 0, 10) : 0;
    lay_street(stream, plan, town->network);
    const size_t count = plan->joints * plan->houses;
    town->low_a = calloc(count, sizeof *town->low_a);
    town->high_a = calloc(count, sizeof *town->high_a);
    town->section = calloc(town->network->node_count + 1, sizeof *town->section);
    for (size_t i = 0; i < count; i++) {
        snprintf(house, sizeof house, "house%zu", i);
        put_load(town->network, house, (enum pd_phase)(i % 3),
                 power_factor(stream, plan->factor_least));
        town->low_a[i] = plan->low_zero ? 0 : stream_uniform(stream, 0.2, 2);
        town->high_a[i] = town->low_a[i] + stream_uniform(stream, 0, 40);
    }
    town->target = pd_network_find(town->network, "house0");
    const size_t far = pd_network_find(town->network, house);
    if (plan->earthed) {
        town->tie[town->ties++] =
            (struct pd_earth_tie){town->target, stream_uniform(stream, 3, 200)};
        town->tie[town->ties++] = (struct pd_earth_tie){far, stream_uniform(stream, 3, 200)};
    }
    town->section[town->sections++] = PD_NONE;
    for (size_t n = 1; n < town->network->node_count; n++)
        town->section[town->sections++] = n;
}

static void pull_down(struct town *town)
{
    pd_network_free(&town->network);
    free(town->low_a);
    free(town->high_a);
    free(town->section);
}

static struct pd_worst_settings settings_of(const struct town *town)
{
    return (struct pd_worst_settings){.network = town->network,
                                      .tie = town->tie,
                                      .tie_count = town->ties,
                                      .low_a = town->low_a,
                                      .high_a = town->high_a,
                                      .supply_low_v = 216.2,
                                      .supply_high_v = 253,
                                      .target = town->target,
                                      .section = town->section,
                                      .section_count = town->sections,
                                      .limit_v = NAN,
                                      .tolerance_v = 0.005,
                                      .cells_most = 20000};
}

/* Solves states of every break by the batch engine and holds each against the bounds: what comes
 * out is the largest found for each. */
static void hold(const struct town *town, const struct pd_worst *worst, const double *load_a,
                 size_t states, double *most_v)
{
    struct pd_cut *const cut = calloc(town->sections, sizeof *cut);
    double *const supply_v = calloc(states, sizeof *supply_v);
    for (size_t k = 1; k < town->sections; k++)
        cut[k] = (struct pd_cut){.kind = PD_CUT_OPEN, .section = town->section[k]};
    for (size_t i = 0; i < states; i++)
        supply_v[i] = 253;
    const struct pd_probe probe = {town->target, PD_N};
    const struct pd_batch_settings settings = {.network = town->network,
                                               .tie = town->tie,
                                               .tie_count = town->ties,
                                               .cut = cut,
                                               .cut_count = town->sections,
                                               .probe = &probe,
                                               .probe_count = 1,
                                               .threads = 1};
    struct pd_batch *batch;
    struct pd_batch_output output;
    assert_int_equal(pd_batch_new(&settings, &batch), PD_OK);
    assert_int_equal(pd_batch_output_new(batch, states, &output), PD_OK);
    const struct pd_batch_input input = {states, load_a, supply_v, NULL};
    assert_int_equal(pd_batch_solve(batch, &input, &output, NULL, NULL), PD_OK);
    for (size_t k = 0; k < town->sections; k++)
        for (size_t i = 0; i < states; i++) {
            if (pd_batch_standing(batch, &output, i, k) != PD_SOLVED)
                continue;
            const double volts = cabs(pd_batch_voltage(batch, &output, i, k, 0));
            if (volts > worst->brk[k].bound_v || volts < worst->brk[k].least_bound_v) {
                printf("break %zu state %zu: %.9f V is outside %.9f to %.9f\n", k, i, volts,
                       worst->brk[k].least_bound_v, worst->brk[k].bound_v);
                fail();
            }
            most_v[k] = fmax(most_v[k], volts);
        }
    pd_batch_output_free(&output);
    pd_batch_free(&batch);
    free(cut);
    free(supply_v);
}

/* Every corner, or every point of a grid of so many steps. */
static void hold_grid(const struct town *town, const struct pd_worst *worst, size_t steps,
                      double *most_v)
{
    const size_t loads = town->network->load_count;
    size_t states = 1;
    for (size_t i = 0; i < loads; i++)
        states *= steps;
    double *const load_a = calloc(states * loads, sizeof *load_a);
    for (size_t state = 0; state < states; state++) {
        size_t left = state;
        for (size_t i = 0; i < loads; i++, left /= steps) {
            const double share = (double)(left % steps) / (double)(steps - 1);
            load_a[state * loads + i] =
                town->low_a[i] + share * (town->high_a[i] - town->low_a[i]);
        }
    }
    hold(town, worst, load_a, states, most_v);
    free(load_a);
}

static void probe_time(void **state)
{
    (void)state;
    struct stream stream = {7};
    for (int t = 0; t < 12; t++) {
        const struct plan plan = {.joints = t < 4 ? 1 : 4,
                                  .houses = 4,
                                  .scale = t < 4 ? 0 : 1,
                                  .factor_least = t % 2 ? 0.7 : 1,
                                  .low_zero = t % 4 == 3,
                                  .earthed = t % 3 != 2};
        struct town town;
        build(&stream, &plan, &town);
        struct pd_worst worst;
        const struct pd_worst_settings s = settings_of(&town);
        assert_int_equal(pd_worst_find(&s, &worst), PD_OK);
        double *most = calloc(town.sections, sizeof *most);
        hold_grid(&town, &worst, 2, most);
        if (plan.joints == 1) hold_grid(&town, &worst, 12, most);
        for (size_t k = 0; k < worst.count; k++)
            printf("t %d sec %zd %s bound %.4f attained %.4f grid %.4f least %.3f/%.3f cells %zu\n", t,
                   (ssize_t)worst.brk[k].section, pd_worst_method_names[worst.brk[k].method],
                   worst.brk[k].bound_v, worst.brk[k].attained_v, most[k],
                   worst.brk[k].least_bound_v, worst.brk[k].least_v, worst.brk[k].cells);
        free(most);
        pd_worst_free(&worst);
        pull_down(&town);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(probe_time)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
