/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "mix.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "solve/lane_room.h"

/* Searches side by side against each by itself, on the same matrices: anderson.c and newton.c with
 * GSL's LU are another road than lane_mix.c and lane_newton.c. What both are held to is the tree
 * engine, in test_batch.c. And what a lane finds must not depend on its neighbours. */

enum { STATES = 32, PROBES = 4 };

/* Calls to the library's memory; linked with --wrap. */
static size_t allocations;
void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__real_aligned_alloc(size_t whole, size_t size);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_aligned_alloc(size_t whole, size_t size);

void *__wrap_malloc(size_t size)
{
    allocations++;
    return __real_malloc(size);
}

void *__wrap_calloc(size_t count, size_t size)
{
    allocations++;
    return __real_calloc(count, size);
}

void *__wrap_aligned_alloc(size_t whole, size_t size)
{
    allocations++;
    return __real_aligned_alloc(whole, size);
}

/* A grown network with loads of every behaviour, states of it, and the PEN of every section open,
 * or a joint, or whole. */
struct trial {
    struct grown grown;
    double *load_a, *tie_ohm; /* [STATES][load_count], [STATES][tie_count] */
    double supply_v[STATES];
    struct pd_cut *cut;
    size_t cut_count;
    struct pd_probe probe[PROBES];
    struct pd_batch_settings settings;
};

static void fill_states(struct stream *stream, struct trial *t)
{
    const size_t loads = t->grown.network->load_count, ties = t->grown.operating.tie_count;
    for (size_t s = 0; s < STATES; s++) {
        t->supply_v[s] = stream_uniform(stream, 200, 260);
        for (size_t i = 0; i < loads; i++)
            t->load_a[s * loads + i] = stream_below(stream, 6) == 0
                                           ? 0
                                           : t->grown.load_a[i] * stream_uniform(stream, 0, 2);
        for (size_t i = 0; i < ties; i++)
            t->tie_ohm[s * ties + i] =
                t->grown.tie[i].resistance_ohm * stream_uniform(stream, 0.5, 4);
    }
}

static void trial_new(uint64_t seed, size_t sections, bool windows, struct trial *t)
{
    struct stream stream = {seed};
    *t = (struct trial){0};
    const struct growth growth = {.system = (enum pd_system)(seed % PD_SYSTEMS),
                                  .sections = 1 + stream_below(&stream, sections)};
    grow(&stream, &growth, &t->grown);
    mix_behaviours(&stream, &t->grown, windows);
    const struct pd_network *const network = t->grown.network;
    const size_t ties = t->grown.operating.tie_count;
    t->load_a = calloc(STATES * network->load_count + 1, sizeof *t->load_a);
    t->tie_ohm = calloc(STATES * ties + 1, sizeof *t->tie_ohm);
    t->cut = calloc(2 * network->node_count, sizeof *t->cut);
    assert_true(t->load_a != NULL && t->tie_ohm != NULL && t->cut != NULL);
    fill_states(&stream, t);
    t->cut[t->cut_count++] = (struct pd_cut){.kind = PD_CUT_NONE};
    for (size_t i = 1; i < network->node_count; i++)
        t->cut[t->cut_count++] = stream_below(&stream, 4) == 0
                                     ? grow_cut(&stream, network, PD_CUT_JOINT)
                                     : (struct pd_cut){.kind = PD_CUT_OPEN, .section = i};
    for (size_t i = 0; i < PROBES; i++)
        t->probe[i] = (struct pd_probe){.node = stream_below(&stream, network->node_count),
                                        .conductor = (int)stream_below(&stream, PD_CONDUCTORS)};
    t->settings = (struct pd_batch_settings){.network = network,
                                             .tie = t->grown.tie,
                                             .tie_count = ties,
                                             .cut = t->cut,
                                             .cut_count = t->cut_count,
                                             .probe = t->probe,
                                             .probe_count = PROBES,
                                             .threads = 1};
}

static void trial_free(struct trial *t)
{
    grown_free(&t->grown);
    free(t->load_a);
    free(t->tie_ohm);
    free(t->cut);
}

static struct pd_batch_input input_of(const struct trial *t)
{
    return (struct pd_batch_input){
        .count = STATES, .load_a = t->load_a, .supply_v = t->supply_v, .tie_ohm = t->tie_ohm};
}

/* What was compared. */
struct tally {
    size_t pairs, otherwise, solved, voltages, far;
    double worst;
};

