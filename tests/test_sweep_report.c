/* SPDX-License-Identifier: GPL-3.0-or-later */

/* Sweeps and samples on paper: what every output must have, whatever it says; contours against
 * functions whose level lines are known. */

#include "case_folder.h"
#include "files.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "report/cautions.h"
#include "report/facets.h"
#include "report/sample.h"
#include "report/sweep.h"
#include "xml.h"

struct written_report {
    char *text;
    size_t length;
};

enum { SWEEP_WRITERS = 4, SAMPLE_WRITERS = 4, SVG_AT = 3, JSON_AT = 1, TEXT_AT = 0 };

static struct written_report sweep_as(size_t writer, const struct pd_sweep *sweep)
{
    static enum pd_status (*const writers[SWEEP_WRITERS])(FILE *, const struct pd_sweep *) = {
        pd_sweep_text, pd_sweep_json, pd_sweep_csv, pd_sweep_svg};
    struct written_report r = {NULL, 0};
    FILE *const out = open_memstream(&r.text, &r.length);
    assert_int_equal(writers[writer](out, sweep), PD_OK);
    fclose(out);
    return r;
}

static struct written_report sample_as(size_t writer, const struct pd_sample *sample)
{
    static enum pd_status (*const writers[SAMPLE_WRITERS])(FILE *, const struct pd_sample *) = {
        pd_sample_text, pd_sample_json, pd_sample_csv, pd_sample_svg};
    struct written_report r = {NULL, 0};
    FILE *const out = open_memstream(&r.text, &r.length);
    assert_int_equal(writers[writer](out, sample), PD_OK);
    fclose(out);
    return r;
}

/* Every caution, nothing wider than 80 columns, no figure that is none, JSON and XML that other
 * people's parsers take. */
static void check_report(size_t writer, const struct written_report *r)
{
    for (size_t i = 0; i < PD_CAUTIONS; i++) {
        char first[16];
        snprintf(first, sizeof first, "%.12s", pd_cautions[i]);
        assert_non_null(strstr(r->text, first));
    }
    assert_null(strstr(r->text, "inf "));
    assert_null(strstr(r->text, "-nan"));
    for (const char *line = r->text; writer == TEXT_AT && *line != '\0';) {
        const size_t length = strcspn(line, "\n");
        assert_true(length <= 80);
        line += length + (line[length] == '\n');
    }
    if (writer == JSON_AT) {
        json_t *const object = json_loads(r->text, JSON_REJECT_DUPLICATES, NULL);
        assert_non_null(object);
        assert_int_equal(json_integer_value(json_object_get(object, "schema")), 1);
        json_decref(object);
    }
    if (writer == SVG_AT && xml_there())
        assert_true(xml_well_formed(r->text, r->length));
}

static struct pd_sweep *sweep_of(const char *folder, const char *first, const char *second)
{
    struct pd_sweep_settings settings = {.vary_count = first == NULL    ? 0
                                                       : second == NULL ? 1
                                                                        : 2,
                                         .total_kw = 9,
                                         .steps = 6};
    struct pd_sweep *sweep = NULL;
    if (first != NULL)
        assert_int_equal(pd_vary_parse(first, &settings.vary[0], NULL), PD_OK);
    if (second != NULL)
        assert_int_equal(pd_vary_parse(second, &settings.vary[1], NULL), PD_OK);
    assert_int_equal(pd_sweep_run(folder, &settings, NULL, NULL, &sweep, NULL), PD_OK);
    return sweep;
}

