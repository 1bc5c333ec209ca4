/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "mix.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Loads that are not linear, on random networks, against GSL's multiroot on the equations of the
 * whole network at once (oracle.h), against the balance of power, and against their limits. What a
 * hand can calculate is in test_settle_hand.c. */

typedef const double complex (*voltages)[PD_CONDUCTORS];

static const struct pd_cut whole = {.kind = PD_CUT_NONE};

static struct grown grow_flexible(struct stream *stream, size_t sections, bool windows)
{
    struct grown grown;
    const struct growth growth = {.system = (enum pd_system)stream_below(stream, PD_SYSTEMS),
                                  .sections = sections,
                                  .mutuals = true};
    grow(stream, &growth, &grown);
    mix_behaviours(stream, &grown, windows);
    return grown;
}

static bool afloat(const struct grown *grown, const struct pd_solution *solution, size_t node,
                   int conductor)
{
    return conductor == PD_N && solution->floating != PD_NONE &&
           pd_network_downstream(grown->network, solution->floating, node);
}

/* The largest difference in volts over what is there and does not float; INFINITY for NaN. */
static double farthest(const struct grown *grown, const struct pd_solution *solution, voltages v)
{
    double worst = 0;
    for (size_t i = 0; i < grown->network->node_count; i++)
        for (int c = 0; c < PD_CONDUCTORS; c++) {
            const bool there = c == PD_N || (grown->network->node[i].lines >> c & 1u) != 0;
            if (!there || afloat(grown, solution, i, c))
                continue;
            const double difference = cabs(solution->v[i][c] - v[i][c]);
            worst = isnan(difference) ? INFINITY : fmax(worst, difference);
        }
    return worst;
}

/* An answer of the engine, and what it says of windows. */
struct settled {
    struct grown grown;
    struct bench bench;
    struct pd_cut cut;
    bool off[MIX_LOADS];
    struct oracle_case c;
};

static void settle(uint64_t seed, size_t most, bool windows, struct settled *s)
{
    struct stream stream = {seed};
    memset(s, 0, sizeof *s);
    s->grown = grow_flexible(&stream, grow_size(&stream, most), windows);
    if (stream_below(&stream, 4) == 0)
        mix_bridge(&stream, &s->grown);
    s->cut = mix_cut(&stream, s->grown.network);
    s->cut.joint_ohm = fmin(s->cut.joint_ohm, 1e4); /* a rounding of the current is volts above */
    s->bench = bench_new(s->grown.network, &s->grown.operating);
    assert_int_equal(pd_tree_solve(s->bench.tree, &s->cut, &s->bench.solution), PD_OK);
    s->c = (struct oracle_case){s->grown.network, &s->grown.operating, &s->cut, s->off};
    if (s->bench.solution.standing == PD_SOLVED)
        assert_true(mix_find_off(&s->grown, &s->cut, &s->bench.solution, s->off) <=
                    PD_RESIDUAL_MAX);
}

static void settled_free(struct settled *s)
{
    bench_free(&s->bench);
    grown_free(&s->grown);
}

static double complex scatter(struct stream *stream, double volts)
{
    return volts * (stream_uniform(stream, -1, 1) + I * stream_uniform(stream, -1, 1));
}

/* How far multiroot ends from the engine's answer, started so many volts beside it; INFINITY where
 * it gets nowhere. */
static double multiroot_from(const struct settled *s, uint64_t seed, double beside_v)
{
    const struct pd_solution *const solution = &s->bench.solution;
    const size_t count = s->grown.network->node_count;
    struct stream stream = {seed};
    struct oracle_answer answer;
    double complex(*const start)[PD_CONDUCTORS] = calloc(count, sizeof *start);
    assert_non_null(start);
    for (size_t i = 0; i < count; i++)
        for (int c = 0; c < PD_CONDUCTORS; c++)
            start[i][c] = afloat(&s->grown, solution, i, c)
                              ? 0
                              : solution->v[i][c] + scatter(&stream, beside_v);
    const bool arrived = oracle_settle(&s->c, (voltages)start, &answer);
    const double difference = farthest(&s->grown, solution, (voltages)answer.v);
    oracle_answer_free(&answer);
    free(start);
    return arrived ? difference : INFINITY;
}

/* Where the supply has broken down, another answer may be so near that 3 V lead to it: a second one
 * that the engine did not find. */
