/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "grow.h"

#include <math.h>
#include <stdio.h>

/* What must hold of any network, whatever its numbers: symmetry, limits, continuity, scaling, and
 * hand formulas of a single loop (Ohm's and Kirchhoff's laws, any circuits textbook). */

static const struct pd_cut whole = {.kind = PD_CUT_NONE};

static struct pd_solution solve(const struct pd_network *network,
                                const struct pd_operating *operating, const struct pd_cut *cut)
{
    struct pd_tree *tree;
    struct pd_solution solution;
    assert_int_equal(pd_tree_new(network, &tree), PD_OK);
    assert_int_equal(pd_solution_new(network, &solution), PD_OK);
    assert_int_equal(pd_tree_factor(tree, operating), PD_OK);
    assert_int_equal(pd_tree_solve(tree, cut, &solution), PD_OK);
    assert_int_equal(solution.standing, PD_SOLVED);
    pd_tree_free(&tree);
    return solution;
}

/* A random three-phase network; its sections treat the lines alike. */
static struct grown grow_any(struct stream *stream)
{
    struct grown grown;
    const struct growth growth = {
        .system = PD_THREE_PHASE, .sections = grow_size(stream, 40), .mutuals = true};
    grow(stream, &growth, &grown);
    return grown;
}

static void assert_all_close(const struct pd_network *network, const struct pd_solution *got,
                             const struct pd_solution *want, double complex factor, double volts)
{
    assert_int_equal(got->floating, want->floating);
    for (size_t i = 0; i < network->node_count; i++)
        for (int c = 0; c < PD_CONDUCTORS; c++) {
            if (c == PD_N && isnan(creal(want->v[i][c])) && isnan(creal(got->v[i][c])))
                continue; /* floats in both */
            assert_close(cabs(got->v[i][c] - factor * want->v[i][c]), 0, 0, volts);
        }
}

/* All loads moved to the next line: |V_N| stays, and V_N turns by -120 degrees with the EMFs. */
static void test_rotating_the_lines(void **state)
{
    (void)state;
    static const enum pd_phase next[PD_PHASES] = {
        [PD_ON_L1] = PD_ON_L2,    [PD_ON_L2] = PD_ON_L3,   [PD_ON_L3] = PD_ON_L1,
        [PD_ON_L12] = PD_ON_L23,  [PD_ON_L23] = PD_ON_L31, [PD_ON_L31] = PD_ON_L12,
        [PD_ON_L123] = PD_ON_L123};
    const double complex turn = cexp(-I * 2 * acos(-1) / 3);
    double largest_v = 0;
    for (uint64_t seed = 1; seed <= 100 * soak(); seed++) {
        struct stream stream = {seed};
        struct grown grown = grow_any(&stream);
        struct pd_network *const network = grown.network;
        const struct pd_cut cut = grow_cut(&stream, network, (enum pd_cut_kind)(seed % 3));
        struct pd_solution before = solve(network, &grown.operating, &cut);
        for (size_t i = 0; i < network->load_count; i++)
            network->load[i].phase = next[network->load[i].phase];
        struct pd_solution after = solve(network, &grown.operating, &cut);
        for (size_t i = 0; i < network->node_count; i++) {
            if (isnan(creal(before.v[i][PD_N])))
                continue;
            assert_close(cabs(after.v[i][PD_N] - turn * before.v[i][PD_N]), 0, 0, 1e-8);
            largest_v = fmax(largest_v, cabs(before.v[i][PD_N]));
        }
        pd_solution_free(&before);
        pd_solution_free(&after);
        grown_free(&grown);
    }
    assert_true(largest_v > 100);
}

static void test_answers_scale_with_the_supply(void **state)
{
    (void)state;
    for (uint64_t seed = 200; seed < 200 + 50 * soak(); seed++) {
        struct stream stream = {seed};
        struct grown grown = grow_any(&stream);
        const struct pd_cut cut = grow_cut(&stream, grown.network, (enum pd_cut_kind)(seed % 3));
        struct pd_solution before = solve(grown.network, &grown.operating, &cut);
        grown.operating.supply_v *= 1.75;
        struct pd_solution after = solve(grown.network, &grown.operating, &cut);
        assert_all_close(grown.network, &after, &before, 1.75, 1e-8);
        pd_solution_free(&before);
        pd_solution_free(&after);
        grown_free(&grown);
    }
}

