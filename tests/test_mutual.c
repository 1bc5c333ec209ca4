/* SPDX-License-Identifier: GPL-3.0-or-later */

/* Electrodes of a case in one ground: limits far and near, closed forms for rods and half balls,
 * reciprocity, and nothing out of what is not known. */

#include "check.h"

#include <math.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>

#include "earthing/mutual.h"

static struct pd_electrode rod_at(double x_m, double y_m, double length_m, double season)
{
    struct pd_electrode electrode = {.season_factor = season,
                                     .calculated = true,
                                     .shaped = true,
                                     .shape = PD_ROD,
                                     .size = {.length_m = length_m,
                                              .diameter_m = 0.016,
                                              .depth_m = NAN,
                                              .spacing_m = NAN,
                                              .soil_ohm_m = 100,
                                              .count = 1},
                                     .x_m = x_m,
                                     .y_m = y_m};
    electrode.resistance_ohm = pd_shape_resistance(PD_ROD, &electrode.size);
    return electrode;
}

static struct pd_electrode measured_at(double x_m, double y_m, double ohm, double soil_ohm_m)
{
    return (struct pd_electrode){.season_factor = 1,
                                 .resistance_ohm = ohm,
                                 .size = {.soil_ohm_m = soil_ohm_m},
                                 .x_m = x_m,
                                 .y_m = y_m};
}

static gsl_matrix *matrix_of(struct pd_electrode *electrode, size_t count, enum pd_status want)
{
    const struct pd_electrodes list = {electrode, count};
    gsl_matrix *matrix;
    assert_int_equal(pd_electrodes_resistance_matrix(&list, NULL, &matrix), want);
    return matrix;
}

/* Two rods far apart: each is what it is, and the other a point, rho/(2 pi s); with a season, the
 * ground between them is as much worse. */
static void test_far(void **state)
{
    (void)state;
    struct pd_electrode rods[] = {rod_at(0, 0, 2.4, 1.5), rod_at(300, 400, 2.4, 1.5)};
    gsl_matrix *r = matrix_of(rods, 2, PD_OK);
    assert_close(gsl_matrix_get(r, 0, 0), pd_electrode_dry(&rods[0]), 0, 0);
    assert_close(gsl_matrix_get(r, 1, 1), pd_electrode_dry(&rods[1]), 0, 0);
    assert_close(gsl_matrix_get(r, 0, 1), 150 / (2 * M_PI * 500), 0.02, 0);
    gsl_matrix_free(r);
}

/* Close by: the mutual term of IEEE Std 142-1999 table 13 for two rods in parallel (seen), R_12 =
 * rho/(2 pi s) (1 - L^2/(3 s^2) + 2 L^4/(5 s^4)); they come nearer as they stand nearer. */
static void test_rods(void **state)
{
    (void)state;
    double before = INFINITY;
    for (double s = 5; s < 40; s *= 2) {
        struct pd_electrode rods[] = {rod_at(0, 0, 2.4, 1), rod_at(0, s, 2.4, 1)};
        gsl_matrix *r = matrix_of(rods, 2, PD_OK);
        const double q = 2.4 * 2.4 / (s * s);
        const double series = 100 / (2 * M_PI * s) * (1 - q / 3 + 2 * q * q / 5);
        assert_close(gsl_matrix_get(r, 0, 1), series, 0.03, 0);
        assert_close(gsl_matrix_get(r, 0, 1), gsl_matrix_get(r, 1, 0), 0, 0);
        assert_true(gsl_matrix_get(r, 0, 1) < before);
        before = gsl_matrix_get(r, 0, 1);
        gsl_matrix_free(r);
    }
    /* in contact they have all in common, nearly */
    struct pd_electrode touching[] = {rod_at(0, 0, 2.4, 1), rod_at(0, 0.03, 2.4, 1)};
    gsl_matrix *r = matrix_of(touching, 2, PD_OK);
    assert_true(gsl_matrix_get(r, 0, 1) > 0.75 * gsl_matrix_get(r, 0, 0));
    assert_true(gsl_matrix_get(r, 0, 1) < gsl_matrix_get(r, 0, 0));
    gsl_matrix_free(r);
}

/* Measured electrodes are half balls: rho/(2 pi s), closed form; beside a rod, the ground's
 * potential by V(x) = rho I/(2 pi L) asinh(L/x), closed form of a rod with even current. */
static void test_measured(void **state)
{
    (void)state;
    struct pd_electrode two[] = {measured_at(0, 0, 20, 100), measured_at(6, 8, 50, 100)};
    gsl_matrix *r = matrix_of(two, 2, PD_OK);
    assert_close(gsl_matrix_get(r, 0, 1), 100 / (2 * M_PI * 10), 1e-12, 0);
    assert_close(gsl_matrix_get(r, 0, 0), 20, 0, 0);
    gsl_matrix_free(r);
    struct pd_electrode pair[] = {rod_at(0, 0, 2.4, 1), measured_at(4, 0, 50, NAN)};
    r = matrix_of(pair, 2, PD_OK);
    assert_close(gsl_matrix_get(r, 0, 1), 100 / (2 * M_PI * 2.4) * asinh(2.4 / 4), 0.03, 0);
    gsl_matrix_free(r);
}

