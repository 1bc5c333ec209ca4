/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "case_folder.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "oracle.h"
#include "study/load_states.h"

/* The certified worst case of the cases, and the questions turned round: answers put back into the
 * network as another road solves it (the dense oracle), devices tried at random loads. */

static double line_up(double x, void *trial)
{
    (void)trial;
    return 10 * x;
}

static double line_down(double x, void *trial)
{
    (void)trial;
    return 100 / x;
}

static double hump(double x, void *trial)
{
    (void)trial;
    return 100 - (x - 5) * (x - 5);
}

static double no_answer(double x, void *trial)
{
    (void)trial;
    return x > 8 ? (double)NAN : x;
}

/* Closed forms. */
static void finds_roots(void **state)
{
    (void)state;
    double x;
    assert_int_equal(pd_root_of(line_up, NULL, 0, 10, false, 70, &x), PD_FOUND);
    assert_close(x, 7, 1e-9, 0);
    assert_int_equal(pd_root_of(line_down, NULL, 0.1, 10, true, 70, &x), PD_FOUND_LEAST);
    assert_close(x, 100 / 70.0, 1e-9, 0);
    assert_int_equal(pd_root_of(line_up, NULL, 0, 6, false, 70, &x), PD_FOUND_ANY);
    assert_int_equal(pd_root_of(line_up, NULL, 8, 10, false, 70, &x), PD_FOUND_NONE);
    assert_true(isnan(x));
    assert_int_equal(pd_root_of(hump, NULL, 0, 10, false, 90, &x), PD_FOUND_CROOKED);
    assert_int_equal(pd_root_of(no_answer, NULL, 0, 10, false, 5, &x), PD_FOUND_UNSOLVED);
    assert_int_equal(pd_root_of(line_up, NULL, 0, 10, false, NAN, &x), PD_FOUND_UNSOLVED);
}

/* The oracle's touch voltage of a break at the certified loads. */
static double by_oracle(const struct pd_case *c, const struct pd_worst_break *brk,
                        const struct pd_earth_tie *tie, size_t ties)
{
    const struct pd_operating operating = {
        .load_a = brk->load_a, .tie = tie, .tie_count = ties, .supply_v = c->limits.supply_high_v};
    const struct pd_cut cut = {.kind = brk->section == PD_NONE ? PD_CUT_NONE : PD_CUT_OPEN,
                               .section = brk->section == PD_NONE ? 0 : brk->section};
    struct oracle_answer answer;
    oracle_solve(c->network, &operating, &cut, false, &answer);
    const double volts = cabs(answer.v[c->network->node[c->charging_point].pe_node][PD_N]);
    oracle_answer_free(&answer);
    return volts;
}

static void attains_what_it_says(void **state)
{
    (void)state;
    for (size_t i = 0; case_names[i] != NULL; i++) {
        struct study study = {0};
        study_open_example(&study, case_names[i]);
        const struct pd_case *const c = study.study_case;
        for (size_t k = 0; k < study.a->certified.count && c->earthing != PD_TT; k++) {
            const struct pd_worst_break *const brk = &study.a->certified.brk[k];
            assert_true(brk->bound_v >= brk->attained_v);
            assert_close(brk->attained_v, by_oracle(c, brk, c->tie, c->electrodes.count), 1e-9,
                         1e-6);
        }
        study_close(&study);
    }
}

/* No scenario that was solved by other parts is above its break's bound, nor above what the proof
 * says of what no device sees. */
static void bounds_every_scenario(void **state)
{
    (void)state;
    size_t held = 0;
    for (size_t i = 0; case_names[i] != NULL; i++) {
        struct study study = {0};
        study_open_example(&study, case_names[i]);
        const struct pd_assessment *const a = study.a;
        for (size_t k = 0; k < a->certified.count && study.study_case->earthing != PD_TT; k++)
            for (size_t s = 0; s < a->scenario_count; s++) {
                const struct pd_scenario *const one = &a->scenario[s];
                if (one->section != a->certified.brk[k].section || !isfinite(one->touch_v) ||
                    (one->fault != PD_OPEN_PEN && one->fault != PD_HEALTHY))
                    continue;
                assert_true(one->touch_v <= a->certified.brk[k].bound_v);
                if (one->touch == PD_OVER && !one->disconnected)
                    assert_true(one->touch_v <= a->certified.brk[k].unseen_bound_v);
                held++;
            }
        study_close(&study);
    }
    assert_true(held > 500);
}