static void test_sweeps(void **state)
{
    (void)state;
    static const struct {
        const char *name, *first, *second;
    } sweeps[] = {
        {"street", "loads/vehicle/current_a=0:32:12", NULL},
        {"street", "loads/vehicle/current_a=0:32:9", "loads/house18/current_a=0.3:31:9"},
        {"house-no-electrode", "loads/vehicle/current_a=0:32:5", NULL},
        {"house-no-electrode", "loads/vehicle/current_a=0:32:5", "case/loop_impedance=0:1:5"},
        {"house-rod-unmeasured", "loads/vehicle/current_a=0:32:5", NULL},
        {"laundry-three-lines", NULL, NULL},
        {"vehicle-lets-go", "loads/vehicle/current_a=32:1:5", NULL},
    };
    for (size_t i = 0; i < sizeof sweeps / sizeof sweeps[0]; i++) {
        char folder[256];
        snprintf(folder, sizeof folder, "%s/%s", cases_folder(), sweeps[i].name);
        struct pd_sweep *sweep = sweep_of(folder, sweeps[i].first, sweeps[i].second);
        for (size_t writer = 0; writer < SWEEP_WRITERS; writer++) {
            struct written_report r = sweep_as(writer, sweep);
            check_report(writer, &r);
            free(r.text);
        }
        pd_sweep_free(&sweep);
    }
}

static void test_samples(void **state)
{
    (void)state;
    static const char *const names[] = {"street", "house-rod-12-ohm", "house-rod-unmeasured",
                                        "vehicle-lets-go", "house-tt-point"};
    const struct pd_sample_settings settings = {.trials = 400, .seed = 9, .replicates = 4};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        char folder[256];
        struct pd_sample *sample = NULL;
        snprintf(folder, sizeof folder, "%s/%s", cases_folder(), names[i]);
        assert_int_equal(pd_sample_run(folder, &settings, NULL, NULL, &sample, NULL), PD_OK);
        for (size_t writer = 0; writer < SAMPLE_WRITERS; writer++) {
            struct written_report r = sample_as(writer, sample);
            check_report(writer, &r);
            if (!sample->missing && writer != JSON_AT)
                assert_non_null(strstr(r.text, "seed 9"));
            free(r.text);
        }
        pd_sample_free(&sample);
    }
}

/* Names of the user's own, with what could break a format. */
static void test_odd_names(void **state)
{
    (void)state;
    struct written w;
    written_make(&w);
    written_put(&w, "case.csv",
                "quantity,value,unit\ntitle,\"a <b> & \"\"c\"\"\",-\n"
                "limit_set,gb-outdoor-charging,-\nearthing,TN-C-S,-\nsystem,single-phase,-\n");
    written_put(&w, "loads.csv",
                "load,node,current_a\n\"oven <1/2> & \"\"x\"\"=y\",installation,20\n");
    struct pd_sweep *sweep =
        sweep_of(w.path, "loads/\"oven <1/2> & \"\"x\"\"=y\"/current_a=1:20:5", NULL);
    for (size_t writer = 0; writer < SWEEP_WRITERS; writer++) {
        struct written_report r = sweep_as(writer, sweep);
        check_report(writer, &r);
        free(r.text);
    }
    pd_sweep_free(&sweep);
    written_remove(&w);
}

/* The numbers of a path's data, two for each point. */
static size_t path_points(const char *svg, struct pd_xy *point, size_t room)
{
    const char *at = strstr(svg, " d=\"");
    size_t count = 0;
    assert_non_null(at);
    for (at += 4; *at != '"' && count < room;) {
        char *end;
        if (strchr("MLZ ", *at) != NULL) {
            at++;
            continue;
        }
        point[count].x = strtod(at, &end);
        point[count].y = strtod(end + (*end == ' ' || *end == ','), &end);
        count++;
        at = end;
    }
    return count;
}

/* Squares of 10 pixels in two triangles each, over 100 by 100. */
static void make_grid(struct pd_facets *contour, double (*value)(double x, double y))
{
    for (int i = 0; i < 10; i++)
        for (int j = 0; j < 10; j++) {
            struct pd_facet_corner c[4];
            for (int k = 0; k < 4; k++) {
                c[k].at = (struct pd_xy){10.0 * (i + (k == 1 || k == 2)), 10.0 * (j + (k > 1))};
                c[k].value = value(c[k].at.x, c[k].at.y);
            }
            assert_int_equal(pd_facets_add(contour, &c[0], &c[1], &c[2]), PD_OK);
            assert_int_equal(pd_facets_add(contour, &c[0], &c[2], &c[3]), PD_OK);
        }
}

static double slope(double x, double y)
{
    return x + 2 * y;
}

static double bowl(double x, double y)
{
    return hypot(x - 50, y - 50);
}

