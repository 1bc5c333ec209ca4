/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"

#include <math.h>

#include "earthing/electrode.h"

static double rod(double length_m, double diameter_m, double soil_ohm_m, size_t count,
                  double spacing_m)
{
    const struct pd_shape_size size = {.length_m = length_m,
                                       .diameter_m = diameter_m,
                                       .spacing_m = spacing_m,
                                       .soil_ohm_m = soil_ohm_m,
                                       .count = count};
    return pd_shape_resistance(PD_ROD, &size);
}

static const double foot_m = 0.3048, inch_m = 0.0254;

static void rods_give_the_published_values(void **state)
{
    (void)state;
    /* Worked sheet to BS 7430 (seen): 2.4 m, 16 mm, 100 ohm-m; 40.3861 recomputed with pi in full.
     */
    assert_close(rod(2.4, 0.016, 100, 1, NAN), 40.3861, 0, 5e-5);
    assert_close(rod(2.4, 0.016, 100, 1, NAN) * 3.14159265358979 / 3.14, 40.4066, 0, 5e-4);
    /* MIL-HDBK-419A vol 2 1.2.2.2 (seen): 10 ft, 3/4 in, 100 ohm-m: 32 by nomogram, 32.14. */
    assert_close(rod(10 * foot_m, 0.75 * inch_m, 100, 1, NAN), 32.14, 0, 5e-3);
    /* Earth-testing handbook nomogram (seen): 10 ft, 5/8 in, 20 ohm-m: 6.6, 6.618. */
    assert_close(rod(10 * foot_m, 0.625 * inch_m, 20, 1, NAN), 6.618, 0, 5e-4);
}

static void wrong_values_in_print_are_not_reproduced(void **state)
{
    (void)state;
    /* 156.19 ohm for 4 m x 12.5 mm in 500 ohm-m leaves out the -1; it is 136.23. */
    assert_close(rod(4, 0.0125, 500, 1, NAN), 136.23, 0, 1.0);
    assert_false(close_enough(rod(4, 0.0125, 500, 1, NAN), 156.19, 0.05, 0));
    /* 290 ohm for a 0.6 m square plate in 100 ohm-m; it is 73.85. */
    const struct pd_shape_size plate = {.length_m = 0.6, .soil_ohm_m = 100};
    assert_close(pd_shape_resistance(PD_PLATE, &plate), 73.85, 0, 5e-3);
}

static void rods_in_line_follow_the_standard(void **state)
{
    (void)state;
    /* BS 7430:2011 9.5.4 (seen as a copy): R_n = R (1 + lambda a)/n, a = rho/(2 pi R s), with
     * lambda 1.00 for two and 3.81 for ten. */
    const double one = rod(2.4, 0.016, 100, 1, NAN);
    const double a = 100 / (2 * M_PI * one * 5);
    assert_close(rod(2.4, 0.016, 100, 2, 5), one * (1 + 1.00 * a) / 2, 1e-12, 0);
    assert_close(rod(2.4, 0.016, 100, 10, 5), one * (1 + 3.81 * a) / 10, 1e-12, 0);
    /* Two rods by IEEE Std 142-1999 table 13 (seen), an independent series: within 3 %. */
    const double s = 5, L = 2.4, radius = 0.008;
    const double two =
        100 / (4 * M_PI * L) * (log(4 * L / radius) - 1) +
        100 / (4 * M_PI * s) * (1 - L * L / (3 * s * s) + 2 * pow(L, 4) / (5 * pow(s, 4)));
    assert_close(rod(2.4, 0.016, 100, 2, 5), two, 0.03, 0);
}

static void resistance_falls_with_length_and_number(void **state)
{
    (void)state;
    for (double length_m = 1; length_m < 10; length_m += 0.5)
        assert_true(rod(length_m + 0.5, 0.016, 100, 1, NAN) < rod(length_m, 0.016, 100, 1, NAN));
    for (size_t count = 1; count < 10; count++)
        assert_true(rod(2, 0.016, 100, count + 1, 4) < rod(2, 0.016, 100, count, 4));
    /* Far apart, n rods are n rods. */
    assert_close(rod(2, 0.016, 100, 4, 1000), rod(2, 0.016, 100, 1, NAN) / 4, 0.01, 0);
}

static void wire_and_ring_follow_their_formulas(void **state)
{
    (void)state;
    const struct pd_shape_size wire = {
        .length_m = 20, .diameter_m = 0.01, .depth_m = 0.6, .soil_ohm_m = 100};
    /* rho/(pi L) (ln(2L/sqrt(2 a h)) - 1), textbook form after Sunde (seen), worked by hand:
     * 100/(62.832) * (ln(40/0.0774597) - 1) = 1.591549 * (6.246841 - 1). */
    assert_close(pd_shape_resistance(PD_WIRE, &wire), 1.591549 * 5.246841, 1e-5, 0);
    const struct pd_shape_size ring = {
        .length_m = 6, .diameter_m = 0.01, .depth_m = 0.6, .soil_ohm_m = 100};
    /* IEEE Std 142-1999 table 13 (seen), with its s/2 = h: 100/(2 pi^2 6) (ln 4800 + ln 20). */
    assert_close(pd_shape_resistance(PD_RING, &ring), 0.8443432 * (8.476371 + 2.995732), 1e-6, 0);
}

