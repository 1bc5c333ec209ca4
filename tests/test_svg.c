/* SPDX-License-Identifier: GPL-3.0-or-later */

/* The picture writer and the plot on top of it. What is right comes from XML 1.0 and SVG 1.1 by way
 * of xmllint, from round numbers counted by hand, and from the contract in the headers. */

#include "check.h"

#include <locale.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/cautions.h"
#include "report/foot.h"
#include "report/plot.h"
#include "report/ticks.h"
#include "xml.h"

struct drawing {
    struct pd_svg svg;
    FILE *out;
    char *text;
    size_t length;
};

static void begin(struct drawing *d, const char *title, const char *prefix, bool inlined)
{
    const struct pd_svg_head head = {.title = title,
                                     .description = "what is to be seen",
                                     .prefix = prefix,
                                     .width = 640,
                                     .height = 480,
                                     .inlined = inlined};
    d->out = open_memstream(&d->text, &d->length);
    assert_non_null(d->out);
    pd_svg_begin(&d->svg, d->out, &head);
}

static void end(struct drawing *d)
{
    pd_svg_end(&d->svg);
    fclose(d->out);
    assert_null(strstr(d->text, "nan"));
    assert_null(strstr(d->text, "inf"));
}

#define assert_has(drawing, words) assert_non_null(strstr((drawing)->text, (words)))
#define assert_has_not(drawing, words) assert_null(strstr((drawing)->text, (words)))

static void draw_one_of_each(struct pd_svg *svg)
{
    const struct pd_xy point[] = {{10, 10}, {20.125, 30}, {40, 10.5}};
    pd_svg_group(svg, "a group & more");
    pd_svg_line(svg, PD_INK_FRAME, 0, 0, 10, 10);
    pd_svg_rect(svg, PD_INK_AREA_1, 1, 2, 3, 4);
    pd_svg_circle(svg, PD_INK_MARK, 5, 6, 7);
    pd_svg_polyline(svg, PD_INK_CURVE_2, point, 3);
    pd_svg_polygon(svg, PD_INK_AREA_2, point, 3);
    pd_svg_path(svg, PD_INK_EDGE);
    pd_svg_move_to(svg, 1, 1);
    pd_svg_arc_to(svg, 5, true, false, 9, 1);
    pd_svg_line_to(svg, 4, 4);
    pd_svg_close(svg);
    pd_svg_path_end(svg);
    pd_svg_group_end(svg);
    for (int ink = PD_INK_L1; ink <= PD_INK_PE; ink++)
        pd_svg_conductor(svg, (enum pd_ink)ink, point, 3);
    pd_svg_clip(svg, 5, 5, 50, 50);
    for (int mark = PD_MARK_DISC; mark <= PD_MARK_CROSS; mark++)
        pd_svg_mark(svg, PD_INK_MARK_ALERT, (enum pd_mark)mark, 20, 20, 12);
    pd_svg_group_end(svg);
    pd_svg_text(svg, PD_INK_TEXT, 30, 40, PD_ANCHOR_MIDDLE, -90, "turned");
}

static void every_element_is_well_formed(void **state)
{
    (void)state;
    struct drawing d;
    for (int inlined = 0; inlined < 2; inlined++) {
        begin(&d, "title", "p1", inlined == 1);
        draw_one_of_each(&d.svg);
        end(&d);
        assert_int_equal(d.svg.left_out, 0);
        assert_int_equal(strncmp(d.text, "<?xml", 5) == 0, inlined == 0);
        assert_true(!xml_there() || xml_well_formed(d.text, d.length));
        free(d.text);
    }
}

static void a_wrong_picture_is_told_from_a_right_one(void **state)
{
    (void)state;
    if (!xml_there())
        skip();
    assert_false(xml_well_formed("<svg><g></svg>", 14));
}

static void a_screen_reader_finds_title_and_description(void **state)
{
    (void)state;
    struct drawing d;
    begin(&d, "neutral & earth", "p1", false);
    end(&d);
    assert_has(&d, "role=\"img\" aria-labelledby=\"p1-title-of p1-description\"");
    assert_has(&d, "<title id=\"p1-title-of\">neutral &amp; earth</title>");
    assert_has(&d, "<desc id=\"p1-description\">what is to be seen</desc>");
    assert_has(&d, "viewBox=\"0 0 640 480\"");
    assert_has(&d, "prefers-color-scheme:dark");
    free(d.text);
}

