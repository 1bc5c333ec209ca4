/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "case_folder.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* What an assessment says of a person, and of a charging point on its own electrode (route 6),
 * against hand calculations written here. */

struct trial {
    struct folder folder;
    struct case_text text;
    struct study study;
};

static void start(struct trial *t, const char *facts, const char *electrodes, const char *detectors)
{
    char text[800];
    *t = (struct trial){0};
    snprintf(text, sizeof text, "quantity,value,unit\nsystem,single-phase,-\n%s", facts);
    case_text_set(&t->text, "case.csv", text);
    case_text_set(&t->text, "loads.csv", "load,node,current_a\nvehicle,point,32\n");
    case_text_set(&t->text, "sections.csv",
                  "section,from,to,line_r_ohm,line_x_ohm,pen_r_ohm,pen_x_ohm,neutral\n"
                  "service,substation,board,0.1,0,0.1,0,pen\n"
                  "circuit,board,point,0.2,0,0.2,0,separate\n");
    case_text_set(&t->text, "electrodes.csv", electrodes);
    case_text_set(&t->text, "detectors.csv", detectors);
    folder_make(&t->folder);
    folder_fill(&t->folder, &t->text);
    study_open(&t->study, t->folder.path);
}

static void end(struct trial *t)
{
    study_close(&t->study);
    folder_remove(&t->folder);
    case_text_free(&t->text);
}

static const char places[] = "installation,board,-\ncharging_point,point,-\n";

static void start_tn(struct trial *t, const char *more, const char *detectors)
{
    char facts[500];
    snprintf(facts, sizeof facts, "limit_set,gb-outdoor-charging,-\nearthing,TN-C-S,-\n%s%s",
             places, more);
    start(t, facts, NULL, detectors);
}

static void start_tt(struct trial *t, double rod_ohm, const char *more)
{
    char facts[500], rod[100];
    snprintf(facts, sizeof facts, "limit_set,gb-outdoor-charging,-\nearthing,TT,-\n%s%s", places,
             more);
    snprintf(rod, sizeof rod, "electrode,node,resistance_ohm\nrod,point,%g\n", rod_ohm);
    start(t, facts, rod, NULL);
}

static bool says(const struct pd_notes *notes, const char *part)
{
    bool there = false;
    for (size_t i = 0; i < notes->count; i++) {
        there |= strstr(notes->text[i], part) != NULL;
        assert_true(strlen(notes->text[i]) < PD_NOTE_MAX - 1); /* not cut */
    }
    return there;
}

/* The PEN open and no electrode: the chassis at 253 V, the top of the supply range. Saltwater-wet,
 * 5 %: 28 of the 175 V from 770 ohm (225 V) to 700 ohm (400 V): 758.8 ohm (IEC TS 60479-1:2005
 * table 3, memory), both hands to both feet half of that (EN 50522, memory). */
static void test_default_person(void **state)
{
    (void)state;
    struct trial t;
    start_tn(&t, "", NULL);
    const struct pd_person *const person = &t.study.a->person;
    const struct pd_shock *const largest = &person->shock[PD_SHOCK_LARGEST];
    assert_close(largest->touch.prospective_v, 253, 1e-9, 0);
    assert_close(largest->current.body_ohm, 758.8 / 2, 1e-9, 0);
    assert_close(largest->current.body_a, 253 / 379.4, 1e-9, 0);
    assert_close(largest->current.heart_a, 253 / 379.4, 1e-9, 0);
    assert_int_equal(person->shock[PD_SHOCK_UNSEEN].scenario, largest->scenario);
    assert_int_equal(person->shock[PD_SHOCK_DISCONNECTED].scenario, PD_NONE);
    assert_int_equal(person->shock[PD_SHOCK_REACH].scenario, PD_NONE);
    assert_true(isnan(largest->time_s[PD_MOMENT_DEVICE]));
    assert_false(largest->zone[PD_MOMENT_DEVICE].known);
    assert_close(largest->time_s[PD_MOMENT_LIMIT], 5, 0, 0);
    assert_close(largest->time_s[PD_MOMENT_UNTIL], 10, 0, 0);
    assert_int_equal(largest->zone[PD_MOMENT_LIMIT].least, PD_AC_4_2);
    assert_int_equal(largest->zone[PD_MOMENT_UNTIL].least, PD_AC_4_3);
    assert_true(says(&t.study.study_case->assumptions, "saltwater-wet skin, the worst"));
    assert_true(says(&t.study.study_case->assumptions, "footing 0 ohm as none is given"));
    assert_non_null(strstr(person->body_source, "from memory"));
    assert_non_null(strstr(person->path_source, "from memory"));
    assert_non_null(strstr(person->curve_source, "from memory"));
    assert_non_null(strstr(pd_person_warning, "not harmless"));
    end(&t);
}

