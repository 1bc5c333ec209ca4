/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "grow.h"

#include <math.h>
#include <string.h>

#include "solve/shunt.h"

/* Loads that are not linear, crossed conductors and bridges where a hand can calculate every
 * solution there is: none may be missed, none made up. Each calculation is written beside its
 * test; circuits textbook. */

static const struct pd_cut whole = {.kind = PD_CUT_NONE};
static const struct pd_cut open_pen = {.kind = PD_CUT_OPEN, .section = 1};

struct house {
    struct pd_network *network;
    double load_a[8];
    struct pd_earth_tie tie;
    struct pd_operating operating;
};

/* A house on a service of these impedances, stiff source, electrodes of 0 ohm at the star point. */
static void house_new(struct house *h, enum pd_system system, double nominal_v,
                      double complex line_ohm, double complex pen_ohm)
{
    memset(h, 0, sizeof *h);
    h->network = one_house(system, nominal_v, line_ohm, pen_ohm);
    h->tie = (struct pd_earth_tie){.node = 1, .resistance_ohm = INFINITY};
    h->operating = (struct pd_operating){
        .load_a = h->load_a, .tie = &h->tie, .tie_count = 1, .supply_v = nominal_v};
}

static void house_load(struct house *h, const char *behaviour, enum pd_phase phase,
                       double current_a, double low_v)
{
    const size_t i = h->network->load_count;
    put_load(h->network, "house", phase, 1);
    h->load_a[i] = current_a;
    h->network->load[i].low_v = low_v;
    h->network->load[i].behaviour = NULL;
    for (size_t k = 0; k < pd_behaviour_count; k++)
        if (strcmp(pd_behaviours[k]->name, behaviour) == 0)
            h->network->load[i].behaviour = pd_behaviours[k];
    assert_non_null(h->network->load[i].behaviour);
}

static struct bench house_solve(struct house *h, const struct pd_cut *cut)
{
    struct bench bench = bench_new(h->network, &h->operating);
    assert_int_equal(pd_tree_solve(bench.tree, cut, &bench.solution), PD_OK);
    return bench;
}

/* What is not solved leaves no figure and does not say that it converged. */
static void check_no_answer(const struct house *h, const struct pd_solution *solution,
                            enum pd_standing standing)
{
    assert_int_equal(solution->standing, standing);
    assert_false(solution->converged);
    assert_in_range(solution->iterations, 1, 20000);
    assert_false(solution->residual <= PD_RESIDUAL_MAX);
    for (size_t i = 0; i < h->network->node_count; i++)
        for (int c = 0; c < PD_CONDUCTORS; c++)
            assert_true(isnan(creal(solution->v[i][c])) && isnan(cimag(solution->v[i][c])));
}

static void check_answer(const struct pd_solution *solution)
{
    assert_int_equal(solution->standing, PD_SOLVED);
    assert_true(solution->converged);
    assert_in_range(solution->iterations, 1, 20000);
    assert_true(solution->residual <= PD_RESIDUAL_MAX);
}

/* The voltages found by hand that are within their regime, no two alike. */
struct roots {
    double u[8];
    size_t count;
};

static void add_root(struct roots *roots, double u, bool within)
{
    if (within)
        roots->u[roots->count++] = u;
}

/* One load of power P behind R: u (E - u) = P R while u >= low; below, the divider of R with
 * low^2/P. */
static struct roots roots_behind_a_resistance(double emf_v, double r_ohm, double power_w,
                                              double low_v)
{
    struct roots roots = {.count = 0};
    const double root = sqrt(emf_v * emf_v - 4 * power_w * r_ohm);
    const double back_ohm = low_v * low_v / power_w;
    const double back_v = emf_v * back_ohm / (back_ohm + r_ohm);
    add_root(&roots, (emf_v + root) / 2, (emf_v + root) / 2 >= low_v);
    add_root(&roots, (emf_v - root) / 2, (emf_v - root) / 2 >= low_v);
    add_root(&roots, back_v, back_v < low_v);
    return roots;
}

