/* SPDX-License-Identifier: GPL-3.0-or-later */

/* The shipped checks, and that a wrong figure or a wrong table among them is found. What is right:
 * the sources named in reference/checks.csv, and the contract in study/selftest.h. */

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "study/selftest.h"

struct tally {
    size_t count, failed, two_roads;
    size_t stop_after; /* 0: never */
};

static bool note(const struct pd_selftest_result *result, void *context)
{
    struct tally *const tally = context;
    if (!result->passed)
        print_message("fails: %s, %.9g and %.9g\n", result->check, result->got[0], result->got[1]);
    tally->count++;
    tally->failed += !result->passed;
    tally->two_roads += result->roads == 2;
    return tally->count != tally->stop_after;
}

static void test_shipped(void **state)
{
    (void)state;
    struct tally tally = {0};
    struct pd_errors errors = {0};
    assert_int_equal(pd_selftest_run(note, &tally, &errors), PD_OK);
    assert_int_equal(errors.count, 0);
    assert_int_equal(tally.failed, 0);
    assert_in_range(tally.count, 30, 1000);
    assert_in_range(tally.two_roads, 20, tally.count);
}

static const char *const head = "check,kind,quantity,inputs,want,tolerance,unit,seen,source\n";

static enum pd_status run(const char *rows, struct tally *tally, struct pd_errors *errors)
{
    char text[2048];
    *errors = (struct pd_errors){0};
    *tally = (struct tally){.stop_after = tally->stop_after};
    snprintf(text, sizeof text, "%s%s", head, rows);
    return pd_selftest_run_text(text, strlen(text), note, tally, errors);
}

/* 10, 15 and 20 ohm on 400 V: 47.00 V (circuits textbook, see CHECKS); 47.02 is not within 0.01. */
static void test_wrong_figure_fails(void **state)
{
    (void)state;
    static const char *const rows[] = {
        "a,star,un_v,phases=3 between_v=400 z1_ohm=10 z2_ohm=15 z3_ohm=20,47.02,.01,V,seen,x\n",
        "a,star,un_deg,phases=3 between_v=400 z1_ohm=10 z2_ohm=15,19.11,.01,deg,seen,x\n",
        "a,star,line1_v,phases=1 phase_v=230 p1_w=100,100,1,V,seen,x\n",
        "a,formula,max_ohm,nominal_v=230 current_a=32 limit_v=70,3.145,.01,ohm,seen,x\n",
        "a,rod,resistance_ohm,length_m=2.4 diameter_m=.016 soil_ohm_m=100,40.4,.01,ohm,seen,x\n",
        "a,rod,resistance_ohm,length_m=2.4 soil_ohm_m=100,40.39,.01,ohm,seen,x\n",
        "a,permissible,touch_v,time_s=1,116,.5,V,seen,x\n",
        "a,permissible,touch_v,time_s=0.2,537,1000,V,seen,x\n",
        "a,tolerable,touch_v,soil_ohm_m=100 time_s=0.49,265.14,.01,V,seen,x\n"};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tally tally = {0};
        struct pd_errors errors;
        assert_int_equal(run(rows[i], &tally, &errors), PD_OK);
        assert_int_equal(tally.count, 1);
        assert_int_equal(tally.failed, 1);
    }
}

/* An angle is the same a turn further on. */
static void test_angle_turns(void **state)
{
    (void)state;
    struct tally tally = {0};
    struct pd_errors errors;
    assert_int_equal(
        run("a,star,un_deg,phases=3 between_v=400 z1_ohm=10 z2_ohm=15 z3_ohm=20,340.89,0.01,deg,"
            "seen,x\n",
            &tally, &errors),
        PD_OK);
    assert_int_equal(tally.failed, 0);
}

static void test_wrong_tables(void **state)
{
    (void)state;
    static const struct {
        const char *row, *message;
    } wrong[] = {
        {"a,stars,un_v,phases=3,1,1,V,seen,x\n", "kind"},
        {"a,star,un,phases=3,1,1,V,seen,x\n", "quantity"},
        {"a,star,un_v,phases=3 phase_w=1,1,1,V,seen,x\n", "'phase_w=1' is no input"},
        {"a,star,un_v,phases=3 phases=3,1,1,V,seen,x\n", "given twice"},
        {"a,star,un_v,phases=x,1,1,V,seen,x\n", "'phases=x'"},
        {"a,star,un_v,phases=4 phase_v=230 p1_w=1,1,1,V,seen,x\n", "do not describe"},
        {"a,star,un_v,phases=3 phase_v=230,1,1,V,seen,x\n", "do not describe"},
        {"a,star,un_v,phases=3 p1_w=1,1,1,V,seen,x\n", "do not describe"},
        {"a,star,un_v,phases=1 phase_v=230 p2_w=1,1,1,V,seen,x\n", "do not describe"},
        {"a,star,un_v,phases=3 phase_v=230 p1_w=1 z1_ohm=1,1,1,V,seen,x\n", "do not describe"},
        {"a,star,un_v,phases=3 phase_v=230 z1_deg=1,1,1,V,seen,x\n", "do not describe"},
        {"a,star,electrode_max_ohm,phases=3 phase_v=230 p1_w=1,1,1,V,seen,x\n", "do not describe"},
        {"a,star,un_v,phases=3 phase_v=230 p1_w=1,nan,1,V,seen,x\n", "want"},
        {"a,star,un_v,phases=3 phase_v=230 p1_w=1,1,0,V,seen,x\n", "tolerance"},
        {"a,tolerable,resistance_ohm,time_s=1,1,1,V,seen,x\n", "quantity"},
        {"a,permissible,step_v,time_s=1,1,1,V,seen,x\n", "quantity"},
        {"a,star,un_v,phases=3 phase_v=230 p1_w=1,1,1,V,guessed,x\n", "seen"},
        {"a,star,un_v,phases=3 phase_v=230 p1_w=1,1,1,V,seen,\n", "source"},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        struct tally tally = {0};
        struct pd_errors errors;
        char line[700] = "";
        assert_int_equal(run(wrong[i].row, &tally, &errors), PD_ERR_INPUT);
        assert_in_range(errors.count, 1, 3);
        pd_error_format(&errors.kept[0], line, sizeof line);
        if (strstr(line, wrong[i].message) == NULL)
            fail_msg("%s: %s", wrong[i].row, line);
        assert_int_equal(tally.count, 0);
    }
}

static void test_stops(void **state)
{
    (void)state;
    struct tally tally = {.stop_after = 2};
    assert_int_equal(pd_selftest_run(note, &tally, NULL), PD_ERR_INTERRUPTED);
    assert_int_equal(tally.count, 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_shipped),     cmocka_unit_test(test_wrong_figure_fails),
        cmocka_unit_test(test_angle_turns), cmocka_unit_test(test_wrong_tables),
        cmocka_unit_test(test_stops),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