/* Dry skin and 600 ohm of footing at 253 V, 5 %: between 100 V (990 ohm) and 125 V (900) Z is
 * 1350 - 3.6 u, half of it in the path, and u + 1200 u/Z = 253 is 3.6 u^2 - 3460.8 u + 341550 = 0.
 */
static void test_declared_person(void **state)
{
    (void)state;
    struct trial t;
    start_tn(&t, "body,dry,-\nfooting,600,ohm\nreach,3,m\n", NULL);
    const struct pd_body_current *const current =
        &t.study.a->person.shock[PD_SHOCK_LARGEST].current;
    const double u = (3460.8 - sqrt(3460.8 * 3460.8 - 4 * 3.6 * 341550)) / 7.2;
    assert_close(current->body_v, u, 1e-7, 0);
    assert_close(current->body_a, (253 - u) / 600, 1e-7, 0);
    assert_true(says(&t.study.study_case->assumptions, "dry skin, footing 600 ohm, both"));
    assert_true(says(&t.study.study_case->assumptions, "reach is not used"));
    end(&t);
}

/* A device that lets go of the chassis in 4 s: that is how long the current flows. */
static void test_device_ends_it(void **state)
{
    (void)state;
    struct trial t;
    start_tn(&t, "",
             "detector,node,senses,low_v,high_v,delay_s,disconnects\n"
             "slow,point,line-neutral,207,253,4,live-and-pe\n"
             "leaves PE,point,line-neutral,207,253,0.1,live\n");
    const struct pd_person *const person = &t.study.a->person;
    const struct pd_shock *const shock = &person->shock[PD_SHOCK_DISCONNECTED];
    assert_int_equal(shock->scenario, t.study.a->worst);
    assert_close(shock->time_s[PD_MOMENT_DEVICE], 4, 0, 0);
    assert_int_equal(shock->zone[PD_MOMENT_DEVICE].least, PD_AC_4_2);
    assert_int_equal(person->shock[PD_SHOCK_UNSEEN].scenario, PD_NONE);
    end(&t);
}

/* No time to go by: no zone, never a harmless one. Nothing determined: no figure. */
static void test_without_figures(void **state)
{
    (void)state;
    struct trial t;
    char facts[500];
    snprintf(facts, sizeof facts,
             "limit_set,own,-\nearthing,TN-C-S,-\nnominal_voltage,230,V\ntouch_limit,60,V\n%s",
             places);
    start(&t, facts, NULL, NULL);
    const struct pd_shock *const shock = &t.study.a->person.shock[PD_SHOCK_LARGEST];
    assert_true(isfinite(shock->current.body_a));
    assert_false(shock->zone[PD_MOMENT_LIMIT].known);
    assert_true(shock->zone[PD_MOMENT_UNTIL].known);
    end(&t);
    start(&t, "limit_set,gb-outdoor-charging,-\ninstallation,board,-\n", NULL, NULL);
    for (int kind = 0; kind < PD_SHOCKS; kind++) {
        const struct pd_shock *const none = &t.study.a->person.shock[kind];
        assert_int_equal(none->scenario, PD_NONE);
        assert_true(isnan(none->current.body_a) && isnan(none->touch.prospective_v));
        for (int moment = 0; moment < PD_MOMENTS; moment++)
            assert_false(none->zone[moment].known);
    }
    assert_false(t.study.a->tt.applies && t.study.a->tt.no_trip != PD_UNKNOWN);
    end(&t);
}