/* More than E^2/4R cannot be had, and where the load falls back only at next to no voltage the
 * engine need not find how little is left of it: then there is no answer. It is never an answer
 * that holds the power. */
static void test_constant_power_behind_a_weak_supply(void **state)
{
    (void)state;
    const double emf_v = 230, r_ohm = 10, most_w = emf_v * emf_v / (4 * r_ohm);
    size_t ambiguous = 0, held = 0, broken = 0, none = 0;
    for (int i = 0; i < 40; i++)
        for (int k = 0; k < 12; k++) {
            const double power_w = most_w * (0.0513 + 0.0771 * i);
            const double low_v = 0.2 * pow(2, k);
            struct house h;
            house_new(&h, PD_SINGLE_PHASE, emf_v, r_ohm / 2, r_ohm / 2);
            house_load(&h, "power", PD_ON_L1, power_w / emf_v, low_v);
            struct bench bench = house_solve(&h, &whole);
            const struct roots roots = roots_behind_a_resistance(emf_v, r_ohm, power_w, low_v);
            const bool holds = roots.u[0] >= low_v;
            if (roots.count > 1) {
                check_no_answer(&h, &bench.solution, PD_AMBIGUOUS);
                ambiguous++;
            } else if (!holds && bench.solution.standing != PD_SOLVED) {
                assert_true(power_w > most_w && low_v < 0.05 * emf_v);
                check_no_answer(&h, &bench.solution, PD_UNCONVERGED);
                none++;
            } else {
                assert_int_equal(roots.count, 1);
                check_answer(&bench.solution);
                const double complex u = bench.solution.v[1][PD_L1] - bench.solution.v[1][PD_N];
                assert_close(cabs(u - roots.u[0]), 0, 0, 1e-6);
                held += holds;
                broken += !holds;
            }
            bench_free(&bench);
            pd_network_free(&h.network);
        }
    print_message("%zu ambiguous, %zu hold their power, %zu fall back, %zu without an answer\n",
                  ambiguous, held, broken, none);
    assert_true(ambiguous > 20 && held > 20 && broken > 100 && none > 0);
}

/* Two loads of power P1, P2 in series across E (open PEN, split phase, no electrode). The current
 * is one, so with each holding its power u1/u2 = P1/P2. With the first fallen back to low^2/P1,
 * u1 (E - u1) = low^2 P2/P1; with both, they divide as resistances. */
static struct roots roots_in_series(double emf_v, double p1_w, double p2_w, double low_v)
{
    struct roots roots = {.count = 0};
    const double both_v = emf_v * p1_w / (p1_w + p2_w);
    const double none_v = emf_v * p2_w / (p1_w + p2_w);
    const double first = sqrt(emf_v * emf_v - 4 * low_v * low_v * p2_w / p1_w);
    const double second = sqrt(emf_v * emf_v - 4 * low_v * low_v * p1_w / p2_w);
    add_root(&roots, both_v, both_v >= low_v && emf_v - both_v >= low_v);
    add_root(&roots, none_v, none_v < low_v && emf_v - none_v < low_v);
    for (int sign = -1; sign <= 1; sign += 2) {
        const double u1 = (emf_v + sign * first) / 2, u2 = (emf_v + sign * second) / 2;
        add_root(&roots, u1, u1 < low_v && emf_v - u1 >= low_v);
        add_root(&roots, emf_v - u2, u2 < low_v && emf_v - u2 >= low_v);
    }
    return roots;
}

