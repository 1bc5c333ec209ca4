/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "case_folder.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* Whole cases at the edges: electrodes from nothing to everything, loads from nothing to 10 kA,
 * sections of no ohms, supplies out of range. Cells and rows that are wrong or missing are in
 * test_edges_cells.c. */

static const char *const house = "quantity,value,unit\nlimit_set,gb-outdoor-charging,-\n"
                                 "earthing,TN-C-S,-\nsystem,single-phase,-\n";
static const char *const point_32_a = "load,node,current_a\nvehicle,installation,32\n";

struct setting {
    struct folder folder;
    struct case_text text;
    struct study study;
};

static void start(struct setting *s, const char *facts, const char *loads)
{
    *s = (struct setting){0};
    folder_make(&s->folder);
    case_text_set(&s->text, "case.csv", facts);
    case_text_set(&s->text, "loads.csv", loads);
}

static const struct pd_assessment *again(struct setting *s)
{
    study_close(&s->study);
    folder_fill(&s->folder, &s->text);
    study_open(&s->study, s->folder.path);
    return s->study.a;
}

static void end(struct setting *s)
{
    study_close(&s->study);
    folder_remove(&s->folder);
    case_text_free(&s->text);
}

static void set_electrode(struct setting *s, double ohm)
{
    char table[128];
    snprintf(table, sizeof table, "electrode,node,resistance_ohm\nrod,installation,%.17g\n", ohm);
    case_text_set(&s->text, "electrodes.csv", table);
}

static double worst_v(const struct pd_assessment *a)
{
    assert_true(a->worst != PD_NONE);
    return a->scenario[a->worst].touch_v;
}

/* The divider: 253 R / (R + 230/32), for every R; one of 10 Mohm is as good as none. */
static void test_electrode_monotone(void **state)
{
    (void)state;
    struct setting s;
    start(&s, house, point_32_a);
    double before_v = 0;
    for (double ohm = 0.01; ohm < 2e7; ohm *= 1.37) {
        set_electrode(&s, ohm);
        const struct pd_assessment *const a = again(&s);
        assert_close(worst_v(a), 253 * ohm / (ohm + 230.0 / 32), 1e-9, 0);
        assert_true(worst_v(a) > before_v);
        const bool enough = ohm <= 70 * 230 / (32 * 183.0);
        assert_int_equal(a->overall, enough ? PD_ACCEPTABLE : PD_NOT_ACCEPTABLE);
        before_v = worst_v(a);
    }
    set_electrode(&s, 1e7);
    const double nearly_none_v = worst_v(again(&s));
    case_text_set(&s.text, "electrodes.csv", NULL);
    assert_close(nearly_none_v, worst_v(again(&s)), 1e-6, 0);
    end(&s);
}

/* On either side of the electrode that is needed, by parts in a thousand million. */
static void test_electrode_at_the_limit(void **state)
{
    (void)state;
    struct setting s;
    start(&s, house, point_32_a);
    const double needs_ohm = 70 * 230 / (32 * 183.0);
    set_electrode(&s, needs_ohm * (1 - 1e-9));
    assert_int_equal(again(&s)->overall, PD_ACCEPTABLE);
    set_electrode(&s, needs_ohm * (1 + 1e-9));
    assert_int_equal(again(&s)->overall, PD_NOT_ACCEPTABLE);
    end(&s);
}

/* A house by itself and loads that are resistors: an electrode of whatever size takes nothing away
 * from a device that sees the break, and nothing from an electrode that was enough. */
static void test_electrode_never_hurts(void **state)
{
    (void)state;
    const char *const loads = "load,node,current_a,min_current_a,max_current_a\n"
                              "house,installation,4,0.1,20\nvehicle,installation,32,0,32\n";
    struct setting s;
    start(&s, house, loads);
    case_text_set(&s.text, "detectors.csv",
                  "detector,node,senses,low_v,high_v,tolerance_v,delay_s,disconnects\n"
                  "point,installation,line-neutral,209,251,2,4,live-and-pe\n");
    assert_int_equal(again(&s)->overall, PD_ACCEPTABLE);
    for (double ohm = 0.01; ohm < 1e8; ohm *= 1.9) {
        set_electrode(&s, ohm);
        assert_int_equal(again(&s)->overall, PD_ACCEPTABLE);
    }
    end(&s);
}