static void check_multiroot(uint64_t seed, size_t *compared, size_t *others)
{
    struct settled s;
    settle(seed, 11, true, &s);
    if (s.bench.solution.standing == PD_SOLVED) {
        const double same_v = 1e-7 * s.grown.operating.supply_v;
        double difference = multiroot_from(&s, ~seed, 3);
        if (!(difference <= same_v)) {
            difference = multiroot_from(&s, ~seed, 0.03);
            ++*others;
        }
        if (!(difference <= same_v))
            fail_msg("seed %llu, %zu nodes, cut %d at section %zu: off by %g V",
                     (unsigned long long)seed, s.grown.network->node_count, (int)s.cut.kind,
                     s.cut.section, difference);
        ++*compared;
    }
    settled_free(&s);
}

static void test_agrees_with_multiroot(void **state)
{
    (void)state;
    size_t compared = 0, others = 0;
    for (uint64_t seed = 1; seed <= 150 * soak(); seed++)
        check_multiroot(seed, &compared, &others);
    print_message("%zu answers compared with multiroot; %zu times it went to another\n", compared,
                  others);
    assert_true(compared > 120 * soak());
    assert_true(others <= compared / 500);
}

/* Whether multiroot, from voltages anywhere, finds another answer than the one presented. Answers
 * of more than 10 kV are those of constant power that is let go at a voltage without bound. */
static bool has_another(const struct settled *s, struct stream *stream)
{
    const struct pd_network *const network = s->grown.network;
    const double supply_v = s->grown.operating.supply_v;
    double complex(*const start)[PD_CONDUCTORS] = calloc(network->node_count, sizeof *start);
    assert_non_null(start);
    bool found = false;
    for (int attempt = 0; attempt < 12 && !found; attempt++) {
        const double complex island_v = scatter(stream, supply_v);
        for (size_t i = 0; i < network->node_count; i++)
            for (int c = 0; c < PD_CONDUCTORS; c++) {
                const bool behind = pd_network_downstream(network, s->cut.section, i);
                start[i][c] = c < PD_N ? supply_v * network->source.unit_emf[c] : 0;
                if (behind)
                    start[i][c] += c < PD_N ? scatter(stream, 0.2 * supply_v) : island_v;
            }
        struct oracle_answer answer;
        const bool arrived = oracle_settle(&s->c, (voltages)start, &answer);
        const double away_v = farthest(&s->grown, &s->bench.solution, (voltages)answer.v);
        found = arrived && away_v > 1e-4 * supply_v && away_v < 1e4 &&
                oracle_residual(&s->c, (voltages)answer.v) <= PD_RESIDUAL_MAX;
        oracle_answer_free(&answer);
    }
    free(start);
    return found;
}

/* The engine searches from a few places; that is no proof that there is one answer only. How often
 * it presents one as the only one where there is another, in mixes harsher than any street. */
static void test_seldom_misses_a_second_answer(void **state)
{
    (void)state;
    size_t presented = 0, missed = 0, ambiguous = 0;
    for (uint64_t seed = 1; seed <= 1500 * soak(); seed++) {
        struct settled s;
        struct stream stream = {~seed};
        settle(seed, 3, (seed & 1u) != 0, &s);
        ambiguous += s.bench.solution.standing == PD_AMBIGUOUS;
        if (s.bench.solution.standing == PD_SOLVED && !pd_tree_linear(s.bench.tree)) {
            presented++;
            missed += has_another(&s, &stream);
        }
        settled_free(&s);
    }
    print_message("%zu answers presented, %zu ambiguous; multiroot found another in %zu\n",
                  presented, ambiguous, missed);
    assert_true(presented > 900 * soak() && ambiguous > 0);
    assert_true(missed <= presented / 1000);
}

/* Power into resistances, Re(I* Z I), and out of the EMFs, from the voltages of an answer. The
 * currents are summed from the loads', so that only true voltages balance. */
struct power {
    double emf_w, lost_w, loads_w, earth_w, size_w;
};

static void add_power(struct power *p, double *part_w, double complex va)
{
    *part_w += creal(va);
    p->size_w += cabs(va);
}