/* Every class and id carries the prefix: two pictures in one page do not paint each other. */
static void every_name_has_the_prefix(void **state)
{
    (void)state;
    static const char *const leads[] = {"class=\"", " id=\"", "url(#", "\n."};
    struct drawing d;
    begin(&d, "title", "other7", true);
    draw_one_of_each(&d.svg);
    end(&d);
    for (size_t i = 0; i < sizeof leads / sizeof leads[0]; i++) {
        size_t found = 0;
        for (const char *at = strstr(d.text, leads[i]); at != NULL; at = strstr(at, leads[i])) {
            at += strlen(leads[i]);
            assert_int_equal(strncmp(at, "other7-", 7), 0);
            found++;
        }
        assert_true(found > 0);
    }
    free(d.text);
}

static void texts_hold_anything(void **state)
{
    (void)state;
    struct drawing d;
    begin(&d, "</title><script>", "p", false);
    pd_svg_text(&d.svg, PD_INK_TEXT, 1, 1, PD_ANCHOR_START, 0, "a < b & \"c\" > 'd'");
    pd_svg_text(&d.svg, PD_INK_TEXT, 1, 1, PD_ANCHOR_START, 0,
                "caf\xc3\xa9 \xff \x01 \xef\xbf\xbe");
    pd_svg_text(&d.svg, PD_INK_TEXT, 1, 1, PD_ANCHOR_START, 0, "broken off \xc3");
    end(&d);
    assert_has(&d, "&lt;/title&gt;&lt;script&gt;");
    assert_has(&d, ">a &lt; b &amp; &quot;c&quot; &gt; &#39;d&#39;</text>");
    assert_has(&d, ">caf\xc3\xa9 ? ? ?</text>");
    assert_has(&d, ">broken off ?</text>");
    assert_true(!xml_there() || xml_well_formed(d.text, d.length));
    free(d.text);
}

static void numbers_are_short_whatever_the_locale(void **state)
{
    (void)state;
    const char *const there = setlocale(LC_NUMERIC, "de_DE.UTF-8"); /* where it is installed */
    struct drawing d;
    begin(&d, "title", "p", false);
    pd_svg_line(&d.svg, PD_INK_GRID, 1.0 / 3, -0.004, 1234.5, -7.255);
    end(&d);
    if (there != NULL)
        setlocale(LC_NUMERIC, "C");
    assert_has(&d, "x1=\"0.33\" y1=\"0\" x2=\"1234.5\" y2=\"-7.2");
    free(d.text);
}

static void what_has_no_place_is_left_out_and_counted(void **state)
{
    (void)state;
    const struct pd_xy gap[] = {{0, 0}, {1, 1}, {NAN, 2}, {3, 3}, {4, INFINITY}, {5, 5}, {6, 6}};
    struct drawing d;
    begin(&d, "title", "p", false);
    const size_t before = (fflush(d.out), d.length);
    pd_svg_line(&d.svg, PD_INK_GRID, 0, NAN, 1, 1);
    pd_svg_circle(&d.svg, PD_INK_MARK, 0, 0, INFINITY);
    pd_svg_circle(&d.svg, PD_INK_MARK, 1e7, 0, 1);
    pd_svg_polygon(&d.svg, PD_INK_AREA_1, gap, 7);
    pd_svg_text(&d.svg, PD_INK_TEXT, NAN, 0, PD_ANCHOR_END, 0, "nowhere");
    fflush(d.out);
    assert_int_equal(d.length, before);
    assert_int_equal(d.svg.left_out, 5);
    pd_svg_polyline(&d.svg, PD_INK_CURVE_1, gap, 7);
    end(&d);
    assert_has(&d, "d=\"M0 0L1 1M3 3M5 5L6 6\"");
    assert_int_equal(d.svg.left_out, 7);
    free(d.text);
}

static void paragraphs_keep_every_word_within_the_width(void **state)
{
    (void)state;
    struct drawing d;
    begin(&d, "title", "p", false);
    const char *const words = "one two three four five six seven";
    const double below = pd_svg_paragraph(&d.svg, PD_INK_NOTE, 10, 100, 100, words);
    end(&d);
    /* 100 / (13 * 0.57) = 13.5 characters: one two three | four five six | seven */
    assert_has(&d, ">one two three</text>");
    assert_has(&d, ">four five six</text>");
    assert_has(&d, ">seven</text>");
    assert_close(below, 100 + 3 * 1.35 * 13, 0, 1e-9);
    assert_close(pd_svg_paragraph_height(PD_INK_NOTE, 100, words), below - 100, 0, 1e-9);
    free(d.text);
}

static void check_ticks(const struct pd_ticks *got, const double *want, size_t count)
{
    assert_int_equal(got->count, count);
    for (size_t i = 0; i < count; i++)
        assert_close(got->at[i], want[i], 1e-15, 0);
}

