/* SPDX-License-Identifier: GPL-3.0-or-later */

/* Two layers: the sum over images against the boundary-value problem solved under a Hankel integral
 * by GSL's quadrature, which knows no images; against uniform ground; reciprocity; the four-pin
 * formula of IEEE Std 81 against pins in the numerical ground. */

#include "check.h"

#include <math.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_integration.h>
#include <gsl/gsl_sf_bessel.h>

#include "earthing/ground.h"
#include "earthing/segment.h"

/* A point source at depth `source`, a field point at depth `field`, r apart. */
struct pair {
    struct pd_soil soil;
    double source, field, r;
};

/* The source's part on its own is e^{-l|z - z'|}; the rest A e^{-lz} + B e^{lz} above h, C e^{-lz}
 * below, from no flow at the surface, and equal potential and flow at the boundary. */
static double secondary(double l, void *context)
{
    const struct pair *const p = context;
    const double h = p->soil.upper_m, s = p->source, z = p->field;
    const double g = p->soil.upper_ohm_m / p->soil.lower_ohm_m;
    const double k = (1 - g) / (1 + g), e = exp(-l * h);
    double value;
    if (s <= h) {
        const double b = k * e * (exp(-l * (h - s)) + exp(-l * (h + s))) / (1 - k * e * e);
        const double a = b + exp(-l * s);
        if (z <= h)
            value = a * exp(-l * z) + b * exp(l * z);
        else /* all of it, less what the primary term gives */
            value = (exp(l * s) + a + b * exp(2 * l * h)) * exp(-l * z) - exp(-l * (z - s));
    } else {
        /* above: D (e^{-lz} + e^{lz}); below: C e^{-lz} beside the source */
        const double up = exp(-l * (s - h)), plus = exp(-l * h) + exp(l * h),
                     minus = exp(l * h) - exp(-l * h);
        const double d = 2 * up / (plus + minus / g);
        const double c = (d * plus - up) * exp(l * h);
        value =
            z > h ? c * exp(-l * z) : g * 0 + d * (exp(-l * z) + exp(l * z)) - exp(-l * (s - z));
    }
    return value * gsl_sf_bessel_J0(l * p->r);
}

/* Ohm: the source's own layer gives the primary term its resistivity. */
static double by_quadrature(struct pair *p)
{
    const gsl_function f = {secondary, p};
    const double depth = fmin(p->soil.upper_m, p->source + p->field), last = 40 / fmax(depth, 0.05);
    gsl_integration_workspace *room = gsl_integration_workspace_alloc(4000);
    double sum = 0, part, error;
    const double step = fmin(last, 20 * M_PI / p->r);
    for (double from = 0; from < last; from += step) {
        assert_int_equal(gsl_integration_qag(&f, from, from + step, 1e-11, 1e-9, 4000,
                                             GSL_INTEG_GAUSS61, room, &part, &error),
                         GSL_SUCCESS);
        sum += part;
    }
    gsl_integration_workspace_free(room);
    const double rho = p->source <= p->soil.upper_m ? p->soil.upper_ohm_m : p->soil.lower_ohm_m;
    return rho / (4 * M_PI) * (1 / hypot(p->r, p->field - p->source) + sum);
}

static double by_images(const struct pair *p)
{
    struct pd_images images;
    assert_int_equal(pd_images_prepare(&p->soil, p->r + p->source + p->field, &images), PD_OK);
    const double tiny_m = 1e-5;
    const struct pd_segment point = {
        {0, 0, p->source - tiny_m},        {0, 0, p->source + tiny_m}, 2 * tiny_m, 1e-6, 0,
        pd_soil_layer(&p->soil, p->source)};
    const struct pd_place place = {p->r * 0.6, p->r * 0.8, p->field};
    return pd_segment_potential(&images, &point, &place);
}

static void test_images_against_quadrature(void **state)
{
    (void)state;
    static const double lower[] = {2, 30, 300, 9000}, depth[] = {0.3, 0.9, 1.7, 4};
    for (size_t i = 0; i < 4; i++)
        for (size_t s = 0; s < 4; s++)
            for (size_t f = 0; f < 4; f++)
                for (double r = 0.5; r < 40; r *= 4) {
                    struct pair p = {{100, 1.2, lower[i]}, depth[s], depth[f], r};
                    assert_close(by_images(&p), by_quadrature(&p), 2e-6, 1e-7);
                }
}

