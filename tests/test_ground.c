/* SPDX-License-Identifier: GPL-3.0-or-later */

/* Electrodes in uniform ground by the numerical method, against handbook formulas, exact
 * capacitances, published step voltages and limits that must hold. */

#include "check.h"

#include <math.h>

#include "earthing/ground.h"

static const double foot_m = 0.3048, inch_m = 0.0254;

static struct pd_ground *solve(const struct pd_conductors *conductors, struct pd_soil soil,
                               size_t segments)
{
    struct pd_ground *ground = NULL;
    const struct pd_ground_settings settings = {.segments = segments};
    assert_int_equal(pd_ground_solve(conductors, &soil, &settings, &ground), PD_OK);
    assert_true(pd_ground_residual(ground) < 1e-12);
    return ground;
}

/* Resistance of one electrode of that shape. */
static double numerical(enum pd_shape shape, const struct pd_shape_size *size)
{
    struct pd_conductors conductors = {0};
    assert_int_equal(pd_conductors_add_shape(&conductors, shape, size, 3, -2, 0), PD_OK);
    struct pd_ground *ground = solve(&conductors, pd_soil_uniform(size->soil_ohm_m), 0);
    const double ohm = pd_ground_ohm(ground, 0);
    assert_true(pd_ground_error(ground) < 0.02);
    pd_ground_free(&ground);
    pd_conductors_free(&conductors);
    return ohm;
}

static struct pd_shape_size rod_of(double length_m, double diameter_m, size_t count,
                                   double spacing_m)
{
    return (struct pd_shape_size){.length_m = length_m,
                                  .diameter_m = diameter_m,
                                  .count = count,
                                  .spacing_m = spacing_m,
                                  .depth_m = NAN,
                                  .soil_ohm_m = 100};
}

/* Against the formulas of BS 7430:2011, IEEE Std 142-1999 and Sunde (earthing/shape.h). An even
 * current, as they assume, gives a little more than the true resistance. */
static void test_handbook(void **state)
{
    (void)state;
    const struct pd_shape_size rod = rod_of(2.4, 0.016, 1, NAN);
    const double one = pd_shape_resistance(PD_ROD, &rod);
    assert_close(numerical(PD_ROD, &rod), one, 0.015, 0);
    assert_true(numerical(PD_ROD, &rod) < one);
    for (size_t count = 2; count <= 10; count++) {
        const struct pd_shape_size line = rod_of(2.4, 0.016, count, 2.4);
        assert_close(numerical(PD_ROD, &line), pd_shape_resistance(PD_ROD, &line), 0.05, 0);
        const struct pd_shape_size wide = rod_of(2.4, 0.016, count, 7.2);
        assert_close(numerical(PD_ROD, &wide), pd_shape_resistance(PD_ROD, &wide), 0.02, 0);
        const struct pd_shape_size square = rod_of(2.4, 0.016, 4 * (count - 1), 4.8);
        assert_close(numerical(PD_SQUARE, &square), pd_shape_resistance(PD_SQUARE, &square), 0.02,
                     0);
    }
    const struct pd_shape_size two = rod_of(2.4, 0.016, 2, 5);
    assert_close(numerical(PD_ROD, &two), pd_shape_two_rods(&two), 0.01, 0);
    const struct pd_shape_size wire = {
        .length_m = 20, .diameter_m = 0.01, .depth_m = 0.6, .soil_ohm_m = 100};
    assert_close(numerical(PD_WIRE, &wire), pd_shape_resistance(PD_WIRE, &wire), 0.01, 0);
    assert_close(numerical(PD_STRIP, &wire), pd_shape_resistance(PD_STRIP, &wire), 0.01, 0);
    const struct pd_shape_size ring = {
        .length_m = 6, .diameter_m = 0.01, .depth_m = 0.6, .soil_ohm_m = 100};
    assert_close(numerical(PD_RING, &ring), pd_shape_resistance(PD_RING, &ring), 0.01, 0);
}

/* Capacitance over 4 pi epsilon side: square 0.36679, cube 0.66068 (published to more digits, from
 * memory). The surface is a mirror: R = rho/(2 pi C'). The handbook's plate is within 3 % of it. */