static void test_no_load(void **state)
{
    (void)state;
    struct setting s;
    start(&s, house, "load,node,current_a\nvehicle,installation,0\n");
    const struct pd_assessment *a = again(&s);
    assert_int_equal(a->overall, PD_OVERALL_UNKNOWN);
    assert_int_equal(a->rule.electrode, PD_ANSWER_UNKNOWN);
    assert_int_equal(a->network.electrode, PD_ANSWER_UNKNOWN);
    assert_true(isnan(a->residual_v));
    assert_int_equal(a->worst_unseen, PD_NONE);
    assert_true(a->because.count > 0);
    /* Nor does a device make it good. */
    case_text_set(&s.text, "detectors.csv",
                  "detector,node,senses,low_v,high_v,delay_s,disconnects\n"
                  "point,installation,line-neutral,207,253,1,live-and-pe\n");
    assert_int_equal(again(&s)->overall, PD_OVERALL_UNKNOWN);
    /* Nor an electrode, which no current flows through: the vehicle's will. */
    set_electrode(&s, 2.5);
    assert_int_equal(again(&s)->overall, PD_OVERALL_UNKNOWN);
    /* A table without a row is told, or not determined. */
    struct pd_errors *const errors = calloc(1, sizeof *errors);
    assert_non_null(errors);
    study_close(&s.study);
    case_text_set(&s.text, "loads.csv", "load,node,current_a\n");
    folder_fill(&s.folder, &s.text);
    if (folder_assess(&s.folder, &s.study, errors) == PD_OK)
        assert_int_equal(s.study.a->overall, PD_OVERALL_UNKNOWN);
    free(errors);
    end(&s);
}

/* 0 A only at the low end: the other states say what the neutral does. */
static void test_no_load_at_low_only(void **state)
{
    (void)state;
    struct setting s;
    start(&s, house,
          "load,node,current_a,min_current_a,max_current_a\nvehicle,installation,16,0,32\n");
    const struct pd_assessment *const a = again(&s);
    assert_int_equal(a->overall, PD_NOT_ACCEPTABLE);
    assert_int_equal(a->unsolved, 0);
    assert_close(a->residual_v, 253, 1e-12, 0);
    end(&s);
}

static void test_load_of_10_ka(void **state)
{
    (void)state;
    struct setting s;
    start(&s, house, "load,node,current_a\nvehicle,installation,10000\n");
    set_electrode(&s, 2.5);
    const struct pd_assessment *a = again(&s);
    assert_int_equal(a->overall, PD_NOT_ACCEPTABLE);
    assert_close(a->route[1].limit, 70 * 230 / (10000 * 183.0), 1e-9, 0);
    assert_close(worst_v(a), 253 * 2.5 / (2.5 + 0.023), 1e-9, 0);
    assert_true(a->scenario[a->worst].residual < 1e-9);
    end(&s);
}

/* A street of sections without ohms is the supply without a street. */
static void test_sections_of_0_ohm(void **state)
{
    (void)state;
    struct setting s;
    start(&s,
          "quantity,value,unit\nlimit_set,gb-outdoor-charging,-\nearthing,TN-C-S,-\n"
          "system,single-phase,-\ninstallation,house,-\ncharging_point,point,-\n",
          "load,node,current_a\nvehicle,point,32\n");
    case_text_set(&s.text, "sections.csv",
                  "section,from,to,line_r_ohm,pen_r_ohm,neutral\nmain,substation,joint,0,0,pen\n"
                  "service,joint,house,0,0,pen\nspur,joint,other,0,0,pen\n"
                  "circuit,house,point,0,0,separate\n");
    case_text_set(&s.text, "electrodes.csv", "electrode,node,resistance_ohm\nrod,house,12\n");
    const struct pd_assessment *const a = again(&s);
    assert_close(worst_v(a), 253 * 12 / (12 + 230.0 / 32), 1e-9, 0);
    assert_close(study_scenario(&s.study, "main", PD_LOADS_PRESENT, 230)->touch_v,
                 230 * 12 / (12 + 230.0 / 32), 1e-9, 0);
    /* The spur has no load and no electrode: its own neutral floats, the house does not mind. */
    assert_close(study_scenario(&s.study, "spur", PD_LOADS_PRESENT, 230)->touch_v, 0, 0, 1e-9);
    assert_int_equal(a->unsolved, 0);
    end(&s);
}

/* 20 A in the house and 32 A in the vehicle, held to `limit` in all. */
static void test_demand_limit(void **state)
{
    (void)state;
    static const struct {
        const char *limit;
        double line_a; /* by hand: the vehicle gives way down to 0, the house never */
    } rows[] = {{"", 52}, {"100", 52}, {"52", 52}, {"40", 40}, {"21", 21}, {"20", 20}, {"10", 20}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char facts[400];
        struct setting s;
        snprintf(facts, sizeof facts, "%sinstallation,house,-\ncharging_point,point,-\n%s%s%s",
                 house, rows[i].limit[0] != '\0' ? "demand_limit," : "", rows[i].limit,
                 rows[i].limit[0] != '\0' ? ",A\n" : "");
        start(&s, facts, "load,node,current_a\nhouse,house,20\nvehicle,point,32\n");
        case_text_set(&s.text, "sections.csv",
                      "section,from,to,line_r_ohm,pen_r_ohm,neutral\n"
                      "service,substation,house,0,0,pen\ncircuit,house,point,0,0,separate\n");
        assert_close(again(&s)->rule.electrode_max_ohm, 70 * 230 / (rows[i].line_a * 183), 1e-9, 0);
        end(&s);
    }
}

