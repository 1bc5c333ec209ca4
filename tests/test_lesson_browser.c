/* SPDX-License-Identifier: GPL-3.0-or-later */

/* The page of a lesson in a browser: what its sliders show, moved by keys and mouse as a trainer
 * would, against assess of the case written anew for that state. */

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "browser.h"
#include "lesson_page.h"
#include "report/lesson.h"

static char *shown(struct browser *b, const char *id)
{
    return browser_evaluate(b, "document.getElementById('lesson-%s').textContent", id);
}

static double place(struct browser *b, const char *id, const char *attribute)
{
    char *const text = browser_evaluate(
        b, "String(document.getElementById('lesson-%s').getAttribute('%s'))", id, attribute);
    const double value = strtod(text, NULL);
    free(text);
    return value;
}

/* A figure on the page, to the digits that are shown. */
static void check_shown(struct browser *b, const char *id, double want, double digit)
{
    char *const text = shown(b, id);
    if (isnan(want))
        assert_string_equal(text, "not determined");
    else
        assert_close(strtod(text, NULL), want, 1e-7, 0.5 * digit + 1e-6);
    free(text);
}

/* Where the neutral is drawn, by the picture's own measures: earth, and the end of L1's EMF. */
static void check_plane(struct browser *b, const struct pd_scenario *s)
{
    char *const visibility = browser_evaluate(
        b, "getComputedStyle(document.getElementById('lesson-neutral')).visibility");
    assert_string_equal(visibility, isnan(s->met_v) ? "hidden" : "visible");
    free(visibility);
    if (isnan(s->met_v))
        return;
    const double x = place(b, "drift", "x1"), y = place(b, "drift", "y1");
    const double pixels_per_v = (place(b, "to-l1", "x1") - x) / s->supply_v;
    assert_close(place(b, "to-l1", "y1"), y, 0, 0.02);
    assert_close((place(b, "drift", "x2") - x) / pixels_per_v, creal(s->met), 0, 0.1);
    assert_close((y - place(b, "drift", "y2")) / pixels_per_v, cimag(s->met), 0, 0.1);
}

static void check_state(struct browser *b, const struct pd_case *c, const struct pd_scenario *s)
{
    static const char *const lines[] = {"l1", "l2", "l3"};
    check_shown(b, "touch", s->touch_v, 0.1);
    check_shown(b, "electrode", s->electrode_a, 0.01);
    for (int line = PD_L1; line < PD_LINES; line++)
        check_shown(b, lines[line], s->line_neutral_v[line], 0.1);
    check_plane(b, s);
    char *const limit = shown(b, "limit"), *const device = shown(b, "device-0"),
                *const summary = shown(b, "summary");
    assert_true(s->touch == PD_OVER     ? strcmp(limit, "over the limit") == 0
                : s->touch == PD_WITHIN ? strcmp(limit, "within the limit") == 0
                                        : strstr(limit, "not determined") == limit);
    assert_true(s->sight[0].kind == PD_BLIND  ? strstr(device, "sees nothing") != NULL
                : s->sight[0].kind == PD_SEES ? strstr(device, "sees it") != NULL
                                              : strstr(device, "not determined") != NULL);
    assert_non_null(
        strstr(summary, s->section == PD_NONE ? "nowhere" : c->network->node[s->section].section));
    assert_non_null(strstr(summary, limit));
    assert_non_null(strstr(summary, device));
    free(limit);
    free(device);
    free(summary);
}

/* The slider gets the focus; Home takes it to its first stop, and the arrow on from there. */
static void move_by_keys(struct browser *b, size_t axis, size_t stop)
{
    enum { HOME = 36, RIGHT = 39 };
    free(
        browser_evaluate(b, "document.getElementById('lesson-axis-%zu').focus(), 'focused'", axis));
    browser_key(b, "Home", HOME);
    for (size_t i = 0; i < stop; i++)
        browser_key(b, "ArrowRight", RIGHT);
}