static void test_constant_power_in_series(void **state)
{
    (void)state;
    size_t ambiguous = 0, single = 0;
    for (int i = 0; i < 40; i++)
        for (int k = 0; k < 10; k++) {
            const double p1_w = 1200, p2_w = 1200 * pow(10, -1 + i * 2.0 / 39);
            const double low_v = 20.7 + 10 * k;
            struct house h;
            house_new(&h, PD_SPLIT_PHASE, 120, 0, 0.1);
            house_load(&h, "power", PD_ON_L1, p1_w / 120, low_v);
            house_load(&h, "power", PD_ON_L2, p2_w / 120, low_v);
            struct bench bench = house_solve(&h, &open_pen);
            const struct roots roots = roots_in_series(240, p1_w, p2_w, low_v);
            if (roots.count > 1) {
                check_no_answer(&h, &bench.solution, PD_AMBIGUOUS);
                ambiguous++;
            } else {
                assert_int_equal(roots.count, 1);
                check_answer(&bench.solution);
                assert_close(cabs(bench.solution.v[1][PD_N] - (120 - roots.u[0])), 0, 0, 1e-6);
                single++;
            }
            bench_free(&bench);
            pd_network_free(&h.network);
        }
    /* Equal loads, where symmetry leads every start that is symmetrical to the same answer. */
    assert_int_equal(roots_in_series(240, 1200, 1200, 84).count, 3);
    print_message("%zu ambiguous, %zu of one answer\n", ambiguous, single);
    assert_true(ambiguous > 50 && single > 50);
}

static void test_equal_constant_power_in_series(void **state)
{
    (void)state;
    struct house h;
    house_new(&h, PD_SPLIT_PHASE, 120, 0, 0.1);
    house_load(&h, "power", PD_ON_L1, 10, NAN);
    house_load(&h, "power", PD_ON_L2, 10, NAN);
    struct bench bench = house_solve(&h, &open_pen);
    check_no_answer(&h, &bench.solution, PD_AMBIGUOUS);
    bench_free(&bench);
    /* Nothing is ambiguous about them while the PEN is whole. */
    bench = house_solve(&h, &whole);
    check_answer(&bench.solution);
    bench_free(&bench);
    pd_network_free(&h.network);
}

/* Split phase, open PEN, lines of 0.5 ohm: a load holds 10 A through the other's 10 ohm. The second
 * line is at -120 + 5 V, the neutral 100 V from it, the first line at 120 - 5 V: 130 V across the
 * first load. */
static void test_constant_current_in_series(void **state)
{
    (void)state;
    struct house h;
    house_new(&h, PD_SPLIT_PHASE, 120, 0.5, 0.1);
    house_load(&h, "current", PD_ON_L1, 10, NAN);
    house_load(&h, "impedance", PD_ON_L2, 12, NAN);
    struct bench bench = house_solve(&h, &open_pen);
    check_answer(&bench.solution);
    assert_close(cabs(bench.solution.v[1][PD_L1] - 115), 0, 0, 1e-8);
    assert_close(cabs(bench.solution.v[1][PD_L2] + 115), 0, 0, 1e-8);
    assert_close(cabs(bench.solution.v[1][PD_N] + 15), 0, 0, 1e-8);
    bench_free(&bench);
    pd_network_free(&h.network);
}

/* An inverter that feeds as much as a resistance takes at 200 V holds an island up at any angle, or
 * is dead. Nothing ties the angle to the supply, so there is no answer. */
static void test_inverter_holds_an_island(void **state)
{
    (void)state;
    for (int kind = 0; kind < 2; kind++) {
        struct house h;
        house_new(&h, PD_SINGLE_PHASE, 230, 0.1, 0.1);
        house_load(&h, "impedance", PD_ON_L1, 11.5, NAN); /* 20 ohm */
        house_load(&h, kind == 0 ? "inverter-current" : "inverter-power", PD_ON_L1, 10, NAN);
        struct bench bench = house_solve(&h, &open_pen);
        check_no_answer(&h, &bench.solution, PD_AMBIGUOUS);
        bench_free(&bench);
        /* On the supply it feeds its load. */
        bench = house_solve(&h, &whole);
        check_answer(&bench.solution);
        assert_int_equal(bench.solution.let_go, 0);
        bench_free(&bench);
        pd_network_free(&h.network);
    }
}

