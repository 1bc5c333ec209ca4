/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "case_folder.h"
#include "files.h"

#include <complex.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "study/sweep.h"

/* Sweeps against closed forms (voltage divider, Millman), against the same case written by hand,
 * and each of the two roads against the other. */

static struct pd_sweep *swept(const char *folder, const struct pd_sweep_settings *settings)
{
    struct pd_errors errors = {0};
    struct pd_sweep *sweep = NULL;
    const enum pd_status status = pd_sweep_run(folder, settings, NULL, NULL, &sweep, &errors);
    for (size_t i = 0; i < errors.count && i < PD_ERRORS_KEPT; i++) {
        char line[512];
        pd_error_format(&errors.kept[i], line, sizeof line);
        fprintf(stderr, "%s\n", line);
    }
    assert_int_equal(status, PD_OK);
    return sweep;
}

static struct pd_sweep_settings vary(const char *first, const char *second)
{
    struct pd_sweep_settings settings = {.vary_count = second != NULL ? 2 : 1};
    assert_int_equal(pd_vary_parse(first, &settings.vary[0], NULL), PD_OK);
    if (second != NULL)
        assert_int_equal(pd_vary_parse(second, &settings.vary[1], NULL), PD_OK);
    return settings;
}

static const char *example(const char *name)
{
    static char path[256];
    snprintf(path, sizeof path, "%s/%s", cases_folder(), name);
    return path;
}

/* One house on a stiff 230 V supply, 216.2 to 253 V, without loop impedance: a voltage divider. */
static void write_house(struct written *w)
{
    written_make(w);
    written_put(w, "case.csv",
                "quantity,value,unit\nlimit_set,gb-outdoor-charging,-\nearthing,TN-C-S,-\n"
                "system,single-phase,-\nloop_impedance,0,ohm\nsource_electrode,0,ohm\n");
    written_put(w, "loads.csv",
                "load,node,current_a,min_current_a,max_current_a\nvehicle,installation,32,0,32\n");
    written_put(w, "electrodes.csv",
                "electrode,node,resistance_ohm,season_factor\nthe rod,installation,12,1\n");
}

static void test_spelling(void **state)
{
    (void)state;
    struct pd_vary v;
    assert_int_equal(pd_vary_parse("electrodes/rod/resistance_ohm=0.5:500:60:log", &v, NULL),
                     PD_OK);
    assert_string_equal(v.at.table, "electrodes.csv");
    assert_string_equal(v.at.row, "rod");
    assert_string_equal(v.at.column, "resistance_ohm");
    assert_true(v.log && v.count == 60 && v.from == 0.5 && v.to == 500);
    assert_string_equal(pd_vary_unit(&v), "ohm");
    assert_int_equal(pd_vary_parse("case.csv/source_electrode=20:0", &v, NULL), PD_OK);
    assert_string_equal(v.at.row, "source_electrode");
    assert_string_equal(v.at.column, "value");
    assert_true(!v.log && v.count == PD_VARY_COUNT && v.from == 20 && v.to == 0);
    assert_string_equal(pd_vary_unit(&v), "ohm");
    assert_int_equal(pd_vary_parse("loads/\"a/b=\"\"c\"\"\"/current_a=0:32:log", &v, NULL),
                     PD_ERR_INPUT); /* from 0 */
    assert_int_equal(pd_vary_parse("loads/\"a/b=\"\"c\"\"\"/current_a=1:32:log", &v, NULL), PD_OK);
    assert_string_equal(v.at.row, "a/b=\"c\"");
    assert_true(v.log && v.count == PD_VARY_COUNT);
}

static void test_wrong_spelling(void **state)
{
    (void)state;
    static const char *const wrong[] = {
        "",
        "rod",
        "rods/rod/resistance_ohm=1:2",
        "electrodes/rod=1:2",
        "electrodes//resistance_ohm=1:2",
        "electrodes/rod/resistance_ohm",
        "electrodes/rod/resistance_ohm=1",
        "electrodes/rod/resistance_ohm=1:1",
        "electrodes/rod/resistance_ohm=1:nan",
        "electrodes/rod/resistance_ohm=1:2:1",
        "electrodes/rod/resistance_ohm=1:2:2.5",
        "electrodes/rod/resistance_ohm=1:2:10001",
        "electrodes/rod/resistance_ohm=1:2:5:linear",
        "electrodes/rod/resistance_ohm=-1:2:5:log",
        "electrodes/\"rod/resistance_ohm=1:2",
    };
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        struct pd_errors errors = {0};
        struct pd_vary v;
        assert_int_equal(pd_vary_parse(wrong[i], &v, &errors), PD_ERR_INPUT);
        assert_int_equal(errors.count, 1);
    }
}