static void test_sheets(void **state)
{
    (void)state;
    const struct pd_shape_size plate = {.length_m = 0.6, .depth_m = NAN, .soil_ohm_m = 100};
    const double square = 100 / (2 * M_PI * 0.36679 * 0.6);
    assert_close(numerical(PD_PLATE, &plate), square, 0.02, 0);
    assert_close(pd_shape_resistance(PD_PLATE, &plate), square, 0.03, 0);
    const struct pd_shape_size deep = {.length_m = 0.6, .depth_m = 50, .soil_ohm_m = 100};
    assert_close(numerical(PD_PLATE, &deep), square / 2, 0.02, 0);
    const struct pd_shape_size block = {.length_m = 1, .depth_m = 0.5, .soil_ohm_m = 100};
    const double cube = 100 / (2 * M_PI * 0.66068);
    assert_close(numerical(PD_FOUNDATION, &block), cube, 0.02, 0);
    /* no body of that volume has more: the formula lies above, by 5 % for a cube */
    assert_true(pd_shape_resistance(PD_FOUNDATION, &block) > cube);
    const struct pd_shape_size slab = {.length_m = 6, .depth_m = 0.3, .soil_ohm_m = 100};
    assert_true(pd_shape_resistance(PD_FOUNDATION, &slab) > numerical(PD_FOUNDATION, &slab));
}

/* Thomson's principle: the energy of any spread of current is above the true one, and segments
 * halved can do all that whole ones can. */
static void test_finer_is_lower(void **state)
{
    (void)state;
    struct pd_conductors conductors = {0};
    const struct pd_shape_size line = rod_of(2.4, 0.016, 3, 3);
    assert_int_equal(pd_conductors_add_shape(&conductors, PD_ROD, &line, 0, 0, 0), PD_OK);
    double before = INFINITY, finest = 0;
    for (size_t segments = 3; segments <= 96; segments *= 2) {
        struct pd_ground *ground = solve(&conductors, pd_soil_uniform(100), segments);
        finest = pd_ground_ohm(ground, 0);
        assert_true(finest < before);
        /* the estimate of the error is of the size of what is still to come */
        assert_true(pd_ground_error(ground) < 0.01);
        before = finest;
        pd_ground_free(&ground);
    }
    struct pd_ground *coarse = solve(&conductors, pd_soil_uniform(100), 12);
    const double apart = pd_ground_ohm(coarse, 0) / finest - 1;
    assert_true(pd_ground_error(coarse) > 0.2 * apart && pd_ground_error(coarse) < 3 * apart);
    pd_ground_free(&coarse);
    pd_conductors_free(&conductors);
}

static void add_rod(struct pd_conductors *conductors, double x_m, size_t electrode)
{
    const struct pd_shape_size rod = rod_of(2.4, 0.016, 1, NAN);
    assert_int_equal(pd_conductors_add_shape(conductors, PD_ROD, &rod, x_m, 0, electrode), PD_OK);
}

/* Far apart two rods are two rods, each seen by the other as a point: rho/(2 pi s). In contact they
 * are one rod of radius sqrt(a s) (geometric mean distance, textbook). */
static void test_far_and_near(void **state)
{
    (void)state;
    struct pd_conductors conductors = {0};
    add_rod(&conductors, 0, 0);
    add_rod(&conductors, 500, 1);
    struct pd_ground *ground = solve(&conductors, pd_soil_uniform(100), 0);
    const gsl_matrix *const r = pd_ground_resistance(ground);
    assert_close(gsl_matrix_get(r, 0, 1), 100 / (2 * M_PI * 500), 1e-4, 0);
    assert_close(gsl_matrix_get(r, 0, 0), gsl_matrix_get(r, 1, 1), 1e-9, 0);
    pd_ground_free(&ground);
    pd_conductors_free(&conductors);
    const struct pd_shape_size touching = rod_of(2.4, 0.016, 2, 0.0161);
    const struct pd_shape_size one = rod_of(2.4, 2 * sqrt(0.008 * 0.0161), 1, NAN);
    assert_close(numerical(PD_ROD, &touching), numerical(PD_ROD, &one), 0.005, 0);
    const struct pd_shape_size apart = rod_of(2.4, 0.016, 4, 400);
    const struct pd_shape_size alone = rod_of(2.4, 0.016, 1, NAN);
    assert_close(numerical(PD_ROD, &apart), numerical(PD_ROD, &alone) / 4, 0.01, 0);
}