/* Too little to hold the island within its window: 5 A through 20 ohm is 100 V. It lets go, and the
 * neutral goes to the line, through the load. */
static void test_inverter_lets_go_of_an_island(void **state)
{
    (void)state;
    struct house h;
    house_new(&h, PD_SINGLE_PHASE, 230, 0.1, 0.1);
    house_load(&h, "impedance", PD_ON_L1, 11.5, NAN);
    house_load(&h, "inverter-current", PD_ON_L1, 5, NAN);
    struct bench bench = house_solve(&h, &open_pen);
    check_answer(&bench.solution);
    assert_int_equal(bench.solution.let_go, 1);
    assert_close(cabs(bench.solution.v[1][PD_N] - 230), 0, 0, 1e-9);
    bench_free(&bench);
    pd_network_free(&h.network);
}

/* Split phase 120 V, open PEN: 60 A against 5 A of resistances, and a charger of 10 A beside the 5.
 * With it on, its voltage u has 5/120 u + 10 = 60/120 (240 - u): u = 203 V, above its window of 138
 * V. Without it u = 240 * 60/65. */
static void test_charger_lets_go(void **state)
{
    (void)state;
    struct house h;
    house_new(&h, PD_SPLIT_PHASE, 120, 0, 0.1);
    house_load(&h, "impedance", PD_ON_L1, 60, NAN);
    house_load(&h, "impedance", PD_ON_L2, 5, NAN);
    house_load(&h, "charger", PD_ON_L2, 10, NAN);
    struct bench bench = house_solve(&h, &open_pen);
    check_answer(&bench.solution);
    assert_int_equal(bench.solution.let_go, 1);
    assert_close(cabs(bench.solution.v[1][PD_N] - (-120 + 240 * 60 / 65.0)), 0, 0, 1e-9);
    /* In the same engine, on again: the whole PEN carries 60 - 15 A. */
    assert_int_equal(pd_tree_solve(bench.tree, &whole, &bench.solution), PD_OK);
    check_answer(&bench.solution);
    assert_int_equal(bench.solution.let_go, 0);
    const double complex v_n = bench.solution.v[1][PD_N];
    assert_close(cabs(v_n - 0.1 * (60 / 120.0 * (120 - v_n) - 5 / 120.0 * (120 + v_n) - 10)), 0, 0,
                 1e-8);
    bench_free(&bench);
    /* Within a window of its own it stays, and u = 110/(65/120). */
    h.network->load[2].high_v = 210;
    bench = house_solve(&h, &open_pen);
    check_answer(&bench.solution);
    assert_int_equal(bench.solution.let_go, 0);
    assert_close(cabs(bench.solution.v[1][PD_N] - (-120 + 110 / (65 / 120.0))), 0, 0, 1e-8);
    bench_free(&bench);
    pd_network_free(&h.network);
}

/* 7 A on L2 and 30 A on L3 draw the neutral away from L1: a three-phase charger lets go of all its
 * lines though one alone is out of its window. What is left is Millman's star. */
static void test_three_phase_charger_lets_go_whole(void **state)
{
    (void)state;
    struct house h;
    house_new(&h, PD_THREE_PHASE, 230, 0, 0.1);
    house_load(&h, "impedance", PD_ON_L1, 20, NAN);
    house_load(&h, "impedance", PD_ON_L2, 20, NAN);
    house_load(&h, "impedance", PD_ON_L3, 45, NAN);
    house_load(&h, "charger", PD_ON_L123, 16, NAN);
    struct bench bench = house_solve(&h, &open_pen);
    check_answer(&bench.solution);
    assert_int_equal(bench.solution.let_go, 3);
    const double complex a = CMPLX(-0.5, sqrt(0.75));
    assert_close(cabs(bench.solution.v[1][PD_N] - 230 * (20 + 20 * conj(a) + 45 * a) / 85), 0, 0,
                 1e-8);
    bench_free(&bench);
    pd_network_free(&h.network);
}

