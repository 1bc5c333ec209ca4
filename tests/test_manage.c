/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "case_folder.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "study/load_states.h"
#include "study/manage.h"

/* Load management against hand calculations, written beside each: common practice, no source, but
 * for Kirchhoff's current law and the 6 A of IEC 61851-1 (from memory). */

struct managed {
    struct folder folder;
    struct case_text text;
    struct pd_case *study_case;
    struct pd_load_states states;
};

static const char *const sections = "section,from,to,line_r_ohm,pen_r_ohm,neutral\n"
                                    "service,substation,house,0.01,0.01,pen\n"
                                    "circuit,house,point,0.01,0.01,separate\n"
                                    "next,substation,neighbour,0.01,0.01,pen\n";

static void start(struct managed *m, const char *system, const char *facts, const char *loads)
{
    char text[800];
    struct pd_errors errors = {0};
    *m = (struct managed){0};
    snprintf(text, sizeof text,
             "quantity,value,unit\nlimit_set,gb-outdoor-charging,-\nearthing,TN-C-S,-\n"
             "installation,house,-\nsystem,%s,-\n%s",
             system, facts);
    case_text_set(&m->text, "case.csv", text);
    case_text_set(&m->text, "sections.csv", sections);
    case_text_set(&m->text, "loads.csv", loads);
    folder_make(&m->folder);
    folder_fill(&m->folder, &m->text);
    const enum pd_status status = pd_case_read(m->folder.path, &m->study_case, &errors);
    if (status != PD_OK)
        fail_msg("%s: %s", errors.kept[0].column, errors.kept[0].text);
    assert_int_equal(pd_load_states_new(m->study_case, &m->states), PD_OK);
}

static void end(struct managed *m)
{
    pd_load_states_free(&m->states);
    pd_case_free(&m->study_case);
    folder_remove(&m->folder);
    case_text_free(&m->text);
}

/* What a load takes, in the present state. */
static double taken_a(const struct managed *m, const char *name)
{
    const struct pd_network *const network = m->study_case->network;
    for (size_t i = 0; i < network->load_count; i++)
        if (strcmp(network->load[i].name, name) == 0)
            return pd_load_state(&m->states, PD_LOADS_PRESENT)[i];
    fail_msg("no load %s", name);
    return NAN;
}

static bool notes(const struct managed *m, const char *part)
{
    for (size_t i = 0; i < m->study_case->assumptions.count; i++)
        if (strstr(m->study_case->assumptions.text[i], part) != NULL)
            return true;
    return false;
}

/* 20 A of the house's own and up to three vehicles a, b, c on one line: node, behaviour, current,
 * share, least_a. */
static const struct {
    const char *limit, *vehicles;
    double want_a[3];
} single[] = {
    /* All fits. */
    {"100", "a,point,charger,32,,\nb,point,charger,32,,\n", {32, 32}},
    /* 40 A left, halved. */
    {"60", "a,point,charger,32,,\nb,point,charger,32,,\n", {20, 20}},
    /* A charger anywhere in the house gives way; an oven on the point's node does too. */
    {"60", "a,house,charger,32,,\nb,point,impedance,32,,\n", {20, 20}},
    /* a needs 10 only: (40 - 10)/2 for the others. */
    {"60", "a,point,charger,10,,\nb,point,charger,32,,\nc,point,charger,32,,\n", {10, 15, 15}},
    /* Three to one: 30 and 10; with 44 left a has its fill of 32, the rest is b's. */
    {"60", "a,point,charger,32,3,\nb,point,charger,32,1,\n", {30, 10}},
    {"64", "a,point,charger,32,3,\nb,point,charger,32,1,\n", {32, 12}},
    /* 15 A left, 5 each: under 6. The first is paused, 7.5 each for the others. */
    {"35", "a,point,charger,32,,\nb,point,charger,32,,\nc,point,charger,32,,\n", {0, 7.5, 7.5}},
    /* 18 A: just the least for each, not to be lost to rounding. */
    {"38", "a,point,charger,32,,\nb,point,charger,32,,\nc,point,charger,32,,\n", {6, 6, 6}},
    /* 12 A as 8 and 4: the smaller share is paused, wherever it stands. */
    {"32", "a,point,charger,32,2,\nb,point,charger,32,1,\n", {12, 0}},
    /* 10 A as 5.5 and 4.5, both too little: the smaller share, though it stands last. */
    {"30", "a,point,charger,32,1.2,\nb,point,charger,32,1,\n", {10, 0}},
    /* A stated least: 4 A each. */
    {"32", "a,point,charger,32,,4\nb,point,charger,32,,4\nc,point,charger,32,,4\n", {4, 4, 4}},
    /* 5 A are not enough for any charger; an impedance has no least. */
    {"25", "a,point,charger,32,,\nb,point,charger,32,,\n", {0, 0}},
    {"25", "a,point,impedance,32,,\n", {5}},
    /* a asks for less than its least and is not reduced: it goes on. */
    {"34", "a,point,charger,4,,\nb,point,charger,32,,\n", {4, 10}},
    /* 12 A as 4 and 8, both below: a is paused, then b at 12 is below 20 too, then a has room. */
    {"32", "a,point,charger,32,1,6\nb,point,charger,32,2,20\n", {12, 0}},
    /* Share 0: what the others leave, 8 A; 3 A are too little. */
    {"60", "a,point,charger,32,,\nb,point,charger,32,0,\n", {32, 8}},
    {"55", "a,point,charger,32,,\nb,point,charger,32,0,\n", {32, 0}},
    {"60", "a,point,charger,32,0,\nb,point,charger,32,0,\n", {20, 20}},
    /* The house alone is at the limit, or over it: it does not give way. */
    {"20", "a,point,charger,32,,\nb,point,impedance,32,,\n", {0, 0}},
    {"10", "a,point,charger,32,,\nb,point,impedance,32,,\n", {0, 0}},
};