/* A joint of 0 ohm is no cut; a joint of 1e13 ohm is an open PEN (to about the load's impedance
 * over the joint's). */
static void test_joint_between_whole_and_open(void **state)
{
    (void)state;
    size_t open_compared = 0;
    for (uint64_t seed = 300; seed < 300 + 100 * soak(); seed++) {
        struct stream stream = {seed};
        struct grown grown = grow_any(&stream);
        struct pd_cut cut = grow_cut(&stream, grown.network, PD_CUT_JOINT);
        cut.joint_ohm = 0;
        struct pd_solution intact = solve(grown.network, &grown.operating, &whole);
        struct pd_solution tight = solve(grown.network, &grown.operating, &cut);
        assert_all_close(grown.network, &tight, &intact, 1, 1e-9);
        cut.joint_ohm = 1e13;
        struct pd_solution loose = solve(grown.network, &grown.operating, &cut);
        cut.kind = PD_CUT_OPEN;
        struct pd_solution open = solve(grown.network, &grown.operating, &cut);
        if (open.floating == PD_NONE) {
            assert_all_close(grown.network, &loose, &open, 1, 1e-6);
            open_compared++;
        }
        pd_solution_free(&intact);
        pd_solution_free(&tight);
        pd_solution_free(&loose);
        pd_solution_free(&open);
        grown_free(&grown);
    }
    assert_true(open_compared > 50);
}

/* The same network with section `split` in two halves; a cut of it is then a cut of the first. */
static struct pd_network *rebuild_split(const struct pd_network *network, size_t split)
{
    struct pd_network *copy;
    assert_int_equal(pd_network_new(network->system, network->nominal_v, &copy), PD_OK);
    copy->source = network->source;
    for (size_t i = 1; i < network->node_count; i++) {
        const struct pd_node *const node = &network->node[i];
        struct pd_section section = {.name = node->section,
                                     .from = network->node[node->parent].name,
                                     .to = node->name,
                                     .z_ohm = node->z_ohm,
                                     .separate = node->separate,
                                     .lines = node->lines};
        if (i == split) {
            for (int c = 0; c < PD_CONDUCTORS * PD_CONDUCTORS; c++)
                section.z_ohm.at[c / PD_CONDUCTORS][c % PD_CONDUCTORS] /= 2;
            struct pd_section half = section;
            half.name = half.to = section.from = "half";
            assert_int_equal(pd_network_add_section(copy, &half, NULL), PD_OK);
        }
        assert_int_equal(pd_network_add_section(copy, &section, NULL), PD_OK);
    }
    assert_int_equal(pd_network_close(copy, NULL), PD_OK);
    for (size_t i = 0; i < network->load_count; i++)
        assert_int_equal(pd_network_add_load(copy, &network->load[i],
                                             network->node[network->load[i].node].name, NULL),
                         PD_OK);
    return copy;
}

static void test_two_halves_make_a_whole(void **state)
{
    (void)state;
    for (uint64_t seed = 500; seed < 500 + 60 * soak(); seed++) {
        struct stream stream = {seed};
        struct grown grown = grow_any(&stream);
        const struct pd_network *const network = grown.network;
        struct pd_cut cut = grow_cut(&stream, network, (enum pd_cut_kind)(seed % 3));
        /* Electrodes are left out: the nodes' numbers change. */
        grown.operating.tie_count = 0;
        struct pd_solution before = solve(network, &grown.operating, &cut);
        struct pd_network *copy = rebuild_split(network, cut.section);
        cut.section = pd_network_find(copy, "half");
        struct pd_solution after = solve(copy, &grown.operating, &cut);
        for (size_t i = 0; i < network->node_count; i++) {
            const size_t k = pd_network_find(copy, network->node[i].name);
            for (int c = 0; c < PD_CONDUCTORS; c++)
                if (!isnan(creal(before.v[i][c])) || !isnan(creal(after.v[k][c])))
                    assert_close(cabs(after.v[k][c] - before.v[i][c]), 0, 0, 1e-8);
        }
        pd_solution_free(&before);
        pd_solution_free(&after);
        pd_network_free(&copy);
        grown_free(&grown);
    }
}

