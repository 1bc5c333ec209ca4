/* SPDX-License-Identifier: GPL-3.0-or-later */

/* Every step of an explanation is worked out again from what it prints, by a calculator that knows
 * nothing of the program, and its results are held against the assessment and Millman's theorem. */

#include "check.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "case_folder.h"
#include "study/explain.h"

/* A pocket calculator: numbers, + - x / ^, brackets, sqrt. `most` is the largest number met: what
 * is printed in so many digits cannot be better than that. */
struct calculator {
    const char *at;
    double most;
};

static double expression(struct calculator *c);

static void skip_blanks(struct calculator *c)
{
    while (*c->at == ' ')
        c->at++;
}

static bool take(struct calculator *c, const char *word)
{
    skip_blanks(c);
    if (strncmp(c->at, word, strlen(word)) != 0)
        return false;
    c->at += strlen(word);
    return true;
}

static double atom(struct calculator *c)
{
    if (take(c, "sqrt("))
        ;
    else if (!take(c, "(")) {
        char *end;
        const double value = strtod(c->at, &end);
        assert_true(end != c->at && isfinite(value));
        c->at = end;
        c->most = fmax(c->most, fabs(value));
        return value;
    } else {
        const double inside = expression(c);
        assert_true(take(c, ")"));
        return inside;
    }
    const double root = sqrt(expression(c));
    assert_true(take(c, ")"));
    return root;
}

static double power(struct calculator *c)
{
    const double base = atom(c);
    return take(c, "^") ? pow(base, atom(c)) : base;
}

static double product(struct calculator *c)
{
    double value = power(c);
    for (;;) {
        if (take(c, "x"))
            value *= power(c);
        else if (take(c, "/"))
            value /= power(c);
        else
            return value;
    }
}

static double expression(struct calculator *c)
{
    double value = product(c);
    for (;;) {
        if (take(c, "+"))
            value += product(c);
        else if (take(c, "-"))
            value -= product(c);
        else
            return value;
    }
}

static double work_out(const char *sum, double *most)
{
    struct calculator c = {.at = sum};
    const double value = expression(&c);
    skip_blanks(&c);
    if (*c.at != '\0')
        fail_msg("'%s' goes on: '%s'", sum, c.at);
    *most = c.most;
    return value;
}

/* Within the digits of the result, and what the digits of the largest number in it leave. */
static void check_step(const struct pd_working_step *step)
{
    double most;
    const double got = work_out(step->sum, &most), printed = strtod(step->printed, NULL);
    if (!close_enough(got, printed, 6e-4, 1e-5 * most) ||
        !close_enough(got, step->result, 2e-5, 1e-5 * most))
        fail_msg("%s: %s = %.9g, printed %s, meant %.9g", step->what, step->sum, got, step->printed,
                 step->result);
    assert_true(step->unit[0] != '\0' && step->what[0] != '\0' && step->formula[0] != '\0');
}

static double cell(const struct pd_working_table *table, size_t row, size_t column)
{
    char *end;
    const char *const text = table->row[row].cell[column];
    const double value = strtod(text, &end);
    assert_true(end != text && *end == '\0');
    return value;
}

/* G = I cos(phi) / U0 and B by Pythagoras; then Re YE and Im YE from the table after it. */
static void check_tables(const struct pd_working_table *loads, const struct pd_working_table *drive,
                         double nominal_v)
{
    assert_int_equal(loads->row_count, drive->row_count);
    for (size_t i = 0; i < loads->row_count; i++) {
        const double g_s = cell(loads, i, 4), b_s = cell(loads, i, 5);
        const double e1 = cell(drive, i, 2), e2 = cell(drive, i, 3);
        const double size_a = hypot(g_s, b_s) * hypot(e1, e2);
        if (strcmp(loads->row[i].cell[3], "-") != 0) {
            const double y_s = cell(loads, i, 2) / nominal_v;
            assert_close(g_s, y_s * cell(loads, i, 3), 1e-4, 0);
            assert_close(hypot(g_s, b_s), y_s, 1e-4, 0);
        }
        assert_close(cell(drive, i, 4), g_s * e1 - b_s * e2, 0, 3e-5 * size_a);
        assert_close(cell(drive, i, 5), g_s * e2 + b_s * e1, 0, 3e-5 * size_a);
    }
}

static size_t check_working(const struct pd_explanation *e)
{
    const double nominal_v = e->assessment->study_case->limits.nominal_v;
    const struct pd_working_table *loads = NULL;
    size_t steps = 0;
    for (size_t s = 0; s < e->working.section_count; s++)
        for (size_t i = 0; i < e->working.section[s].part_count; i++) {
            const struct pd_working_part *const part = &e->working.section[s].part[i];
            if (part->kind == PD_PART_STEP) {
                check_step(&part->step);
                steps++;
            } else if (part->kind == PD_PART_TABLE && loads == NULL) {
                loads = &part->table;
            } else if (part->kind == PD_PART_TABLE) {
                check_tables(loads, &part->table, nominal_v);
                loads = NULL;
            }
        }
    assert_null(loads);
    return steps;
}

