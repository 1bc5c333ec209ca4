/* SPDX-License-Identifier: GPL-3.0-or-later */

/* Four-pin surveys: published apparent resistivities; ground put in comes out again; nothing comes
 * out of too little. */

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include <gsl/gsl_errno.h>

#include "earthing/season.h"
#include "earthing/survey.h"

/* Reads rows of "spacing,resistance". */
static struct pd_survey read_rows(const char *rows)
{
    char path[] = "/tmp/pendrift-survey-XXXXXX";
    FILE *const file = fdopen(mkstemp(path), "w");
    assert_non_null(file);
    fprintf(file, "spacing_m,resistance_ohm\n%s", rows);
    assert_int_equal(fclose(file), 0);
    struct pd_survey survey = {0};
    struct pd_errors errors = {0};
    assert_int_equal(pd_survey_read(path, "survey.csv", &survey, &errors), PD_OK);
    unlink(path);
    return survey;
}

static struct pd_survey_fit fit_rows(const char *rows)
{
    struct pd_survey survey = read_rows(rows);
    struct pd_survey_fit fit;
    assert_int_equal(pd_survey_fit(&survey, &fit), PD_OK);
    assert_non_null(fit.why);
    pd_survey_free(&survey);
    return fit;
}

/* Substation design manual table B-3 (seen): a = 1, 1.5, 2, 3 m. MIL-HDBK-419A vol 2 1.2.1 (seen):
 * 20 ft and 2 ohm, 7662 ohm-cm
 * by its 191.5 a R; 76.60 ohm-m with pi in full. */
static void test_published(void **state)
{
    (void)state;
    static const double want[] = {132.59, 136.02, 137.75, 122.92};
    struct pd_survey survey = read_rows("1,21.1\n1.5,14.43\n2,10.96\n3,6.52\n");
    assert_int_equal(survey.count, 4);
    for (size_t i = 0; i < 4; i++)
        assert_close(survey.reading[i].apparent_ohm_m, want[i], 0, 0.025);
    struct pd_survey_fit fit;
    assert_int_equal(pd_survey_fit(&survey, &fit), PD_OK);
    assert_int_equal(fit.answer, PD_SURVEY_UNIFORM);
    assert_close(fit.soil.upper_ohm_m, 132, 0, 2);
    pd_survey_free(&survey);
    assert_close(pd_soil_four_pin_ohm_m(20 * 0.3048, 2), 76.604, 0, 0.001);
}

/* Readings made from known ground by the formula of IEEE Std 81, each off by up to `noise`. */
static struct pd_survey_fit fit_made(struct pd_soil soil, double noise, uint64_t seed)
{
    char rows[512] = "";
    size_t used = 0;
    struct stream stream = {seed};
    for (double a = 0.5; a <= 32; a *= 2) {
        const double off = 1 + stream_uniform(&stream, -noise, noise);
        used += (size_t)snprintf(rows + used, sizeof rows - used, "%.3f,%.9g\n", a,
                                 off * pd_soil_apparent_ohm_m(&soil, a) / (2 * M_PI * a));
    }
    return fit_rows(rows);
}

static void test_comes_out_again(void **state)
{
    (void)state;
    static const struct pd_soil soils[] = {
        {300, 1.5, 40}, {60, 2.5, 600}, {1000, 1, 100}, {100, 4, 20}, {50, 1, 2000}};
    for (size_t i = 0; i < 5; i++) {
        const struct pd_survey_fit fit = fit_made(soils[i], 0, 1);
        assert_int_equal(fit.answer, PD_SURVEY_LAYERED);
        assert_close(fit.soil.upper_ohm_m, soils[i].upper_ohm_m, 1e-3, 0);
        assert_close(fit.soil.upper_m, soils[i].upper_m, 1e-3, 0);
        assert_close(fit.soil.lower_ohm_m, soils[i].lower_ohm_m, 1e-2, 0);
    }
}

/* With 2 % off at random, what went in is within three standard errors nearly always, and the
 * errors are neither too small nor silly-large. */
static void test_error_bars(void **state)
{
    (void)state;
    const struct pd_soil soil = {300, 1.5, 40};
    size_t inside = 0;
    double sum = 0;
    enum { TRIES = 20 };
    for (uint64_t seed = 1; seed <= TRIES; seed++) {
        const struct pd_survey_fit fit = fit_made(soil, 0.02, seed);
        assert_int_equal(fit.answer, PD_SURVEY_LAYERED);
        const double off = log(fit.soil.upper_m / soil.upper_m) / fit.depth_error;
        inside += fabs(off) < 3;
        sum += off * off;
        assert_true(fit.depth_error < 0.1);
    }
    assert_true(inside >= TRIES * 9 / 10);
    assert_true(sum / TRIES > 0.3 && sum / TRIES < 5);
}