/* R_A <= 50 V / I_dn (IEC 60364-4-41 411.5.3): 30 mA 1667, 100 mA 500, 300 mA 167, 500 mA 100 ohm;
 * over 200 ohm may not be stable (note in BS 7671 542.2, seen quoted). */
static void test_tt_electrode(void **state)
{
    (void)state;
    static const struct {
        double rcd_ma, limit_ohm;
        const char *text;
    } want[] = {{30, 200, "50 V / 30 mA = 1667 ohm"},
                {100, 200, "50 V / 100 mA = 500 ohm"},
                {300, 500.0 / 3, "50 V / 300 mA = 167 ohm"},
                {500, 100, "50 V / 500 mA = 100 ohm"}};
    for (size_t i = 0; i < sizeof want / sizeof want[0]; i++)
        for (int side = -1; side <= 1; side += 2) {
            struct trial t;
            char more[80];
            snprintf(more, sizeof more, "rcd_rating,%g,mA\nreach,3,m\n", want[i].rcd_ma);
            start_tt(&t, want[i].limit_ohm + 0.01 * side, more);
            const struct pd_route *const route = &t.study.a->route[PD_ROUTE_TT - 1];
            assert_close(route->limit, want[i].limit_ohm, 1e-12, 0);
            assert_int_equal(route->result, side < 0 ? PD_MEETS : PD_DOES_NOT_MEET);
            assert_int_equal(t.study.a->overall, side < 0 ? PD_ACCEPTABLE : PD_NOT_ACCEPTABLE);
            assert_non_null(strstr(route->why, want[i].text));
            end(&t);
        }
}

/* Metalwork on the PME terminal within 2.5 m (common practice, memory) can be touched together with
 * the vehicle; a distance that nobody gave is not determined. */
static void test_tt_reach(void **state)
{
    (void)state;
    static const struct {
        const char *fact;
        enum pd_result result;
        enum pd_overall overall;
        const char *because;
    } want[] = {
        {"", PD_RESULT_UNKNOWN, PD_OVERALL_UNKNOWN, "(common practice, from memory)."},
        {"reach,0,m\n", PD_DOES_NOT_MEET, PD_NOT_ACCEPTABLE, "is 0 m from the charging point"},
        {"reach,2.49,m\n", PD_DOES_NOT_MEET, PD_NOT_ACCEPTABLE,
         "Within 2.5 m both can be touched at once (common practice, from memory), and"},
        {"reach,2.5,m\n", PD_MEETS, PD_ACCEPTABLE, "declared to be 2.5 m off"},
        {"reach,40,m\n", PD_MEETS, PD_ACCEPTABLE, "there are 253.0 V with the PEN open"},
    };
    for (size_t i = 0; i < sizeof want / sizeof want[0]; i++) {
        struct trial t;
        start_tt(&t, 80, want[i].fact);
        const struct pd_assessment *const a = t.study.a;
        assert_int_equal(a->route[PD_ROUTE_TT - 1].result, want[i].result);
        assert_int_equal(a->overall, want[i].overall);
        assert_true(says(&a->because, want[i].because));
        /* In reach, the network has the line's voltage between them; not known, nothing. */
        const bool far = want[i].overall == PD_ACCEPTABLE;
        assert_int_equal(a->network.electrode, far      ? PD_SUFFICIENT
                                               : i == 0 ? PD_ANSWER_UNKNOWN
                                                        : PD_INSUFFICIENT);
        assert_int_equal(a->network.detection, far      ? PD_NOT_NEEDED
                                               : i == 0 ? PD_ANSWER_UNKNOWN
                                                        : PD_NEEDED);
        if (i == 0)
            assert_true(isnan(a->residual_v));
        else
            assert_close(a->residual_v, far ? 0 : 253, 1e-9, 0);
        assert_false(says(&a->because, "no scenario leaves"));
        /* The electrode itself is good in each of them. */
        assert_int_equal(a->rule.electrode, PD_SUFFICIENT);
        end(&t);
    }
}