/* A charger alone behind an open PEN draws nothing, has no voltage, lets go: nothing ties the
 * neutral any more. */
static void test_charger_alone_leaves_the_neutral_floating(void **state)
{
    (void)state;
    struct house h;
    house_new(&h, PD_SINGLE_PHASE, 230, 0.1, 0.1);
    house_load(&h, "charger", PD_ON_L1, 32, NAN);
    struct bench bench = house_solve(&h, &open_pen);
    check_answer(&bench.solution);
    assert_int_equal(bench.solution.let_go, 1);
    assert_int_equal(bench.solution.floating, 1);
    assert_true(isnan(creal(bench.solution.v[1][PD_N])));
    assert_close(cabs(bench.solution.v[1][PD_L1] - 230), 0, 0, 1e-9);
    bench_free(&bench);
    pd_network_free(&h.network);
}

/* A load between lines that is not linear does not spoil an island whose neutral floats: constant
 * power P behind R has u = (E + sqrt(E^2 - 4 P R))/2, here alone in its range. */
static void test_constant_power_between_lines_of_a_floating_island(void **state)
{
    (void)state;
    struct house h;
    house_new(&h, PD_SPLIT_PHASE, 120, 0.05, 0.1);
    house_load(&h, "power", PD_ON_L12, 20, NAN);
    struct bench bench = house_solve(&h, &open_pen);
    check_answer(&bench.solution);
    assert_int_equal(bench.solution.floating, 1);
    const double u = (240 + sqrt(240 * 240 - 4 * 4800 * 0.1)) / 2;
    assert_close(cabs(bench.solution.v[1][PD_L1] - bench.solution.v[1][PD_L2] - u), 0, 0, 1e-8);
    assert_true(isnan(creal(bench.solution.v[1][PD_N])));
    bench_free(&bench);
    pd_network_free(&h.network);
}

/* Single phase with line and PEN changed over on a stiff supply: line to neutral is as it should
 * be, and every case is at U0. With an electrode, the supply drives a current through it: the
 * divider of the line's resistance and the electrode's. */
static void test_crossed_single_phase(void **state)
{
    (void)state;
    const struct pd_cut crossed = {.kind = PD_CUT_CROSSED, .section = 1, .line = PD_L1};
    struct house h;
    house_new(&h, PD_SINGLE_PHASE, 230, 0.1, 0.1);
    struct bench bench = house_solve(&h, &crossed);
    check_answer(&bench.solution);
    assert_close(cabs(bench.solution.v[1][PD_N] - 230), 0, 0, 1e-9);
    assert_close(cabs(bench.solution.v[1][PD_L1]), 0, 0, 1e-9);
    bench_free(&bench);
    /* A constant current of 20 A flows from the neutral to the line, 2 V lost in each conductor. */
    house_load(&h, "current", PD_ON_L1, 20, NAN);
    bench = house_solve(&h, &crossed);
    check_answer(&bench.solution);
    assert_close(cabs(bench.solution.v[1][PD_N] - 228), 0, 0, 1e-8);
    assert_close(cabs(bench.solution.v[1][PD_L1] - 2), 0, 0, 1e-8);
    bench_free(&bench);
    h.load_a[0] = 0;
    h.tie.resistance_ohm = 20;
    bench = house_solve(&h, &crossed);
    check_answer(&bench.solution);
    assert_close(cabs(bench.solution.v[1][PD_N] - 230 * 20 / 20.1), 0, 0, 1e-9);
    assert_close(cabs(bench.solution.v[1][PD_L1]), 0, 0, 1e-9);
    bench_free(&bench);
    pd_network_free(&h.network);
}