static void test_single_phase(void **state)
{
    (void)state;
    static const char *const names[3] = {"a", "b", "c"};
    for (size_t i = 0; i < sizeof single / sizeof single[0]; i++) {
        struct managed m;
        char facts[100], loads[400];
        snprintf(facts, sizeof facts, "charging_point,point,-\ndemand_limit,%s,A\n",
                 single[i].limit);
        snprintf(loads, sizeof loads,
                 "load,node,behaviour,current_a,share,least_a\nhouse,house,,20,,\n%s",
                 single[i].vehicles);
        start(&m, "single-phase", facts, loads);
        for (size_t k = 0; k + 1 < m.study_case->network->load_count; k++)
            if (!close_enough(taken_a(&m, names[k]), single[i].want_a[k], 1e-9, 1e-12))
                fail_msg("row %zu: %s has %.17g A, not %g A", i, names[k], taken_a(&m, names[k]),
                         single[i].want_a[k]);
        assert_close(taken_a(&m, "house"), 20, 0, 0);
        end(&m);
    }
}

/* L1: (63 - 10)/2 = 26.5 A for each of two vehicles; L2: 63 - 40 = 23 A for the three-phase one,
 * which has 23 A in every line, and 63 - 10 - 23 = 30 A for the other. */
static void test_three_phase(void **state)
{
    (void)state;
    struct managed m;
    start(&m, "three-phase", "charging_point,point,-\ndemand_limit,63,A\n",
          "load,node,phase,behaviour,current_a\none,house,L1,,10\ntwo,house,L2,,40\n"
          "wide,point,L123,charger,32\nnarrow,point,L1,charger,32\nnext,neighbour,L1,,200\n");
    assert_close(taken_a(&m, "wide"), 23, 1e-12, 0);
    assert_close(taken_a(&m, "narrow"), 30, 1e-12, 0);
    assert_close(taken_a(&m, "next"), 200, 0, 0); /* not of the installation */
    end(&m);
}

/* |20 (0.8 -+ j0.6) + v| = 40: v = sqrt(40^2 - 12^2) - 16 = 22.16 A, more than the 20 A that a sum
 * of sizes would leave. Lagging against leading 0.6: |20 (0.6 - j0.8) + v (0.6 + j0.8)|^2 =
 * 400 + v^2 - 2 v 20 0.28 = 1600. */