/* U = E R / (R + U0/I): at 253 V and 32 A the limit is met at R = 70 (230/32) / (253 - 70). */
static void test_divider(void **state)
{
    (void)state;
    struct written w;
    write_house(&w);
    struct pd_sweep_settings settings =
        vary("electrodes/the rod/resistance_ohm=0.5:500:40:log", NULL);
    for (int reread = 0; reread < 2; reread++) {
        settings.reread = reread;
        struct pd_sweep *sweep = swept(w.path, &settings);
        const double load_ohm = 230.0 / 32;
        for (size_t i = 0; i < sweep->count; i++) {
            const double r = sweep->point[i].value[0];
            assert_close(sweep->point[i].touch_v, 253 * r / (r + load_ohm), 1e-9, 0);
            assert_int_equal(sweep->point[i].touch, 253 * r / (r + load_ohm) > 70);
        }
        assert_int_equal(sweep->crossing_count, 1);
        const double limit_ohm = 70 * load_ohm / (253 - 70);
        assert_close(sweep->crossing[0].low.value[0], limit_ohm, 1e-9, 0);
        assert_int_equal(sweep->crossing[0].low.touch, PD_WITHIN);
        assert_int_equal(sweep->crossing[0].high.touch, PD_OVER);
        assert_false(sweep->crossing[0].jumps);
        assert_close(limit_ohm, pd_electrode_formula(230, 32, 70, 1.1), 1e-12, 0);
        assert_close(sweep->present.value[0], 12, 0, 0);
        pd_sweep_free(&sweep);
    }
    written_remove(&w);
}

/* The supply voltage alone: only the declared value counts, U = E 12 / (12 + 230/32). */
static void test_supply(void **state)
{
    (void)state;
    struct written w;
    write_house(&w);
    const struct pd_sweep_settings settings = vary("case/supply_voltage=217:253:7", NULL);
    struct pd_sweep *sweep = swept(w.path, &settings);
    for (size_t i = 0; i < sweep->count; i++)
        assert_close(sweep->point[i].touch_v, sweep->point[i].value[0] * 12 / (12 + 230.0 / 32),
                     1e-9, 0);
    assert_false(sweep->all_supplies);
    pd_sweep_free(&sweep);
    written_remove(&w);
}

static void same_points(const struct pd_sweep *a, const struct pd_sweep *b)
{
    assert_int_equal(a->count, b->count);
    for (size_t i = 0; i < a->count; i++) {
        const struct pd_sweep_point *const p = &a->point[i], *const q = &b->point[i];
        assert_close(p->touch_v, q->touch_v, 1e-9, 1e-9);
        assert_close(p->unseen_v, q->unseen_v, 1e-9, 1e-9);
        assert_int_equal(p->section, q->section);
        assert_int_equal(p->touch, q->touch);
        assert_int_equal(p->disconnected, q->disconnected);
        assert_int_equal(p->scenarios, q->scenarios);
        assert_close(p->supply_v, q->supply_v, 0, 0);
    }
}

/* By reading the case for each point, and by moving numbers in one case. */
static void test_both_roads(void **state)
{
    (void)state;
    static const struct {
        const char *name, *first, *second;
    } sweeps[] = {
        {"street", "loads/vehicle/current_a=0:32:9", "electrodes/main end/resistance_ohm=5:500:4"},
        {"street", "loads/house18/current_a=0.3:31:9", NULL},
        {"street", "case/supply_voltage=220:250:5", "loads/house17/current_a=0.4:40:5"},
        {"workshop-unbalanced", "loads/heaters/power_kw=1:6:4", "loads/offices/power_kw=1:4:4"},
        {"workshop-unbalanced", "loads/vehicle/power_kw=0:7.36:9", NULL},
        {"house-rod-12-ohm", "electrodes/rod/resistance_ohm=1:100:9:log", NULL},
        {"vehicle-lets-go", "loads/vehicle/current_a=1:32:5", NULL},
    };
    for (size_t i = 0; i < sizeof sweeps / sizeof sweeps[0]; i++) {
        struct pd_sweep_settings settings = vary(sweeps[i].first, sweeps[i].second);
        struct pd_sweep *moved = swept(example(sweeps[i].name), &settings);
        settings.reread = true;
        struct pd_sweep *reread = swept(example(sweeps[i].name), &settings);
        same_points(moved, reread);
        pd_sweep_free(&moved);
        pd_sweep_free(&reread);
    }
}