static void power_of_sections(const struct settled *s, double complex (*current)[PD_CONDUCTORS],
                              struct power *p)
{
    const struct pd_network *const network = s->grown.network;
    for (size_t i = 1; i < network->node_count; i++)
        for (int c = 0; c < PD_CONDUCTORS; c++) {
            double complex drop = 0;
            for (int d = 0; d < PD_CONDUCTORS; d++)
                drop += network->node[i].z_ohm.at[c][d] * current[i][d];
            if (c == PD_N && s->cut.kind == PD_CUT_JOINT && s->cut.section == i)
                drop += s->cut.joint_ohm * current[i][c];
            add_power(p, &p->lost_w, drop * conj(current[i][c]));
        }
}

static void power_of_source(const struct settled *s, double complex (*current)[PD_CONDUCTORS],
                            struct power *p)
{
    const struct pd_source *const source = &s->grown.network->source;
    for (int c = 0; c < PD_LINES; c++) {
        const double complex emf = s->grown.operating.supply_v * source->unit_emf[c];
        add_power(p, &p->emf_w, emf * conj(current[0][c]));
        add_power(p, &p->lost_w, source->z_ohm * current[0][c] * conj(current[0][c]));
    }
    add_power(p, &p->earth_w, source->electrode_ohm * current[0][PD_N] * conj(current[0][PD_N]));
}

static void power_of_shunts(const struct settled *s, struct power *p)
{
    const struct pd_network *const network = s->grown.network;
    const struct pd_operating *const operating = &s->grown.operating;
    double complex(*const v)[PD_CONDUCTORS] = s->bench.solution.v;
    for (size_t i = 0; i < network->load_count; i++)
        for (size_t k = 0; k < oracle_elements(&network->load[i]); k++) {
            const struct pd_load *const load = &network->load[i];
            const int *const ends = oracle_ends(load, k);
            const double complex u = v[load->node][ends[0]] - v[load->node][ends[1]];
            if (operating->load_a[i] > 0 && !s->off[i])
                add_power(p, &p->loads_w,
                          u * conj(oracle_draw(network, load, operating->load_a[i], u)));
        }
    for (size_t i = 0; i < operating->tie_count; i++)
        if (isfinite(operating->tie[i].resistance_ohm))
            add_power(
                p, &p->earth_w,
                operating->tie[i].resistance_ohm *
                    pow(cabs(pd_tie_current(network, &operating->tie[i], &s->bench.solution)), 2));
    const struct pd_bridge *const bridge = &operating->bridge;
    if (bridge->admittance_s > 0)
        add_power(p, &p->loads_w,
                  bridge->admittance_s *
                      pow(cabs(v[bridge->node][bridge->line] - v[bridge->node][PD_N]), 2));
}

/* Source: conservation of energy (Tellegen's theorem with each branch's own law). */
static void test_power_balances(void **state)
{
    (void)state;
    size_t checked = 0;
    for (uint64_t seed = 1; seed <= 500 * soak(); seed++) {
        struct settled s;
        settle(seed, 11, true, &s);
        const size_t count = s.grown.network->node_count;
        double complex(*const current)[PD_CONDUCTORS] = calloc(count, sizeof *current);
        assert_non_null(current);
        if (s.bench.solution.standing == PD_SOLVED) {
            struct power p = {0};
            oracle_currents(&s.c, (voltages)s.bench.solution.v, current);
            power_of_source(&s, current, &p);
            power_of_sections(&s, current, &p);
            power_of_shunts(&s, &p);
            const double left_w = p.emf_w - p.lost_w - p.loads_w - p.earth_w;
            /* Loads of some 10 kW nominal, to the residual's 1e-8, where next to nothing flows. */
            if (!(fabs(left_w) <= 1e-7 * p.size_w + 1e-4))
                fail_msg("seed %llu: EMFs give %g W, %g W lost, %g W to loads, %g W to earth",
                         (unsigned long long)seed, p.emf_w, p.lost_w, p.loads_w, p.earth_w);
            checked++;
        }
        free(current);
        settled_free(&s);
    }
    assert_true(checked > 400 * soak());
}

/* A joint swept: what one step cannot explain is looked at in ever smaller ones, until either the
 * step does, or the joint's resistance is the same to nine digits and the voltage is not. */
struct sweep {
    const struct grown *grown;
    struct bench *bench;
    size_t section;
    size_t jumps, solved;
};