static void test_falls_with_length_and_number(void **state)
{
    (void)state;
    for (double length_m = 1; length_m < 6; length_m += 1) {
        const struct pd_shape_size a = rod_of(length_m, 0.016, 1, NAN);
        const struct pd_shape_size b = rod_of(length_m + 1, 0.016, 1, NAN);
        assert_true(numerical(PD_ROD, &b) < numerical(PD_ROD, &a));
    }
    for (size_t count = 1; count < 14; count++) {
        const struct pd_shape_size a = rod_of(2.4, 0.016, count, 3);
        const struct pd_shape_size b = rod_of(2.4, 0.016, count + 1, 3);
        assert_true(numerical(PD_ROD, &b) < numerical(PD_ROD, &a));
    }
}

/* MIL-HDBK-419A vol 1 table 2-7 (seen): rod of 1 in, the ground 3 ft from it, over the rod's
 * voltage: what lies between is 0.75 0.68 0.61 0.53 0.48 for 5, 10, 20, 50, 100 ft. */
static void test_published_step_voltage(void **state)
{
    (void)state;
    static const double length_ft[] = {5, 10, 20, 50, 100}, want[] = {.75, .68, .61, .53, .48};
    for (size_t i = 0; i < 5; i++) {
        struct pd_conductors conductors = {0};
        const struct pd_shape_size rod = rod_of(length_ft[i] * foot_m, inch_m, 1, NAN);
        assert_int_equal(pd_conductors_add_shape(&conductors, PD_ROD, &rod, 0, 0, 0), PD_OK);
        struct pd_ground *ground = solve(&conductors, pd_soil_uniform(100), 0);
        gsl_vector *current_a = gsl_vector_alloc(1);
        gsl_vector_set(current_a, 0, 1);
        const struct pd_place pace = {3 * foot_m, 0, 0}, at_rod = {inch_m / 2, 0, 0};
        /* the end leaks more than the table's even current has it */
        const double touch_v = pd_ground_touch_v(ground, current_a, 0, &pace);
        assert_close(touch_v / pd_ground_ohm(ground, 0), want[i], 0, 0.025);
        /* by the closed form: V(x)/V_rod = asinh(L/x)/(ln(4L/a) - 1), reproducing the table */
        const double ratio = asinh(length_ft[i] / 3) / (log(4 * length_ft[i] * 24) - 1);
        assert_close(1 - ratio, want[i], 0, 0.01);
        /* a step from the rod over the pace is the same voltage; the wire's surface is at the rod's
         */
        assert_close(pd_ground_potential(ground, current_a, &at_rod), pd_ground_ohm(ground, 0),
                     0.05, 0);
        gsl_vector_free(current_a);
        pd_ground_free(&ground);
        pd_conductors_free(&conductors);
    }
}

/* MIL-HDBK-419A vol 2 1.2.2.2 (seen): 26 rods of 32 ohm round 100 x 160 ft make 5.5 % of that, 1.76
 * ohm, read from a curve. Ours is 10 % above, and agrees within 2 % with the squares of BS 7430. */
static void test_published_rectangle(void **state)
{
    (void)state;
    struct pd_conductors conductors = {0};
    const struct pd_shape_size rod = rod_of(10 * foot_m, 0.75 * inch_m, 1, NAN);
    for (int i = 0; i < 26; i++) {
        const double p = 20 * i; /* feet along the edge */
        const double x = p < 160 ? p : p < 260 ? 160 : p < 420 ? 420 - p : 0;
        const double y = p < 160 ? 0 : p < 260 ? p - 160 : p < 420 ? 100 : 520 - p;
        assert_int_equal(
            pd_conductors_add_shape(&conductors, PD_ROD, &rod, x * foot_m, y * foot_m, 0), PD_OK);
    }
    struct pd_ground *ground = solve(&conductors, pd_soil_uniform(100), 0);
    assert_close(pd_ground_ohm(ground, 0), 1.76, 0.12, 0);
    assert_true(pd_ground_ohm(ground, 0) > 1.2 * 32.14 / 26);
    pd_ground_free(&ground);
    pd_conductors_free(&conductors);
}

