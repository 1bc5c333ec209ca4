/* SPDX-License-Identifier: GPL-3.0-or-later */

/* The replay against the slow way by hand: each row's loads put into the plain tree engine (itself
 * held to ngspice and dense LU elsewhere), each section opened, each supply voltage solved, each
 * device asked; and hours, curves and lists counted one by one. Profiles are random; the seed is
 * printed. */

#include "case_folder.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <jansson.h>

#include "report/replay.h"
#include "study/replay.h"

enum { ROWS = 40, SCAN = 400 };

/* A record as the test made it. A size below 0 is a cell left empty. */
struct record {
    size_t rows, loads;
    double *size; /* [rows][loads] in the unit of the load */
    char path[64];
};

static void *room(size_t count, size_t size)
{
    void *const memory = calloc(count + 1, size);
    assert_non_null(memory);
    return memory;
}

static void write_record(struct record *r, const struct pd_network *network)
{
    strcpy(r->path, "/tmp/pendrift-replay-XXXXXX");
    FILE *const file = fdopen(mkstemp(r->path), "w");
    assert_non_null(file);
    fputs("time_min", file);
    for (size_t i = 0; i < r->loads; i++)
        fprintf(file, ",\"%s\"", network->load[i].name);
    for (size_t row = 0; row < r->rows; row++) {
        fprintf(file, "\n%zu", 30 * row);
        for (size_t i = 0; i < r->loads; i++)
            if (r->size[row * r->loads + i] < 0)
                fputs(",", file);
            else
                fprintf(file, ",%.17g", r->size[row * r->loads + i]);
    }
    fputs("\n", file);
    assert_int_equal(fclose(file), 0);
}

static void make_record(struct record *r, const struct pd_network *network, size_t rows,
                        uint64_t seed, bool blanks)
{
    struct stream stream = {seed};
    *r = (struct record){.rows = rows, .loads = network->load_count};
    r->size = room(rows * r->loads, sizeof *r->size);
    for (size_t row = 0; row < rows; row++)
        for (size_t i = 0; i < r->loads; i++) {
            const struct pd_load *const load = &network->load[i];
            double *const size = &r->size[row * r->loads + i];
            *size = stream_uniform(&stream, 0, 1.2 * load->high_a / load->unit_a);
            if (stream_below(&stream, 4) == 0)
                *size = load->low_a / load->unit_a;
            if (blanks && stream_below(&stream, 8 * r->loads) == 0)
                *size = -1;
        }
    write_record(r, network);
    print_message("seed %lu: %zu rows of %zu loads\n", (unsigned long)seed, rows, r->loads);
}

static void free_record(struct record *r)
{
    unlink(r->path);
    free(r->size);
}

/* What the replay told of each row and section. */
struct told {
    struct pd_replay_answer *answer; /* [rows][sections] */
    struct pd_replay_moment *moment; /* [rows] */
    size_t answers, moments, room;
};

static enum pd_status tell_answer(const struct pd_replay_answer *answer, void *context)
{
    struct told *const told = context;
    assert_true(told->answers < told->room);
    told->answer[told->answers++] = *answer;
    return PD_OK;
}

static enum pd_status tell_moment(const struct pd_replay_moment *moment, void *context)
{
    struct told *const told = context;
    told->moment[told->moments++] = *moment;
    return PD_OK;
}

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

static void free_told(struct told *told)
{
    free(told->answer);
    free(told->moment);
}

/* One state by the plain engine. */
struct hand {
    struct pd_tree *tree;
    struct pd_solution solution;
    double *load_a;
};

static void hand_open(struct hand *h, const struct pd_case *c)
{
    assert_int_equal(pd_tree_new(c->network, &h->tree), PD_OK);
    assert_int_equal(pd_solution_new(c->network, &h->solution), PD_OK);
    h->load_a = room(c->network->load_count, sizeof *h->load_a);
}

static void hand_close(struct hand *h)
{
    pd_tree_free(&h->tree);
    pd_solution_free(&h->solution);
    free(h->load_a);
}

/* False where a cell is empty. */
static bool hand_row(struct hand *h, const struct pd_case *c, const struct record *record,
                     size_t row, double supply_v)
{
    bool known = true;
    for (size_t i = 0; i < record->loads; i++) {
        const double size = record->size[row * record->loads + i];
        known &= size >= 0;
        h->load_a[i] = fmax(0, size) * c->network->load[i].unit_a;
    }
    const struct pd_operating operating = {
        .load_a = h->load_a, .tie = c->tie, .tie_count = c->electrodes.count, .supply_v = supply_v};
    assert_int_equal(pd_tree_factor(h->tree, &operating), PD_OK);
    return known;
}