/* What nobody declared is not guessed; what has no place is as far off as it always was. */
static void test_unknown(void **state)
{
    (void)state;
    struct pd_electrode no_rho[] = {measured_at(0, 0, 20, NAN), measured_at(10, 0, 50, 100)};
    gsl_matrix *r = matrix_of(no_rho, 2, PD_DOUBTFUL);
    assert_true(isnan(gsl_matrix_get(r, 0, 1)));
    assert_close(gsl_matrix_get(r, 0, 0), 20, 0, 0);
    gsl_matrix_free(r);
    struct pd_electrode within[] = {measured_at(0, 0, 2, 100), measured_at(5, 0, 50, 100)};
    r = matrix_of(within, 2, PD_DOUBTFUL); /* a half ball of 8 m holds the other */
    assert_true(isnan(gsl_matrix_get(r, 0, 1)));
    gsl_matrix_free(r);
    struct pd_electrode no_ohm[] = {measured_at(0, 0, NAN, 100), measured_at(NAN, NAN, 50, 100)};
    r = matrix_of(no_ohm, 2, PD_DOUBTFUL);
    assert_true(isnan(gsl_matrix_get(r, 0, 0)) && isnan(gsl_matrix_get(r, 0, 1)));
    gsl_matrix_free(r);
    struct pd_electrode no_place[] = {rod_at(NAN, NAN, 2.4, 1), rod_at(0, 0, 2.4, 1)};
    r = matrix_of(no_place, 2, PD_OK);
    assert_close(gsl_matrix_get(r, 0, 1), 0, 0, 0);
    gsl_matrix_free(r);
    struct pd_electrode same[] = {rod_at(1, 1, 2.4, 1), rod_at(1, 1, 2.4, 1)};
    const struct pd_electrodes list = {same, 2}, none = {NULL, 0};
    assert_int_equal(pd_electrodes_resistance_matrix(&list, NULL, &r), PD_ERR_ARGUMENT);
    assert_null(r);
    assert_int_equal(pd_electrodes_resistance_matrix(&none, NULL, &r), PD_ERR_ARGUMENT);
}

/* A street of electrodes: current into any of them takes power, so the matrix is positive. */
static void test_positive(void **state)
{
    (void)state;
    struct stream stream = {7};
    enum { COUNT = 12 };
    for (size_t round = 0; round < 5 * soak(); round++) {
        struct pd_electrode electrode[COUNT];
        for (size_t i = 0; i < COUNT; i++)
            electrode[i] = rod_at(3 * (double)i, stream_uniform(&stream, -9, 9),
                                  stream_uniform(&stream, 1, 4), stream_uniform(&stream, 1, 3));
        const struct pd_electrodes list = {electrode, COUNT};
        const struct pd_soil soil = {100, 1.5, stream_uniform(&stream, 20, 800)};
        gsl_matrix *r;
        assert_int_equal(pd_electrodes_resistance_matrix(&list, &soil, &r), PD_OK);
        assert_int_equal(gsl_linalg_cholesky_decomp1(r), GSL_SUCCESS);
        gsl_matrix_free(r);
    }
}

/* What a reference electrode at a place takes on: that of the matrix, where an electrode stands
 * there; the closed form elsewhere. */
static void test_transfer(void **state)
{
    (void)state;
    struct pd_electrode electrode[] = {rod_at(0, 0, 2.4, 1.5), measured_at(10, 0, 50, 100),
                                       measured_at(NAN, NAN, 5, NAN)};
    const struct pd_electrodes list = {electrode, 3};
    struct pd_mutual *mutual;
    assert_int_equal(pd_mutual_new(&list, NULL, &mutual), PD_OK);
    gsl_vector *ohm = gsl_vector_alloc(3), *wrong = gsl_vector_alloc(2);
    const struct pd_place at_ball = {10, 0, 0}, far = {10, 20, 0};
    assert_int_equal(pd_mutual_transfer(mutual, &at_ball, ohm), PD_OK);
    assert_close(gsl_vector_get(ohm, 0), gsl_matrix_get(pd_mutual_resistance(mutual), 0, 1), 1e-12,
                 0);
    assert_close(gsl_vector_get(ohm, 1), 50, 0, 0); /* on the ball itself */
    assert_close(gsl_vector_get(ohm, 2), 0, 0, 0);
    assert_int_equal(pd_mutual_transfer(mutual, &far, ohm), PD_OK);
    assert_close(gsl_vector_get(ohm, 0), 150 / (2 * M_PI * 2.4) * asinh(2.4 / hypot(10, 20)), 0.03,
                 0);
    assert_close(gsl_vector_get(ohm, 1), 100 / (2 * M_PI * 20), 1e-12, 0);
    assert_int_equal(pd_mutual_transfer(mutual, &far, wrong), PD_ERR_ARGUMENT);
    gsl_vector_free(ohm);
    gsl_vector_free(wrong);
    pd_mutual_free(&mutual);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_far),      cmocka_unit_test(test_rods),
        cmocka_unit_test(test_measured), cmocka_unit_test(test_unknown),
        cmocka_unit_test(test_positive), cmocka_unit_test(test_transfer),
    };
    gsl_set_error_handler_off(); /* a matrix that is not positive shall fail the test, not end it */
    return cmocka_run_group_tests(tests, NULL, NULL);
}
