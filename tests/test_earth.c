/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "case_folder.h"
#include "study/earth.h"

/* What ground and season make of an electrode, by hand. */

/* A rod of length L, radius a has rho/(2 pi L) (ln(4 L/a) - 1) (Dwight 1936, the handbook's form):
 * 12 ohm as read of 2.4 m, 16 mm, is 29.7 ohm-m. All else goes with that. */
static void test_reading_and_shape(void **state)
{
    (void)state;
    struct study study = {0};
    struct pd_earth earth;
    study_open_example(&study, "house-rod-12-ohm");
    assert_int_equal(pd_earth_find(study.a, 0, &earth), PD_OK);
    const double soil_ohm_m = 12 * 2 * M_PI * 2.4 / (log(4 * 2.4 / 0.008) - 1);
    assert_close(earth.electrode->size.soil_ohm_m, soil_ohm_m, 1e-12, 0);
    assert_close(earth.dry_ohm, 12 * 1.4, 1e-12, 0);
    assert_true(isnan(earth.year_ohm)); /* the season is declared */
    assert_close(earth.most_now_ohm * 1.4, study.a->rule.electrode_max_ohm, 1e-12, 0);
    assert_true(earth.kinds > 0);
    for (size_t k = 0; k < earth.kinds; k++) {
        assert_close(earth.kind[k].low_ohm, 12 / soil_ohm_m * earth.kind[k].soil.low_ohm_m, 1e-12,
                     0);
        assert_true(earth.kind[k].high_ohm >= earth.kind[k].low_ohm);
    }
    study_close(&study);
}

/* No season: as much as the electrode that rose 7.5-fold in its year (reference/seasons.csv). */
static void test_no_season(void **state)
{
    (void)state;
    struct case_text text;
    struct folder folder;
    struct study study = {0};
    struct pd_errors errors = {0};
    struct pd_earth earth;
    folder_make(&folder);
    case_text_read(&text, "house-rod-12-ohm");
    case_text_set(&text, "electrodes.csv",
                  "electrode,node,resistance_ohm\na,installation,12\nb,installation,40\n");
    folder_fill(&folder, &text);
    assert_int_equal(folder_assess(&folder, &study, &errors), PD_OK);
    assert_int_equal(pd_earth_find(study.a, 0, &earth), PD_OK);
    assert_close(earth.year_ohm, 12 * 7.5, 1e-12, 0);
    assert_true(isnan(earth.most_ohm)); /* of the two together, not of one */
    assert_true(isnan(earth.kind[0].low_ohm));
    study_close(&study);
    case_text_free(&text);
    folder_remove(&folder);
}

/* On TT the rule asks of the charging point's electrode, not of the house's. */
static void test_whose(void **state)
{
    (void)state;
    struct study study = {0};
    struct pd_earth earth;
    study_open_example(&study, "house-tt-near-rod");
    for (size_t i = 0; i < study.study_case->electrodes.count; i++) {
        assert_true(pd_earth_own(study.study_case, i));
        assert_int_equal(pd_earth_find(study.a, i, &earth), PD_OK);
        const bool own = study.study_case->tie[i].node == study.study_case->charging_point;
        assert_true(isfinite(earth.most_ohm) == own);
    }
    study_close(&study);
    study_open_example(&study, "street"); /* electrodes of the neighbours are not its own */
    for (size_t i = 0; i < study.study_case->electrodes.count; i++)
        assert_true(pd_earth_own(study.study_case, i) ==
                    pd_case_own(study.study_case, study.study_case->tie[i].node));
    study_close(&study);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_reading_and_shape),
        cmocka_unit_test(test_no_season),
        cmocka_unit_test(test_whose),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
