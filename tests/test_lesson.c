/* SPDX-License-Identifier: GPL-3.0-or-later */

/* A case tabulated for a lesson: held against assess, which solves the same states by its own way
 * through the case, against assess of the case written anew for a state, and against Millman's
 * theorem worked out here. */

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "lesson_case.h"

static void check_number(double got, double want)
{
    assert_int_equal(isnan(got), isnan(want));
    if (!isnan(want))
        assert_close(got, want, 1e-6, 1e-6);
}

static void check_answer(const struct pd_lesson *l, const struct pd_lesson_answer *got,
                         const struct pd_scenario *want)
{
    const struct pd_case *const c = l->study_case;
    assert_int_equal(got->standing, want->standing);
    assert_int_equal(got->floating, want->floating);
    assert_int_equal(got->touch, want->touch);
    check_number(got->met_v, want->met_v);
    check_number(creal(got->met), creal(want->met));
    check_number(cimag(got->met), cimag(want->met));
    check_number(got->touch_v, want->touch_v);
    check_number(got->electrode_a, want->electrode_a);
    for (int line = PD_L1; line < PD_LINES; line++)
        check_number(got->line_neutral_v[line], want->line_neutral_v[line]);
    for (size_t i = 0; i < c->detectors.count && i < PD_LESSON_SIGHTS; i++) {
        assert_int_equal(got->sees[i], want->sight[i].kind == PD_SEES);
        assert_int_equal(got->unknown[i], want->sight[i].kind == PD_SIGHT_UNKNOWN);
        assert_int_equal(got->in_time[i], pd_sight_in_time(&want->sight[i], c->limits.time_s));
    }
}

/* All loads at one end: as declared, or the highest. */
static void check_end(const struct study *study, const struct pd_lesson *l, enum pd_loads loads,
                      size_t *checked)
{
    size_t at[PD_LESSON_AXES] = {0};
    const size_t breaks = pd_lesson_find(l, PD_LESSON_BREAK);
    const size_t supply = pd_lesson_find(l, PD_LESSON_SUPPLY);
    for (size_t i = 0; i < l->axis_count; i++) {
        const struct pd_lesson_axis *const axis = &l->axis[i];
        const bool load = axis->kind == PD_LESSON_LINE || axis->kind == PD_LESSON_BETWEEN;
        at[i] = load && loads == PD_LOADS_HIGH ? axis->count - 1 : axis->declared;
    }
    for (at[breaks] = 0; at[breaks] < l->axis[breaks].count; at[breaks]++)
        for (at[supply] = 0; at[supply] < l->axis[supply].count; at[supply]++) {
            const size_t section = l->axis[breaks].section[at[breaks]];
            check_answer(l, pd_lesson_at(l, at),
                         study_scenario(study,
                                        section == PD_NONE
                                            ? NULL
                                            : study->study_case->network->node[section].section,
                                        loads, l->axis[supply].value[at[supply]]));
            ++*checked;
        }
}

static void both_ends_are_what_assess_has(void **state)
{
    (void)state;
    size_t checked = 0;
    for (size_t i = 0; case_names[i] != NULL; i++) {
        struct study study = {0};
        struct pd_lesson *l = NULL;
        study_open_example(&study, case_names[i]);
        assert_int_equal(pd_lesson_new(study.study_case, PD_NONE, NULL, NULL, &l), PD_OK);
        assert_int_equal(l->count == 0, study.study_case->missing.count > 0);
        assert_true(l->count <= PD_LESSON_MOST);
        if (l->count > 0) {
            check_end(&study, l, PD_LOADS_PRESENT, &checked);
            bool ranged = false;
            for (size_t k = 0; k < study.a->scenario_count; k++)
                ranged |= study.a->scenario[k].loads == PD_LOADS_HIGH;
            if (ranged && isnan(study.study_case->neighbour_kw))
                check_end(&study, l, PD_LOADS_HIGH, &checked);
        }
        pd_lesson_free(&l);
        study_close(&study);
    }
    assert_true(checked > 150);
}

static void a_state_is_what_assess_has_of_the_case_written_so(void **state)
{
    (void)state;
    struct folder declared, written;
    struct pd_case *c = NULL;
    struct pd_lesson *l = NULL;
    struct pd_errors errors = {0};
    struct stream stream = {20};
    size_t checked = 0;
    folder_make(&declared);
    folder_make(&written);
    lesson_case_declare(&declared);
    assert_int_equal(pd_case_read(declared.path, &c, &errors), PD_OK);
    assert_int_equal(pd_lesson_new(c, PD_NONE, NULL, NULL, &l), PD_OK);
    assert_int_equal(l->axis_count, 7);
    for (size_t try = 0; try < 60 * soak(); try++) {
        size_t at[PD_LESSON_AXES];
        struct study study = {0};
        for (size_t i = 0; i < l->axis_count; i++)
            at[i] = stream_below(&stream, l->axis[i].count);
        lesson_case_write(&written, l, at);
        assert_int_equal(folder_assess(&written, &study, &errors), PD_OK);
        /* assess asks back where nobody in the installation takes anything; a lesson may go there
         */
        if (study.study_case->missing.count == 0) {
            checked++;
            check_answer(l, pd_lesson_at(l, at), lesson_case_scenario(&study, l, at));
        }
        study_close(&study);
    }
    assert_true(checked > 50);
    pd_lesson_free(&l);
    pd_case_free(&c);
    folder_remove(&declared);
    folder_remove(&written);
}