static void keys_show_what_assess_has(void **state)
{
    (void)state;
    struct page p;
    struct browser b;
    struct folder written;
    struct pd_errors errors = {0};
    struct stream stream = {7};
    size_t checked = 0;
    if (!browser_there())
        return;
    page_of_small_case(&p);
    page_write(&p);
    folder_make(&written);
    browser_open(&b, p.path);
    for (size_t try = 0; try < 12; try++) {
        size_t at[PD_LESSON_AXES];
        struct study study = {0};
        for (size_t i = 0; i < p.lesson->axis_count; i++) {
            at[i] = stream_below(&stream, p.lesson->axis[i].count);
            move_by_keys(&b, i, at[i]);
        }
        lesson_case_write(&written, p.lesson, at);
        assert_int_equal(folder_assess(&written, &study, &errors), PD_OK);
        if (study.study_case->missing.count == 0) {
            check_state(&b, study.study_case, lesson_case_scenario(&study, p.lesson, at));
            checked++;
        }
        study_close(&study);
    }
    assert_true(checked >= 10);
    assert_int_equal(b.complaints, 0);
    browser_close(&b);
    folder_remove(&written);
    page_free(&p);
}

static void the_mouse_moves_a_slider(void **state)
{
    (void)state;
    struct page p;
    struct browser b;
    if (!browser_there())
        return;
    page_of_example(&p, "house-rod-12-ohm");
    page_write(&p);
    browser_open(&b, p.path);
    /* 253 V, 32 A on U0 230 V: with 1 ohm, the last stop, less than with 16.8 */
    check_shown(&b, "touch", p.study.a->residual_v, 0.1);
    char *const text = browser_evaluate(
        &b, "(function () { var s = document.getElementById('lesson-axis-1');"
            "s.scrollIntoView({block: 'center'}); var r = s.getBoundingClientRect();"
            "return (r.right - 3) + ' ' + (r.top + r.height / 2); }())");
    double x = NAN, y = NAN;
    assert_int_equal(sscanf(text, "%lf %lf", &x, &y), 2);
    free(text);
    browser_click(&b, x, y);
    size_t at[PD_LESSON_AXES];
    memcpy(at, pd_lesson_first(p.lesson)->at, sizeof at);
    at[1] = p.lesson->axis[1].count - 1;
    assert_close(p.lesson->axis[1].value[at[1]], 1, 0, 0);
    check_shown(&b, "touch", pd_lesson_at(p.lesson, at)->touch_v, 0.1);
    char *const stop = shown(&b, "stop-1");
    assert_string_equal(stop, "1.00 ohm");
    free(stop);
    assert_int_equal(b.complaints, 0);
    browser_close(&b);
    page_free(&p);
}

/* What is not a number is not determined. */
static void check_read(double got, double want, double digit)
{
    assert_int_equal(isnan(got), isnan(want));
    if (!isnan(want))
        assert_close(got, want, 1e-7, 0.5 * digit + 1e-6);
}

/* Every state of a case, by its place in the table. */
static void every_state_is_looked_up(void **state)
{
    (void)state;
    struct page p;
    struct browser b;
    if (!browser_there())
        return;
    page_of_example(&p, "house-tt-point");
    page_write(&p);
    browser_open(&b, p.path);
    for (size_t k = 0; k < p.lesson->count; k++) {
        const struct pd_lesson *const l = p.lesson;
        char stops[64] = "";
        for (size_t i = 0; i < l->axis_count; i++) {
            const size_t used = strlen(stops);
            snprintf(stops + used, sizeof stops - used, "%s%zu", i > 0 ? "," : "",
                     k / l->axis[i].stride % l->axis[i].count);
        }
        char *const text = browser_evaluate(
            &b,
            "[%s].forEach(function (stop, i) { var s = document.getElementById('lesson-axis-' "
            "+ i); s.value = stop; s.dispatchEvent(new Event('input')); }),"
            "['met', 'touch', 'l1', 'electrode'].map(function (id) { return parseFloat("
            "document.getElementById('lesson-' + id).textContent); }).join(' ')",
            stops);
        double met_v, touch_v, line_v, electrode_a;
        assert_int_equal(sscanf(text, "%lf %lf %lf %lf", &met_v, &touch_v, &line_v, &electrode_a),
                         4);
        free(text);
        const struct pd_lesson_answer *const want = &l->answer[k];
        check_read(met_v, want->met_v, 0.1);
        check_read(touch_v, want->touch_v, 0.1);
        check_read(line_v, want->line_neutral_v[PD_L1], 0.1);
        check_read(electrode_a, want->electrode_a, 0.01);
    }
    assert_int_equal(b.complaints, 0);
    browser_close(&b);
    page_free(&p);
}