/* With the PEN open and no electrode at the house its metalwork is at the line's voltage; a person
 * with a hand on the vehicle has it from hand to hand: 758.8 ohm as above, heart factor 0.4. */
static void test_tt_between(void **state)
{
    (void)state;
    struct trial t;
    start_tt(&t, 80, "reach,3,m\n");
    const struct pd_assessment *const a = t.study.a;
    assert_true(a->tt.applies);
    assert_close(a->scenario[a->tt.worst_reach].reach_v, 253, 1e-9, 0);
    assert_close(a->scenario[a->tt.worst_reach].touch_v, 0, 0, 0);
    const struct pd_shock *const shock = &a->person.shock[PD_SHOCK_REACH];
    assert_int_equal(shock->touch.path, PD_HAND_TO_HAND);
    assert_close(shock->current.body_a, 253 / 758.8, 1e-9, 0);
    assert_close(shock->current.heart_a, 0.4 * 253 / 758.8, 1e-9, 0);
    assert_true(isnan(shock->time_s[PD_MOMENT_DEVICE]));
    /* Healthy, 32 A at 230 V as an impedance, 7.1875 ohm, in a loop of 0.6 ohm more: the PEN's 0.1
     * ohm lift the house, the vehicle stays. */
    assert_close(a->scenario[a->tt.worst[PD_HEALTHY]].reach_v, 253 * 0.1 / (7.1875 + 0.6), 1e-9, 0);
    /* A joint of 1 kilohm, the worst that is tried: the divider of the loop. */
    assert_close(a->scenario[a->tt.worst[PD_PEN_JOINT]].reach_v,
                 253 * 1000.1 / (7.1875 + 0.6 + 1000), 1e-9, 0);
    /* Line and PEN changed over: the house's metalwork hangs on the line, through 0.1 ohm. */
    assert_close(a->scenario[a->tt.worst[PD_CROSSED]].reach_v, 253 * (1 - 0.1 / 7.7875), 1e-9, 0);
    assert_close(a->scenario[a->tt.worst[PD_LINE_TO_PEN]].reach_v, 253, 1e-6, 0);
    assert_int_equal(a->tt.worst[PD_OPEN_EARTHING], PD_NONE);
    for (int kind = 0; kind < PD_FAULTS; kind++)
        if (a->tt.worst[kind] != PD_NONE)
            assert_close(a->scenario[a->tt.worst[kind]].touch_v, 0, 0, 0);
    end(&t);
}

/* A line to the chassis: 216.2 V (ESQCR 2002 regulation 27, seen quoted) through R_A, R_B and 0.3
 * ohm of line drives the least, 253 V over R_A the most voltage. */
static void test_tt_earth_fault(void **state)
{
    (void)state;
    static const struct {
        double rod_ohm;
        const char *more;
        double fault_a, fault_v;
        enum pd_judgement no_trip;
    } want[] = {
        {80, "rcd_rating,30,mA\n", 216.2 / 80.3, 253 * 80 / 80.3, PD_OVER},
        {80, "rcd_rating,30,mA\nsource_electrode,20,ohm\n", 216.2 / 100.3, 253 * 80 / 80.3,
         PD_OVER},
        {8000, "rcd_rating,30,mA\n", 216.2 / 8000.3, 253 * 8000 / 8000.3, PD_WITHIN},
        {3, "rcd_rating,10000,mA\n", 216.2 / 3.3, 253 * 3 / 3.3, PD_OVER},
        {80, "rcd_rating,10000,mA\n", 216.2 / 80.3, 253 * 80 / 80.3, PD_WITHIN},
    };
    for (size_t i = 0; i < sizeof want / sizeof want[0]; i++) {
        struct trial t;
        start_tt(&t, want[i].rod_ohm, want[i].more);
        assert_close(t.study.a->tt.fault_a, want[i].fault_a, 1e-9, 0);
        assert_close(t.study.a->tt.fault_v, want[i].fault_v, 1e-9, 0);
        assert_int_equal(t.study.a->tt.no_trip, want[i].no_trip);
        end(&t);
    }
}

