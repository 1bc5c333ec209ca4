/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "grow.h"
#include "oracle.h"

#include <math.h>

#include "solve/millman.h"

/* The tree engine against a dense LU of the whole network (oracle.h: GSL, another formulation) and
 * against Millman's closed form (any circuits textbook). */

static const struct pd_cut whole = {.kind = PD_CUT_NONE};

/* The largest difference in volts over all conductors that are there and that do not float. */
static double worst_difference(const struct pd_network *network, const struct oracle_answer *oracle,
                               const struct pd_solution *solution)
{
    double worst = 0;
    for (size_t i = 0; i < network->node_count; i++)
        for (int c = 0; c < PD_CONDUCTORS; c++) {
            if (isnan(creal(oracle->v[i][c])))
                continue; /* no such line */
            if (c == PD_N && solution->floating != PD_NONE &&
                pd_network_downstream(network, solution->floating, i))
                continue;
            const double difference = cabs(solution->v[i][c] - oracle->v[i][c]);
            if (!(difference <= worst))
                worst = isnan(difference) ? INFINITY : difference;
        }
    return worst;
}

/* An island that floats: all its neutrals are NaN, and none elsewhere. */
static void check_floating(const struct pd_network *network, const struct pd_cut *cut,
                           const struct pd_solution *solution)
{
    assert_int_equal(solution->floating, cut->section);
    for (size_t i = 0; i < network->node_count; i++)
        assert_int_equal(isnan(creal(solution->v[i][PD_N])),
                         pd_network_downstream(network, cut->section, i));
}

/* The short cut to one node says the same. */
static void check_one_node(struct pd_tree *tree, const struct pd_cut *cut, size_t node,
                           const struct pd_solution *solution, double supply_v)
{
    double complex v[PD_CONDUCTORS];
    assert_int_equal(pd_tree_voltage_at(tree, cut, node, v), PD_OK);
    for (int c = 0; c < PD_CONDUCTORS; c++) {
        assert_int_equal(isnan(creal(v[c])), isnan(creal(solution->v[node][c])));
        if (!isnan(creal(v[c])))
            assert_close(cabs(v[c] - solution->v[node][c]), 0, 0, 1e-10 * supply_v);
    }
}

struct tally {
    size_t solved, floating, resonant;
};

static void check_against_oracle(const struct grown *grown, struct bench *bench,
                                 const struct pd_cut *cut, uint64_t seed, struct tally *tally)
{
    const struct pd_network *const network = grown->network;
    const struct pd_solution *const solution = &bench->solution;
    assert_int_equal(pd_tree_solve(bench->tree, cut, &bench->solution), PD_OK);
    const bool floats =
        cut->kind == PD_CUT_OPEN && !oracle_tied(network, &grown->operating, cut->section);
    assert_int_equal(solution->floating != PD_NONE, floats);
    if (solution->standing == PD_RESONANT) {
        tally->resonant++;
        return;
    }
    assert_int_equal(solution->standing, PD_SOLVED);
    assert_true(solution->converged);
    if (floats)
        check_floating(network, cut, solution);
    for (uint64_t node = seed % network->node_count; node < network->node_count; node += 7)
        check_one_node(bench->tree, cut, node, solution, grown->operating.supply_v);

    struct oracle_answer oracle;
    oracle_solve(network, &grown->operating, cut, floats, &oracle);
    const double supply_v = grown->operating.supply_v;
    const double difference = worst_difference(network, &oracle, solution);
    if (!(oracle.backward_error < 1e-12) || !(difference <= 1e-9 * supply_v) ||
        !(cabs(oracle.pin_a) < 1e-9))
        fail_msg("seed %llu, %zu nodes, cut %d at section %zu: off by %g V, oracle's backward "
                 "error %g, pin %g A",
                 (unsigned long long)seed, network->node_count, (int)cut->kind, cut->section,
                 difference, oracle.backward_error, cabs(oracle.pin_a));
    oracle_answer_free(&oracle);
    tally->solved++;
    tally->floating += floats;
}

static void check_one_tree(uint64_t seed, size_t sections, struct tally *tally)
{
    struct stream stream = {seed};
    struct grown grown;
    const struct growth growth = {.system = (enum pd_system)stream_below(&stream, PD_SYSTEMS),
                                  .sections = sections ? sections : grow_size(&stream, 40),
                                  .mutuals = true};
    grow(&stream, &growth, &grown);
    if (seed % 3 == 0)
        grow_ground(&stream, &grown);
    struct bench bench = bench_new(grown.network, &grown.operating);
    for (int kind = PD_CUT_NONE; kind <= PD_CUT_JOINT; kind++) {
        const struct pd_cut cut = grow_cut(&stream, grown.network, (enum pd_cut_kind)kind);
        check_against_oracle(&grown, &bench, &cut, seed, tally);
    }
    /* A cut leaves nothing behind. */
    check_against_oracle(&grown, &bench, &whole, seed, tally);
    bench_free(&bench);
    grown_free(&grown);
}

