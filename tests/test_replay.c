/* SPDX-License-Identifier: GPL-3.0-or-later */

/* The replay against the slow way by hand: each row's loads put into the plain tree engine (itself
 * held to ngspice and dense LU elsewhere), each section opened, each supply voltage solved, each
 * device asked; and hours, curves and lists counted one by one. Profiles are random; the seed is
 * printed. */

#include "record.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "study/replay.h"

enum { ROWS = 40, SCAN = 400 };

static struct pd_replay *replay(const struct pd_case *c, const struct record *record,
                                enum pd_replay_supply supply, struct told *told)
{
    struct pd_errors errors = {0};
    struct pd_replay *r = NULL;
    told->room = record->rows * c->network->node_count;
    told->answer = room(told->room, sizeof *told->answer);
    told->moment = room(record->rows, sizeof *told->moment);
    const struct pd_replay_settings settings = {
        .profile = record->path,
        .profile_name = "random",
        .section = PD_NONE,
        .supply = supply,
        .worst = 5,
        .threads = 1,
        .answer = tell_answer,
        .moment = tell_moment,
        .context = told,
    };
    const enum pd_status status = pd_replay(c, &settings, &r, &errors);
    if (status != PD_OK)
        fail_msg("status %d: %s", status, errors.kept[0].text);
    return r;
}

/* What a row and section come to by hand over the supply voltages given: of a linear network those
 * between too, by proportion. */
struct by_hand {
    double touch_v, unseen_v;
    bool unknown, doubtful; /* doubtful: on the limit, where rounding decides */
};

static bool is_linear(const struct pd_network *network)
{
    for (size_t i = 0; i < network->load_count; i++)
        if (!network->load[i].behaviour->linear)
            return false;
    return true;
}

static void look(const struct hand *h, const struct pd_case *c, double scale, double touch_v,
                 struct by_hand *hand)
{
    const double own_v = scale * touch_v;
    hand->touch_v = fmax(hand->touch_v, own_v);
    hand->doubtful |= fabs(own_v - c->limits.touch_v) < 1e-6;
    if (own_v > c->limits.touch_v && !hand_acts(h, c, scale))
        hand->unseen_v = fmax(hand->unseen_v, own_v);
}

static struct by_hand by_hand(struct hand *h, const struct pd_case *c, const struct record *record,
                              size_t row, size_t section)
{
    const double supply_v[] = {c->supply_v, c->limits.supply_low_v, c->limits.supply_high_v};
    const bool linear = is_linear(c->network);
    struct by_hand hand = {.touch_v = NAN};
    for (size_t i = 0; i < (linear ? 1 : 3); i++) {
        if (!hand_row(h, c, record, row, supply_v[i])) {
            hand.unknown = true;
            return hand;
        }
        const double touch_v = hand_touch(h, c, section);
        if (isnan(touch_v)) {
            hand.unknown = true;
            continue;
        }
        look(h, c, 1, touch_v, &hand);
        for (size_t k = 0; linear && k <= SCAN; k++)
            look(h, c, (supply_v[1] + (supply_v[2] - supply_v[1]) * (double)k / SCAN) / supply_v[0],
                 touch_v, &hand);
    }
    return hand;
}

/* The scan by hand has steps, the replay goes to a device's very edge: it may find a little more,
 * and where only it finds anything, that must hold at the supply voltage that it implies. */
static void compare_unseen(const struct hand *h, const struct pd_case *c,
                           const struct pd_replay_answer *got, const struct by_hand *hand,
                           double declared_touch_v)
{
    const double limit_v = c->limits.touch_v;
    if (!is_linear(c->network)) {
        assert_close(got->unseen_v, hand->unseen_v, 1e-9, 0);
        return;
    }
    assert_true(got->unseen_v >= hand->unseen_v - 1e-6);
    if (got->unseen_v == 0)
        return;
    const double scale = got->unseen_v / declared_touch_v;
    assert_true(got->unseen_v > limit_v && got->unseen_v <= hand->touch_v + 1e-6);
    assert_true(scale * c->supply_v >= c->limits.supply_low_v - 1e-6);
    assert_true(scale * c->supply_v <= c->limits.supply_high_v + 1e-6);
    assert_false(hand_acts(h, c, scale));
}