/* On a stiff source, U_N = sum(Y E) / (sum(Y) + 1/R), Y = P / U0^2 (Millman's theorem; the welder
 * between two lines does not tie the neutral). The loads are those of cases/workshop-unbalanced, in
 * W, written down here once more. */
static double millman_v(const double share[PD_LINES], double ohm, double supply_v)
{
    static const double present_w[PD_LINES] = {10000, 2000, 5000};
    static const double high_w[PD_LINES] = {10360, 4000, 6000};
    double re = 0, im = 0, tied_s = 1 / ohm;
    for (int line = 0; line < PD_LINES; line++) {
        const double watt = share[line] <= 1 ? share[line] * present_w[line]
                                             : (2 - share[line]) * present_w[line] +
                                                   (share[line] - 1) * high_w[line];
        const double y_s = watt / (230.0 * 230.0), turn = -2 * acos(-1) / 3 * line;
        re += y_s * supply_v * cos(turn);
        im += y_s * supply_v * sin(turn);
        tied_s += y_s;
    }
    return hypot(re, im) / tied_s;
}

static void every_state_of_a_stiff_supply_is_millmans(void **state)
{
    (void)state;
    struct study study = {0};
    struct pd_lesson *l = NULL;
    size_t open = 0;
    study_open_example(&study, "workshop-unbalanced");
    assert_int_equal(pd_lesson_new(study.study_case, PD_NONE, NULL, NULL, &l), PD_OK);
    assert_int_equal(l->axis_count, 7); /* three lines, the welder, electrode, supply, break */
    for (size_t k = 0; k < l->count; k++) {
        size_t at[PD_LESSON_AXES];
        double share[PD_LINES];
        for (size_t i = 0; i < l->axis_count; i++)
            at[i] = k / l->axis[i].stride % l->axis[i].count;
        for (int line = 0; line < PD_LINES; line++)
            share[line] = l->axis[line].value[at[line]];
        const double want_v = millman_v(share, l->axis[4].value[at[4]], l->axis[5].value[at[5]]);
        const struct pd_lesson_answer *const got = pd_lesson_at(l, at);
        assert_ptr_equal(got, &l->answer[k]);
        if (at[6] == 0)
            assert_close(got->touch_v, 0, 0, 1e-9);
        else if (isnan(want_v)) /* no load and no electrode: nothing ties the neutral */
            assert_true(isnan(got->touch_v) && got->touch == PD_UNKNOWN && got->floating);
        else
            assert_close(got->touch_v, want_v, 1e-9, 1e-9);
        if (at[6] == 1 && isfinite(want_v)) {
            assert_close(got->electrode_a, want_v / l->axis[4].value[at[4]], 1e-9, 1e-9);
            assert_int_equal(got->touch, want_v > 70 ? PD_OVER : PD_WITHIN);
            open++;
        }
    }
    assert_true(open > 1000);
    pd_lesson_free(&l);
    study_close(&study);
}

static void presets_are_what_they_say(void **state)
{
    (void)state;
    struct study study = {0};
    struct pd_lesson *l = NULL;
    study_open_example(&study, "street");
    const size_t main3 = pd_network_find(study.study_case->network, "joint3");
    assert_int_equal(pd_lesson_new(study.study_case, main3, NULL, NULL, &l), PD_OK);
    const size_t breaks = pd_lesson_find(l, PD_LESSON_BREAK);
    const struct pd_lesson_preset *const declared = pd_lesson_preset(l, PD_PRESET_DECLARED);
    const struct pd_lesson_preset *const unseen = pd_lesson_preset(l, PD_PRESET_UNSEEN);
    const struct pd_lesson_preset *const electrode = pd_lesson_preset(l, PD_PRESET_ELECTRODE);
    assert_int_equal(l->axis[breaks].section[declared->at[breaks]], main3);
    assert_int_equal(pd_lesson_preset(l, PD_PRESET_HEALTHY)->at[breaks], 0);
    /* the case is there to show it: over the limit, and the device lets it be */
    assert_non_null(unseen);
    assert_int_equal(pd_lesson_at(l, unseen->at)->touch, PD_OVER);
    assert_false(pd_lesson_at(l, unseen->at)->in_time[0]);
    /* within the declared ranges, so no worse than what is certified for them */
    assert_true(pd_lesson_at(l, unseen->at)->touch_v <= study.a->residual_v + 1e-6);
    assert_int_equal(pd_lesson_at(l, electrode->at)->touch, PD_WITHIN);
    assert_true(pd_lesson_at(l, pd_lesson_preset(l, PD_PRESET_BALANCED)->at)->touch_v <
                pd_lesson_at(l, declared->at)->touch_v);
    assert_true(pd_lesson_at(l, pd_lesson_preset(l, PD_PRESET_ONE_LINE)->at)->touch_v >
                pd_lesson_at(l, declared->at)->touch_v);
    pd_lesson_free(&l);
    study_close(&study);
}