static void test_supply_out_of_range(void **state)
{
    (void)state;
    static const struct {
        const char *row;
        enum pd_status status;
        enum pd_overall overall;
    } rows[] = {
        {"supply_voltage,230,V\n", PD_OK, PD_ACCEPTABLE},
        {"supply_voltage,262,V\n", PD_OK, PD_ACCEPTABLE},       /* 66.9 V */
        {"supply_voltage,280,V\n", PD_OK, PD_NOT_ACCEPTABLE},   /* 71.5 V: higher than the range */
        {"supply_voltage,180,V\n", PD_OK, PD_ACCEPTABLE},       /* 253 V is studied beside it */
        {"nominal_voltage,120,V\n", PD_OK, PD_OVERALL_UNKNOWN}, /* not the set's supply */
        {"nominal_voltage,400,V\n", PD_OK, PD_OVERALL_UNKNOWN},
        {"supply_voltage,0,V\n", PD_ERR_INPUT, PD_OVERALL_UNKNOWN},
        {"supply_voltage,-230,V\n", PD_ERR_INPUT, PD_OVERALL_UNKNOWN},
        {"supply_voltage,1001,V\n", PD_ERR_INPUT, PD_OVERALL_UNKNOWN},
        {"supply_voltage,230,kV\n", PD_ERR_INPUT, PD_OVERALL_UNKNOWN},
    };
    struct pd_errors *const errors = calloc(1, sizeof *errors);
    assert_non_null(errors);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char facts[400];
        struct setting s;
        snprintf(facts, sizeof facts, "%s%s", house, rows[i].row);
        start(&s, facts, point_32_a);
        set_electrode(&s, 2.46);
        folder_fill(&s.folder, &s.text);
        assert_int_equal(folder_assess(&s.folder, &s.study, errors), rows[i].status);
        if (rows[i].status == PD_OK)
            assert_int_equal(s.study.a->overall, rows[i].overall);
        end(&s);
    }
    free(errors);
}

static bool all_linear(const struct pd_network *network)
{
    for (size_t i = 0; i < network->load_count; i++)
        if (!network->load[i].behaviour->linear)
            return false;
    return true;
}

/* What holds for every scenario of every example. */
static void test_every_scenario(void **state)
{
    (void)state;
    for (int i = 0; case_names[i] != NULL; i++) {
        struct study s = {0};
        study_open_example(&s, case_names[i]);
        size_t over = 0, unseen = 0;
        for (size_t k = 0; k < s.a->scenario_count; k++) {
            const struct pd_scenario *const p = &s.a->scenario[k];
            /* Linear loads to rounding; those that are iterated, to the stated tolerance. */
            const double most = all_linear(s.study_case->network) ? 1e-9 : PD_RESIDUAL_MAX;
            assert_true(p->standing != PD_SOLVED || (p->residual >= 0 && p->residual <= most));
            if (!pd_fault_judged(p->fault))
                continue;
            assert_true(p->floating == isnan(p->touch_v) || p->standing != PD_SOLVED);
            assert_int_equal(p->touch, isnan(p->touch_v)  ? PD_UNKNOWN
                                       : p->touch_v <= 70 ? PD_WITHIN
                                                          : PD_OVER);
            over += p->touch == PD_OVER;
            unseen += p->touch == PD_OVER && !p->disconnected;
        }
        assert_int_equal(over, s.a->over);
        assert_int_equal(unseen, s.a->unseen);
        assert_true(unseen == 0 || s.a->overall != PD_ACCEPTABLE);
        study_close(&s);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_electrode_monotone),    cmocka_unit_test(test_electrode_at_the_limit),
        cmocka_unit_test(test_electrode_never_hurts), cmocka_unit_test(test_no_load),
        cmocka_unit_test(test_no_load_at_low_only),   cmocka_unit_test(test_load_of_10_ka),
        cmocka_unit_test(test_sections_of_0_ohm),     cmocka_unit_test(test_demand_limit),
        cmocka_unit_test(test_supply_out_of_range),   cmocka_unit_test(test_every_scenario),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