/* Where the sum takes hundreds of images, its bound is kept; where it takes too many, it says so.
 */
static void test_bound(void **state)
{
    (void)state;
    struct pd_images images;
    const struct pd_soil rock = {100, 1, 1e5};
    assert_int_equal(pd_images_prepare(&rock, 100, &images), PD_OK);
    assert_true(images.bound <= 1e-8 && images.count > 50);
    assert_int_equal(pd_images_prepare(&rock, 1e6, &images), PD_DOUBTFUL);
    assert_true(images.bound > 1e-8);
    assert_int_equal(pd_images_prepare(&rock, NAN, &images), PD_ERR_ARGUMENT);
    const struct pd_soil uniform = pd_soil_uniform(50);
    assert_int_equal(pd_images_prepare(&uniform, 1e6, &images), PD_OK);
    assert_int_equal(images.count, 0);
}

static struct pd_ground *rods(struct pd_soil soil)
{
    struct pd_conductors conductors = {0};
    struct pd_ground *ground;
    const struct pd_shape_size rod = {.length_m = 2.4, .diameter_m = 0.016, .count = 1};
    const struct pd_shape_size ring = {.length_m = 3, .diameter_m = 0.01, .depth_m = 0.6};
    assert_int_equal(pd_conductors_add_shape(&conductors, PD_ROD, &rod, 0, 0, 0), PD_OK);
    assert_int_equal(pd_conductors_add_shape(&conductors, PD_RING, &ring, 5, 1, 1), PD_OK);
    assert_int_equal(pd_ground_solve(&conductors, &soil, NULL, &ground), PD_OK);
    pd_conductors_free(&conductors);
    return ground;
}

static void test_equal_layers_are_uniform(void **state)
{
    (void)state;
    struct pd_ground *uniform = rods(pd_soil_uniform(80));
    struct pd_ground *equal = rods((struct pd_soil){80, 1, 80});
    struct pd_ground *nearly = rods((struct pd_soil){80, 1, 80 * (1 + 1e-9)});
    struct pd_ground *deep = rods((struct pd_soil){80, 1000, 5});
    for (size_t i = 0; i < 2; i++)
        for (size_t j = 0; j < 2; j++) {
            const double want = gsl_matrix_get(pd_ground_resistance(uniform), i, j);
            assert_close(gsl_matrix_get(pd_ground_resistance(equal), i, j), want, 0, 0);
            /* the rod is cut at the boundary: other segments, so not to all digits */
            assert_close(gsl_matrix_get(pd_ground_resistance(nearly), i, j), want, 1e-3, 0);
            /* a mirror far below takes about rho1/(4 pi h) ln(1 + K) off everything */
            const double off = 80 * 2 / (4 * M_PI * 1000) * log1p(75.0 / 85);
            assert_close(gsl_matrix_get(pd_ground_resistance(deep), i, j), want - off, 1e-5, 0);
        }
    pd_ground_free(&uniform);
    pd_ground_free(&equal);
    pd_ground_free(&nearly);
    pd_ground_free(&deep);
}

/* A rod of which one part is in each layer, in ground whose lower layer insulates or conducts. */
static void test_limits(void **state)
{
    (void)state;
    struct pd_ground *uniform = rods(pd_soil_uniform(80));
    struct pd_ground *wet = rods((struct pd_soil){80, 1.5, 8});
    struct pd_ground *rock = rods((struct pd_soil){80, 1.5, 8000});
    assert_true(pd_ground_ohm(wet, 0) < pd_ground_ohm(uniform, 0));
    assert_true(pd_ground_ohm(rock, 0) > pd_ground_ohm(uniform, 0));
    pd_ground_free(&uniform);
    pd_ground_free(&wet);
    pd_ground_free(&rock);
}

/* Reciprocity, by a road that the solver's symmetry does not force: the potential that one
 * electrode makes on the metal of the other, weighed with the other's own leakage, is the mutual
 * resistance. */
