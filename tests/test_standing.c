/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "grow.h"

#include <math.h>

#include "solve/millman.h"

/* What the engine may not call solved: resonance, values out of range, numbers that are none, and
 * voltages that do not fit the network. A wrong answer here would be a comfortable one. */

static const struct pd_cut whole = {.kind = PD_CUT_NONE};

static double complex one_line(double complex y, double earth_s)
{
    return pd_star_displacement(&(struct pd_star){.emf_v = {230}, .y_s = {y}}, earth_s);
}

static void test_millman_says_when_it_cannot(void **state)
{
    (void)state;
    const struct pd_star nothing = {.emf_v = {230}};
    const struct pd_star heater = {.emf_v = {230}, .y_s = {32.0 / 230}};
    assert_true(isnan(creal(pd_star_displacement(&nothing, 0))));
    assert_true(isnan(creal(one_line(NAN, 0.05))));
    assert_true(isnan(creal(one_line(0.1, NAN))));
    assert_true(isnan(pd_star_electrode_max(&heater, NAN)));
    /* A limit that is none must not read as "no electrode needed". */
    assert_false(pd_star_electrode_max(&heater, -70) > 0);
    assert_false(pd_star_electrode_max(&heater, 0) > 0);
    const struct pd_star unknown = {.emf_v = {230}, .y_s = {NAN}};
    assert_true(isnan(pd_star_electrode_max(&unknown, 70)));
    /* Over the supply voltage, nothing is needed. */
    assert_true(isinf(pd_star_electrode_max(&heater, 231)));
}

/* Loads that cancel: the neutral of the island hangs on their last digits. Parallel resonance, any
 * circuits textbook. */
static enum pd_standing resonant_standing(enum pd_phase leading, double power_factor,
                                          double electrode_ohm, struct pd_cut cut)
{
    struct pd_network *network = one_house(PD_THREE_PHASE, 230, 0.01, 0.01);
    put_load(network, "house", PD_ON_L1, power_factor);
    put_load(network, "house", leading, -power_factor);
    const double load_a[] = {10, 10};
    const struct pd_earth_tie tie = {1, electrode_ohm};
    struct bench bench = bench_new(
        network,
        &(struct pd_operating){.load_a = load_a, .tie = &tie, .tie_count = 1, .supply_v = 230});
    assert_int_equal(pd_tree_solve(bench.tree, &cut, &bench.solution), PD_OK);
    const enum pd_standing standing = bench.solution.standing;
    assert_int_equal(bench.solution.converged, standing == PD_SOLVED);
    double complex v[PD_CONDUCTORS];
    assert_int_equal(pd_tree_voltage_at(bench.tree, &cut, 1, v), PD_OK);
    assert_int_equal(isnan(cabs(v[PD_N])), standing != PD_SOLVED);
    bench_free(&bench);
    pd_network_free(&network);
    return standing;
}

static void test_resonance_is_never_solved(void **state)
{
    (void)state;
    static const double power_factors[] = {1e-7, 1e-9, 1e-12, 1e-17, 1e-100, 1e-200, 1e-300};
    const struct pd_cut open = {.kind = PD_CUT_OPEN, .section = 1};
    for (size_t i = 0; i < sizeof power_factors / sizeof power_factors[0]; i++) {
        const double pf = power_factors[i];
        assert_int_equal(resonant_standing(PD_ON_L1, pf, INFINITY, open), PD_RESONANT);
        assert_int_equal(resonant_standing(PD_ON_L2, pf, INFINITY, open), PD_RESONANT);
        /* An electrode ties the neutral again, and so does a joint unless it is as good as open. */
        const struct pd_cut joint = {.kind = PD_CUT_JOINT, .section = 1, .joint_ohm = 2},
                            gone = {.kind = PD_CUT_JOINT, .section = 1, .joint_ohm = 1e9};
        assert_int_equal(resonant_standing(PD_ON_L1, pf, 20, open), PD_SOLVED);
        assert_int_equal(resonant_standing(PD_ON_L2, pf, INFINITY, joint), PD_SOLVED);
        assert_int_equal(resonant_standing(PD_ON_L2, pf, INFINITY, gone), PD_RESONANT);
    }
    assert_int_equal(resonant_standing(PD_ON_L1, 0.9, INFINITY, open), PD_SOLVED);
}