/* The metal is at one potential, all current leaves it, and the ends leak more than the middle. */
static void test_currents(void **state)
{
    (void)state;
    struct pd_conductors conductors = {0};
    add_rod(&conductors, 0, 0);
    add_rod(&conductors, 3, 1);
    struct pd_ground *ground = solve(&conductors, pd_soil_uniform(100), 0);
    gsl_vector *current_a = gsl_vector_alloc(2), *potential_v = gsl_vector_alloc(2);
    gsl_vector_set(potential_v, 0, 230);
    gsl_vector_set(potential_v, 1, 0);
    assert_int_equal(pd_ground_currents(ground, potential_v, current_a), PD_OK);
    double sum[2] = {0};
    for (size_t i = 0; i < pd_ground_segments(ground); i++) {
        const struct pd_leak leak = pd_ground_leak(ground, current_a, i);
        sum[leak.electrode] += leak.density_a_per_m * (leak.to.z_m - leak.from.z_m);
        const struct pd_place surface = {leak.from.x_m + 0.008, 0,
                                         (leak.from.z_m + leak.to.z_m) / 2};
        if (surface.z_m < 2.3)
            assert_close(pd_ground_potential(ground, current_a, &surface),
                         leak.electrode == 0 ? 230 : 0, 0.01, 2);
    }
    assert_close(sum[0], gsl_vector_get(current_a, 0), 1e-9, 0);
    assert_close(sum[1], gsl_vector_get(current_a, 1), 1e-9, 0);
    const size_t last = pd_ground_segments(ground) / 2 - 1;
    assert_true(pd_ground_leak(ground, current_a, last).density_a_per_m >
                1.2 * pd_ground_leak(ground, current_a, last / 2).density_a_per_m);
    gsl_vector_free(current_a);
    gsl_vector_free(potential_v);
    pd_ground_free(&ground);
    pd_conductors_free(&conductors);
}

/* A pace from 1 m to 2 m, and a place beside two rods: closed forms of rods with even current, V(x)
 * = rho I/(2 pi L) asinh(L/x). */
static void test_steps_and_touch(void **state)
{
    (void)state;
    struct pd_conductors conductors = {0};
    add_rod(&conductors, 0, 0);
    add_rod(&conductors, 10, 1);
    struct pd_ground *ground = solve(&conductors, pd_soil_uniform(100), 0);
    gsl_vector *current_a = gsl_vector_calloc(2);
    gsl_vector_set(current_a, 0, 1);
    const double ohm = 100 / (2 * M_PI * 2.4);
    const struct pd_place near = {0, 1, 0}, above = {0, 1, -0.1}, between = {5, 0, 0};
    assert_close(pd_ground_step_v(ground, current_a, &near, 0, 1), ohm * (asinh(2.4) - asinh(1.2)),
                 0.05, 0); /* its end leaks more */
    /* along a circle round the rod there is no step */
    assert_close(pd_ground_step_v(ground, current_a, &near, 1, -1), 0, 0, 0.1);
    assert_true(isnan(pd_ground_potential(ground, current_a, &above)));
    gsl_vector_set(current_a, 1, -1); /* in at one, out at the other: earth half way */
    assert_close(pd_ground_potential(ground, current_a, &between), 0, 0, 1e-9);
    assert_close(pd_ground_touch_v(ground, current_a, 0, &between),
                 gsl_matrix_get(pd_ground_resistance(ground), 0, 0) -
                     gsl_matrix_get(pd_ground_resistance(ground), 0, 1),
                 1e-9, 0);
    gsl_vector_free(current_a);
    pd_ground_free(&ground);
    pd_conductors_free(&conductors);
}