/* Each answer of a record, and what the sums should be. */
struct count {
    double over_h, unseen_h, unknown_h;
    double over_10_v_h[PD_REPLAY_LEVELS];
};

static void compare_answer(struct hand *h, const struct pd_case *c, const struct record *record,
                           size_t row, const struct pd_replay_answer *got)
{
    const struct by_hand hand = by_hand(h, c, record, row, got->section);
    if (hand.doubtful)
        return;
    if (isnan(hand.touch_v))
        assert_true(isnan(got->touch_v));
    else
        assert_close(got->touch_v, hand.touch_v, 1e-9, 1e-7);
    const bool over = hand.touch_v > c->limits.touch_v;
    assert_int_equal(got->touch, over ? PD_OVER : hand.unknown ? PD_UNKNOWN : PD_WITHIN);
    if (!over) {
        assert_true(hand.unknown ? isnan(got->unseen_v) : got->unseen_v == 0);
        return;
    }
    double declared_v = NAN;
    if (is_linear(c->network)) {
        hand_row(h, c, record, row, c->supply_v);
        declared_v = hand_touch(h, c, got->section);
    }
    compare_unseen(h, c, got, &hand, declared_v);
}

static void add_up(const struct pd_replay_answer *answer, struct count *count)
{
    count->over_h += answer->touch == PD_OVER ? 0.5 : 0;
    count->unknown_h += answer->touch == PD_UNKNOWN ? 0.5 : 0;
    count->unseen_h += answer->unseen_v > 0 ? 0.5 : 0;
    for (size_t i = 0; i < PD_REPLAY_LEVELS; i++)
        count->over_10_v_h[i] += answer->touch_v > 10.0 * (double)i ? 0.5 : 0;
}

/* Sums of each section against a count of what was told. */
static void compare_sections(const struct pd_replay *r, const struct told *told, size_t rows)
{
    for (size_t s = 0; s < r->section_count; s++) {
        struct count count = {0};
        const struct pd_replay_section *const section = &r->section[s];
        double most_v = -1, most_unseen_v = 0;
        for (size_t row = 0; row < rows; row++) {
            const struct pd_replay_answer *const answer = &told->answer[row * r->section_count + s];
            assert_int_equal(answer->section, section->section);
            add_up(answer, &count);
            most_v = fmax(most_v, answer->touch_v);
            most_unseen_v = fmax(most_unseen_v, answer->unseen_v);
        }
        assert_close(section->over_h, count.over_h, 0, 1e-12);
        assert_close(section->unseen_h, count.unseen_h, 0, 1e-12);
        assert_close(section->unknown_h, count.unknown_h, 0, 1e-12);
        for (size_t i = 0; i < PD_REPLAY_LEVELS; i++)
            assert_close(section->over_level_h[i], count.over_10_v_h[i], 0, 1e-12);
        assert_int_equal(section->touch.there, most_v >= 0);
        assert_int_equal(section->unseen.there, most_unseen_v > 0);
        if (section->touch.there)
            assert_close(section->touch.touch_v, most_v, 0, 1e-6);
        if (section->unseen.there)
            assert_close(section->unseen.touch_v, most_unseen_v, 0, 1e-6);
    }
}