/* A call with a wrong state leaves nothing behind that could be solved. */
static void test_refuses_states_out_of_range(void **state)
{
    (void)state;
    struct pd_network *network = one_house(PD_SINGLE_PHASE, 230, 0.1, 0.1);
    put_load(network, "house", PD_ON_L1, 1);
    const double good_a = 32;
    const struct pd_earth_tie good_tie = {1, 20};
    const struct pd_operating good = {
        .load_a = &good_a, .tie = &good_tie, .tie_count = 1, .supply_v = 230};
    struct pd_tree *tree;
    struct pd_solution solution;
    assert_int_equal(pd_tree_new(network, &tree), PD_OK);
    assert_int_equal(pd_solution_new(network, &solution), PD_OK);
    /* Nothing factored yet. */
    assert_int_equal(pd_tree_solve(tree, &whole, &solution), PD_ERR_ARGUMENT);

    static const double bad_supply_v[] = {0, -230, NAN, INFINITY};
    static const double bad_load_a[] = {-1, NAN, INFINITY};
    static const double bad_tie_ohm[] = {0, -1, NAN};
    for (size_t i = 0; i < 11; i++) {
        const double load_a = i >= 4 && i < 7 ? bad_load_a[i - 4] : good_a;
        const struct pd_earth_tie tie = {i == 10 ? 2 : 1,
                                         i >= 7 && i < 10 ? bad_tie_ohm[i - 7] : 20};
        const struct pd_operating bad = {.load_a = &load_a,
                                         .tie = &tie,
                                         .tie_count = 1,
                                         .supply_v = i < 4 ? bad_supply_v[i] : 230};
        assert_int_equal(pd_tree_factor(tree, &good), PD_OK);
        assert_int_equal(pd_tree_solve(tree, &whole, &solution), PD_OK);
        assert_int_equal(solution.standing, PD_SOLVED);
        assert_int_equal(pd_tree_factor(tree, &bad), PD_ERR_ARGUMENT);
        assert_int_equal(pd_tree_solve(tree, &whole, &solution), PD_ERR_ARGUMENT);
        double complex v[PD_CONDUCTORS];
        assert_int_equal(pd_tree_voltage_at(tree, &whole, 1, v), PD_ERR_ARGUMENT);
    }
    pd_tree_free(&tree);
    pd_solution_free(&solution);
    pd_network_free(&network);
}

static void test_refuses_cuts_out_of_range(void **state)
{
    (void)state;
    struct pd_network *network = one_house(PD_SINGLE_PHASE, 230, 0.1, 0.1);
    put_load(network, "house", PD_ON_L1, 1);
    const double load_a = 32;
    struct bench bench =
        bench_new(network, &(struct pd_operating){.load_a = &load_a, .supply_v = 230});
    const struct pd_cut bad[] = {
        {.kind = PD_CUT_OPEN, .section = 0},
        {.kind = PD_CUT_OPEN, .section = 2},
        {.kind = PD_CUT_OPEN, .section = PD_NONE},
        {.kind = PD_CUT_JOINT, .section = 0, .joint_ohm = 1},
        {.kind = PD_CUT_JOINT, .section = 1, .joint_ohm = -1},
        {.kind = PD_CUT_JOINT, .section = 1, .joint_ohm = NAN},
        {.kind = PD_CUT_JOINT, .section = 2, .joint_ohm = 1},
        {.kind = PD_CUT_JOINT, .section = 1, .joint_ohm = INFINITY},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        double complex v[PD_CONDUCTORS];
        assert_int_equal(pd_tree_solve(bench.tree, &bad[i], &bench.solution), PD_ERR_ARGUMENT);
        assert_int_equal(pd_tree_voltage_at(bench.tree, &bad[i], 1, v), PD_ERR_ARGUMENT);
        assert_int_equal(pd_tree_voltage_at(bench.tree, &whole, 2, v), PD_ERR_ARGUMENT);
    }
    /* Where there is no cut, its section is not looked at. */
    const struct pd_cut none = {.kind = PD_CUT_NONE, .section = PD_NONE, .joint_ohm = NAN};
    double complex v[PD_CONDUCTORS];
    assert_int_equal(pd_tree_solve(bench.tree, &none, &bench.solution), PD_OK);
    assert_int_equal(bench.solution.standing, PD_SOLVED);
    assert_int_equal(pd_tree_voltage_at(bench.tree, &none, 1, v), PD_OK);
    assert_close(cabs(v[PD_N] - bench.solution.v[1][PD_N]), 0, 0, 1e-12);
    bench_free(&bench);
    pd_network_free(&network);
}