/* The chassis voltage with the PEN open in a section; NaN where it has none. */
static double hand_touch(struct hand *h, const struct pd_case *c, size_t section)
{
    const struct pd_cut cut = {.kind = PD_CUT_OPEN, .section = section};
    assert_int_equal(pd_tree_solve(h->tree, &cut, &h->solution), PD_OK);
    if (h->solution.standing != PD_SOLVED)
        return NAN;
    const size_t pe_node = c->network->node[c->charging_point].pe_node;
    return pe_node == PD_NONE ? 0 : cabs(h->solution.v[pe_node][PD_N]);
}

/* Whether any device lets go of what stands in h->solution, all voltages scaled. */
static bool hand_acts(const struct hand *h, const struct pd_case *c, double scale)
{
    for (size_t i = 0; i < c->detectors.count; i++) {
        const size_t node = c->detector_node[i], pe_node = c->network->node[node].pe_node;
        struct pd_view view = {.lines = c->installation_lines & c->network->node[node].lines};
        for (int k = 0; k < PD_CONDUCTORS; k++)
            view.v[k] = scale * h->solution.v[node][k];
        view.pe_v = pe_node == PD_NONE ? 0 : scale * h->solution.v[pe_node][PD_N];
        const struct pd_sight sight = pd_detector_look(&c->detectors.detector[i], &view);
        if (sight.kind == PD_SEES && sight.saves_touch && sight.time_s <= c->limits.time_s)
            return true;
    }
    return false;
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

/* A gap counts once and is not filled, a clock a little off makes none, the last row lasts as long
 * as the one before it. */
static void test_gaps(void **state)
{
    struct study s = {0};
    struct pd_errors errors = {0};
    struct pd_replay *r = NULL;
    char path[] = "/tmp/pendrift-replay-XXXXXX";
    (void)state;
    study_open_example(&s, "house-no-electrode");
    FILE *const file = fdopen(mkstemp(path), "w");
    assert_non_null(file);
    fprintf(file, "time,%s\n00:00,1\n00:30,1\n01:00:01,1\n01:30,1\n05:00,1\n05:30,1\n06:00,1\n",
            s.study_case->network->load[0].name);
    fclose(file);
    struct pd_replay_settings settings = {
        .profile = path, .profile_name = "gaps", .section = PD_NONE, .worst = 3};
    assert_int_equal(pd_replay(s.study_case, &settings, &r, &errors), PD_OK);
    assert_int_equal(r->moments, 7);
    assert_int_equal(r->gaps, 1);
    assert_close(r->gap_h, 3, 1e-12, 0);
    assert_close(r->step_h, 0.5, 1e-12, 0);
    assert_close(r->hours, 3.5, 1e-12, 0);
    assert_int_equal(r->worst_count, 3);
    assert_string_equal(r->worst[0].time, "00:00"); /* of equals the first */
    assert_string_equal(r->first, "00:00");
    assert_string_equal(r->last, "06:00");
    pd_replay_free(&r);
    settings.worst = 0;
    assert_int_equal(pd_replay(s.study_case, &settings, &r, &errors), PD_ERR_ARGUMENT);
    assert_null(r);
    unlink(path);
    study_close(&s);
}

/* One moment has no length. */
static void test_one_moment(void **state)
{
    struct study s = {0};
    struct pd_errors errors = {0};
    struct pd_replay *r = NULL;
    char path[] = "/tmp/pendrift-replay-XXXXXX";
    (void)state;
    study_open_example(&s, "house-no-electrode");
    FILE *const file = fdopen(mkstemp(path), "w");
    assert_non_null(file);
    fprintf(file, "time,%s\n00:00,1\n", s.study_case->network->load[0].name);
    fclose(file);
    const struct pd_replay_settings settings = {
        .profile = path, .profile_name = "one.csv", .section = PD_NONE, .worst = 3};
    assert_int_equal(pd_replay(s.study_case, &settings, &r, &errors), PD_ERR_INPUT);
    assert_null(r);
    assert_int_equal(errors.count, 1);
    unlink(path);
    study_close(&s);
}

static char *as_json(const struct pd_case *c, const char *profile, size_t threads,
                     enum pd_replay_place place)
{
    struct pd_errors errors = {0};
    struct pd_replay *r = NULL;
    char *text = NULL;
    size_t length = 0;
    const struct pd_replay_settings settings = {.profile = profile,
                                                .profile_name = "random",
                                                .section = PD_NONE,
                                                .place = place,
                                                .worst = 10,
                                                .threads = threads};
    assert_int_equal(pd_replay(c, &settings, &r, &errors), PD_OK);
    FILE *const out = open_memstream(&text, &length);
    assert_non_null(out);
    assert_int_equal(pd_report_replay_json(out, r), PD_OK);
    assert_int_equal(fclose(out), 0);
    pd_replay_free(&r);
    return text;
}

/* A street long enough for its sections to be shared out. */
static void make_long_street(struct folder *folder, size_t houses)
{
    static char sections[1 << 16], loads[1 << 16];
    size_t used = 0, filled = 0;
    used += (size_t)sprintf(sections, "section,from,to,line_r_ohm,pen_r_ohm\n");
    filled += (size_t)sprintf(loads, "load,node,phase,current_a,max_current_a\n");
    for (size_t i = 0; i < houses; i++) {
        char from[16] = "substation";
        if (i > 0)
            sprintf(from, "j%zu", i - 1);
        used += (size_t)sprintf(sections + used,
                                "m%zu,%s,j%zu,0.002,0.002\ns%zu,j%zu,h%zu,0.02,"
                                "0.02\n",
                                i, from, i, i, i, i);
        filled += (size_t)sprintf(loads + filled, "l%zu,h%zu,L%zu,5,30\n", i, i, 1 + i % 3);
    }
    struct case_text text = {0};
    text.table[0] = strdup("quantity,value,unit\nlimit_set,gb-outdoor-charging,-\n"
                           "earthing,TN-C-S,-\nsystem,three-phase,-\nsource_r,0.01,ohm\n"
                           "source_electrode,5,ohm\ninstallation,h90,-\n");
    text.table[1] = strdup(sections);
    text.table[2] = strdup(loads);
    text.table[4] = strdup("detector,node,senses,low_v,high_v,tolerance_v,delay_s,disconnects\n"
                           "point,h90,line-neutral,209,251,2,4,live-and-pe\n");
    folder_make(folder);
    folder_fill(folder, &text);
    case_text_free(&text);
}

static void test_threads(void **state)
{
    struct folder folder;
    struct pd_errors errors = {0};
    struct pd_case *c = NULL;
    struct record record;
    (void)state;
    make_long_street(&folder, 100);
    assert_int_equal(pd_case_read(folder.path, &c, &errors), PD_OK);
    make_record(&record, c->network, 1100, 3, true);
    for (int place = PD_REPLAY_POINT; place <= PD_REPLAY_ALL; place += PD_REPLAY_ALL) {
        char *const one = as_json(c, record.path, 1, (enum pd_replay_place)place);
        for (size_t threads = 2; threads <= 5; threads++) {
            char *const other = as_json(c, record.path, threads, (enum pd_replay_place)place);
            assert_string_equal(one, other);
            free(other);
        }
        free(one);
    }
    free_record(&record);
    pd_case_free(&c);
    folder_remove(&folder);
}

/* At every house: the largest of the protective conductors where loads are. */
static void test_all_places(void **state)
{
    struct study s = {0};
    struct record record;
    struct hand hand;
    struct pd_errors errors = {0};
    struct pd_replay *r = NULL;
    (void)state;
    study_open_example(&s, "street");
    const struct pd_case *const c = s.study_case;
    const struct pd_network *const network = c->network;
    make_record(&record, network, 16, 7, false);
    const struct pd_replay_settings settings = {.profile = record.path,
                                                .profile_name = "random",
                                                .section = PD_NONE,
                                                .place = PD_REPLAY_ALL,
                                                .worst = 1};
    assert_int_equal(pd_replay(c, &settings, &r, &errors), PD_OK);
    hand_open(&hand, c);
    for (size_t i = 0; i < r->section_count; i++) {
        double most_v = 0;
        for (size_t row = 0; row < record.rows; row++) {
            hand_row(&hand, c, &record, row, c->limits.supply_high_v);
            hand_touch(&hand, c, r->section[i].section);
            for (size_t k = 0; k < network->load_count; k++) {
                const size_t node = network->node[network->load[k].node].pe_node;
                most_v = fmax(most_v, cabs(hand.solution.v[node][PD_N]));
            }
        }
        assert_close(r->section[i].touch.touch_v, most_v, 1e-9, 1e-7);
        assert_true(r->section[i].touch.checked);
    }
    assert_false(r->watched);
    hand_close(&hand);
    pd_replay_free(&r);
    free_record(&record);
    study_close(&s);
}

/* A house that draws nothing, its PEN open: its metalwork has no potential, though that of every
 * other has. Half of these moments are not determined: what is not known is not lost among the
 * other houses, also where a whole group of moments is alike. */
static void test_floating_house(void **state)
{
    struct study s = {0};
    struct record record;
    struct pd_errors errors = {0};
    struct pd_replay *r = NULL;
    (void)state;
    study_open_example(&s, "street");
    const struct pd_network *const network = s.study_case->network;
    make_record(&record, network, 16, 9, false);
    unlink(record.path);
    for (size_t i = 0; i < record.loads; i++)
        for (size_t row = 0; row < record.rows; row++)
            if (strcmp(network->load[i].name, "house5") == 0)
                record.size[row * record.loads + i] = row < 8 ? 0 : 5;
    write_record(&record, network);
    const struct pd_replay_settings settings = {.profile = record.path,
                                                .profile_name = "random",
                                                .section = pd_network_find(network, "house5"),
                                                .place = PD_REPLAY_ALL,
                                                .worst = 1};
    assert_int_equal(pd_replay(s.study_case, &settings, &r, &errors), PD_OK);
    assert_int_equal(r->section_count, 1);
    assert_close(r->section[0].unknown_h, 4, 1e-12, 0);
    assert_close(r->section[0].floating_h, 4, 1e-12, 0);
    assert_close(r->section[0].over_h, 4, 1e-12, 0);
    pd_replay_free(&r);
    free_record(&record);
    study_close(&s);
}

/* The IEEE European Low Voltage Test Feeder with its own day of minutes, a sample of them by the
 * plain engine. */
static void test_feeder(void **state)
{
    const char *const data = getenv("PENDRIFT_DATA");
    char folder[2048], path[4096];
    struct told told = {0};
    struct pd_errors errors = {0};
    struct pd_case *c = NULL;
    (void)state;
    snprintf(folder, sizeof folder, "%s/test-feeder", data != NULL ? data : "../shared/data");
    snprintf(path, sizeof path, "%s/profile.csv", folder);
    if (access(path, R_OK) != 0) {
        print_message("skipped: no %s (PENDRIFT_DATA)\n", path);
        skip();
    }
    assert_int_equal(pd_case_read(folder, &c, &errors), PD_OK);
    const size_t nodes = c->network->node_count, rows = 1440;
    told.room = rows * nodes;
    told.answer = room(told.room, sizeof *told.answer);
    told.moment = room(rows, sizeof *told.moment);
    const struct pd_replay_settings settings = {.profile = path,
                                                .profile_name = "feeder",
                                                .section = PD_NONE,
                                                .worst = 10,
                                                .answer = tell_answer,
                                                .moment = tell_moment,
                                                .context = &told};
    struct pd_replay *r = NULL;
    assert_int_equal(pd_replay(c, &settings, &r, &errors), PD_OK);
    assert_int_equal(r->moments, rows);
    assert_int_equal(r->section_count, 905);
    assert_close(r->hours, 24, 1e-12, 0);
    assert_int_equal(r->unchecked, 0);
    /* The profile is read here anew, by nothing of the project's. */
    FILE *const file = fopen(path, "r");
    struct hand hand;
    char line[4096];
    hand_open(&hand, c);
    assert_non_null(fgets(line, sizeof line, file));
    for (size_t row = 0; row < rows && fgets(line, sizeof line, file) != NULL; row++) {
        if (row % 97 != 5)
            continue;
        const char *cell = strchr(line, ',');
        for (size_t i = 0; i < c->network->load_count; i++) {
            const struct pd_load *const load = &c->network->load[i];
            hand.load_a[i] = cell == NULL ? load->present_a
                                          : 1000 * strtod(cell + 1, NULL) /
                                                (c->network->nominal_v * load->power_factor);
            cell = cell != NULL ? strchr(cell + 1, ',') : NULL;
        }
        const struct pd_operating operating = {.load_a = hand.load_a,
                                               .tie = c->tie,
                                               .tie_count = c->electrodes.count,
                                               .supply_v = c->limits.supply_high_v};
        assert_int_equal(pd_tree_factor(hand.tree, &operating), PD_OK);
        for (size_t i = row % 3; i < r->section_count; i += 3) {
            const struct pd_replay_answer *const got = &told.answer[row * r->section_count + i];
            const double touch_v = hand_touch(&hand, c, got->section);
            assert_close(got->touch_v, touch_v, 1e-9, 1e-7);
        }
    }
    fclose(file);
    hand_close(&hand);
    pd_replay_free(&r);
    free_told(&told);
    pd_case_free(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_linear),         cmocka_unit_test(test_not_linear),
        cmocka_unit_test(test_present),        cmocka_unit_test(test_supplies),
        cmocka_unit_test(test_gaps),           cmocka_unit_test(test_one_moment),
        cmocka_unit_test(test_threads),        cmocka_unit_test(test_all_places),
        cmocka_unit_test(test_floating_house), cmocka_unit_test(test_feeder),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
