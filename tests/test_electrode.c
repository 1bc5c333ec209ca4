/* SPDX-License-Identifier: GPL-3.0-or-later */

/* Sizing an electrode: what the study answers against the formulas themselves, the limits of the
 * search, and that what is not known stays so. */

#include "check.h"

#include <math.h>

#include <gsl/gsl_errno.h>

#include "study/electrode.h"
#include "table/names.h"

static struct pd_electrode_question question(double soil_ohm_m)
{
    return (struct pd_electrode_question){.soil = pd_soil_uniform(soil_ohm_m),
                                          .shape = PD_ROD,
                                          .size = {.length_m = 2.4,
                                                   .diameter_m = 0.016,
                                                   .depth_m = NAN,
                                                   .spacing_m = NAN,
                                                   .soil_ohm_m = NAN,
                                                   .count = 1},
                                          .want_ohm = NAN,
                                          .season = {.factor = NAN},
                                          .separation_share = NAN};
}

static struct pd_electrode_answer *ask(const struct pd_electrode_question *q)
{
    struct pd_electrode_answer *answer;
    assert_int_equal(pd_electrode_answer(q, NULL, NULL, &answer), PD_OK);
    return answer;
}

/* Worked sheet to BS 7430 (seen): 40.3861 ohm. The higher figure decides. */
static void test_shape(void **state)
{
    (void)state;
    struct pd_electrode_question q = question(100);
    q.season.factor = 2;
    q.separation_share = 0.1;
    struct pd_electrode_answer *answer = ask(&q);
    assert_close(answer->figure.handbook_ohm, 40.3861, 0, 1e-4);
    assert_close(answer->figure.ohm, 40.3861, 0, 1e-4);
    assert_true(answer->figure.numerical_ohm < answer->figure.handbook_ohm);
    assert_close(answer->figure.dry_ohm, 80.7722, 0, 2e-4);
    assert_false(pd_electrode_answer_unknown(answer));
    /* rod with even current: V(x)/V = asinh(L/x)/(ln(4L/a) - 1) */
    const double share = asinh(2.4 / 3) / (log(4 * 2.4 / 0.008) - 1);
    assert_close(pd_electrode_ground_share(answer, 3, 0), share, 0.03, 0);
    assert_close(pd_electrode_ground_share(answer, answer->separation_m, 0), 0.1, 1e-3, 0);
    pd_electrode_answer_free(&answer);
    q.shape = PD_WIRE; /* without its depth */
    assert_int_equal(pd_electrode_answer(&q, NULL, NULL, &answer), PD_ERR_ARGUMENT);
    assert_null(answer);
}

/* Every row that does, does; one rod fewer does not; the best has the least rod of those that do.
 */
static void check_layouts(const struct pd_electrode_answer *answer)
{
    const struct pd_electrode_question *const q = &answer->question;
    const struct pd_layout *const best = &answer->layout[answer->best];
    for (size_t i = 0; i < answer->layout_count; i++) {
        const struct pd_layout *const layout = &answer->layout[i];
        struct pd_shape_size size = {.length_m = layout->length_m,
                                     .diameter_m = q->size.diameter_m,
                                     .spacing_m = layout->spacing_m,
                                     .soil_ohm_m = q->soil.upper_ohm_m,
                                     .count = layout->count};
        const double handbook = pd_shape_resistance(layout->shape, &size);
        assert_close(layout->figure.ohm, fmax(handbook, layout->figure.numerical_ohm), 1e-12, 0);
        assert_int_equal(layout->meets, layout->figure.dry_ohm <= q->want_ohm);
        assert_true(layout->land_m <= (layout->shape == PD_SQUARE ? 15.001 : 30.001));
        assert_true(layout->length_m <= 6.001);
        size.count -= layout->shape == PD_SQUARE ? 4 : 1;
        if (layout->meets && size.count > 0)
            assert_true(pd_shape_resistance(layout->shape, &size) * q->season.factor >
                        0.95 * q->want_ohm);
        if (layout->meets && best->meets)
            assert_true((double)best->count * best->length_m <=
                        (double)layout->count * layout->length_m + 1e-9);
    }
}