static void test_power_factors(void **state)
{
    (void)state;
    const struct {
        const char *house, *vehicle;
        double want_a;
    } rows[] = {{"0.8", "1", sqrt(40 * 40 - 12 * 12) - 16},
                {"-0.8", "1", sqrt(40 * 40 - 12 * 12) - 16},
                {"0.6", "-0.6", 5.6 + sqrt(5.6 * 5.6 + 1200)}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct managed m;
        char loads[200];
        snprintf(loads, sizeof loads,
                 "load,node,behaviour,current_a,power_factor\nhouse,house,,20,%s\n"
                 "vehicle,point,charger,80,%s\n",
                 rows[i].house, rows[i].vehicle);
        start(&m, "single-phase", "charging_point,point,-\ndemand_limit,40,A\n", loads);
        assert_close(taken_a(&m, "vehicle"), rows[i].want_a, 1e-12, 0);
        end(&m);
    }
}

/* 30 A between L1 and L2 are 30 degrees off the voltage of either line: sqrt(50^2 - 15^2) -
 * 30 sqrt(3)/2 = 21.72 A are left on it; in a split phase they are in line with it: 20 A. */
static void test_between_lines(void **state)
{
    (void)state;
    const double left_a = sqrt(50 * 50 - 15 * 15) - 15 * sqrt(3);
    const struct {
        const char *system, *line;
        double want_a;
    } rows[] = {{"three-phase", "L1", left_a},
                {"three-phase", "L2", left_a},
                {"split-phase", "L1", 20},
                {"split-phase", "L2", 20}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct managed m;
        char loads[200];
        snprintf(loads, sizeof loads,
                 "load,node,phase,behaviour,current_a\ndryer,house,L12,,30\n"
                 "vehicle,point,%s,charger,32\n",
                 rows[i].line);
        start(&m, rows[i].system, "charging_point,point,-\ndemand_limit,50,A\n", loads);
        assert_close(taken_a(&m, "vehicle"), rows[i].want_a, 1e-12, 0);
        end(&m);
    }
}

static void test_notes(void **state)
{
    (void)state;
    struct managed m;
    /* A device that measures what the supply delivers sees 5 A less: 60 + 5 - 40 = 25 A. */
    start(&m, "single-phase", "charging_point,point,-\ndemand_limit,60,A\n",
          "load,node,behaviour,current_a\nhouse,house,,40\nroof,house,inverter-current,5\n"
          "vehicle,point,charger,32\n");
    assert_close(taken_a(&m, "vehicle"), 25, 1e-12, 0);
    assert_close(taken_a(&m, "roof"), 5, 0, 0);
    assert_true(notes(&m, "added to demand_limit"));
    assert_false(notes(&m, "is not applied"));
    end(&m);
    /* No vehicle is known: the load at the installation's own node may be anything. */
    start(&m, "single-phase", "demand_limit,60,A\n",
          "load,node,behaviour,current_a\nhouse,house,,40\npoint,house,,32\n");
    assert_close(taken_a(&m, "point"), 32, 0, 0);
    assert_true(notes(&m, "demand_limit is not applied"));
    end(&m);
    /* Its behaviour tells it, without a node of its own. */
    start(&m, "single-phase", "demand_limit,60,A\n",
          "load,node,behaviour,current_a\nhouse,house,,40\npoint,house,charger,32\n");
    assert_close(taken_a(&m, "point"), 20, 1e-12, 0);
    assert_false(notes(&m, "is not applied"));
    end(&m);
    start(&m, "single-phase", "",
          "load,node,behaviour,current_a,share\nhouse,house,,40,\npoint,house,charger,32,2\n");
    assert_close(taken_a(&m, "point"), 32, 0, 0);
    assert_true(notes(&m, "nothing to divide"));
    end(&m);
}

/* Random installations. */

enum { VEHICLES = 5, OTHERS = 4, LOADS = VEHICLES + OTHERS, RUNS = 150 };

struct drawn {
    bool vehicle;
    int line; /* 0 to 2, 3 for all of them */
    double current_a, factor, share, least_a;
};

static void draw(struct stream *stream, struct drawn load[LOADS])
{
    for (size_t i = 0; i < LOADS; i++) {
        const double factor = (double)(30 + stream_below(stream, 71)) / 100;
        load[i] = (struct drawn){
            .vehicle = i >= OTHERS,
            .line = (int)stream_below(stream, 4),
            .current_a = (double)stream_below(stream, 401) / 10,
            .factor = stream_below(stream, 4) == 0 ? -factor : factor,
            .share = (double)stream_below(stream, 7) / 2,
            .least_a = stream_below(stream, 2) == 0 ? 0 : 6,
        };
    }
}