/* An electrode from nothing to everything at the head of the island: from 0 V up to the answer
 * without it, each step a little more. Two-pole theorem: V = V_open R/(R + Z), Re Z >= 0. */
static void test_electrode_from_none_to_perfect(void **state)
{
    (void)state;
    size_t compared = 0;
    for (uint64_t seed = 700; seed < 700 + 60 * soak(); seed++) {
        struct stream stream = {seed};
        struct grown grown;
        const struct growth growth = {
            .system = PD_THREE_PHASE, .sections = grow_size(&stream, 20), .resistive = true};
        grow(&stream, &growth, &grown);
        struct pd_cut cut = grow_cut(&stream, grown.network, PD_CUT_OPEN);
        struct pd_earth_tie tie = {cut.section, INFINITY};
        grown.operating.tie = &tie;
        grown.operating.tie_count = 1;
        struct pd_solution none = solve(grown.network, &grown.operating, &cut);
        const bool skip =
            none.floating != PD_NONE || grown.network->node[cut.section].pe_node != cut.section;
        const double open_v = cabs(none.v[cut.section][PD_N]);
        double last_v = 0;
        /* Four steps to the double: V grows by no more than the ratio of R. */
        const double ratio = pow(2, 0.25);
        for (double ohm = 1e-9; !skip && ohm < 1e12; ohm *= ratio) {
            tie.resistance_ohm = ohm;
            struct pd_solution solution = solve(grown.network, &grown.operating, &cut);
            const double v = cabs(solution.v[cut.section][PD_N]);
            if (ohm == 1e-9)
                assert_close(v, 0, 0, 1e-5);
            else
                assert_true(v >= last_v - 1e-9 && v <= ratio * last_v + 1e-9);
            last_v = v;
            pd_solution_free(&solution);
        }
        if (!skip)
            assert_close(last_v, open_v, 1e-6, 1e-6);
        compared += !skip && open_v > 1;
        pd_solution_free(&none);
        grown_free(&grown);
    }
    assert_true(compared > 10);
}

/* One load on one section with the PEN whole: one loop of five impedances. */
static void test_loop_of_one_load(void **state)
{
    (void)state;
    const double complex line = 0.08 + 0.03 * I, pen = 0.12 + 0.02 * I, source = 0.005 + 0.017 * I;
    struct pd_network *network = one_house(PD_SINGLE_PHASE, 230, line, pen);
    network->source.z_ohm = source;
    put_load(network, "house", PD_ON_L1, 0.8);
    const double load_a = 40;
    const double complex load = 230 / load_a * (0.8 + 0.6 * I);
    const double complex current = 240 / (source + line + pen + load);
    const struct pd_operating operating = {.load_a = &load_a, .supply_v = 240};
    struct pd_solution solution = solve(network, &operating, &whole);
    assert_close(cabs(solution.v[1][PD_N] - pen * current), 0, 0, 1e-10);
    assert_close(cabs(solution.v[1][PD_L1] - (240 - (source + line) * current)), 0, 0, 1e-10);
    assert_close(cabs(solution.v[0][PD_N]), 0, 0, 1e-10);
    pd_solution_free(&solution);

    /* A joint is in the same loop. */
    const struct pd_cut joint = {.kind = PD_CUT_JOINT, .section = 1, .joint_ohm = 1.5};
    solution = solve(network, &operating, &joint);
    const double complex less = 240 / (source + line + pen + load + 1.5);
    assert_close(cabs(solution.v[1][PD_N] - (pen + 1.5) * less), 0, 0, 1e-10);
    pd_solution_free(&solution);

    /* With the PEN open, through the electrode and the substation's: the same loop through earth.
     */
    network->source.electrode_ohm = 5;
    const struct pd_earth_tie tie = {1, 20};
    solution = solve(
        network,
        &(struct pd_operating){.load_a = &load_a, .tie = &tie, .tie_count = 1, .supply_v = 240},
        &(struct pd_cut){.kind = PD_CUT_OPEN, .section = 1});
    const double complex earth_a = 240 / (source + line + load + 20 + 5);
    assert_close(cabs(solution.v[1][PD_N] - 20 * earth_a), 0, 0, 1e-10);
    assert_close(cabs(solution.v[0][PD_N] + 5 * earth_a), 0, 0, 1e-10);
    assert_close(cabs(pd_tie_current(network, &tie, &solution) - earth_a), 0, 0, 1e-10);
    pd_solution_free(&solution);
    pd_network_free(&network);
}