static bool solve_joint(struct sweep *sweep, double joint_ohm, double complex *v)
{
    const struct pd_cut cut = {
        .kind = PD_CUT_JOINT, .section = sweep->section, .joint_ohm = joint_ohm};
    struct pd_solution *const solution = &sweep->bench->solution;
    assert_int_equal(pd_tree_solve(sweep->bench->tree, &cut, solution), PD_OK);
    memcpy(v, solution->v, sweep->grown->network->node_count * PD_CONDUCTORS * sizeof *v);
    sweep->solved += solution->standing == PD_SOLVED;
    return solution->standing == PD_SOLVED;
}

static double moved_v(const struct sweep *sweep, const double complex *a, const double complex *b)
{
    double most = 0;
    for (size_t i = 0; i < sweep->grown->network->node_count * PD_CONDUCTORS; i++)
        most = fmax(most, cabs(a[i] - b[i]));
    return most;
}

static void look_between(struct sweep *sweep, double low_ohm, const double complex *low_v,
                         double high_ohm, const double complex *high_v)
{
    if (moved_v(sweep, low_v, high_v) <= 0.02 * sweep->grown->operating.supply_v)
        return;
    if (high_ohm <= low_ohm * (1 + 1e-9)) {
        sweep->jumps++;
        return;
    }
    const size_t bytes = sweep->grown->network->node_count * PD_CONDUCTORS * sizeof *low_v;
    double complex *const middle_v = malloc(bytes);
    assert_non_null(middle_v);
    const double middle_ohm = sqrt(low_ohm * high_ohm);
    if (solve_joint(sweep, middle_ohm, middle_v)) {
        look_between(sweep, low_ohm, low_v, middle_ohm, middle_v);
        look_between(sweep, middle_ohm, middle_v, high_ohm, high_v);
    }
    free(middle_v);
}

/* The end of the sweep against the case that it leads to. */
static void check_end(struct sweep *sweep, const struct pd_cut *cut, const double complex *end_v,
                      double within_v)
{
    struct pd_solution *const solution = &sweep->bench->solution;
    assert_int_equal(pd_tree_solve(sweep->bench->tree, cut, solution), PD_OK);
    if (solution->standing == PD_SOLVED)
        assert_true(farthest(sweep->grown, solution, (voltages)end_v) <= within_v);
}

static void sweep_joint(struct sweep *sweep)
{
    const size_t count = sweep->grown->network->node_count * PD_CONDUCTORS;
    double complex *last_v = calloc(count, sizeof *last_v), *v = calloc(count, sizeof *v);
    assert_true(last_v != NULL && v != NULL);
    double last_ohm = 0;
    bool was_solved = false;
    for (int step = 0; step <= 12 * 8; step++) {
        const double ohm = pow(10, -3 + step / 8.0);
        const bool solved = solve_joint(sweep, ohm, v);
        if (step == 0 && solved) /* the joint's drop, and what that moves elsewhere */
            check_end(sweep, &whole, v, 5e-3 * sweep->grown->operating.supply_v);
        if (was_solved && solved)
            look_between(sweep, last_ohm, last_v, ohm, v);
        double complex *const keep = last_v;
        last_v = v;
        v = keep;
        was_solved = solved;
        last_ohm = ohm;
    }
    const struct pd_cut open = {.kind = PD_CUT_OPEN, .section = sweep->section};
    if (was_solved)
        check_end(sweep, &open, last_v, 1e-4 * sweep->grown->operating.supply_v);
    free(last_v);
    free(v);
}

static void test_continuous_as_a_joint_opens(void **state)
{
    (void)state;
    size_t solved = 0, jumps = 0;
    for (uint64_t seed = 1; seed <= 60 * soak(); seed++) {
        struct stream stream = {seed};
        struct grown grown = grow_flexible(&stream, grow_size(&stream, 8), false);
        struct bench bench = bench_new(grown.network, &grown.operating);
        struct sweep sweep = {&grown, &bench,
                              1 + stream_below(&stream, grown.network->node_count - 1), 0, 0};
        sweep_joint(&sweep);
        if (sweep.jumps > 0)
            print_message("seed %llu: %zu jumps\n", (unsigned long long)seed, sweep.jumps);
        solved += sweep.solved;
        jumps += sweep.jumps;
        bench_free(&bench);
        grown_free(&grown);
    }
    print_message("%zu joints solved\n", solved);
    assert_true(solved > 4000 * soak());
    assert_int_equal(jumps, 0);
}