static void open_drawn(struct managed *m, const struct drawn load[LOADS], double limit_a)
{
    static const char *const phases[4] = {"L1", "L2", "L3", "L123"};
    char facts[100], loads[1200] = "load,node,phase,behaviour,current_a,power_factor,share,"
                                   "least_a\n";
    snprintf(facts, sizeof facts, "charging_point,point,-\ndemand_limit,%.17g,A\n", limit_a);
    for (size_t i = 0; i < LOADS; i++) {
        const size_t used = strlen(loads);
        if (load[i].vehicle)
            snprintf(loads + used, sizeof loads - used, "%zu,point,%s,charger,%g,%g,%g,%g\n", i,
                     phases[load[i].line], load[i].current_a, load[i].factor, load[i].share,
                     load[i].least_a);
        else
            snprintf(loads + used, sizeof loads - used, "%zu,house,%s,impedance,%g,%g,,\n", i,
                     phases[load[i].line], load[i].current_a, load[i].factor);
    }
    start(m, "three-phase", facts, loads);
}

/* The size of a line's current, by the sines and cosines of the power factors. */
static double line_sum(const struct drawn load[LOADS], const double *taken, int line)
{
    double active_a = 0, reactive_a = 0;
    for (size_t i = 0; i < LOADS; i++) {
        if (load[i].line != line && load[i].line != 3)
            continue;
        const double angle = copysign(acos(fabs(load[i].factor)), load[i].factor);
        active_a += taken[i] * cos(angle);
        reactive_a += taken[i] * sin(angle);
    }
    return hypot(active_a, reactive_a);
}

static void check_vehicle(const struct drawn load[LOADS], const double *taken, size_t i,
                          double limit_a)
{
    const struct drawn *const v = &load[i];
    bool full = false;
    assert_true(taken[i] >= 0 && taken[i] <= v->current_a);
    if (taken[i] == v->current_a || taken[i] == 0)
        return;
    assert_true(taken[i] >= v->least_a * (1 - 1e-9));
    for (int line = 0; line < 3; line++)
        if (v->line == line || v->line == 3)
            full |= fabs(line_sum(load, taken, line) - limit_a) <= 1e-9 * limit_a;
    assert_true(full);
}

/* Of two reduced vehicles on one and the same line, each has its share's part. */
static void check_shares(const struct drawn load[LOADS], const double *taken)
{
    for (size_t i = OTHERS; i < LOADS; i++)
        for (size_t k = OTHERS; k < LOADS; k++)
            if (load[i].line == load[k].line && load[i].share > 0 && load[k].share > 0 &&
                taken[i] > 0 && taken[i] < load[i].current_a && taken[k] > 0 &&
                taken[k] < load[k].current_a)
                assert_close(taken[i] * load[k].share, taken[k] * load[i].share, 1e-9, 0);
}

static void test_random(void **state)
{
    (void)state;
    struct stream stream = {20261125};
    size_t reduced = 0, paused = 0;
    for (size_t run = 0; run < RUNS * soak(); run++) {
        struct managed m;
        struct drawn load[LOADS];
        const double limit_a = (double)(40 + stream_below(&stream, 201)) / 2;
        draw(&stream, load);
        open_drawn(&m, load, limit_a);
        const double *const taken = pd_load_state(&m.states, PD_LOADS_PRESENT);
        for (size_t i = 0; i < LOADS; i++) {
            if (!load[i].vehicle)
                assert_close(taken[i], load[i].current_a, 0, 0);
            else
                check_vehicle(load, taken, i, limit_a);
            reduced += taken[i] > 0 && taken[i] < load[i].current_a;
            paused += taken[i] == 0 && load[i].current_a > 0;
        }
        check_shares(load, taken);
        for (int line = 0; line < 3; line++)
            if (line_sum(load, taken, line) > limit_a * (1 + 1e-9))
                for (size_t i = OTHERS; i < LOADS; i++)
                    if (load[i].line == line || load[i].line == 3)
                        assert_close(taken[i], 0, 0, 0);
        end(&m);
    }
    /* The draw is worth something only where both happen often. */
    assert_true(reduced > RUNS / 2 && paused > RUNS / 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_single_phase),  cmocka_unit_test(test_three_phase),
        cmocka_unit_test(test_power_factors), cmocka_unit_test(test_between_lines),
        cmocka_unit_test(test_notes),         cmocka_unit_test(test_random),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