/* Three-phase, L2 changed over with the PEN: a load on L1 has the voltage between L1 and L2. */
static void test_crossed_three_phase(void **state)
{
    (void)state;
    const struct pd_cut crossed = {.kind = PD_CUT_CROSSED, .section = 1, .line = PD_L2};
    struct house h;
    house_new(&h, PD_THREE_PHASE, 230, 0, 0);
    house_load(&h, "power", PD_ON_L1, 10, NAN);
    struct bench bench = house_solve(&h, &crossed);
    check_answer(&bench.solution);
    assert_close(cabs(bench.solution.v[1][PD_L1] - bench.solution.v[1][PD_N]), 230 * sqrt(3), 1e-9,
                 0);
    assert_close(cabs(bench.solution.v[1][PD_L2]), 0, 0, 1e-9);
    bench_free(&bench);
    pd_network_free(&h.network);
}

/* A bridge from L1 to the PEN behind the open: the neutral is at L1, short of what the electrode
 * draws through 0.1 ohm of line and 0.1 ohm of bridge. */
static void test_bridge_behind_an_open_pen(void **state)
{
    (void)state;
    struct house h;
    house_new(&h, PD_SINGLE_PHASE, 230, 0.1, 0.1);
    h.tie.resistance_ohm = 10;
    h.operating.bridge = (struct pd_bridge){.node = 1, .line = PD_L1, .admittance_s = 10};
    struct bench bench = house_solve(&h, &open_pen);
    check_answer(&bench.solution);
    assert_close(cabs(bench.solution.v[1][PD_N] - 230 * 10 / 10.2), 0, 0, 1e-9);
    bench_free(&bench);
    pd_network_free(&h.network);
}

static void test_wrong_arguments(void **state)
{
    (void)state;
    struct house h;
    house_new(&h, PD_SPLIT_PHASE, 120, 0.1, 0.1);
    struct bench bench = house_solve(&h, &whole);
    const struct pd_bridge wrong[] = {{1, PD_L3, 1},       {1, PD_N, 1},   {1, -1, 1},
                                      {2, PD_L1, 1},       {1, PD_L1, -1}, {1, PD_L1, NAN},
                                      {1, PD_L1, INFINITY}};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        h.operating.bridge = wrong[i];
        assert_int_equal(pd_tree_factor(bench.tree, &h.operating), PD_ERR_ARGUMENT);
        assert_int_equal(pd_tree_solve(bench.tree, &whole, &bench.solution), PD_ERR_ARGUMENT);
    }
    h.operating.bridge = (struct pd_bridge){0};
    assert_int_equal(pd_tree_factor(bench.tree, &h.operating), PD_OK);
    const int lines[] = {PD_L3, PD_N, -1}; /* no third line in split phase */
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        const struct pd_cut cut = {.kind = PD_CUT_CROSSED, .section = 1, .line = lines[i]};
        assert_int_equal(pd_tree_solve(bench.tree, &cut, &bench.solution), PD_ERR_ARGUMENT);
    }
    bench_free(&bench);
    pd_network_free(&h.network);
}

/* Passes are counted through every round: a state that ends linear has iterated before. */
static void test_every_pass_is_counted(void **state)
{
    (void)state;
    struct house h;
    house_new(&h, PD_SINGLE_PHASE, 230, 0.1, 0.1);
    struct bench bench = house_solve(&h, &open_pen);
    assert_int_equal(bench.solution.iterations, 1);
    bench_free(&bench);
    house_load(&h, "charger", PD_ON_L1, 32, NAN);
    bench = house_solve(&h, &open_pen);
    assert_int_equal(bench.solution.let_go, 1);
    assert_true(bench.solution.iterations > 4);
    bench_free(&bench);
    pd_network_free(&h.network);
}

