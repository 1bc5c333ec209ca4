/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "case_folder.h"

#include <math.h>

/* The laundry of cases/, by Millman's theorem (any circuits textbook) on a stiff supply: with the
 * PEN open in main1 everything hangs on one neutral, U_N = sum(Y_k E_k) / sum(Y_k), and no
 * electrode ties it. Each load by itself ranges over what loads.csv declares; the cables, under
 * 0.05 ohm beside 3 ohm and more for a line's load, are left out and take up to about 4 %. */

enum { LINES = 3, LOADS = 6, EACH = -1, SHARES = 50, SUPPLIES = 8 };

static const struct load {
    int line;
    double low_a, high_a; /* at 230 V */
} loads[LOADS] = {{0, 2, 70}, {1, 2, 80}, {2, 2, 70}, {1, 2, 70}, {EACH, 24, 32}, {0, 0, 16}};

static void set_emfs(double volts, double complex emf[LINES])
{
    emf[0] = volts;
    emf[1] = volts * (-0.5 - sqrt(0.75) * I);
    emf[2] = volts * (-0.5 + sqrt(0.75) * I);
}

static void line_loads(unsigned corner, double amps[LINES])
{
    for (int k = 0; k < LINES; k++)
        amps[k] = 0;
    for (int i = 0; i < LOADS; i++)
        for (int k = 0; k < LINES; k++)
            if (loads[i].line == k || loads[i].line == EACH)
                amps[k] += (corner >> i & 1u) != 0 ? loads[i].high_a : loads[i].low_a;
}

static double complex displacement(const double amps[LINES], const double complex emf[LINES])
{
    return (amps[0] * emf[0] + amps[1] * emf[1] + amps[2] * emf[2]) / (amps[0] + amps[1] + amps[2]);
}

static double furthest(double volts)
{
    double complex emf[LINES];
    double amps[LINES], worst_v = 0;
    set_emfs(volts, emf);
    for (unsigned corner = 0; corner < 1u << LOADS; corner++) {
        line_loads(corner, amps);
        worst_v = fmax(worst_v, cabs(displacement(amps, emf)));
    }
    return worst_v;
}

/* The furthest that L1 to neutral leaves inside 207 V to 253 V, on the ways between corners. */
static double furthest_unseen(void)
{
    double worst_v = 0;
    for (int step = 0; step <= SUPPLIES; step++) {
        double complex emf[LINES];
        set_emfs(216.2 + (253 - 216.2) * step / SUPPLIES, emf);
        for (unsigned a = 0; a < 1u << LOADS; a++)
            for (unsigned b = a; b < 1u << LOADS; b++)
                for (int i = 0; i <= SHARES; i++) {
                    double from[LINES], to[LINES], amps[LINES];
                    line_loads(a, from);
                    line_loads(b, to);
                    for (int k = 0; k < LINES; k++)
                        amps[k] = from[k] + (to[k] - from[k]) * i / SHARES;
                    const double complex p = displacement(amps, emf);
                    const double line_v = cabs(emf[0] - p);
                    if (line_v >= 207 && line_v <= 253)
                        worst_v = fmax(worst_v, cabs(p));
                }
    }
    return worst_v;
}

static void test_laundry_one_line(void **state)
{
    (void)state;
    struct study s = {0};
    study_open_example(&s, "laundry-one-line");
    assert_close(s.a->scenario[s.a->worst].touch_v, furthest(253), 0.04, 0);
    assert_close(s.a->residual_v, furthest_unseen(), 0.04, 0);
    /* Alone: 24 A on every line and 16 A more on L1, 253 * 16 / 88 V. */
    assert_close(s.a->route[0].value, 253.0 * 16 / 88, 1e-9, 0);
    study_close(&s);
}

/* On all three lines nothing beyond 32 V is left (test_region.c), so nothing over 70 V. */
static void test_laundry_three_lines(void **state)
{
    (void)state;
    struct study s = {0};
    study_open_example(&s, "laundry-three-lines");
    assert_close(s.a->scenario[s.a->worst].touch_v, furthest(253), 0.04, 0);
    assert_true(s.a->residual_v == 0);
    assert_true(s.a->over > 0);
    assert_int_equal(s.a->unseen, 0);
    study_close(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_laundry_one_line),
        cmocka_unit_test(test_laundry_three_lines),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