static void test_uniform_stays_uniform(void **state)
{
    (void)state;
    size_t uniform = 0;
    for (uint64_t seed = 1; seed <= 20; seed++)
        uniform += fit_made(pd_soil_uniform(80), 0.05, seed).answer == PD_SURVEY_UNIFORM;
    assert_true(uniform >= 18); /* 95 % of them by the test's own level, and the 3 % */
}

static void test_not_determined(void **state)
{
    (void)state;
    static const char *const rows[] = {
        "",
        "2,10\n",
        "2,10\n4,5\n",
        "2,10\n2,10.1\n2,9.9\n2,10\n4,5\n",
        "1,50\n2,10\n4,1\n",                     /* no uniform ground, and three readings */
        "1,50\n2,1\n4,50\n8,1\n16,30\n32,0.1\n", /* no ground at all */
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct pd_survey_fit fit = fit_rows(rows[i]);
        assert_int_equal(fit.answer, PD_SURVEY_UNKNOWN);
        assert_true(isnan(fit.soil.upper_ohm_m));
    }
}

static void test_wrong_cells(void **state)
{
    (void)state;
    char path[] = "/tmp/pendrift-survey-XXXXXX";
    FILE *const file = fdopen(mkstemp(path), "w");
    fputs("spacing_m,resistance_ohm\n0,10\n2,-1\n3,ten\n4,\n", file);
    fclose(file);
    struct pd_survey survey = {0};
    struct pd_errors errors = {0};
    assert_int_equal(pd_survey_read(path, "survey.csv", &survey, &errors), PD_ERR_INPUT);
    assert_int_equal(errors.count, 4);
    pd_survey_free(&survey);
    unlink(path);
}

struct tally {
    size_t count;
    double last;
};

static bool count_soil(const struct pd_soil_kind *kind, void *context)
{
    struct tally *const tally = context;
    assert_true(kind->low_ohm_m <= kind->high_ohm_m && kind->source[0] != '\0');
    tally->count++;
    return true;
}

static bool count_season(const struct pd_season *season, void *context)
{
    struct tally *const tally = context;
    assert_true(season->factor > 1 && season->source[0] != '\0');
    tally->count++;
    return true;
}

/* Handbook table of soils (seen), eleven rows; sandy loam by temperature (seen): 99 ohm-m at 10 C,
 * 138 and 300 at 0 C, 790 at -5 C; one electrode, 7.5-fold in a year (seen). */
static void test_reference_tables(void **state)
{
    (void)state;
    struct pd_errors errors = {0};
    struct tally soils = {0}, seasons = {0};
    assert_int_equal(pd_soil_kinds_each(count_soil, &soils, &errors), PD_OK);
    assert_int_equal(soils.count, 11);
    assert_int_equal(pd_seasons_each(count_season, &seasons, &errors), PD_OK);
    assert_int_equal(seasons.count, 4);
    struct pd_soil_kind kind;
    struct pd_season season;
    assert_int_equal(pd_soil_kind_find("chalk", "--soil", &kind, &errors), PD_OK);
    assert_close(kind.low_ohm_m, 100, 0, 0);
    assert_close(kind.high_ohm_m, 300, 0, 0);
    assert_int_equal(pd_season_find("frost-minus-5c", "--season", &season, &errors), PD_OK);
    assert_close(season.factor, 790.0 / 99, 1e-12, 0);
    assert_int_equal(pd_season_measured(&season), PD_OK);
    assert_close(season.factor, 7.5, 0, 0);
    assert_int_equal(errors.count, 0);
    assert_int_equal(pd_soil_kind_find("chalc", "--soil", &kind, &errors), PD_ERR_INPUT);
    assert_int_equal(pd_season_find("winter", "--season", &season, &errors), PD_ERR_INPUT);
    assert_int_equal(errors.count, 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_published),        cmocka_unit_test(test_comes_out_again),
        cmocka_unit_test(test_error_bars),       cmocka_unit_test(test_uniform_stays_uniform),
        cmocka_unit_test(test_not_determined),   cmocka_unit_test(test_wrong_cells),
        cmocka_unit_test(test_reference_tables),
    };
    gsl_set_error_handler_off();
    return cmocka_run_group_tests(tests, NULL, NULL);
}