/* Ports are the elements that are on, have a current and are not linear. */
static void test_ports(void **state)
{
    (void)state;
    struct house h;
    house_new(&h, PD_THREE_PHASE, 230, 0.1, 0.1);
    house_load(&h, "impedance", PD_ON_L1, 10, NAN);
    house_load(&h, "charger", PD_ON_L123, 16, NAN);
    house_load(&h, "power", PD_ON_L23, 0, NAN);
    house_load(&h, "inverter-current", PD_ON_L2, 23, NAN);
    house_load(&h, "current", PD_ON_L31, 5, NAN);
    struct pd_shunts *shunts;
    assert_int_equal(pd_shunts_new(h.network, &shunts), PD_OK);
    assert_int_equal(pd_shunts_set(shunts, h.network, &h.operating), PD_OK);
    assert_int_equal(pd_shunts_port_count(shunts), 5);
    static const int ends[5][2] = {{0, 3}, {1, 3}, {2, 3}, {1, 3}, {2, 0}};
    for (size_t i = 0; i < 5; i++) {
        const struct pd_port port = pd_shunts_port(shunts, i);
        assert_int_equal(port.node, 1);
        assert_int_equal(port.element->from, ends[i][0]);
        assert_int_equal(port.element->to, ends[i][1]);
        /* Eliminated: In/Un; an inverter with the conductance of a load. */
        const double want_s = i < 3 ? 16 / 230.0 : i == 3 ? 0.1 : 5 / (230 * sqrt(3));
        assert_close(cabs(port.y_s - want_s), 0, 0, 1e-12);
        /* A window of 0.85 to 1.15, or 0.8 to 1.14, of 230 V; none. NaN is outside. */
        const double low_v = i < 3 ? 195.5 : 184, high_v = i < 3 ? 264.5 : 262.2;
        assert_int_equal(pd_port_outside(shunts, i, low_v - 0.01), i < 4);
        assert_int_equal(pd_port_outside(shunts, i, I * (high_v + 0.01)), i < 4);
        assert_int_equal(pd_port_outside(shunts, i, NAN), i < 4);
        assert_false(pd_port_outside(shunts, i, I * (low_v + 0.01)));
        assert_false(pd_port_outside(shunts, i, -(high_v - 0.01)));
    }
    struct pd_matrix y = {0};
    assert_close(pd_shunts_add(shunts, 1, &y), (10 + 3 * 16 + 23) / 230.0, 1e-12, 0);
    /* One line of the charger is chosen: all three go, and what is left is numbered anew. */
    const bool chosen[5] = {false, true};
    assert_int_equal(pd_shunts_let_go(shunts, chosen), 3);
    assert_int_equal(pd_shunts_port_count(shunts), 2);
    assert_true(pd_shunts_port(shunts, 0).element->behaviour->generates);
    assert_int_equal(pd_shunts_port(shunts, 1).element->to, PD_L1);
    y = (struct pd_matrix){0};
    assert_close(pd_shunts_add(shunts, 1, &y), (10 + 23) / 230.0, 1e-12, 0);
    const bool none[5] = {false};
    assert_int_equal(pd_shunts_let_go(shunts, none), 0);
    pd_shunts_reset(shunts);
    assert_int_equal(pd_shunts_port_count(shunts), 5);
    y = (struct pd_matrix){0};
    assert_close(pd_shunts_add(shunts, 1, &y), (10 + 3 * 16 + 23) / 230.0, 1e-12, 0);
    pd_shunts_free(&shunts);
    pd_network_free(&h.network);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_constant_power_behind_a_weak_supply),
        cmocka_unit_test(test_constant_power_in_series),
        cmocka_unit_test(test_equal_constant_power_in_series),
        cmocka_unit_test(test_constant_current_in_series),
        cmocka_unit_test(test_inverter_holds_an_island),
        cmocka_unit_test(test_inverter_lets_go_of_an_island),
        cmocka_unit_test(test_charger_lets_go),
        cmocka_unit_test(test_three_phase_charger_lets_go_whole),
        cmocka_unit_test(test_charger_alone_leaves_the_neutral_floating),
        cmocka_unit_test(test_constant_power_between_lines_of_a_floating_island),
        cmocka_unit_test(test_crossed_single_phase),
        cmocka_unit_test(test_crossed_three_phase),
        cmocka_unit_test(test_bridge_behind_an_open_pen),
        cmocka_unit_test(test_wrong_arguments),
        cmocka_unit_test(test_every_pass_is_counted),
        cmocka_unit_test(test_ports),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