/* Two conductors that share flux: the drop along each has the other's current in it. Go and return
 * in one cable, Z = Z_L + Z_N - 2 Z_m (textbook; Carson's form of a two-wire line). */
static void test_mutual_impedance_of_a_loop(void **state)
{
    (void)state;
    const double complex line = 0.3 + 0.2 * I, pen = 0.4 + 0.25 * I, mutual = 0.05 + 0.15 * I;
    struct pd_network *network = one_house(PD_SINGLE_PHASE, 230, line, pen);
    struct pd_matrix *const z = &network->node[1].z_ohm;
    z->at[PD_L1][PD_N] = z->at[PD_N][PD_L1] = mutual;
    put_load(network, "house", PD_ON_L1, 1);
    const double load_a = 46;
    struct pd_solution solution =
        solve(network, &(struct pd_operating){.load_a = &load_a, .supply_v = 230}, &whole);
    const double complex current = 230 / (line + pen - 2 * mutual + 5);
    assert_close(cabs(solution.v[1][PD_L1] - solution.v[1][PD_N] - 5 * current), 0, 0, 1e-10);
    assert_close(cabs(solution.v[1][PD_N] - (pen - mutual) * current), 0, 0, 1e-10);
    pd_solution_free(&solution);
    pd_network_free(&network);
}

/* A line's inductance against a capacitor of the same reactance: what is left in the loop is the
 * neutral's resistance (series resonance, any circuits textbook). The leading term of the section's
 * matrix vanishes, so the elimination has to pivot. */
static void test_series_resonance_of_a_loop(void **state)
{
    (void)state;
    struct pd_network *network = one_house(PD_SINGLE_PHASE, 230, 5.75 * I, 2);
    put_load(network, "house", PD_ON_L1, -1e-300);
    const double load_a = 40;
    struct pd_solution solution =
        solve(network, &(struct pd_operating){.load_a = &load_a, .supply_v = 230}, &whole);
    assert_close(cabs(solution.v[1][PD_N] - 230), 0, 0, 1e-10);
    assert_close(cabs(solution.v[1][PD_L1] - (230 - 5.75 * I * 115)), 0, 0, 1e-10);
    pd_solution_free(&solution);
    pd_network_free(&network);
}

/* Three equal loads at the end of a section, with the source's three EMFs as given: the impedance
 * between source and load in that sequence, (E - V) / I. */
static double complex measured_z(double complex line, double complex pen, bool zero_sequence)
{
    struct pd_network *network = one_house(PD_THREE_PHASE, 230, line, pen);
    for (int k = 0; zero_sequence && k < PD_LINES; k++)
        network->source.unit_emf[k] = 1;
    put_load(network, "house", PD_ON_L123, 0.9);
    const double load_a = 100;
    const double complex y_s = load_a / 230 * (0.9 - I * sqrt(1 - 0.81));
    struct pd_solution solution =
        solve(network, &(struct pd_operating){.load_a = &load_a, .supply_v = 230}, &whole);
    const double complex across = solution.v[1][PD_L1] - solution.v[1][PD_N];
    pd_solution_free(&solution);
    pd_network_free(&network);
    return (230 - across) / (y_s * across);
}

/* Cable types of the IEEE European Low Voltage Test Feeder, ohm/km (seen, CHECKS.md). A section
 * with lines of Z1 and a PEN of (Z0 - Z1)/3 must measure Z1 and Z0 again. */