/* A house alone on its service has no balance to show, and one that no device watches nothing that
 * a device does not see. */
static void presets_that_say_nothing_are_not_there(void **state)
{
    (void)state;
    struct study study = {0};
    struct pd_lesson *l = NULL;
    study_open_example(&study, "house-no-electrode");
    assert_int_equal(pd_lesson_new(study.study_case, PD_NONE, NULL, NULL, &l), PD_OK);
    assert_int_equal(l->preset_count, 3);
    assert_null(pd_lesson_preset(l, PD_PRESET_BALANCED));
    assert_null(pd_lesson_preset(l, PD_PRESET_ONE_LINE));
    assert_null(pd_lesson_preset(l, PD_PRESET_UNSEEN));
    pd_lesson_free(&l);
    study_close(&study);
}

enum { SECTIONS = 40 };

static void a_long_way_is_thinned(void **state)
{
    (void)state;
    struct folder folder;
    struct case_text text = {0};
    struct pd_errors errors = {0};
    struct pd_case *c = NULL;
    struct pd_lesson *l = NULL;
    char sections[4096] = "section,from,to,line_r_ohm,line_x_ohm,pen_r_ohm,pen_x_ohm,neutral\n";
    for (int i = 1; i <= SECTIONS; i++) {
        const size_t used = strlen(sections);
        char from[16];
        snprintf(from, sizeof from, i == 1 ? "substation" : "j%d", i - 1);
        snprintf(sections + used, sizeof sections - used, "s%d,%s,j%d,0.01,0,0.01,0,pen\n", i, from,
                 i);
    }
    case_text_set(&text, "sections.csv", sections);
    case_text_set(&text, "case.csv",
                  "quantity,value,unit\nlimit_set,gb-outdoor-charging,-\nearthing,TN-C-S,-\n"
                  "system,single-phase,-\nsource_electrode,5,ohm\ninstallation,j40,-\n");
    case_text_set(&text, "loads.csv", "load,node,current_a\nhouse,j40,10\nshop,j20,10\n");
    folder_make(&folder);
    folder_fill(&folder, &text);
    assert_int_equal(pd_case_read(folder.path, &c, &errors), PD_OK);
    assert_int_equal(pd_lesson_new(c, PD_NONE, NULL, NULL, &l), PD_OK);
    const struct pd_lesson_axis *const breaks = &l->axis[pd_lesson_find(l, PD_LESSON_BREAK)];
    assert_int_equal(l->path_count, SECTIONS);
    assert_int_equal(breaks->count, PD_LESSON_BREAKS);
    assert_int_equal(breaks->section[1], pd_network_find(c->network, "j1"));
    assert_int_equal(breaks->section[PD_LESSON_BREAKS - 1], pd_network_find(c->network, "j40"));
    for (size_t i = 2; i < breaks->count; i++)
        assert_true(pd_network_downstream(c->network, breaks->section[i - 1], breaks->section[i]) &&
                    breaks->section[i - 1] != breaks->section[i]);
    pd_lesson_free(&l);
    pd_case_free(&c);
    folder_remove(&folder);
    case_text_free(&text);
}

static bool stop_at_once(double share, void *context)
{
    (void)context;
    return !(share >= 0);
}

static void it_stops_where_asked(void **state)
{
    (void)state;
    struct study study = {0};
    struct pd_lesson *l = NULL;
    study_open_example(&study, "street");
    assert_int_equal(pd_lesson_new(study.study_case, PD_NONE, stop_at_once, NULL, &l),
                     PD_ERR_INTERRUPTED);
    assert_null(l);
    study_close(&study);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(both_ends_are_what_assess_has),
        cmocka_unit_test(a_state_is_what_assess_has_of_the_case_written_so),
        cmocka_unit_test(every_state_of_a_stiff_supply_is_millmans),
        cmocka_unit_test(presets_are_what_they_say),
        cmocka_unit_test(presets_that_say_nothing_are_not_there),
        cmocka_unit_test(a_long_way_is_thinned),
        cmocka_unit_test(it_stops_where_asked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
