/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "mix.h"

#include <math.h>
#include <time.h>

/* Random mixes of loads that are not linear, on random small trees with any cut or bridge. What the
 * engine presents as an answer has no NaN but a floating neutral, and obeys Kirchhoff's laws in the
 * oracle's equations, which share no code with the engine; what it does not present is NaN
 * throughout; and every call ends within a number of passes known beforehand.
 *
 * 20 000 mixes; PENDRIFT_SOAK=50 makes it a million. */

struct tally {
    size_t calls, standing[PD_RESONANT + 1], floating, let_go;
    double residual; /* largest of an answer */
    double highest;  /* voltage of an answer, over the supply */
    int iterations;  /* most of a call */
    double seconds;  /* longest call */
};

/* Elements that are not linear; those with a window. */
static void count_flexible(const struct grown *grown, size_t *flexible, size_t *windows)
{
    *flexible = *windows = 0;
    for (size_t i = 0; i < grown->network->load_count; i++) {
        const struct pd_load *const load = &grown->network->load[i];
        *flexible += load->behaviour->linear ? 0 : oracle_elements(load);
        *windows += oracle_has_window(load);
    }
}

/* As the search is written: from seven starts, each tries three dampings of 60 steps and 40 of
 * Newton's of up to 12 halvings, once after as many passes as there are ports; and all of it again
 * after each load that lets go. */
enum { STARTS = 7 };
static int most_passes(const struct grown *grown)
{
    size_t flexible, windows;
    count_flexible(grown, &flexible, &windows);
    return (int)((windows + 1) * (STARTS * (3 * 61 + 40 * 12 + 3) + flexible) + 1);
}

static void fail_seed(uint64_t seed, const struct pd_cut *cut, const char *what, double figure)
{
    fail_msg("seed %llu, cut %d at section %zu: %s %g", (unsigned long long)seed, (int)cut->kind,
             cut->section, what, figure);
}

static void check_answer(const struct grown *grown, const struct pd_cut *cut,
                         const struct pd_solution *solution, uint64_t seed, struct tally *tally)
{
    const struct pd_network *const network = grown->network;
    bool off[MIX_LOADS];
    for (size_t i = 0; i < network->node_count; i++)
        for (int c = 0; c < PD_CONDUCTORS; c++) {
            const bool afloat = c == PD_N && solution->floating != PD_NONE &&
                                pd_network_downstream(network, solution->floating, i);
            if (afloat)
                continue;
            const double over = cabs(solution->v[i][c]) / grown->operating.supply_v;
            if (!(over <= 1e6)) /* NaN too */
                fail_seed(seed, cut, "an answer of this many times the supply:", over);
            tally->highest = fmax(tally->highest, over);
        }
    const double residual = mix_find_off(grown, cut, solution, off);
    if (!(residual <= PD_RESIDUAL_MAX))
        fail_seed(seed, cut, "Kirchhoff's laws are off by", residual);
    const struct oracle_case c = {network, &grown->operating, cut, off};
    const bool floats = cut->kind == PD_CUT_OPEN && oracle_island_s(&c) == 0;
    if (floats != (solution->floating != PD_NONE))
        fail_seed(seed, cut, "an island that floats is not what was said:", floats);
    if (!(solution->residual <= PD_RESIDUAL_MAX))
        fail_seed(seed, cut, "residual", solution->residual);
    tally->residual = fmax(tally->residual, residual);
    tally->floating += floats;
    tally->let_go += solution->let_go > 0;
}

static void check_no_answer(const struct grown *grown, const struct pd_cut *cut,
                            const struct pd_solution *solution, uint64_t seed)
{
    if (solution->standing != PD_RESONANT && solution->residual <= PD_RESIDUAL_MAX)
        fail_seed(seed, cut, "no answer, and a residual of", solution->residual);
    for (size_t i = 0; i < grown->network->node_count; i++)
        for (int c = 0; c < PD_CONDUCTORS; c++)
            if (!isnan(creal(solution->v[i][c])) && !isnan(cimag(solution->v[i][c])))
                fail_seed(seed, cut, "a figure where there is no answer:", cabs(solution->v[i][c]));
}

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void check_call(const struct grown *grown, struct bench *bench, const struct pd_cut *cut,
                       uint64_t seed, struct tally *tally)
{
    const struct pd_solution *const solution = &bench->solution;
    const double start_s = now_s();
    assert_int_equal(pd_tree_solve(bench->tree, cut, &bench->solution), PD_OK);
    tally->seconds = fmax(tally->seconds, now_s() - start_s);
    tally->calls++;
    assert_in_range(solution->standing, PD_SOLVED, PD_RESONANT);
    tally->standing[solution->standing]++;
    assert_int_equal(solution->converged, solution->standing == PD_SOLVED);
    if (solution->iterations < 1 || solution->iterations > most_passes(grown))
        fail_seed(seed, cut, "passes", solution->iterations);
    if (solution->iterations > tally->iterations)
        tally->iterations = solution->iterations;
    if (solution->standing == PD_SOLVED)
        check_answer(grown, cut, solution, seed, tally);
    else if (!pd_tree_linear(bench->tree))
        check_no_answer(grown, cut, solution, seed);
}

static void check_mix(uint64_t seed, struct tally *tally)
{
    struct stream stream = {seed};
    struct grown grown;
    const struct growth growth = {.system = (enum pd_system)stream_below(&stream, PD_SYSTEMS),
                                  .sections = grow_size(&stream, 6),
                                  .mutuals = true};
    grow(&stream, &growth, &grown);
    mix_behaviours(&stream, &grown, true);
    if (seed % 5 == 0)
        grow_ground(&stream, &grown);
    if (stream_below(&stream, 4) == 0)
        mix_bridge(&stream, &grown);
    struct bench bench = bench_new(grown.network, &grown.operating);
    const struct pd_cut cut = mix_cut(&stream, grown.network);
    check_call(&grown, &bench, &cut, seed, tally);
    bench_free(&bench);
    grown_free(&grown);
}

static void test_never_an_answer_that_is_none(void **state)
{
    (void)state;
    struct tally tally = {0};
    for (uint64_t seed = 1; seed <= 20000 * soak(); seed++)
        check_mix(seed, &tally);
    print_message("%zu mixes: %zu solved (%zu with elements let go, %zu with a floating island), "
                  "%zu ambiguous, %zu unconverged, %zu resonant\n",
                  tally.calls, tally.standing[PD_SOLVED], tally.let_go, tally.floating,
                  tally.standing[PD_AMBIGUOUS], tally.standing[PD_UNCONVERGED],
                  tally.standing[PD_RESONANT]);
    print_message("largest residual of an answer %.2g, highest voltage %.2g times the supply; most "
                  "passes %d; longest call %.3f s\n",
                  tally.residual, tally.highest, tally.iterations, tally.seconds);
    /* The test says something only if each kind of answer came up, and nearly all mixes have one.
     */
    assert_true(tally.standing[PD_SOLVED] > tally.calls - tally.calls / 20);
    assert_true(tally.standing[PD_UNCONVERGED] < tally.calls / 50);
    assert_true(tally.standing[PD_AMBIGUOUS] > 0);
    assert_true(tally.let_go > 0 && tally.floating > 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_never_an_answer_that_is_none)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