static void ticks_are_the_round_numbers_one_would_write(void **state)
{
    (void)state;
    struct pd_ticks t = pd_ticks_linear(0, 1, 6);
    check_ticks(&t, (const double[]){0, 0.2, 0.4, 0.6, 0.8, 1}, 6);
    assert_int_equal(t.decimals, 1);
    t = pd_ticks_linear(207, 253, 5);
    check_ticks(&t, (const double[]){210, 220, 230, 240, 250}, 5);
    assert_int_equal(t.decimals, 0);
    t = pd_ticks_linear(-130, 250, 9);
    check_ticks(&t, (const double[]){-100, -50, 0, 50, 100, 150, 200, 250}, 8);
    t = pd_ticks_linear(0.0123, 0.0187, 4);
    check_ticks(&t, (const double[]){0.014, 0.016, 0.018}, 3);
    assert_int_equal(t.decimals, 3);
    t = pd_ticks_log(1, 100);
    assert_int_equal(t.count, 19); /* 1 to 9, 10 to 90, 100 */
    assert_close(t.at[9], 10, 1e-15, 0);
    assert_true(t.labelled[0] && !t.labelled[1] && t.labelled[9] && t.labelled[18]);
    t = pd_ticks_log(0.2, 3);
    check_ticks(&t, (const double[]){0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1, 2, 3}, 11);
    assert_true(t.labelled[0] && !t.labelled[1] && t.labelled[3] && t.labelled[9]);
}

static void ticks_of_no_range_are_none(void **state)
{
    (void)state;
    assert_int_equal(pd_ticks_linear(1, 1, 5).count, 0);
    assert_int_equal(pd_ticks_linear(2, 1, 5).count, 0);
    assert_int_equal(pd_ticks_linear(NAN, 1, 5).count, 0);
    assert_int_equal(pd_ticks_linear(0, INFINITY, 5).count, 0);
    assert_int_equal(pd_ticks_log(0, 1).count, 0);
    assert_int_equal(pd_ticks_log(-1, 1).count, 0);
}

/* Any range: every tick within it, ascending, no more than asked for, evenly apart. */
static void ticks_of_any_range(void **state)
{
    (void)state;
    struct stream stream = {20261125};
    for (size_t i = 0; i < 20000 * soak(); i++) {
        const double size = pow(10, stream_uniform(&stream, -12, 12));
        const double low = size * stream_uniform(&stream, -1, 1);
        const double high = low + size * stream_uniform(&stream, 0.001, 1);
        const size_t most = 2 + stream_below(&stream, 30);
        const struct pd_ticks t = pd_ticks_linear(low, high, most);
        const double slack = 1e-7 * (high - low) + 1e-9 * fabs(low);
        assert_true(t.count >= 1 && t.count <= most);
        for (size_t k = 0; k < t.count; k++)
            assert_true(t.at[k] >= low - slack && t.at[k] <= high + slack);
        for (size_t k = 2; k < t.count; k++)
            assert_close(t.at[k] - t.at[k - 1], t.at[1] - t.at[0], 1e-6, slack);
    }
}

static void begin_plot(struct drawing *d, struct pd_plot *plot, double low, double high, bool log)
{
    const struct pd_axis x = {.title = "time, s", .low = 0, .high = 10};
    const struct pd_axis y = {.title = "voltage, V", .low = low, .high = high, .log = log};
    begin(d, "title", "p", false);
    pd_plot_begin(plot, &d->svg, (struct pd_box){100, 50, 500, 400}, &x, &y);
}

static void a_plot_maps_by_its_axes(void **state)
{
    (void)state;
    struct drawing d;
    struct pd_plot plot;
    begin_plot(&d, &plot, 0, 200, false);
    const struct pd_xy middle = pd_plot_at(&plot, 5, 50);
    assert_close(middle.x, 350, 1e-12, 0);
    assert_close(middle.y, 350, 1e-12, 0); /* a quarter up from 450 */
    pd_plot_end(&plot);
    end(&d);
    assert_has(&d, ">time, s</text>");
    assert_has(&d, ">voltage, V</text>");
    free(d.text);
    begin_plot(&d, &plot, 1, 10000, true);
    assert_close(pd_plot_at(&plot, 0, 100).y, 250, 1e-12, 0); /* two decades of four */
    assert_true(isnan(pd_plot_at(&plot, 0, 0).y));
    assert_true(isnan(pd_plot_at(&plot, 0, -1).y));
    pd_plot_end(&plot);
    end(&d);
    assert_has(&d, ">10000</text>");
    assert_true(!xml_there() || xml_well_formed(d.text, d.length));
    free(d.text);
}