static void test_agrees_with_dense_lu(void **state)
{
    (void)state;
    struct tally tally = {0};
    for (uint64_t seed = 1; seed <= 400 * soak(); seed++)
        check_one_tree(seed, 0, &tally);
    /* A joint of 0.5 gigohm: lost nine digits before the pivots were weighed by their rows. */
    check_one_tree(2687, 0, &tally);
    print_message("%zu solved, of them %zu with a floating island; %zu resonant\n", tally.solved,
                  tally.floating, tally.resonant);
    /* The test says something only if each kind of answer came up. */
    assert_true(tally.floating > tally.solved / 100);
    assert_true(tally.resonant <= tally.solved / 1000);
}

static void test_agrees_with_dense_lu_at_full_size(void **state)
{
    (void)state;
    struct tally tally = {0};
    for (uint64_t seed = 1; seed <= 4 * soak(); seed++)
        check_one_tree(seed, 200, &tally);
    assert_true(tally.solved >= 15);
}

/* The engine's own residual is not taken on trust: its voltages go into the oracle's equations. */
static void test_voltages_obey_kirchhoff(void **state)
{
    (void)state;
    size_t checked = 0;
    for (uint64_t seed = 5000; seed < 5000 + 100 * soak(); seed++) {
        struct stream stream = {seed};
        struct grown grown;
        const struct growth growth = {.system = (enum pd_system)stream_below(&stream, PD_SYSTEMS),
                                      .sections = grow_size(&stream, 30),
                                      .mutuals = true};
        grow(&stream, &growth, &grown);
        struct bench bench = bench_new(grown.network, &grown.operating);
        struct pd_cut cut =
            grow_cut(&stream, grown.network, (enum pd_cut_kind)stream_below(&stream, 3));
        cut.joint_ohm = fmin(cut.joint_ohm, 1000); /* a rounding of the current is volts above it */
        assert_int_equal(pd_tree_solve(bench.tree, &cut, &bench.solution), PD_OK);
        assert_int_equal(bench.solution.standing, PD_SOLVED);
        const bool floats = bench.solution.floating != PD_NONE;
        const double left =
            floats ? 0 : oracle_mismatch(grown.network, &grown.operating, &cut, bench.solution.v);
        checked += !floats;
        if (!(left < 1e-9))
            fail_msg("seed %llu: Kirchhoff's laws off by %g", (unsigned long long)seed, left);
        bench_free(&bench);
        grown_free(&grown);
    }
    assert_true(checked > 80);
}

/* One installation on a stiff source: loads at the terminal and behind a separate neutral of 0 ohm.
 */
static struct pd_network *random_installation(struct stream *stream, enum pd_system system,
                                              double load_a[12])
{
    struct pd_network *network;
    assert_int_equal(pd_network_new(system, 230, &network), PD_OK);
    const struct pd_section service = {.name = "service",
                                       .from = "substation",
                                       .to = "house",
                                       .z_ohm = pd_matrix_diagonal(0, (0.2 + 0.05 * I))};
    const struct pd_section board = {
        .name = "submain", .from = "house", .to = "garage", .separate = true};
    assert_int_equal(pd_network_add_section(network, &service, NULL), PD_OK);
    assert_int_equal(pd_network_add_section(network, &board, NULL), PD_OK);
    assert_int_equal(pd_network_close(network, NULL), PD_OK);
    static const enum pd_phase star[] = {PD_ON_L1, PD_ON_L2, PD_ON_L3, PD_ON_L123, PD_ON_L12};
    const size_t kinds[PD_SYSTEMS] = {1, 2, 5};
    const size_t count = 1 + stream_below(stream, 12);
    for (size_t i = 0; i < count; i++) {
        put_load(network, stream_below(stream, 2) ? "house" : "garage",
                 star[stream_below(stream, kinds[system])],
                 stream_below(stream, 3) ? 1 : stream_uniform(stream, 0.5, 1));
        load_a[i] = stream_uniform(stream, 0.1, 63);
    }
    return network;
}

static double complex engine_displacement(const struct pd_network *network, const double *load_a,
                                          double electrode_ohm)
{
    const size_t house = pd_network_find(network, "house");
    const struct pd_earth_tie tie = {house, electrode_ohm};
    struct bench bench = bench_new(
        network,
        &(struct pd_operating){.load_a = load_a, .tie = &tie, .tie_count = 1, .supply_v = 241.5});
    const struct pd_cut cut = {.kind = PD_CUT_OPEN, .section = house};
    assert_int_equal(pd_tree_solve(bench.tree, &cut, &bench.solution), PD_OK);
    assert_int_equal(bench.solution.standing, PD_SOLVED);
    const double complex v = bench.solution.v[house][PD_N];
    assert_close(creal(pd_tie_current(network, &tie, &bench.solution)), creal(v) / electrode_ohm,
                 1e-12, 1e-12);
    bench_free(&bench);
    return v;
}