static void test_reciprocity(void **state)
{
    (void)state;
    struct pd_ground *ground = rods((struct pd_soil){100, 1.1, 700});
    const gsl_matrix *const r = pd_ground_resistance(ground);
    assert_close(gsl_matrix_get(r, 0, 1), gsl_matrix_get(r, 1, 0), 0, 0);
    gsl_vector *from[2];
    double mutual[2] = {0};
    for (size_t e = 0; e < 2; e++) {
        from[e] = gsl_vector_calloc(2);
        gsl_vector_set(from[e], e, 1);
    }
    for (size_t i = 0; i < pd_ground_segments(ground); i++) {
        const struct pd_leak leak = pd_ground_leak(ground, from[0], i);
        const size_t e = leak.electrode;
        const double own = pd_ground_leak(ground, from[e], i).density_a_per_m;
        const double length =
            sqrt(pow(leak.to.x_m - leak.from.x_m, 2) + pow(leak.to.y_m - leak.from.y_m, 2) +
                 pow(leak.to.z_m - leak.from.z_m, 2));
        const struct pd_place middle = {(leak.from.x_m + leak.to.x_m) / 2,
                                        (leak.from.y_m + leak.to.y_m) / 2,
                                        (leak.from.z_m + leak.to.z_m) / 2};
        mutual[e] += own * length * pd_ground_potential(ground, from[1 - e], &middle);
    }
    assert_close(mutual[0], gsl_matrix_get(r, 0, 1), 3e-3, 0);
    assert_close(mutual[1], gsl_matrix_get(r, 0, 1), 3e-3, 0);
    for (size_t e = 0; e < 2; e++)
        gsl_vector_free(from[e]);
    pd_ground_free(&ground);
}

/* Four short pins in a row in the numerical ground, against the formula of IEEE Std 81. */
static void test_four_pins(void **state)
{
    (void)state;
    static const struct pd_soil soils[] = {{100, 2, 500}, {300, 1, 20}, {50, 4, 60}};
    for (size_t i = 0; i < 3; i++)
        for (double a = 1; a <= 16; a *= 2) {
            struct pd_conductors conductors = {0};
            struct pd_ground *ground;
            for (size_t pin = 0; pin < 4; pin++) {
                const struct pd_wire short_pin = {
                    {(double)pin * a, 0, 0}, {(double)pin * a, 0, 0.01 * a}, 0.0005 * a, pin};
                assert_int_equal(pd_conductors_add(&conductors, &short_pin), PD_OK);
            }
            assert_int_equal(pd_ground_solve(&conductors, &soils[i], NULL, &ground), PD_OK);
            const gsl_matrix *const r = pd_ground_resistance(ground);
            const double ohm = gsl_matrix_get(r, 1, 0) - gsl_matrix_get(r, 1, 3) -
                               gsl_matrix_get(r, 2, 0) + gsl_matrix_get(r, 2, 3);
            assert_close(pd_soil_four_pin_ohm_m(a, ohm), pd_soil_apparent_ohm_m(&soils[i], a), 1e-3,
                         0);
            pd_ground_free(&ground);
            pd_conductors_free(&conductors);
        }
    assert_true(isnan(pd_soil_apparent_ohm_m(&soils[0], 0)));
    assert_true(isnan(pd_soil_apparent_ohm_m(&(struct pd_soil){100, 1, NAN}, 1)));
    /* close pins see the upper layer, wide ones the lower */
    assert_close(pd_soil_apparent_ohm_m(&soils[0], 0.05), 100, 1e-4, 0);
    assert_close(pd_soil_apparent_ohm_m(&soils[0], 2000), 500, 1e-2, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_images_against_quadrature),
        cmocka_unit_test(test_bound),
        cmocka_unit_test(test_equal_layers_are_uniform),
        cmocka_unit_test(test_limits),
        cmocka_unit_test(test_reciprocity),
        cmocka_unit_test(test_four_pins),
    };
    gsl_set_error_handler_off();
    return cmocka_run_group_tests(tests, NULL, NULL);
}