static struct pd_shape_size square_of(size_t count, double spacing_m)
{
    return (struct pd_shape_size){.length_m = 2.4,
                                  .diameter_m = 0.016,
                                  .spacing_m = spacing_m,
                                  .soil_ohm_m = 100,
                                  .count = count};
}

/* BS 7430:2011 9.5.4 (seen as a copy): lambda 2.71 for two a side and 7.90 for ten. For four rods
 * it is also two neighbours at s and one at s sqrt 2, as points: 2.707. */
static void rods_in_square_follow_the_standard(void **state)
{
    (void)state;
    const double one = rod(2.4, 0.016, 100, 1, NAN), a = 100 / (2 * M_PI * one * 5);
    const struct pd_shape_size four = square_of(4, 5), most = square_of(36, 5);
    assert_close(pd_shape_resistance(PD_SQUARE, &four), one * (1 + 2.71 * a) / 4, 1e-12, 0);
    assert_close(pd_shape_resistance(PD_SQUARE, &four), one * (1 + (2 + sqrt(0.5)) * a) / 4, 1e-3,
                 0);
    assert_close(pd_shape_resistance(PD_SQUARE, &most), one * (1 + 7.90 * a) / 36, 1e-12, 0);
    for (size_t count = 0; count <= 40; count++) {
        const struct pd_shape_size size = square_of(count, 5);
        const int good = count >= 4 && count <= 36 && count % 4 == 0;
        assert_int_equal(isfinite(pd_shape_resistance(PD_SQUARE, &size)), good);
    }
    const struct pd_shape_size close = square_of(8, 2);
    assert_true(isnan(pd_shape_resistance(PD_SQUARE, &close)));
}

static void strip_and_foundation_follow_their_formulas(void **state)
{
    (void)state;
    /* A strip is a wire of a quarter of its width in radius (conformal map, textbook). */
    const struct pd_shape_size strip = {
        .length_m = 20, .diameter_m = 0.025, .depth_m = 0.6, .soil_ohm_m = 100};
    struct pd_shape_size wire = strip;
    wire.diameter_m = 0.0125;
    assert_close(pd_shape_resistance(PD_STRIP, &strip), pd_shape_resistance(PD_WIRE, &wire), 1e-12,
                 0);
    /* A half ball of 1 m radius has rho/(2 pi): as a block of its volume, 2 pi/3. And the
     * handbook's 0.2 rho / V^(1/3), from memory. */
    const struct pd_shape_size block = {.length_m = 2, .depth_m = 2 * M_PI / 12, .soil_ohm_m = 100};
    assert_close(pd_shape_resistance(PD_FOUNDATION, &block), 100 / (2 * M_PI), 1e-12, 0);
    assert_close(pd_shape_resistance(PD_FOUNDATION, &block), 20 / cbrt(2 * M_PI / 3), 0.02, 0);
}

/* Each formula can be shown with where it is from and where it ends. */
static void every_formula_says_what_it_is(void **state)
{
    (void)state;
    for (int shape = 0; shape < PD_SHAPES; shape++) {
        const struct pd_formula *const formula = pd_shape_formula((enum pd_shape)shape);
        assert_true(formula->form[0] != '\0' && formula->source[0] != '\0' &&
                    formula->range[0] != '\0');
    }
}

static void outside_a_formula_there_is_no_figure(void **state)
{
    (void)state;
    assert_true(isnan(rod(0, 0.016, 100, 1, NAN)));
    assert_true(isnan(rod(2, 0.016, NAN, 1, NAN)));
    assert_true(isnan(rod(0.1, 0.016, 100, 1, NAN)));
    assert_true(isnan(rod(2, 0.016, 100, 11, 4)));
    assert_true(isnan(rod(2, 0.016, 100, 2, 1)));
    assert_true(isnan(rod(2, 0.016, 100, 2, NAN)));
    assert_true(isnan(rod(2, 0.016, 100, 0, 4)));
    const struct pd_shape_size no_depth = {
        .length_m = 20, .diameter_m = 0.01, .depth_m = NAN, .soil_ohm_m = 100};
    assert_true(isnan(pd_shape_resistance(PD_WIRE, &no_depth)));
    assert_true(isnan(pd_shape_resistance(PD_RING, &no_depth)));
}

static void the_dry_season_counts(void **state)
{
    (void)state;
    const struct pd_electrode known = {.resistance_ohm = 12, .season_factor = 1.5};
    assert_close(pd_electrode_dry(&known), 18, 0, 0);
    const struct pd_electrode unknown = {.resistance_ohm = NAN, .season_factor = 1};
    assert_true(isnan(pd_electrode_dry(&unknown)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rods_give_the_published_values),
        cmocka_unit_test(wrong_values_in_print_are_not_reproduced),
        cmocka_unit_test(rods_in_line_follow_the_standard),
        cmocka_unit_test(resistance_falls_with_length_and_number),
        cmocka_unit_test(wire_and_ring_follow_their_formulas),
        cmocka_unit_test(rods_in_square_follow_the_standard),
        cmocka_unit_test(strip_and_foundation_follow_their_formulas),
        cmocka_unit_test(every_formula_says_what_it_is),
        cmocka_unit_test(outside_a_formula_there_is_no_figure),
        cmocka_unit_test(the_dry_season_counts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