/* Random loads and supply voltages of the street: what no device sees is never above its bound. */
static void devices_are_not_better_than_proved(void **state)
{
    (void)state;
    struct study study = {0};
    struct stream stream = {21};
    study_open_example(&study, "street");
    const struct pd_case *const c = study.study_case;
    struct pd_tree *tree;
    struct pd_solution solution;
    double *const load_a = calloc(c->network->load_count, sizeof *load_a);
    assert_int_equal(pd_tree_new(c->network, &tree), PD_OK);
    assert_int_equal(pd_solution_new(c->network, &solution), PD_OK);
    double closest_v = INFINITY;
    for (size_t t = 0; t < 3000 * soak(); t++) {
        for (size_t i = 0; i < c->network->load_count; i++) {
            const struct pd_load *const load = &c->network->load[i];
            const size_t what = stream_below(&stream, 4 + load->phase);
            load_a[i] = what == 0   ? load->low_a
                        : what == 1 ? load->high_a
                                    : stream_uniform(&stream, load->low_a, load->high_a);
        }
        const struct pd_operating operating = {.load_a = load_a,
                                               .tie = c->tie,
                                               .tie_count = c->electrodes.count,
                                               .supply_v = stream_uniform(&stream, 216.2, 253)};
        assert_int_equal(pd_tree_factor(tree, &operating), PD_OK);
        for (size_t k = 1; k < study.a->certified.count; k++) {
            const struct pd_worst_break *const brk = &study.a->certified.brk[k];
            const struct pd_cut cut = {.kind = PD_CUT_OPEN, .section = brk->section};
            assert_int_equal(pd_tree_solve(tree, &cut, &solution), PD_OK);
            struct pd_view view = {.lines = 1, .pe_v = solution.v[c->installation][PD_N]};
            memcpy(view.v, solution.v[c->detector_node[0]], sizeof view.v);
            const struct pd_sight sight = pd_detector_look(&c->detectors.detector[0], &view);
            const double touch_v = cabs(view.pe_v);
            if (touch_v <= 70 || pd_sight_in_time(&sight, c->limits.time_s))
                continue;
            assert_true(touch_v <= brk->unseen_bound_v);
            closest_v = fmin(closest_v, brk->unseen_bound_v - touch_v);
        }
    }
    assert_true(isfinite(closest_v));
    free(load_a);
    pd_tree_free(&tree);
    pd_solution_free(&solution);
    study_close(&study);
}

/* The largest resistance, put into the case's own electrodes.csv, brings the worst case to the
 * limit. The rule's figure for the same house is the published form, 2.7493 ohm. */
static void answers_put_back_give_the_limit(void **state)
{
    (void)state;
    static const char *const names[] = {"house-rod-12-ohm",   "street",
                                        "farm-split-phase",   "workshop-unbalanced",
                                        "house-open-neutral", /* these two have no ranges */
                                        "house-earthing-off"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        struct study study = {0}, again = {0};
        struct case_text text;
        struct folder folder;
        char table[256];
        study_open_example(&study, names[i]);
        const struct pd_answer_to answer = study.a->answer[PD_ASK_ELECTRODE];
        assert_int_equal(answer.found, PD_FOUND);
        assert_true(answer.bound_v <= 70.002 && answer.bound_v >= 69.95);
        assert_close(answer.electrode_a * answer.value, 70, 1e-9, 0);
        const char *const node =
            study.study_case->network->node[study.study_case->installation].name;
        case_text_read(&text, names[i]);
        snprintf(table, sizeof table, "electrode,node,resistance_ohm\nprobe,%s,%.12g\n%s", node,
                 answer.value, strcmp(names[i], "street") == 0 ? "main end,joint5,90\n" : "");
        case_text_set(&text, "electrodes.csv", table);
        folder_make(&folder);
        folder_fill(&folder, &text);
        study_open(&again, folder.path);
        double most_v = 0;
        for (size_t k = 0; k < again.a->certified.count; k++)
            most_v = fmax(most_v, again.a->certified.brk[k].attained_v);
        for (size_t k = 0; k < again.a->scenario_count; k++)
            if (again.a->scenario[k].fault == PD_OPEN_PEN && again.a->certified.count == 0)
                most_v = fmax(most_v, again.a->scenario[k].touch_v);
        assert_close(most_v, 70, 0, 0.05);
        study_close(&again);
        folder_remove(&folder);
        case_text_free(&text);
        study_close(&study);
    }
}

/* A verdict of acceptable rests on proof where loads have ranges. */
static void acceptable_is_proved(void **state)
{
    (void)state;
    size_t ranged = 0;
    for (size_t i = 0; case_names[i] != NULL; i++) {
        struct study study = {0};
        study_open_example(&study, case_names[i]);
        if (study.a->overall == PD_ACCEPTABLE)
            assert_true(study.a->proved);
        ranged += study.a->overall == PD_ACCEPTABLE && study.a->certified.count > 0;
        study_close(&study);
    }
    assert_true(ranged >= 5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(finds_roots),
        cmocka_unit_test(attains_what_it_says),
        cmocka_unit_test(bounds_every_scenario),
        cmocka_unit_test(devices_are_not_better_than_proved),
        cmocka_unit_test(answers_put_back_give_the_limit),
        cmocka_unit_test(acceptable_is_proved),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