static void test_refuses_power_factors_out_of_range(void **state)
{
    (void)state;
    static const double bad[] = {0, 1.01, -1.01, NAN, INFINITY};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        struct pd_network *network = one_house(PD_SINGLE_PHASE, 230, 0.1, 0.1);
        put_load(network, "house", PD_ON_L1, bad[i]);
        const double load_a = 32;
        struct pd_tree *tree;
        assert_int_equal(pd_tree_new(network, &tree), PD_OK);
        assert_int_equal(
            pd_tree_factor(tree, &(struct pd_operating){.load_a = &load_a, .supply_v = 230}),
            PD_ERR_ARGUMENT);
        pd_tree_free(&tree);
        pd_network_free(&network);
    }
}

/* The residual must see a wrong answer: a section is changed behind the engine's back after the
 * network was factored, so that its voltages no longer fit. */
static void test_residual_sees_what_does_not_fit(void **state)
{
    (void)state;
    for (int c = 0; c < PD_CONDUCTORS; c++) {
        struct pd_network *network = one_house(PD_THREE_PHASE, 230, 0.1, 0.2);
        for (int line = 0; line < PD_LINES; line++)
            put_load(network, "house", (enum pd_phase)(PD_ON_L1 + line), 1);
        const double load_a[] = {10, 20, 30};
        struct bench bench =
            bench_new(network, &(struct pd_operating){.load_a = load_a, .supply_v = 230});
        assert_int_equal(pd_tree_solve(bench.tree, &whole, &bench.solution), PD_OK);
        assert_int_equal(bench.solution.standing, PD_SOLVED);
        assert_true(bench.solution.residual < 1e-14);
        network->node[1].z_ohm.at[c][c] += 0.001;
        assert_int_equal(pd_tree_solve(bench.tree, &whole, &bench.solution), PD_OK);
        assert_int_equal(bench.solution.standing, PD_UNCONVERGED);
        assert_false(bench.solution.converged);
        assert_int_equal(bench.solution.worst_node, 1);
        /* About 0.001 ohm times 10 to 30 A, over 230 V. */
        assert_close(bench.solution.residual, 1e-4, 0, 0.7e-4);
        bench_free(&bench);
        pd_network_free(&network);
    }
}

/* Numbers that no network has are never solved, and never leave the voltages of an earlier state
 * behind. */
static void test_nonsense_is_not_solved(void **state)
{
    (void)state;
    static const double complex nonsense[] = {NAN, INFINITY, NAN * I, INFINITY * I};
    for (size_t i = 0; i < 2 * sizeof nonsense / sizeof nonsense[0]; i++) {
        const double complex bad = nonsense[i / 2];
        struct pd_network *network = i % 2 ? one_house(PD_SINGLE_PHASE, 230, bad, 0.1)
                                           : one_house(PD_SINGLE_PHASE, 230, 0.1, bad);
        put_load(network, "house", PD_ON_L1, 1);
        const double load_a = 32;
        struct bench bench =
            bench_new(network, &(struct pd_operating){.load_a = &load_a, .supply_v = 230});
        for (int c = 0; c < PD_CONDUCTORS; c++)
            bench.solution.v[1][c] = 1; /* as if left by an earlier solution */
        assert_int_equal(pd_tree_solve(bench.tree, &whole, &bench.solution), PD_OK);
        assert_int_not_equal(bench.solution.standing, PD_SOLVED);
        assert_false(bench.solution.converged);
        assert_false(cabs(bench.solution.v[1][PD_N]) <= 70);
        double complex v[PD_CONDUCTORS] = {1, 1, 1, 1};
        assert_int_equal(pd_tree_voltage_at(bench.tree, &whole, 1, v), PD_OK);
        assert_false(cabs(v[PD_N]) <= 70);
        bench_free(&bench);
        pd_network_free(&network);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_millman_says_when_it_cannot),
        cmocka_unit_test(test_resonance_is_never_solved),
        cmocka_unit_test(test_refuses_states_out_of_range),
        cmocka_unit_test(test_refuses_cuts_out_of_range),
        cmocka_unit_test(test_refuses_power_factors_out_of_range),
        cmocka_unit_test(test_residual_sees_what_does_not_fit),
        cmocka_unit_test(test_nonsense_is_not_solved),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