/* Sums over the sections of each moment. */
static void compare_moments(const struct pd_replay *r, const struct told *told, size_t rows)
{
    struct count all = {0};
    double incomplete_h = 0, curve_h[PD_REPLAY_CURVE] = {0};
    for (size_t row = 0; row < rows; row++) {
        const struct pd_replay_moment *const moment = &told->moment[row];
        struct count own = {0};
        double most_v = NAN;
        for (size_t s = 0; s < r->section_count; s++) {
            const struct pd_replay_answer *const answer = &told->answer[row * r->section_count + s];
            add_up(answer, &own);
            most_v = fmax(most_v, answer->touch_v);
        }
        assert_close(moment->hours, 0.5, 1e-12, 0);
        assert_int_equal(moment->over, (size_t)(2 * own.over_h));
        assert_int_equal(moment->unseen, (size_t)(2 * own.unseen_h));
        assert_int_equal(moment->unknown, (size_t)(2 * own.unknown_h));
        assert_true(isnan(most_v) ? isnan(moment->touch_v)
                                  : close_enough(moment->touch_v, most_v, 0, 1e-6));
        all.over_h += own.over_h > 0 ? 0.5 : 0;
        all.unseen_h += own.unseen_h > 0 ? 0.5 : 0;
        all.unknown_h += own.unknown_h > 0 && own.over_h == 0 ? 0.5 : 0;
        incomplete_h += own.unknown_h > 0 ? 0.5 : 0;
        /* Whole volts are passed by more than rounding, half a microvolt. */
        for (size_t i = 0; i < PD_REPLAY_CURVE; i++)
            curve_h[i] += most_v - (double)i >= 0.5e-6 ? 0.5 : 0;
    }
    assert_close(r->hours, 0.5 * (double)rows, 1e-12, 0);
    assert_close(r->over_h, all.over_h, 0, 1e-12);
    assert_close(r->unseen_h, all.unseen_h, 0, 1e-12);
    assert_close(r->unknown_h, all.unknown_h, 0, 1e-12);
    assert_close(r->incomplete_h, incomplete_h, 0, 1e-12);
    for (size_t i = 1; i < PD_REPLAY_CURVE; i++)
        assert_close(r->over_curve_h[i], curve_h[i], 0, 1e-12);
}

static void compare_worst(const struct pd_replay *r, const struct told *told, size_t rows)
{
    bool *const taken = room(rows, sizeof *taken);
    for (size_t i = 0; i < r->worst_count; i++) {
        size_t best = PD_NONE;
        for (size_t row = 0; row < rows; row++)
            if (!taken[row] && !isnan(told->moment[row].touch_v) &&
                (best == PD_NONE || told->moment[row].touch_v > told->moment[best].touch_v + 1e-6))
                best = row;
        assert_int_equal(r->worst[i].moment, best);
        assert_true(r->worst[i].checked);
        assert_close(r->worst[i].touch_v, told->moment[best].touch_v, 0, 1e-9);
        taken[best] = true;
    }
    assert_true(r->worst_count > 0);
    assert_int_equal(r->unchecked, 0);
    assert_true(r->largest_residual < 1e-8);
    free(taken);
}

static void check_case(const char *name, size_t rows, uint64_t seed)
{
    struct study s = {0};
    struct record record;
    struct told told = {0};
    struct hand hand;
    study_open_example(&s, name);
    const struct pd_case *const c = s.study_case;
    make_record(&record, c->network, rows, seed, true);
    struct pd_replay *r = replay(c, &record, PD_REPLAY_RANGE, &told);
    hand_open(&hand, c);
    assert_int_equal(told.moments, rows);
    assert_int_equal(told.answers, rows * r->section_count);
    for (size_t row = 0; row < rows; row++)
        for (size_t i = 0; i < r->section_count; i++)
            compare_answer(&hand, c, &record, row, &told.answer[row * r->section_count + i]);
    compare_sections(r, &told, rows);
    compare_moments(r, &told, rows);
    compare_worst(r, &told, rows);
    hand_close(&hand);
    pd_replay_free(&r);
    free_told(&told);
    free_record(&record);
    study_close(&s);
}

static void test_linear(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= soak(); seed++) {
        check_case("street", ROWS, seed);
        check_case("farm-split-phase", ROWS, seed);
        check_case("house-tt-point", ROWS, seed);
        check_case("workshop-balanced", ROWS, seed);
    }
}