static void test_want(void **state)
{
    (void)state;
    enum pd_practicable last = PD_PRACTICABLE;
    for (double soil_ohm_m = 10; soil_ohm_m <= 640; soil_ohm_m *= 2) {
        struct pd_electrode_question q = question(soil_ohm_m);
        q.size.length_m = NAN;
        q.want_ohm = 2.7;
        q.season.factor = 1.5;
        struct pd_electrode_answer *answer = ask(&q);
        check_layouts(answer);
        assert_int_equal(answer->practicable == PD_PRACTICABLE, answer->layout[answer->best].meets);
        assert_true(answer->practicable >= last); /* worse soil never makes it practicable */
        last = answer->practicable;
        for (size_t i = 1; i < answer->ladder_count; i++)
            assert_true(answer->ladder[i].figure.ohm < answer->ladder[i - 1].figure.ohm);
        pd_electrode_answer_free(&answer);
    }
    assert_int_equal(last, PD_NOT_PRACTICABLE);
}

static void test_diminishing(void **state)
{
    (void)state;
    struct pd_electrode_question q = question(50);
    q.want_ohm = 2.7;
    q.length_given = q.spacing_given = true;
    q.size.spacing_m = 2.4;
    q.season.factor = 1;
    struct pd_electrode_answer *answer = ask(&q);
    assert_int_equal(answer->ladder_count, PD_LAYOUT_LINE_MOST);
    /* by the numerical and handbook ohms: where one more rod first lowers it by under a tenth */
    size_t first = 0;
    for (size_t i = 1; i < answer->ladder_count && first == 0; i++)
        if (answer->ladder[i].figure.ohm > 0.9 * answer->ladder[i - 1].figure.ohm)
            first = i + 1;
    assert_true(first > 2);
    assert_int_equal(answer->little_from, first);
    pd_electrode_answer_free(&answer);
}

/* Without a season a want is not determined, however low; without soil nothing is. */
static void test_not_determined(void **state)
{
    (void)state;
    struct pd_electrode_question q = question(5);
    q.want_ohm = 20;
    struct pd_electrode_answer *answer = ask(&q);
    assert_int_equal(answer->practicable, PD_PRACTICABLE);
    assert_true(pd_electrode_answer_unknown(answer));
    assert_true(isnan(answer->figure.dry_ohm));
    pd_electrode_answer_free(&answer);
    struct pd_electrode_question no_soil = question(NAN);
    answer = ask(&no_soil);
    assert_true(isnan(answer->figure.ohm));
    assert_true(pd_electrode_answer_unknown(answer));
    assert_true(isnan(pd_electrode_ground_share(answer, 1, 0)));
    pd_electrode_answer_free(&answer);
    no_soil.want_ohm = 20;
    no_soil.season.factor = 1;
    answer = ask(&no_soil);
    assert_int_equal(answer->practicable, PD_PRACTICABLE_UNKNOWN);
    assert_int_equal(answer->best, PD_NONE);
    assert_true(pd_electrode_answer_unknown(answer));
    pd_electrode_answer_free(&answer);
}

static bool stop(double share, void *context)
{
    (void)context;
    assert_true(share >= 0 && share <= 1);
    return false;
}

static void test_interrupted(void **state)
{
    (void)state;
    struct pd_electrode_question q = question(100);
    struct pd_electrode_answer *answer;
    q.want_ohm = 2.7;
    assert_int_equal(pd_electrode_answer(&q, stop, NULL, &answer), PD_ERR_INTERRUPTED);
    assert_null(answer);
}

/* In layers the handbook has no say; good ground below helps long rods. */
static void test_layers(void **state)
{
    (void)state;
    struct pd_electrode_question q = question(300);
    q.soil = (struct pd_soil){300, 2, 20};
    q.size.length_m = 4.8;
    struct pd_electrode_answer *layered = ask(&q);
    assert_true(isnan(layered->figure.handbook_ohm));
    assert_close(layered->figure.ohm, layered->figure.numerical_ohm, 0, 0);
    const struct pd_shape_size in_best = {
        .length_m = 2.8, .diameter_m = 0.016, .soil_ohm_m = 20, .count = 1};
    /* more than what is below would have alone at the surface's bottom, less than that twice over
     */
    const double below = pd_shape_resistance(PD_ROD, &in_best);
    assert_true(layered->figure.ohm > 0.5 * below && layered->figure.ohm < 1.3 * below);
    pd_electrode_answer_free(&layered);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_shape),       cmocka_unit_test(test_want),
        cmocka_unit_test(test_diminishing), cmocka_unit_test(test_not_determined),
        cmocka_unit_test(test_layers),      cmocka_unit_test(test_interrupted),
    };
    gsl_set_error_handler_off();
    return cmocka_run_group_tests(tests, NULL, NULL);
}
