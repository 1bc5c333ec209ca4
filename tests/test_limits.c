/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "limits/limits.h"

static void finds_the_great_britain_set(void **state)
{
    (void)state;
    struct pd_limits limits;
    assert_int_equal(pd_limits_find("gb-outdoor-charging", &limits, NULL), PD_OK);
    /* BS 7671 722.411.4.1: 70 V, 5 s (seen quoted); 207 to 253 V (from memory). */
    assert_close(limits.touch_v, 70, 0, 0);
    assert_close(limits.time_s, 5, 0, 0);
    assert_close(limits.band_low_v, 207, 0, 0);
    assert_close(limits.band_high_v, 253, 0, 0);
    /* ESQCR 2002 regulation 27: 230 V +10 % -6 % (seen quoted). */
    assert_close(limits.supply_low_v, 230 * 0.94, 1e-12, 0);
    assert_close(limits.supply_high_v, 230 * 1.10, 1e-12, 0);
    assert_close(limits.rcd_a, 0.030, 1e-12, 0);
    assert_string_equal(limits.status, "from memory");
}

static void leaves_out_what_a_set_does_not_give(void **state)
{
    (void)state;
    struct pd_limits limits;
    assert_int_equal(pd_limits_find("conventional-50", &limits, NULL), PD_OK);
    assert_close(limits.touch_v, 50, 0, 0); /* IEC 60364-4-41 411.4.1 (seen) */
    assert_true(isnan(limits.band_low_v) && isnan(limits.band_high_v));
    assert_true((limits.routes & 1u << PD_ROUTE_BAND_DEVICE) == 0);
    assert_true((limits.routes & 1u << PD_ROUTE_ELECTRODE) != 0);
}

static void names_the_nearest_set(void **state)
{
    (void)state;
    struct pd_limits limits;
    char nearest[64];
    assert_int_equal(pd_limits_find("gb-outdoor-chargin", &limits, nearest), PD_ERR_INPUT);
    assert_string_equal(nearest, "gb-outdoor-charging");
    assert_int_equal(pd_limits_find("zzzz", &limits, nearest), PD_ERR_INPUT);
    assert_string_equal(nearest, "");
}

/* A set without figures is the user's own; every other must be whole enough to judge with. */
static bool look_at_row(const struct pd_limits *limits, void *context)
{
    ++*(int *)context;
    assert_true(limits->source[0] != '\0' && limits->status[0] != '\0');
    assert_int_equal(strlen(limits->checked), 10);
    assert_true(limits->routes != 0);
    if (strcmp(limits->set, "own") == 0)
        return true;
    assert_true(limits->touch_v > 0 && limits->touch_v < limits->nominal_v);
    assert_true(limits->time_s > 0);
    assert_true(limits->supply_low_v < limits->nominal_v);
    assert_true(limits->supply_high_v > limits->nominal_v);
    if ((limits->routes & 1u << PD_ROUTE_BAND_DEVICE) != 0)
        assert_true(limits->band_low_v < limits->band_high_v);
    return true;
}

static void every_row_is_whole(void **state)
{
    (void)state;
    int rows = 0;
    assert_int_equal(pd_limits_each(look_at_row, &rows, NULL), PD_OK);
    assert_int_equal(rows, 3);
}

static void nothing_but_a_finite_figure_is_within(void **state)
{
    (void)state;
    assert_int_equal(pd_judge(70, 70), PD_WITHIN);
    assert_int_equal(pd_judge(nextafter(70, 71), 70), PD_OVER);
    assert_int_equal(pd_judge(0, 70), PD_WITHIN);
    const double bad[] = {NAN, -NAN, INFINITY, -INFINITY};
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(pd_judge(bad[i], 70), PD_UNKNOWN);
        assert_int_equal(pd_judge(10, bad[i]), PD_UNKNOWN);
    }
}

static void electrode_formula_gives_the_published_values(void **state)
{
    (void)state;
    /* Divider form, 32 A and 70 V on 230 V: 3.145 ohm (CHECKS, recomputed; BS 7671 722 annex). */
    assert_close(pd_electrode_formula(230, 32, 70, 1), 3.145, 0, 5e-4);
    /* With voltage factor 1.1 (annex form, from memory): 0.880 ohm at 100 A; at 32 A the published
     * 2.748 is 2.7493 when worked out, 70 * 230 / (32 * 183). */
    assert_close(pd_electrode_formula(230, 100, 70, 1.1), 0.880, 0, 5e-4);
    assert_close(pd_electrode_formula(230, 32, 70, 1.1), 2.748, 0, 2e-3);
    assert_close(pd_electrode_formula(230, 32, 70, 1.1), 16100.0 / 5856, 1e-12, 0);
}

static void electrode_formula_has_no_comfortable_edge(void **state)
{
    (void)state;
    assert_true(isinf(pd_electrode_formula(230, 0, 70, 1)));
    assert_true(isinf(pd_electrode_formula(60, 32, 70, 1)));
    assert_true(isnan(pd_electrode_formula(230, NAN, 70, 1)));
    assert_true(isnan(pd_electrode_formula(230, INFINITY, 70, 1)));
    assert_true(isnan(pd_electrode_formula(230, -1, 70, 1)));
    assert_true(isnan(pd_electrode_formula(NAN, 32, 70, 1)));
    assert_true(isnan(pd_electrode_formula(230, 32, 0, 1)));
    assert_true(isnan(pd_electrode_formula(230, 32, 70, NAN)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(finds_the_great_britain_set),
        cmocka_unit_test(leaves_out_what_a_set_does_not_give),
        cmocka_unit_test(names_the_nearest_set),
        cmocka_unit_test(every_row_is_whole),
        cmocka_unit_test(nothing_but_a_finite_figure_is_within),
        cmocka_unit_test(electrode_formula_gives_the_published_values),
        cmocka_unit_test(electrode_formula_has_no_comfortable_edge),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