static void test_sequence_impedances(void **state)
{
    (void)state;
    static const struct {
        const char *cable;
        double r1, x1, r0, x0;
    } cables[] = {
        {"185 mm2 4-core", 0.166, 0.068, 0.58, 0.078}, {"95 mm2 SAC", 0.322, 0.074, 0.804, 0.093},
        {"70 mm2 4-core", 0.446, 0.071, 1.505, 0.083}, {"35 mm2 SAC", 0.868, 0.092, 0.76, 0.092},
        {"16 mm2 2-core", 1.15, 0.088, 1.2, 0.088},
    };
    for (size_t i = 0; i < sizeof cables / sizeof cables[0]; i++) {
        const double complex z1 = cables[i].r1 + I * cables[i].x1;
        const double complex z0 = cables[i].r0 + I * cables[i].x0;
        const double complex pen = (z0 - z1) / 3;
        assert_close(cabs(measured_z(z1, pen, false) - z1), 0, 0, 1e-12);
        assert_close(cabs(measured_z(z1, pen, true) - z0), 0, 0, 1e-12);

        /* A load on one line alone: the loop is (2 Z1 + Z0)/3 (symmetrical components). */
        struct pd_network *network = one_house(PD_THREE_PHASE, 230, z1, pen);
        put_load(network, "house", PD_ON_L2, 1);
        const double load_a = 100;
        struct pd_solution solution =
            solve(network, &(struct pd_operating){.load_a = &load_a, .supply_v = 230}, &whole);
        const double current_a = cabs(solution.v[1][PD_L2] - solution.v[1][PD_N]) / 2.3;
        assert_close(current_a, 230 / cabs((2 * z1 + z0) / 3 + 2.3), 1e-12, 0);
        pd_solution_free(&solution);
        pd_network_free(&network);
    }
}

/* An installation whose PE is on an electrode of its own does not tie the PEN, and what hangs on it
 * by separate sections goes with it. */
static void test_isolated_earth_ties_nothing(void **state)
{
    (void)state;
    struct pd_network *network;
    assert_int_equal(pd_network_new(PD_SINGLE_PHASE, 230, &network), PD_OK);
    const struct pd_section section[] = {
        {.name = "a", .from = "substation", .to = "pole"},
        {.name = "b", .from = "pole", .to = "met"},
        {.name = "c", .from = "met", .to = "board", .separate = true},
        {.name = "d", .from = "board", .to = "point", .separate = true},
    };
    for (size_t i = 0; i < 4; i++)
        assert_int_equal(pd_network_add_section(network, &section[i], NULL), PD_OK);
    assert_int_equal(pd_network_close(network, NULL), PD_OK);
    put_load(network, "point", PD_ON_L1, 1);
    const size_t met = pd_network_find(network, "met"), board = pd_network_find(network, "board"),
                 point = pd_network_find(network, "point");
    const double load_a = 23;
    const struct pd_earth_tie tie = {point, 10};
    const struct pd_operating operating = {
        .load_a = &load_a, .tie = &tie, .tie_count = 1, .supply_v = 230};
    assert_int_equal(network->node[point].pe_node, met);

    /* Open at the pole: 10 ohm of load against 10 ohm of electrode, 115 V each. */
    const struct pd_cut street = {.kind = PD_CUT_OPEN, .section = met};
    struct pd_solution solution = solve(network, &operating, &street);
    assert_close(cabs(solution.v[point][PD_N]), 115, 1e-12, 0);
    pd_solution_free(&solution);

    /* Open neutral inside: the electrode stays on the whole PEN, the neutral rises to U0. */
    solution = solve(network, &operating, &(struct pd_cut){.kind = PD_CUT_OPEN, .section = board});
    assert_close(cabs(solution.v[point][PD_N]), 230, 1e-12, 0);
    assert_close(cabs(solution.v[met][PD_N]), 0, 0, 1e-12);
    pd_solution_free(&solution);

    pd_network_isolate_pe(network, board);
    assert_int_equal(network->node[met].pe_node, met);
    assert_int_equal(network->node[board].pe_node, PD_NONE);
    assert_int_equal(network->node[point].pe_node, PD_NONE);
    solution = solve(network, &operating, &street);
    assert_close(cabs(solution.v[point][PD_N]), 230, 1e-12, 0);
    assert_close(cabs(pd_tie_current(network, &tie, &solution)), 0, 0, 0);
    pd_solution_free(&solution);
    pd_network_free(&network);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rotating_the_lines),
        cmocka_unit_test(test_answers_scale_with_the_supply),
        cmocka_unit_test(test_joint_between_whole_and_open),
        cmocka_unit_test(test_two_halves_make_a_whole),
        cmocka_unit_test(test_electrode_from_none_to_perfect),
        cmocka_unit_test(test_loop_of_one_load),
        cmocka_unit_test(test_mutual_impedance_of_a_loop),
        cmocka_unit_test(test_series_resonance_of_a_loop),
        cmocka_unit_test(test_sequence_impedances),
        cmocka_unit_test(test_isolated_earth_ties_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