static double hole(double x, double y)
{
    return x > 35 && x < 65 && y > 35 && y < 65 ? (double)NAN : slope(x, y);
}

static struct written_report draw(const struct pd_facets *contour, bool line, double low,
                                  double high)
{
    struct written_report r = {NULL, 0};
    struct pd_svg svg = {.out = open_memstream(&r.text, &r.length), .prefix = "t"};
    if (line)
        assert_int_equal(pd_facets_line(&svg, PD_INK_LIMIT, contour, low), PD_OK);
    else
        pd_facets_fill(&svg, PD_INK_SHADE_0, contour, low, high);
    fclose(svg.out);
    return r;
}

/* Of a plane the level line is straight and whole; of a bowl one closed ring. */
static void test_contour_line(void **state)
{
    (void)state;
    enum { ROOM = 2000 };
    static struct pd_xy point[ROOM];
    struct pd_facets contour = {0};
    make_grid(&contour, slope);
    struct written_report r = draw(&contour, true, 123.4, 0);
    const size_t count = path_points(r.text, point, ROOM);
    assert_true(count > 10);
    for (size_t i = 0; i < count; i++)
        assert_close(slope(point[i].x, point[i].y), 123.4, 0, 0.03);
    assert_null(strchr(strchr(strstr(r.text, " d=\"") + 4, 'M') + 1, 'M')); /* in one piece */
    free(r.text);
    pd_facets_free(&contour);
    make_grid(&contour, bowl);
    r = draw(&contour, true, 30, 0);
    const size_t ring = path_points(r.text, point, ROOM);
    for (size_t i = 0; i < ring; i++)
        assert_close(bowl(point[i].x, point[i].y), 30, 0, 1); /* straight within a triangle */
    assert_close(point[0].x, point[ring - 1].x, 0, 0.01);
    assert_close(point[0].y, point[ring - 1].y, 0, 0.01);
    free(r.text);
    pd_facets_free(&contour);
}

/* The areas of the pieces, by the shoelace formula, of pieces that each start with M. */
static double area_of(const char *svg)
{
    double area = 0;
    for (const char *piece = strchr(strstr(svg, " d=\""), 'M'); piece != NULL;) {
        struct pd_xy point[8];
        const char *const next = strchr(piece + 1, 'M');
        char own[400];
        snprintf(own, sizeof own, " d=\"%.*s\"",
                 (int)(next != NULL ? next - piece : (ptrdiff_t)strcspn(piece, "\"")), piece);
        const size_t count = path_points(own, point, 8);
        double twice = 0;
        for (size_t i = 0; i < count; i++)
            twice += point[i].x * point[(i + 1) % count].y - point[(i + 1) % count].x * point[i].y;
        area += fabs(twice) / 2;
        piece = next;
    }
    return area;
}

/* Bands cover the square between them: 60 <= x + 2 y < 120 is 3500 - 900 of 10 000 square pixels;
 * what has no value is left out. */
static void test_contour_fill(void **state)
{
    (void)state;
    static const struct {
        double low, high, area;
    } bands[] = {
        {60, 120, 2600}, {-1, 1000, 10000}, {0, 60, 900}, {250, INFINITY, 625}, {300, 400, 0}};
    struct pd_facets contour = {0};
    make_grid(&contour, slope);
    for (size_t i = 0; i < sizeof bands / sizeof bands[0]; i++) {
        struct written_report r = draw(&contour, false, bands[i].low, bands[i].high);
        assert_close(area_of(r.text), bands[i].area, 0, 0.5);
        free(r.text);
    }
    pd_facets_free(&contour);
    make_grid(&contour, hole);
    /* 3 by 3 corners are gone: with them 4 by 4 squares but for a half at two of the corners */
    struct written_report r = draw(&contour, false, -1, 1000);
    assert_close(area_of(r.text), 10000 - 1600 + 100, 0, 0.5);
    free(r.text);
    pd_facets_free(&contour);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sweeps),       cmocka_unit_test(test_samples),
        cmocka_unit_test(test_odd_names),    cmocka_unit_test(test_contour_line),
        cmocka_unit_test(test_contour_fill),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