static void a_curve_is_cut_off_at_the_frame(void **state)
{
    (void)state;
    /* From (5, 100) up to 300 at x = 10: it leaves the frame at y = 200, x = 7.5, that is at pixel
     * (475, 50). After a gap it comes from a million down to (3, 50), all but upright. */
    const struct pd_xy point[] = {{0, 100}, {5, 100}, {10, 300}, {NAN, 1}, {2, 1e6}, {3, 50}};
    struct drawing d;
    struct pd_plot plot;
    begin_plot(&d, &plot, 0, 200, false);
    pd_plot_curve(&plot, PD_INK_CURVE_1, point, 6);
    assert_true(pd_plot_mark(&plot, PD_INK_MARK, PD_MARK_DISC, 10, 200, 8));
    assert_false(pd_plot_mark(&plot, PD_INK_MARK, PD_MARK_DISC, 10, 210, 8));
    assert_false(pd_plot_mark(&plot, PD_INK_MARK, PD_MARK_DISC, NAN, 10, 8));
    pd_plot_level(&plot, PD_INK_LIMIT, 70, "70 V");
    pd_plot_level(&plot, PD_INK_LIMIT, 700, "not there");
    pd_plot_upright(&plot, PD_INK_LIMIT, 5, "5 s");
    pd_plot_end(&plot);
    end(&d);
    assert_has(&d, "d=\"M100 250L350 250L475 50M249.99 50L250 350\"");
    assert_has(&d, ">70 V</text>");
    assert_has_not(&d, "not there");
    assert_true(!xml_there() || xml_well_formed(d.text, d.length));
    free(d.text);
}

static void a_plot_without_a_range_says_so(void **state)
{
    (void)state;
    const double ends[][2] = {{NAN, 1}, {1, 1}, {2, 1}, {0, INFINITY}};
    for (size_t i = 0; i < 4; i++) {
        const struct pd_xy point[] = {{0, 100}, {5, 100}};
        struct drawing d;
        struct pd_plot plot;
        begin_plot(&d, &plot, ends[i][0], ends[i][1], false);
        pd_plot_curve(&plot, PD_INK_CURVE_1, point, 2);
        pd_plot_area(&plot, PD_INK_AREA_1, point, 2);
        pd_plot_level(&plot, PD_INK_LIMIT, 1, "level");
        assert_false(pd_plot_mark(&plot, PD_INK_MARK, PD_MARK_DISC, 1, 1, 8));
        pd_plot_end(&plot);
        end(&d);
        assert_has(&d, ">not determined</text>");
        assert_has_not(&d, "curve-1\" d");
        free(d.text);
    }
}

static void a_unit_is_as_long_on_both_axes(void **state)
{
    (void)state;
    const struct pd_box box = {0, 0, 800, 400};
    struct pd_axis x = {.low = 0, .high = 10}, y = {.low = 0, .high = 10};
    pd_plot_even(box, &x, &y);
    assert_close(x.low, -5, 1e-12, 0);
    assert_close(x.high, 15, 1e-12, 0);
    assert_close(y.high, 10, 1e-12, 0);
}

static void the_foot_has_every_caution(void **state)
{
    (void)state;
    struct drawing d;
    begin(&d, "title", "p", false);
    pd_foot_draw(&d.svg, 100);
    end(&d);
    assert_true(pd_foot_height(1280) > 100 && pd_foot_height(640) > pd_foot_height(1280));
    for (size_t i = 0; i < PD_CAUTIONS; i++) {
        char first[64]; /* lines break between words, and an apostrophe is escaped */
        snprintf(first, sizeof first, ">%.12s", pd_cautions[i]);
        assert_has(&d, first);
    }
    free(d.text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_element_is_well_formed),
        cmocka_unit_test(a_wrong_picture_is_told_from_a_right_one),
        cmocka_unit_test(a_screen_reader_finds_title_and_description),
        cmocka_unit_test(every_name_has_the_prefix),
        cmocka_unit_test(texts_hold_anything),
        cmocka_unit_test(numbers_are_short_whatever_the_locale),
        cmocka_unit_test(what_has_no_place_is_left_out_and_counted),
        cmocka_unit_test(paragraphs_keep_every_word_within_the_width),
        cmocka_unit_test(ticks_are_the_round_numbers_one_would_write),
        cmocka_unit_test(ticks_of_no_range_are_none),
        cmocka_unit_test(ticks_of_any_range),
        cmocka_unit_test(a_plot_maps_by_its_axes),
        cmocka_unit_test(a_curve_is_cut_off_at_the_frame),
        cmocka_unit_test(a_plot_without_a_range_says_so),
        cmocka_unit_test(a_unit_is_as_long_on_both_axes),
        cmocka_unit_test(the_foot_has_every_caution),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