/* What is read without a script is what the script shows first; each preset is what it is in the
 * lesson. */
static void check_presets(const char *name)
{
    struct page p;
    struct browser b;
    page_of_example(&p, name);
    page_write(&p);
    browser_open(&b, p.path);
    for (size_t turn = 0; turn <= p.lesson->preset_count; turn++) {
        const struct pd_lesson_preset *const preset =
            turn == 0 ? pd_lesson_first(p.lesson) : &p.lesson->preset[turn - 1];
        char want[1024];
        if (turn > 0)
            free(browser_evaluate(
                &b, "document.querySelectorAll('[data-preset]')[%zu].click(), 'done'", turn - 1));
        pd_lesson_sentence(p.lesson, preset, want, sizeof want);
        char *const got = shown(&b, "summary");
        assert_string_equal(got, want);
        free(got);
        check_shown(&b, "touch", pd_lesson_at(p.lesson, preset->at)->touch_v, 0.1);
        char *const pressed = browser_evaluate(
            &b, "document.querySelector('[data-preset][aria-pressed=true]').textContent");
        char label[PD_LESSON_WORDS];
        pd_lesson_preset_label(p.lesson, preset, label, sizeof label);
        assert_string_equal(pressed, label);
        free(pressed);
        if (turn == 0)
            page_expect(&p, want); /* in the page as it was written */
    }
    assert_int_equal(b.complaints, 0);
    browser_close(&b);
    page_free(&p);
}

static void presets_are_the_lessons(void **state)
{
    (void)state;
    if (!browser_there())
        return;
    check_presets("street");
    check_presets("laundry-three-lines"); /* with two devices */
}

static const char *role_of(const json_t *node)
{
    return json_string_value(json_object_get(json_object_get(node, "role"), "value"));
}

/* As the browser tells a screen reader: everything to be used or looked at has a name. */
static void everything_has_a_name(void **state)
{
    (void)state;
    struct page p;
    struct browser b;
    size_t i, sliders = 0, buttons = 0, pictures = 0, live = 0;
    json_t *node;
    if (!browser_there())
        return;
    page_of_example(&p, "street");
    page_write(&p);
    browser_open(&b, p.path);
    json_t *const tree = browser_call(&b, "Accessibility.getFullAXTree", NULL);
    json_array_foreach(json_object_get(tree, "nodes"), i, node)
    {
        const char *const role = role_of(node);
        const char *const name =
            json_string_value(json_object_get(json_object_get(node, "name"), "value"));
        if (role == NULL || json_is_true(json_object_get(node, "ignored")))
            continue;
        const bool slider = strcmp(role, "slider") == 0, button = strcmp(role, "button") == 0;
        const bool picture = strcmp(role, "img") == 0 || strcmp(role, "image") == 0;
        sliders += slider;
        buttons += button;
        pictures += picture;
        live += strcmp(role, "status") == 0;
        if ((slider || button || picture) && (name == NULL || name[0] == '\0'))
            fail_msg("a %s has no name", role);
    }
    json_decref(tree);
    assert_int_equal(sliders, p.lesson->axis_count);
    assert_int_equal(buttons, p.lesson->preset_count);
    assert_int_equal(pictures, 3);
    assert_true(live >= 1);
    assert_int_equal(b.complaints, 0);
    browser_close(&b);
    page_free(&p);
}

/* The test of the tests: what a page does wrong on its console does not go unnoticed. */
static void a_fault_of_a_script_is_seen(void **state)
{
    (void)state;
    struct page p = {.text = NULL};
    struct browser b;
    if (!browser_there())
        return;
    p.text = strdup("<!DOCTYPE html><title>x</title><script>nothing.there()</script>"
                    "<img src='http://127.0.0.1:1/x.png'>");
    p.length = strlen(p.text);
    page_write(&p);
    browser_open(&b, p.path);
    assert_true(b.complaints >= 2);
    browser_close(&b);
    remove(p.path);
    folder_remove(&p.folder);
    free(p.text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(keys_show_what_assess_has), cmocka_unit_test(the_mouse_moves_a_slider),
        cmocka_unit_test(every_state_is_looked_up),  cmocka_unit_test(presets_are_the_lessons),
        cmocka_unit_test(everything_has_a_name),     cmocka_unit_test(a_fault_of_a_script_is_seen),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