static void compare_group(const struct pd_batch_kept *kept, const struct pd_group *lanes,
                          const struct pd_group *alone, const double *supply_v, struct tally *tally)
{
    for (size_t column = 0; column < kept->columns; column++)
        for (size_t lane = 0; lane < lanes->count; lane++) {
            const size_t pair = column * PD_LANES + lane;
            tally->pairs++;
            tally->solved += lanes->standing[pair] == PD_SOLVED;
            if (lanes->standing[pair] != alone->standing[pair]) {
                tally->otherwise++;
                continue;
            }
            for (size_t k = 0; k < PROBES; k++) {
                const size_t at = (column * PROBES + k) * PD_LANES + lane;
                assert_int_equal(isnan(lanes->re[at]), isnan(alone->re[at]));
                if (isnan(lanes->re[at]))
                    continue;
                const double apart =
                    hypot(lanes->re[at] - alone->re[at], lanes->im[at] - alone->im[at]) /
                    supply_v[lanes->first + lane];
                tally->voltages++;
                tally->far += !(apart <= 1e-9);
                tally->worst = fmax(tally->worst, apart);
            }
        }
}

static struct pd_group group_new(const struct pd_batch_kept *kept)
{
    const size_t pairs = kept->columns * PD_LANES;
    const struct pd_group group = {.re = calloc(pairs * PROBES, sizeof *group.re),
                                   .im = calloc(pairs * PROBES, sizeof *group.im),
                                   .standing = calloc(pairs, 1)};
    assert_true(group.re != NULL && group.im != NULL && group.standing != NULL);
    return group;
}

static void group_free(struct pd_group *group)
{
    free(group->re);
    free(group->im);
    free(group->standing);
}

/* Each group of a trial by both roads. */
static void compare_roads(const struct trial *t, struct tally *tally)
{
    struct pd_batch_kept kept = {.settings = t->settings, .columns = t->cut_count};
    struct pd_plan *plan;
    struct pd_lane_worker *worker;
    const struct pd_batch_input input = input_of(t);
    kept.column = calloc(t->cut_count, sizeof *kept.column);
    kept.cut = calloc(t->cut_count, sizeof *kept.cut);
    assert_true(kept.column != NULL && kept.cut != NULL);
    memcpy(kept.cut, t->cut, t->cut_count * sizeof *kept.cut);
    for (size_t i = 0; i < t->cut_count; i++)
        kept.column[i] = i;
    assert_int_equal(pd_plan_new(&kept, &plan), PD_OK);
    if (plan != NULL && plan->ports > 0) {
        struct pd_group lanes = group_new(&kept), alone = group_new(&kept);
        assert_int_equal(pd_lane_worker_new(&kept, plan, &worker), PD_OK);
        lanes.count = alone.count = PD_LANES;
        for (size_t first = 0; first < STATES; first += PD_LANES) {
            lanes.first = alone.first = first;
            assert_int_equal(pd_lane_worker_solve(worker, &input, &lanes), PD_OK);
            assert_int_equal(pd_lane_settle_alone(worker, &input, &alone), PD_OK);
            compare_group(&kept, &lanes, &alone, t->supply_v, tally);
        }
        pd_lane_worker_free(&worker);
        group_free(&lanes);
        group_free(&alone);
    }
    pd_plan_free(&plan);
    free(kept.column);
    free(kept.cut);
}

/* Rounding lets one arrive now and then where the other does not, or parts them where the
 * derivative is next to singular: 0.2 % at most of either. */
static void check_roads(size_t trials, size_t sections, bool windows)
{
    struct tally tally = {0};
    for (uint64_t seed = 1; seed <= trials * soak(); seed++) {
        struct trial trial;
        trial_new(seed, sections, windows, &trial);
        compare_roads(&trial, &tally);
        trial_free(&trial);
    }
    print_message("%zu pairs, %zu solved, %zu stand otherwise; %zu voltages, %zu further apart "
                  "than 1e-9 of the supply, at worst %.1e\n",
                  tally.pairs, tally.solved, tally.otherwise, tally.voltages, tally.far,
                  tally.worst);
    assert_true(tally.solved >= 1000 && tally.solved >= tally.pairs / 2);
    assert_true(tally.otherwise <= tally.pairs / 500);
    assert_true(tally.far <= tally.voltages / 500);
    assert_true(tally.worst <= 1e-6);
}

static void test_few_ports(void **state)
{
    (void)state;
    check_roads(40, 10, true);
}

/* More than Newton's method begins with, and lanes whose states have other ports on. */
static void test_many_ports(void **state)
{
    (void)state;
    check_roads(4, 40, false);
}

/* Answers by state and cut, however they were come by. */
struct answers {
    struct pd_batch *batch;
    struct pd_batch_output output;
};

static void solve_order(const struct trial *t, const size_t *order, size_t count, size_t threads,
                        struct answers *a)
{
    const size_t loads = t->grown.network->load_count, ties = t->grown.operating.tie_count;
    struct pd_batch_settings settings = t->settings;
    double *const load_a = calloc(count * loads + 1, sizeof *load_a);
    double *const tie_ohm = calloc(count * ties + 1, sizeof *tie_ohm);
    double supply_v[STATES];
    assert_true(load_a != NULL && tie_ohm != NULL);
    for (size_t i = 0; i < count; i++) {
        memcpy(load_a + i * loads, t->load_a + order[i] * loads, loads * sizeof *load_a);
        memcpy(tie_ohm + i * ties, t->tie_ohm + order[i] * ties, ties * sizeof *tie_ohm);
        supply_v[i] = t->supply_v[order[i]];
    }
    const struct pd_batch_input input = {
        .count = count, .load_a = load_a, .supply_v = supply_v, .tie_ohm = tie_ohm};
    settings.threads = threads;
    assert_int_equal(pd_batch_new(&settings, &a->batch), PD_OK);
    assert_int_equal(pd_batch_output_new(a->batch, count, &a->output), PD_OK);
    assert_int_equal(pd_batch_solve(a->batch, &input, &a->output, NULL, NULL), PD_OK);
    free(load_a);
    free(tie_ohm);
}