/* With a line and the PEN changed over, and with a bridge: loads of constant impedance by dense
 * LU. Other loads are in test_agrees_with_multiroot. */
static void test_crossed_and_bridged_agree_with_dense_lu(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 400 * soak(); seed++) {
        struct stream stream = {seed};
        struct grown grown;
        const struct growth growth = {.system = (enum pd_system)stream_below(&stream, PD_SYSTEMS),
                                      .sections = grow_size(&stream, 25),
                                      .mutuals = true};
        grow(&stream, &growth, &grown);
        struct pd_cut cut = mix_cut(&stream, grown.network);
        if (seed % 3 == 0)
            cut.kind = PD_CUT_CROSSED;
        else
            mix_bridge(&stream, &grown);
        struct bench bench = bench_new(grown.network, &grown.operating);
        assert_int_equal(pd_tree_solve(bench.tree, &cut, &bench.solution), PD_OK);
        assert_int_equal(bench.solution.standing, PD_SOLVED);
        const bool floats =
            cut.kind == PD_CUT_OPEN && !oracle_tied(grown.network, &grown.operating, cut.section);
        assert_int_equal(floats, bench.solution.floating != PD_NONE);
        struct oracle_answer answer;
        oracle_solve(grown.network, &grown.operating, &cut, floats, &answer);
        const double difference = farthest(&grown, &bench.solution, (voltages)answer.v);
        if (!(difference <= 1e-9 * grown.operating.supply_v))
            fail_msg("seed %llu, cut %d: off by %g V", (unsigned long long)seed, (int)cut.kind,
                     difference);
        oracle_answer_free(&answer);
        bench_free(&bench);
        grown_free(&grown);
    }
}

/* The same state with every load of constant impedance, of current times `scale`. */
static void as_impedances(struct grown *grown, double scale, const struct pd_behaviour **keep)
{
    for (size_t i = 0; i < grown->network->load_count; i++) {
        keep[i] = grown->network->load[i].behaviour;
        grown->network->load[i].behaviour = pd_behaviours[0];
        grown->load_a[i] *= scale;
    }
}

/* At nominal voltage every behaviour draws the same; as all currents shrink, voltages go to
 * nominal, and what is left of the difference to impedances shrinks with the square. An inverter
 * is the impedance of opposite sign, which the engine has not: inverters are switched off. */
static double difference_to_impedance(uint64_t seed, double scale)
{
    struct stream stream = {seed};
    struct grown grown = grow_flexible(&stream, grow_size(&stream, 8), true);
    const struct pd_behaviour *keep[MIX_LOADS];
    for (size_t i = 0; i < grown.network->load_count; i++) {
        struct pd_load *const load = &grown.network->load[i];
        grown.load_a[i] *= load->behaviour->generates ? 0 : scale;
        load->low_v = load->high_v = NAN;
    }
    grown.operating.supply_v = grown.network->nominal_v;
    struct bench flexible = bench_new(grown.network, &grown.operating);
    assert_int_equal(pd_tree_solve(flexible.tree, &whole, &flexible.solution), PD_OK);
    as_impedances(&grown, 1, keep);
    struct bench linear = bench_new(grown.network, &grown.operating);
    assert_int_equal(pd_tree_solve(linear.tree, &whole, &linear.solution), PD_OK);
    assert_int_equal(linear.solution.standing, PD_SOLVED);
    const double difference =
        flexible.solution.standing != PD_SOLVED
            ? NAN
            : farthest(&grown, &linear.solution, (voltages)flexible.solution.v);
    bench_free(&linear);
    bench_free(&flexible);
    grown_free(&grown);
    return difference;
}

static void test_small_currents_are_those_of_impedances(void **state)
{
    (void)state;
    size_t checked = 0;
    for (uint64_t seed = 1; seed <= 200 * soak(); seed++) {
        const double some = difference_to_impedance(seed, 0.01);
        const double less = difference_to_impedance(seed, 0.001);
        assert_true(less <= 1e-3);
        if (!(some > 1e-5))
            continue;
        assert_close(less / some, 0.01, 0.1, 0);
        checked++;
    }
    print_message("%zu of second order\n", checked);
    assert_true(checked > 30 * soak());
}

