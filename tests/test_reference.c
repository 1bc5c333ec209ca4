/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>

#include "case_folder.h"

/* What a device's reference electrode takes on by where it stands: against the closed forms of
 * point and rod electrodes in uniform ground (textbooks: half ball; Sunde's line source). */

static const char device_head[] =
    "detector,node,senses,limit_v,tolerance_v,reference_ohm,input_ohm,reference_x_m,"
    "reference_y_m,delay_s,disconnects,reset\n";

static void put_device(struct case_text *text, double x_m, double y_m)
{
    char table[400];
    snprintf(table, sizeof table,
             "%spoint,installation,pe-earth,50,2,400,100000,%.17g,%.17g,0.5,live-and-pe,manual\n",
             device_head, x_m, y_m);
    case_text_set(text, "detectors.csv", table);
}

static void open_with(const char *electrodes, double x_m, double y_m, struct study *study)
{
    struct case_text text;
    struct folder folder;
    struct pd_errors errors = {0};
    folder_make(&folder);
    case_text_read(&text, "house-weak-reference");
    case_text_set(&text, "electrodes.csv", electrodes);
    put_device(&text, x_m, y_m);
    folder_fill(&folder, &text);
    const enum pd_status status = folder_assess(&folder, study, &errors);
    if (status != PD_OK)
        print_message("%s\n", errors.kept[0].text);
    assert_int_equal(status, PD_OK);
    case_text_free(&text);
    folder_remove(&folder);
}

static double coupling_with(const char *electrodes, double x_m, double y_m)
{
    struct study study = {0};
    open_with(electrodes, x_m, y_m, &study);
    assert_int_equal(study.study_case->missing.count, 0);
    const double coupling = study.study_case->detectors.detector[0].coupling;
    study_close(&study);
    return coupling;
}

/* An electrode without shape is a half ball of radius a = rho/(2 pi R): its ground has a/s of its
 * potential at s. The season multiplies rho and R alike. */
static void test_half_ball(void **state)
{
    (void)state;
    static const char rod[] = "electrode,node,resistance_ohm,season_factor,x_m,y_m,soil_ohm_m\n"
                              "rod,installation,3,1.1,2,-1,30\n";
    for (double s = 2; s < 100; s *= 1.7)
        assert_close(coupling_with(rod, 2 + 0.6 * s, -1 + 0.8 * s), 30 / (2 * M_PI * 3 * s), 1e-9,
                     0);
    assert_close(coupling_with(rod, 2, 0), 1, 0, 0); /* within it: nothing is left to sense */
}

/* A rod of length L, radius a: rho/(2 pi L) asinh(L/s) at s on the surface, over its own
 * rho/(2 pi L) (ln(4 L/a) - 1), for a current that leaves it evenly (Sunde); the engine's leaves it
 * as the ground lets it, which differs by some per cent. */
static void test_rod(void **state)
{
    (void)state;
    static const char rod[] = "electrode,node,shape,soil_ohm_m,length_m,diameter_mm,x_m,y_m\n"
                              "rod,installation,rod,30,2.4,16,0,0\n";
    for (double s = 1; s < 40; s *= 2) {
        const double evenly = asinh(2.4 / s) / (log(4 * 2.4 / 0.008) - 1);
        assert_close(coupling_with(rod, s, 0), evenly, 0.04, 0);
    }
}

/* Two electrodes on one PEN, far enough from one another to be half balls: each has the other's
 * share on itself, so at V they carry V/(R + R_m) each, R_m = rho/(2 pi d). */
static void test_two(void **state)
{
    (void)state;
    static const char two[] = "electrode,node,resistance_ohm,season_factor,x_m,y_m,soil_ohm_m\n"
                              "a,installation,5,1,0,0,30\n"
                              "b,substation,5,1,20,0,30\n";
    const double mutual = 30 / (2 * M_PI * 20);
    const double at_12 = 30 / (2 * M_PI) * (1 / 12.0 + 1 / 8.0) / (5 + mutual);
    assert_close(coupling_with(two, 12, 0), at_12, 1e-9, 0);
}

/* What is not known is never taken as far away. */
static void test_not_known(void **state)
{
    (void)state;
    static const char *const tables[] = {
        "electrode,node,resistance_ohm,season_factor\nrod,installation,3,1.1\n",
        "electrode,node,resistance_ohm,x_m,y_m\nrod,installation,,0,0\n",
    };
    for (size_t i = 0; i < sizeof tables / sizeof tables[0]; i++) {
        struct study study = {0};
        open_with(tables[i], 3, 0, &study);
        assert_true(study.study_case->missing.count > 0);
        assert_int_equal(study.a->overall, PD_OVERALL_UNKNOWN);
        assert_true(study.study_case->detectors.detector[0].coupling == 1);
        study_close(&study);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_half_ball),
        cmocka_unit_test(test_rod),
        cmocka_unit_test(test_two),
        cmocka_unit_test(test_not_known),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