/* The point at the tables' own value is what the assessment finds. */
static void test_against_assess(void **state)
{
    (void)state;
    struct study study = {0};
    study_open_example(&study, "street");
    struct pd_sweep_settings settings = vary("electrodes/main end/resistance_ohm=60:61:2", NULL);
    for (int all = 0; all < 2; all++) {
        settings.all_loads = all;
        struct pd_sweep *sweep = swept(example("street"), &settings);
        double worst_v = 0, unseen_v = 0;
        for (size_t i = 0; i < study.a->scenario_count; i++) {
            const struct pd_scenario *const s = &study.a->scenario[i];
            if (s->fault != PD_OPEN_PEN || (!all && s->loads != PD_LOADS_PRESENT))
                continue;
            worst_v = fmax(worst_v, s->touch_v);
            if (s->touch == PD_OVER && !s->disconnected)
                unseen_v = fmax(unseen_v, s->touch_v);
        }
        assert_close(sweep->point[0].touch_v, worst_v, 1e-9, 0);
        /* assess searches between the corners too */
        assert_true(sweep->point[0].unseen_v <= unseen_v + 1e-9);
        if (!all)
            assert_close(sweep->point[0].unseen_v, unseen_v, 1e-9, 1e-9);
        pd_sweep_free(&sweep);
    }
    study_close(&study);
}

/* Stiff three-phase supply, no electrode, all on one neutral: |U_N| = E |s1 + s2 a^2 + s3 a|, by
 * Millman's theorem. */
static void test_lines(void **state)
{
    (void)state;
    const struct pd_sweep_settings settings = {.total_kw = 12, .steps = 20};
    struct pd_sweep *sweep = swept(example("workshop-unbalanced"), &settings);
    const double complex a = cexp(I * 2 * M_PI / 3);
    size_t within = 0;
    assert_int_equal(sweep->count, 21 * 22 / 2);
    for (size_t i = 0; i < sweep->count; i++) {
        const double *const kw = sweep->point[i].value;
        const double want_v = 253 * cabs(kw[0] + kw[1] * a * a + kw[2] * a) / 12;
        assert_close(kw[0] + kw[1] + kw[2], 12, 1e-12, 0);
        assert_close(sweep->point[i].touch_v, want_v, 1e-9, 1e-9);
        within += want_v <= 70;
    }
    assert_int_equal(sweep->within, within);
    assert_close(sweep->present.value[0], 2.64 + 7.36 + 2, 1e-9, 0);
    assert_close(sweep->present.value[1], 2 + 2, 1e-9, 0);
    assert_close(sweep->present.value[2], 5, 1e-9, 0);
    pd_sweep_free(&sweep);
}

/* A cell changed on the way is a cell written by hand: of every table. */
static void test_cells(void **state)
{
    (void)state;
    static const struct {
        const char *cell, *table, *text;
    } cells[] = {
        {"sections/service/line_r_ohm=0.1:0.3:2", "sections.csv",
         "section,from,to,line_r_ohm,pen_r_ohm,neutral\nservice,substation,house,0.3,0.2,pen\n"},
        {"detectors/watch/high_v=240:250:2", "detectors.csv",
         "detector,node,senses,low_v,high_v,delay_s,disconnects\nwatch,house,line-neutral,207,250,"
         "1,live-and-pe\n"},
        {"case/source_electrode=1:5:2", "case.csv",
         "quantity,value,unit\nlimit_set,gb-outdoor-charging,-\nearthing,TN-C-S,-\nsystem,"
         "single-phase,-\ninstallation,house,-\nsource_electrode,5,ohm\n"},
        {"electrodes/rod/soil_ohm_m=50:80:2", "electrodes.csv",
         "electrode,node,shape,length_m,diameter_mm,soil_ohm_m\nrod,house,rod,2.4,16,80\n"},
        {"loads/oven/power_factor=0.9:0.8:2", "loads.csv",
         "load,node,current_a,power_factor\noven,house,20,0.8\n"},
    };
    struct written w;
    for (size_t i = 0; i < sizeof cells / sizeof cells[0]; i++) {
        written_make(&w);
        written_put(&w, "case.csv",
                    "quantity,value,unit\nlimit_set,gb-outdoor-charging,-\nearthing,TN-C-S,-\n"
                    "system,single-phase,-\ninstallation,house,-\n");
        written_put(
            &w, "sections.csv",
            "section,from,to,line_r_ohm,pen_r_ohm,neutral\nservice,substation,house,0.1,0.2,pen\n");
        written_put(&w, "loads.csv", "load,node,current_a,power_factor\noven,house,20,0.95\n");
        written_put(&w, "electrodes.csv",
                    "electrode,node,shape,length_m,diameter_mm,soil_ohm_m\nrod,house,rod,2.4,16,"
                    "60\n");
        written_put(&w, "detectors.csv",
                    "detector,node,senses,low_v,high_v,delay_s,disconnects\nwatch,house,"
                    "line-neutral,207,253,1,live-and-pe\n");
        const struct pd_sweep_settings settings = vary(cells[i].cell, NULL);
        struct pd_sweep *set = swept(w.path, &settings);
        written_put(&w, cells[i].table, cells[i].text);
        struct pd_sweep *by_hand = swept(w.path, &settings);
        assert_close(set->point[1].touch_v, by_hand->present.touch_v, 1e-12, 0);
        assert_int_equal(set->point[1].disconnected, by_hand->present.disconnected);
        assert_close(by_hand->present.value[0], set->settings.vary[0].to, 0, 0);
        if (strncmp(cells[i].cell, "detectors", 9) != 0)
            assert_true(fabs(set->point[0].touch_v - set->point[1].touch_v) > 1e-6);
        pd_sweep_free(&set);
        pd_sweep_free(&by_hand);
        written_remove(&w);
    }
}