static void test_agrees_with_millman(void **state)
{
    (void)state;
    size_t limited = 0;
    for (uint64_t seed = 1; seed <= 200 * soak(); seed++) {
        struct stream stream = {seed};
        double load_a[12];
        struct pd_network *network =
            random_installation(&stream, (enum pd_system)stream_below(&stream, 3), load_a);
        const size_t house = pd_network_find(network, "house");
        const struct pd_star star = pd_star_of(network, house, load_a, 241.5);
        const double electrode_ohm = exp(stream_uniform(&stream, -2, 8));
        if (cabs(star.y_s[PD_L1] + star.y_s[PD_L2] + star.y_s[PD_L3]) > 0) {
            const double complex open = pd_star_displacement(&star, 0);
            const double complex earthed = pd_star_displacement(&star, 1 / electrode_ohm);
            assert_close(cabs(engine_displacement(network, load_a, INFINITY) - open), 0, 0, 1e-9);
            assert_close(cabs(engine_displacement(network, load_a, electrode_ohm) - earthed), 0, 0,
                         1e-9);
        }
        /* The inverse: with the largest electrode allowed, the engine is at the limit. */
        const double most_ohm = pd_star_electrode_max(&star, 70);
        if (isfinite(most_ohm)) {
            assert_close(cabs(engine_displacement(network, load_a, most_ohm)), 70, 1e-9, 0);
            limited++;
        }
        pd_network_free(&network);
    }
    assert_true(limited > 20);
}

/* Two electrodes R1, R2 on one terminal that lift each other by M: together
 * (R1 R2 - M^2) / (R1 + R2 - 2 M), and the currents as R2 - M to R1 - M (two simultaneous
 * equations, any circuits textbook; Tagg's and Sunde's parallel electrodes). */
static void test_two_electrodes_in_one_ground(void **state)
{
    (void)state;
    const double r1 = 20, r2 = 30, m = 8, line_ohm = 0.1, load_ohm = 10;
    struct pd_network *network = one_house(PD_SINGLE_PHASE, 230, line_ohm, 0.1);
    put_load(network, "house", PD_ON_L1, 1);
    const double load_a = 230 / load_ohm, mutual[4] = {0, m, m, 0};
    const size_t house = pd_network_find(network, "house");
    const struct pd_earth_tie tie[2] = {{house, r1}, {house, r2}};
    const struct pd_operating operating = {
        .load_a = &load_a, .tie = tie, .tie_count = 2, .mutual_ohm = mutual, .supply_v = 230};
    struct bench bench = bench_new(network, &operating);
    const struct pd_cut cut = {.kind = PD_CUT_OPEN, .section = house};
    double complex current[2];
    assert_int_equal(pd_tree_solve(bench.tree, &cut, &bench.solution), PD_OK);
    assert_int_equal(pd_tie_currents(network, &operating, &bench.solution, current), PD_OK);
    const double together = (r1 * r2 - m * m) / (r1 + r2 - 2 * m);
    const double amps = 230 / (line_ohm + load_ohm + together);
    assert_close(creal(bench.solution.v[house][PD_N]), amps * together, 1e-12, 0);
    assert_close(creal(current[0]), amps * (r2 - m) / (r1 + r2 - 2 * m), 1e-12, 0);
    assert_close(creal(current[1]), amps * (r1 - m) / (r1 + r2 - 2 * m), 1e-12, 0);
    bench_free(&bench);

    /* No ground couples two electrodes by more than the geometric mean of their resistances. */
    const double too_much[4] = {0, 25, 25, 0}, lopsided[4] = {0, 8, 7, 0};
    struct pd_operating wrong = operating;
    struct pd_tree *tree;
    assert_int_equal(pd_tree_new(network, &tree), PD_OK);
    wrong.mutual_ohm = too_much;
    assert_int_equal(pd_tree_factor(tree, &wrong), PD_ERR_ARGUMENT);
    wrong.mutual_ohm = lopsided;
    assert_int_equal(pd_tree_factor(tree, &wrong), PD_ERR_ARGUMENT);
    pd_tree_free(&tree);
    pd_network_free(&network);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_agrees_with_dense_lu),
        cmocka_unit_test(test_agrees_with_dense_lu_at_full_size),
        cmocka_unit_test(test_voltages_obey_kirchhoff),
        cmocka_unit_test(test_agrees_with_millman),
        cmocka_unit_test(test_two_electrodes_in_one_ground),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