static void every_step_of_every_case_can_be_done_again(void **state)
{
    (void)state;
    size_t steps = 0;
    for (size_t i = 0; case_names[i] != NULL; i++) {
        struct study study = {0};
        struct pd_explanation *e = NULL;
        study_open_example(&study, case_names[i]);
        assert_int_equal(pd_explain(study.a, &e), PD_OK);
        steps += check_working(e);
        if (isfinite(e->alone_v) && isfinite(study.a->alone_v))
            assert_close(e->alone_v, study.a->alone_v, 1e-9, 1e-9);
        if (isnan(study.a->alone_v))
            assert_true(isnan(e->alone_v) || study.a->study_case->earthing != PD_TN_C_S);
        pd_explanation_free(&e);
        study_close(&study);
    }
    assert_true(steps > 100);
}

/* 12 ohm, 42 A at 230 V, 253 V: 253 (42/230) / (42/230 + 1/12) V, by the textbook divider. */
static void the_sum_is_the_divider(void **state)
{
    (void)state;
    struct study study = {0};
    struct pd_explanation *e = NULL;
    static const char facts[] =
        "quantity,value,unit\nlimit_set,gb-outdoor-charging,-\nearthing,TN-C-S,-\n"
        "system,single-phase,-\ninstallation,board,-\ncharging_point,board,-\n";
    struct case_text text = {0};
    struct folder folder;
    struct pd_errors errors = {0};
    case_text_set(&text, "case.csv", facts);
    case_text_set(&text, "sections.csv",
                  "section,from,to,line_r_ohm,line_x_ohm,pen_r_ohm,pen_x_ohm,neutral\n"
                  "service,substation,board,0,0,0,0,pen\n");
    case_text_set(&text, "loads.csv", "load,node,current_a\nhouse,board,10\nvehicle,board,32\n");
    case_text_set(&text, "electrodes.csv", "electrode,node,resistance_ohm\nrod,board,12\n");
    folder_make(&folder);
    folder_fill(&folder, &text);
    assert_int_equal(folder_assess(&folder, &study, &errors), PD_OK);
    assert_int_equal(pd_explain(study.a, &e), PD_OK);
    const double want_v = 253 * (42.0 / 230) / (42.0 / 230 + 1.0 / 12);
    assert_close(e->alone_v, want_v, 1e-9, 0);
    assert_close(e->closed_v, want_v, 1e-9, 0);
    assert_close(study.a->scenario[e->scenario].met_v, want_v, 1e-9, 0); /* cables of 0 ohm */
    check_working(e);
    pd_explanation_free(&e);
    study_close(&study);
    folder_remove(&folder);
    case_text_free(&text);
}

static bool says(const struct pd_explanation *e, const char *text)
{
    for (size_t s = 0; s < e->working.section_count; s++)
        for (size_t i = 0; i < e->working.section[s].part_count; i++) {
            const struct pd_working_part *const part = &e->working.section[s].part[i];
            if (part->kind == PD_PART_PARAGRAPH && strstr(part->text, text) != NULL)
                return true;
        }
    return false;
}

static void how_common_it_is_has_its_source(void **state)
{
    (void)state;
    struct study study = {0};
    struct pd_explanation *e = NULL;
    study_open_example(&study, "street");
    assert_int_equal(pd_explain(study.a, &e), PD_OK);
    assert_true(says(e, "from 57 in 2003 to 474 in 2021"));
    assert_true(says(e, "Engineering & Technology magazine, November 2022"));
    assert_true(says(e, pd_person_warning));
    pd_explanation_free(&e);
    study_close(&study);
}

static void what_is_missing_is_not_explained_away(void **state)
{
    (void)state;
    struct study study = {0};
    struct pd_explanation *e = NULL;
    study_open_example(&study, "house-rod-unmeasured");
    assert_int_equal(pd_explain(study.a, &e), PD_OK);
    assert_false(e->complete);
    assert_int_equal(e->scenario, PD_NONE);
    assert_int_equal(e->working.section_count, 1);
    assert_true(isnan(e->alone_v) && isnan(e->closed_v));
    pd_explanation_free(&e);
    assert_null(e);
    study_close(&study);
}

/* The calculator itself. */
static void the_calculator_calculates(void **state)
{
    (void)state;
    double most;
    assert_close(work_out("1 + 2 x 3 - 8 / 4", &most), 5, 0, 0);
    assert_close(work_out("sqrt((3)^2 + (-4)^2)", &most), 5, 1e-15, 0);
    assert_close(work_out("(1 - 3) x 1e-3", &most), -2e-3, 1e-15, 0);
    assert_close(most, 3, 0, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_calculator_calculates),
        cmocka_unit_test(every_step_of_every_case_can_be_done_again),
        cmocka_unit_test(the_sum_is_the_divider),
        cmocka_unit_test(how_common_it_is_has_its_source),
        cmocka_unit_test(what_is_missing_is_not_explained_away),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