/* Without an RCD's rating nothing is said to trip; without a PEN nothing beside it drifts. */
static void test_tt_not_known(void **state)
{
    (void)state;
    struct trial t;
    char facts[300];
    snprintf(facts, sizeof facts, "limit_set,conventional-50,-\nearthing,TT,-\n%s", places);
    start(&t, facts, "electrode,node,resistance_ohm\nrod,point,80\n", NULL);
    assert_int_equal(t.study.a->tt.no_trip, PD_UNKNOWN);
    assert_int_equal(t.study.a->overall, PD_OVERALL_UNKNOWN);
    end(&t);
    start_tt(&t, 80, "");
    case_text_set(&t.text, "sections.csv",
                  "section,from,to,line_r_ohm,line_x_ohm,pen_r_ohm,pen_x_ohm,neutral\n"
                  "service,substation,board,0.1,0,0.1,0,separate\n"
                  "circuit,board,point,0.2,0,0.2,0,separate\n");
    study_close(&t.study);
    folder_fill(&t.folder, &t.text);
    study_open(&t.study, t.folder.path);
    assert_int_equal(t.study.a->route[PD_ROUTE_TT - 1].result, PD_MEETS);
    assert_int_equal(t.study.a->tt.worst_reach, PD_NONE);
    end(&t);
}

/* A house all on TT has nothing of its own on the PEN, and says what it leaves out. */
static void test_tt_whole_house(void **state)
{
    (void)state;
    struct trial t;
    start(&t,
          "limit_set,gb-outdoor-charging,-\nearthing,TT,-\ninstallation,board,-\n"
          "charging_point,board,-\n",
          "electrode,node,resistance_ohm\nrod,board,80\n", NULL);
    assert_int_equal(t.study.a->route[PD_ROUTE_TT - 1].result, PD_MEETS);
    assert_int_equal(t.study.a->tt.worst_reach, PD_NONE);
    assert_true(says(&t.study.study_case->assumptions, "A neighbour's may be in reach"));
    end(&t);
}

/* A backup supply's electrode as the only one: 32 A at 230 V, 7.1875 ohm, over 195 ohm at 253 V. */
static void test_backup_electrode(void **state)
{
    (void)state;
    static const struct {
        double rod_ohm;
        const char *because;
    } want[] = {{195, "for an open PEN this electrode does not do"}, {2, "within the limit"}};
    for (size_t i = 0; i < 2; i++) {
        struct trial t;
        char facts[300], rod[100];
        snprintf(facts, sizeof facts,
                 "limit_set,gb-outdoor-charging,-\nearthing,TN-C-S,-\nbackup,changeover,-\n%s",
                 places);
        snprintf(rod, sizeof rod, "electrode,node,resistance_ohm\nrod,board,%g\n", want[i].rod_ohm);
        start(&t, facts, rod, NULL);
        assert_close(t.study.a->alone_v, 253 * want[i].rod_ohm / (want[i].rod_ohm + 7.1875), 1e-9,
                     0);
        assert_true(says(&t.study.a->because, want[i].because));
        end(&t);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_default_person),   cmocka_unit_test(test_declared_person),
        cmocka_unit_test(test_device_ends_it),   cmocka_unit_test(test_without_figures),
        cmocka_unit_test(test_tt_electrode),     cmocka_unit_test(test_tt_reach),
        cmocka_unit_test(test_tt_between),       cmocka_unit_test(test_tt_earth_fault),
        cmocka_unit_test(test_tt_not_known),     cmocka_unit_test(test_tt_whole_house),
        cmocka_unit_test(test_backup_electrode),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