static void answers_free(struct answers *a)
{
    pd_batch_output_free(&a->output);
    pd_batch_free(&a->batch);
}

/* To the last bit. Returns how many are numbers. */
static size_t assert_same(const struct trial *t, const struct answers *a, size_t in_a,
                          const struct answers *b, size_t in_b)
{
    size_t numbers = 0;
    for (size_t c = 0; c < t->cut_count; c++) {
        assert_int_equal(pd_batch_standing(a->batch, &a->output, in_a, c),
                         pd_batch_standing(b->batch, &b->output, in_b, c));
        for (size_t k = 0; k < PROBES; k++) {
            const double complex one = pd_batch_voltage(a->batch, &a->output, in_a, c, k);
            const double complex other = pd_batch_voltage(b->batch, &b->output, in_b, c, k);
            assert_memory_equal(&one, &other, sizeof one);
            numbers += isnan(creal(one)) == 0;
        }
    }
    return numbers;
}

/* The states in another order, by three threads; and each by itself. */
static void test_neighbours(void **state)
{
    (void)state;
    size_t numbers = 0;
    for (uint64_t seed = 1; seed <= 20; seed++) {
        struct trial trial;
        struct stream stream = {seed};
        size_t straight[STATES], order[STATES];
        struct answers first, other;
        trial_new(seed, 12, true, &trial);
        for (size_t i = 0; i < STATES; i++)
            straight[i] = order[i] = i;
        for (size_t i = STATES; i-- > 1;) {
            const size_t k = stream_below(&stream, i + 1), keep = order[i];
            order[i] = order[k];
            order[k] = keep;
        }
        solve_order(&trial, straight, STATES, 1, &first);
        solve_order(&trial, order, STATES, 3, &other);
        for (size_t i = 0; i < STATES; i++)
            numbers += assert_same(&trial, &first, order[i], &other, i);
        answers_free(&other);
        for (size_t i = 0; i < STATES; i += 5) {
            solve_order(&trial, &straight[i], 1, 1, &other);
            assert_same(&trial, &first, i, &other, 0);
            answers_free(&other);
        }
        answers_free(&first);
        trial_free(&trial);
    }
    assert_true(numbers > 10000);
}

/* Solved once, for what the tree engine makes when first asked, a batch takes no more memory. */
static void test_no_allocation(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 10; seed++) {
        struct trial trial;
        struct pd_batch *batch;
        struct pd_batch_output output;
        trial_new(seed, 10, true, &trial);
        const struct pd_batch_input input = input_of(&trial);
        const size_t before = allocations;
        assert_int_equal(pd_batch_new(&trial.settings, &batch), PD_OK);
        assert_true(allocations > before);
        assert_int_equal(pd_batch_output_new(batch, STATES, &output), PD_OK);
        assert_int_equal(pd_batch_solve(batch, &input, &output, NULL, NULL), PD_OK);
        const size_t made = allocations;
        assert_int_equal(pd_batch_solve(batch, &input, &output, NULL, NULL), PD_OK);
        assert_int_equal(allocations, made);
        pd_batch_output_free(&output);
        pd_batch_free(&batch);
        trial_free(&trial);
    }
}

static bool stop_at_once(size_t done, size_t count, void *context)
{
    assert_true(done <= count);
    ++*(size_t *)context;
    return false;
}

static void test_cancelling(void **state)
{
    (void)state;
    struct trial trial;
    struct pd_batch *batch;
    struct pd_batch_output output;
    size_t called = 0;
    trial_new(3, 10, true, &trial);
    const struct pd_batch_input input = input_of(&trial);
    assert_int_equal(pd_batch_new(&trial.settings, &batch), PD_OK);
    assert_int_equal(pd_batch_output_new(batch, STATES, &output), PD_OK);
    assert_int_equal(pd_batch_solve(batch, &input, &output, stop_at_once, &called),
                     PD_ERR_INTERRUPTED);
    assert_int_equal(called, 1);
    /* and it is as good as new */
    assert_int_equal(pd_batch_solve(batch, &input, &output, NULL, NULL), PD_OK);
    pd_batch_output_free(&output);
    pd_batch_free(&batch);
    trial_free(&trial);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_few_ports),  cmocka_unit_test(test_many_ports),
        cmocka_unit_test(test_neighbours), cmocka_unit_test(test_no_allocation),
        cmocka_unit_test(test_cancelling),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