/* Where the ground is down to a share: by the rod's closed form, L/sinh(share (ln(4L/a) - 1)). */
static void test_separation(void **state)
{
    (void)state;
    struct pd_conductors conductors = {0};
    add_rod(&conductors, 7, 0);
    struct pd_ground *ground = solve(&conductors, pd_soil_uniform(33), 0);
    for (double share = 0.05; share < 0.4; share *= 2) {
        const double closed = 2.4 / sinh(share * (log(4 * 2.4 / 0.008) - 1));
        assert_close(pd_ground_separation_m(ground, 0, share), closed, 0.03, 0);
    }
    assert_true(isnan(pd_ground_separation_m(ground, 0, 1e-4))); /* farther than the reach */
    assert_true(isnan(pd_ground_separation_m(ground, 0, 0)));
    assert_true(isnan(pd_ground_separation_m(ground, 0, NAN)));
    assert_true(isnan(pd_ground_separation_m(ground, 1, 0.1)));
    pd_ground_free(&ground);
    pd_conductors_free(&conductors);
}

static void test_refused(void **state)
{
    (void)state;
    struct pd_conductors conductors = {0};
    struct pd_ground *ground;
    const struct pd_soil soil = pd_soil_uniform(100), bad = pd_soil_uniform(NAN);
    assert_int_equal(pd_ground_solve(&conductors, &soil, NULL, &ground), PD_ERR_ARGUMENT);
    const struct pd_wire wrong[] = {
        {{0, 0, -1}, {0, 0, 2}, 0.008, 0}, {{0, 0, 0}, {0, 0, 0}, 0.008, 0},
        {{0, 0, 0}, {0, 0, 2}, 0, 0},      {{0, 0, 0}, {0, 0, NAN}, 0.008, 0},
        {{0, 0, 0}, {0, 0, 2}, NAN, 0},    {{INFINITY, 0, 0}, {0, 0, 2}, 0.008, 0}};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++)
        assert_int_equal(pd_conductors_add(&conductors, &wrong[i]), PD_ERR_ARGUMENT);
    add_rod(&conductors, 0, 0);
    assert_int_equal(pd_ground_solve(&conductors, &bad, NULL, &ground), PD_ERR_ARGUMENT);
    add_rod(&conductors, 0, 1); /* in the same hole: no two potentials in one place */
    assert_int_equal(pd_ground_solve(&conductors, &soil, NULL, &ground), PD_ERR_ARGUMENT);
    assert_null(ground);
    pd_conductors_free(&conductors);
    add_rod(&conductors, 0, 2); /* electrodes 0 and 1 have no metal */
    assert_int_equal(pd_ground_solve(&conductors, &soil, NULL, &ground), PD_ERR_ARGUMENT);
    const struct pd_shape_size thick = rod_of(0.1, 0.1, 1, NAN), no_depth = rod_of(5, 0.01, 1, NAN);
    assert_int_equal(pd_conductors_add_shape(&conductors, PD_ROD, &thick, 0, 0, 0),
                     PD_ERR_ARGUMENT);
    assert_int_equal(pd_conductors_add_shape(&conductors, PD_WIRE, &no_depth, 0, 0, 0),
                     PD_ERR_ARGUMENT);
    const struct pd_shape_size five = rod_of(2, 0.016, 5, 3);
    assert_int_equal(pd_conductors_add_shape(&conductors, PD_SQUARE, &five, 0, 0, 0),
                     PD_ERR_ARGUMENT);
    pd_conductors_free(&conductors);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_handbook),
        cmocka_unit_test(test_sheets),
        cmocka_unit_test(test_finer_is_lower),
        cmocka_unit_test(test_far_and_near),
        cmocka_unit_test(test_falls_with_length_and_number),
        cmocka_unit_test(test_published_step_voltage),
        cmocka_unit_test(test_published_rectangle),
        cmocka_unit_test(test_currents),
        cmocka_unit_test(test_steps_and_touch),
        cmocka_unit_test(test_separation),
        cmocka_unit_test(test_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
