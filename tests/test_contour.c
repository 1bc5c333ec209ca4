/* SPDX-License-Identifier: GPL-3.0-or-later */

/* Lines of equal value against shapes whose lines are known. */

#include "check.h"

#include <math.h>

#include "report/contour.h"

enum { SIDE = 81 };
static double value[SIDE * SIDE];

static struct pd_grid grid_of(double (*function)(double x, double y))
{
    const struct pd_grid grid = {value, SIDE, SIDE, -2, -2, 0.05};
    for (size_t j = 0; j < SIDE; j++)
        for (size_t i = 0; i < SIDE; i++)
            value[j * SIDE + i] = function(-2 + 0.05 * (double)i, -2 + 0.05 * (double)j);
    return grid;
}

struct seen {
    size_t lines, loops;
    double length, farthest, nearest; /* from the middle */
};

static void look(const struct pd_xy *point, size_t count, void *context)
{
    struct seen *const seen = context;
    seen->lines++;
    seen->loops += point[0].x == point[count - 1].x && point[0].y == point[count - 1].y;
    for (size_t i = 0; i < count; i++) {
        const double r = hypot(point[i].x, point[i].y);
        seen->farthest = fmax(seen->farthest, r);
        seen->nearest = fmin(seen->nearest, r);
        if (i > 0)
            seen->length += hypot(point[i].x - point[i - 1].x, point[i].y - point[i - 1].y);
    }
}

static struct seen trace(const struct pd_grid *grid, double level)
{
    struct seen seen = {.nearest = INFINITY};
    assert_int_equal(pd_contour_trace(grid, level, look, &seen), PD_OK);
    return seen;
}

static double cone(double x, double y)
{
    return 3 - hypot(x, y);
}

static double saddle(double x, double y)
{
    return x * y;
}

static double slope(double x, double y)
{
    (void)y;
    return x;
}

static double hole(double x, double y)
{
    return hypot(x, y) < 0.5 ? NAN : cone(x, y);
}

static void test_circle(void **state)
{
    (void)state;
    const struct pd_grid grid = grid_of(cone);
    const struct seen seen = trace(&grid, 1.5);
    assert_int_equal(seen.lines, 1);
    assert_int_equal(seen.loops, 1);
    assert_close(seen.farthest, 1.5, 1e-3, 0);
    assert_close(seen.nearest, 1.5, 1e-3, 0);
    assert_close(seen.length, 2 * M_PI * 1.5, 2e-3, 0);
    assert_int_equal(trace(&grid, 5).lines, 0);
    /* cut off by the border at its four corners' sides */
    assert_int_equal(trace(&grid, 0.7).lines, 4);
    assert_int_equal(trace(&grid, 0.7).loops, 0);
}

static void test_straight(void **state)
{
    (void)state;
    const struct pd_grid grid = grid_of(slope);
    const struct seen seen = trace(&grid, 0.33);
    assert_int_equal(seen.lines, 1);
    assert_close(seen.length, 4, 1e-9, 0);
    assert_close(seen.nearest, 0.33, 0, 0.01);
}

static void test_saddle(void **state)
{
    (void)state;
    const struct pd_grid grid = grid_of(saddle);
    assert_int_equal(trace(&grid, 0.1).lines, 2);
    assert_int_equal(trace(&grid, -0.1).lines, 2);
    assert_int_equal(trace(&grid, 1e-4).lines, 2); /* through one cell both */
}

/* What has no value is below every level, and nothing of it gets into a point. */
static void test_hole(void **state)
{
    (void)state;
    const struct pd_grid grid = grid_of(hole);
    const struct seen seen = trace(&grid, 1.5);
    assert_int_equal(seen.lines, 2);
    assert_int_equal(seen.loops, 2);
    assert_true(isfinite(seen.length));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_circle),
        cmocka_unit_test(test_straight),
        cmocka_unit_test(test_saddle),
        cmocka_unit_test(test_hole),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