/* What a sweep says of a wrong address, and of a value that the case cannot have. */
static void test_wrong_addresses(void **state)
{
    (void)state;
    static const struct {
        const char *cell, *line;
    } wrong[] = {
        {"loads/vehicel/current_a=0:32",
         "loads.csv: has no row 'vehicel'; did you mean 'vehicle'?"},
        {"loads/vehicle/curent_a=0:32",
         "loads.csv: has no column 'curent_a'; did you mean 'current_a'?"},
        {"loads/vehicle/load=0:32", "loads.csv: load: names the row; name a column of numbers"},
        {"loads/house1/phase=0:32",
         "loads.csv:3: phase: 'L1' is not a number; only a number can be varied"},
        {"case/source_elektrode=0:32",
         "case.csv: has no quantity 'source_elektrode'; did you mean 'source_electrode'?"},
        {"case/system=0:32", "case.csv:14: system: is not a number; only a number can be varied"},
        {"cables/copper/line_r_ohm_per_km=1:2",
         "cables.csv: is not in the case, so nothing in it can be varied"},
        {"loads/house1/current_a=0:28",
         "loads.csv:3: min_current_a: 0.5 is above the present value, current_a 0"},
        {"electrodes/main end/resistance_ohm=0:10",
         "electrodes.csv:3: resistance_ohm: 0 is out of range: 0.01 to 1000000000: a lower reading "
         "is a fault of the test, for a higher one leave the electrode out"},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        struct pd_errors errors = {0};
        struct pd_sweep *sweep = NULL;
        char line[512];
        const struct pd_sweep_settings settings = vary(wrong[i].cell, NULL);
        assert_int_equal(pd_sweep_run(example("street"), &settings, NULL, NULL, &sweep, &errors),
                         PD_ERR_INPUT);
        assert_null(sweep);
        assert_true(errors.count > 0);
        pd_error_format(&errors.kept[0], line, sizeof line);
        assert_string_equal(line, wrong[i].line);
    }
}

/* Where something is missing, or has no potential, nothing is within the limit. */
static void test_not_determined(void **state)
{
    (void)state;
    struct pd_sweep_settings settings = vary("loads/vehicle/current_a=0:32:5", NULL);
    struct pd_sweep *sweep = swept(example("house-rod-unmeasured"), &settings);
    assert_true(sweep->missing);
    assert_int_equal(sweep->count, 0);
    pd_sweep_free(&sweep);
    sweep = swept(example("house-no-electrode"), &settings);
    assert_int_equal(sweep->point[0].touch, PD_UNKNOWN); /* no load, no electrode: it floats */
    assert_int_equal(sweep->point[0].unsolved, 3);
    assert_true(isnan(sweep->point[0].unseen_v));
    assert_int_equal(sweep->point[1].touch, PD_OVER);
    assert_int_equal(sweep->within, 0);
    assert_int_equal(sweep->unknown, 1);
    assert_int_equal(sweep->crossing_count, 0);
    pd_sweep_free(&sweep);
}

static bool stop(double share, void *context)
{
    (void)share, (void)context;
    return false;
}

static void test_interrupted(void **state)
{
    (void)state;
    struct pd_sweep *sweep = NULL;
    const struct pd_sweep_settings settings = vary("loads/vehicle/current_a=0:32:5", NULL);
    assert_int_equal(pd_sweep_run(example("street"), &settings, stop, NULL, &sweep, NULL),
                     PD_ERR_INTERRUPTED);
    assert_null(sweep);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_spelling),        cmocka_unit_test(test_wrong_spelling),
        cmocka_unit_test(test_divider),         cmocka_unit_test(test_supply),
        cmocka_unit_test(test_both_roads),      cmocka_unit_test(test_against_assess),
        cmocka_unit_test(test_lines),           cmocka_unit_test(test_cells),
        cmocka_unit_test(test_wrong_addresses), cmocka_unit_test(test_not_determined),
        cmocka_unit_test(test_interrupted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