/* Where the fall-back covers every voltage, or a mixture is all impedance, the load is one. The
 * impedance of the same current at low_v is of In Un/low_v, of the same power In (Un/low_v)^2. */
static void test_fallen_back_is_an_impedance(void **state)
{
    (void)state;
    size_t checked = 0;
    for (uint64_t seed = 1; seed <= 200 * soak(); seed++) {
        struct stream stream = {seed};
        struct grown grown = grow_flexible(&stream, grow_size(&stream, 8), false);
        const struct pd_cut cut = mix_cut(&stream, grown.network);
        const struct pd_behaviour *keep[MIX_LOADS];
        for (size_t i = 0; i < grown.network->load_count; i++) {
            struct pd_load *const load = &grown.network->load[i];
            load->low_v = 20 * grown.network->nominal_v;
            load->part[0] = 1;
            load->part[1] = load->part[2] = 0;
        }
        struct bench bench = bench_new(grown.network, &grown.operating);
        assert_int_equal(pd_tree_solve(bench.tree, &cut, &bench.solution), PD_OK);
        as_impedances(&grown, 1, keep);
        for (size_t i = 0; i < grown.network->load_count; i++) {
            const struct pd_load *const load = &grown.network->load[i];
            const double part = pd_phase_voltage(load->phase, grown.network->system, 1) / 20;
            const bool current = strcmp(keep[i]->name, "current") == 0;
            const bool power = strcmp(keep[i]->name, "power") == 0;
            grown.load_a[i] *= power ? part * part : current ? part : 1;
        }
        struct bench linear = bench_new(grown.network, &grown.operating);
        assert_int_equal(pd_tree_solve(linear.tree, &cut, &linear.solution), PD_OK);
        assert_int_equal(bench.solution.floating, linear.solution.floating);
        if (bench.solution.standing == PD_SOLVED) {
            assert_true(farthest(&grown, &linear.solution, (voltages)bench.solution.v) <=
                        1e-8 * grown.operating.supply_v);
            checked++;
        }
        bench_free(&linear);
        bench_free(&bench);
        grown_free(&grown);
    }
    print_message("%zu fallen back\n", checked);
    assert_true(checked > 190 * soak());
}

/* Whether two answers are the same, to the last bit. */
static bool same_bytes(const struct pd_network *network, const struct pd_solution *a,
                       const struct pd_solution *b)
{
    return a->standing == b->standing && a->iterations == b->iterations && a->let_go == b->let_go &&
           a->floating == b->floating &&
           memcmp(&a->residual, &b->residual, sizeof a->residual) == 0 &&
           memcmp(a->v, b->v, network->node_count * sizeof *a->v) == 0;
}

/* An answer is the same in a new engine and after other cuts, and again. */
static void test_nothing_is_left_behind(void **state)
{
    (void)state;
    size_t gone = 0;
    for (uint64_t seed = 1; seed <= 400 * soak(); seed++) {
        struct settled s;
        settle(seed, 8, true, &s);
        struct bench other = bench_new(s.grown.network, &s.grown.operating);
        struct stream stream = {~seed};
        for (int i = 0; i < 3; i++) {
            const struct pd_cut cut = mix_cut(&stream, s.grown.network);
            assert_int_equal(pd_tree_solve(other.tree, &cut, &other.solution), PD_OK);
            gone += other.solution.let_go > 0;
        }
        for (int i = 0; i < 2; i++) {
            assert_int_equal(pd_tree_solve(other.tree, &s.cut, &other.solution), PD_OK);
            assert_true(same_bytes(s.grown.network, &s.bench.solution, &other.solution));
        }
        bench_free(&other);
        settled_free(&s);
    }
    assert_true(gone > 50 * soak());
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_agrees_with_multiroot),
        cmocka_unit_test(test_seldom_misses_a_second_answer),
        cmocka_unit_test(test_power_balances),
        cmocka_unit_test(test_continuous_as_a_joint_opens),
        cmocka_unit_test(test_crossed_and_bridged_agree_with_dense_lu),
        cmocka_unit_test(test_small_currents_are_those_of_impedances),
        cmocka_unit_test(test_fallen_back_is_an_impedance),
        cmocka_unit_test(test_nothing_is_left_behind),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