static void test_not_linear(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= soak(); seed++) {
        check_case("vehicle-lets-go", ROWS, seed);
        check_case("house-inverter", ROWS, seed);
        check_case("street-constant-power", 12, seed);
    }
}

/* One supply voltage only: the declared one, or the top of the range. */
static void check_supply(const char *name, enum pd_replay_supply supply)
{
    struct study s = {0};
    struct record record;
    struct told told = {0};
    struct hand hand;
    study_open_example(&s, name);
    const struct pd_case *const c = s.study_case;
    const double supply_v = supply == PD_REPLAY_TOP ? c->limits.supply_high_v : c->supply_v;
    assert_true(c->limits.supply_high_v > c->supply_v);
    make_record(&record, c->network, 12, 11, false);
    struct pd_replay *r = replay(c, &record, supply, &told);
    hand_open(&hand, c);
    for (size_t i = 0; i < told.answers; i++) {
        hand_row(&hand, c, &record, i / r->section_count, supply_v);
        const double touch_v = hand_touch(&hand, c, told.answer[i].section);
        const bool over = touch_v > c->limits.touch_v;
        if (isnan(touch_v) || fabs(touch_v - c->limits.touch_v) < 1e-6)
            continue;
        assert_close(told.answer[i].touch_v, touch_v, 1e-9, 1e-7);
        assert_int_equal(told.answer[i].touch, over ? PD_OVER : PD_WITHIN);
        assert_close(told.answer[i].unseen_v, over && !hand_acts(&hand, c, 1) ? touch_v : 0, 1e-9,
                     1e-7);
    }
    /* A network that is not linear tells nothing of a voltage that was not solved. */
    assert_int_equal(isnan(r->declared_over_h), supply == PD_REPLAY_TOP && !is_linear(c->network));
    hand_close(&hand);
    pd_replay_free(&r);
    free_told(&told);
    free_record(&record);
    study_close(&s);
}

static void test_supplies(void **state)
{
    (void)state;
    check_supply("street", PD_REPLAY_DECLARED);
    check_supply("street", PD_REPLAY_TOP);
    check_supply("vehicle-lets-go", PD_REPLAY_DECLARED);
    check_supply("vehicle-lets-go", PD_REPLAY_TOP);
}

/* The present loads, twice, are what the assessment calls present. */
static void test_present(void **state)
{
    static const char *const names[] = {"street-bad-joint", "house-rod-12-ohm", "flat-mixtures"};
    (void)state;
    for (size_t n = 0; n < sizeof names / sizeof names[0]; n++) {
        struct study s = {0};
        struct told told = {0};
        study_open_example(&s, names[n]);
        const struct pd_case *const c = s.study_case;
        assert_true(isnan(c->demand_limit_a) || n == 0);
        struct record record = {.rows = 2, .loads = c->network->load_count};
        record.size = room(2 * record.loads, sizeof *record.size);
        for (size_t i = 0; i < 2 * record.loads; i++) {
            const struct pd_load *const load = &c->network->load[i % record.loads];
            record.size[i] = load->present_a / load->unit_a;
        }
        write_record(&record, c->network);
        struct pd_replay *r = replay(c, &record, PD_REPLAY_RANGE, &told);
        for (size_t i = 0; i < r->section_count; i++) {
            const char *const section = c->network->node[r->section[i].section].section;
            const double touch_v =
                study_scenario(&s, section, PD_LOADS_PRESENT, c->limits.supply_high_v)->touch_v;
            assert_close(r->section[i].touch.touch_v, touch_v, 1e-9, 1e-7);
        }
        pd_replay_free(&r);
        free_told(&told);
        free_record(&record);
        study_close(&s);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_linear),
        cmocka_unit_test(test_not_linear),
        cmocka_unit_test(test_present),
        cmocka_unit_test(test_supplies),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
