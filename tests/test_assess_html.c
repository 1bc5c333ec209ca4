/* SPDX-License-Identifier: GPL-3.0-or-later */

/* The report of HTML, for every case. What is right comes from the JSON of the same assessment,
 * read by jansson: every figure of the page is one of its, and nothing else of a table is a figure;
 * from XML 1.0 by way of xmllint; from WCAG 2.1 (headings, names of pictures and tables, contrast,
 * its formula of relative luminance from memory); and from the contract in the headers. */

#include "check.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "case_folder.h"
#include "report/assess_html.h"
#include "report/cautions.h"
#include "report/report.h"
#include "xml.h"

struct page {
    struct study study;
    char *html;
    size_t length;
    json_t *root;
};

static char *written(enum pd_status (*write)(FILE *, const void *), const void *what,
                     size_t *length)
{
    char *text = NULL;
    FILE *const out = open_memstream(&text, length);
    assert_non_null(out);
    assert_int_equal(write(out, what), PD_OK);
    assert_int_equal(fclose(out), 0);
    return text;
}

static enum pd_status write_html(FILE *out, const void *page)
{
    return pd_assess_html(out, page);
}

static enum pd_status write_json(FILE *out, const void *assessment)
{
    return pd_report_json(out, assessment);
}

static void page_open(struct page *page, const char *name)
{
    char folder[512];
    struct pd_errors errors = {0};
    struct pd_pictured *pictured = NULL;
    size_t length;
    snprintf(folder, sizeof folder, "%s/%s", cases_folder(), name);
    *page = (struct page){.html = NULL};
    study_open(&page->study, folder);
    assert_int_equal(pd_pictured_new(folder, page->study.a, NULL, NULL, &pictured, &errors), PD_OK);
    const struct pd_assess_page what = {page->study.a, pictured, "pendrift assess <case> & more"};
    page->html = written(write_html, &what, &page->length);
    char *const json = written(write_json, page->study.a, &length);
    page->root = json_loads(json, 0, NULL);
    assert_non_null(page->root);
    free(json);
    pd_pictured_free(&pictured);
}

static void page_close(struct page *page)
{
    json_decref(page->root);
    free(page->html);
    study_close(&page->study);
}

/* Every case's page, made once. */
enum { PAGES_MOST = 64 };
struct pages {
    struct page page[PAGES_MOST];
    size_t count;
};

static int pages_open(void **state)
{
    struct pages *const pages = calloc(1, sizeof *pages);
    assert_non_null(pages);
    for (; case_names[pages->count] != NULL; pages->count++) {
        assert_true(pages->count < PAGES_MOST);
        page_open(&pages->page[pages->count], case_names[pages->count]);
    }
    *state = pages;
    return 0;
}

static int pages_close(void **state)
{
    struct pages *const pages = *state;
    for (size_t i = 0; i < pages->count; i++)
        page_close(&pages->page[i]);
    free(pages);
    return 0;
}

static void for_every_case(void **state, void (*check)(const struct page *))
{
    const struct pages *const pages = *state;
    for (size_t i = 0; i < pages->count; i++)
        check(&pages->page[i]);
}

static const struct page *page_of(void **state, const char *name)
{
    const struct pages *const pages = *state;
    size_t i = 0;
    while (strcmp(case_names[i], name) != 0)
        i++;
    return &pages->page[i];
}

/* Our own way along a path: keys between dots, numbers in brackets. */
static const json_t *json_at(const json_t *value, const char *path)
{
    while (*path != '\0') {
        char key[80];
        if (*path == '[') {
            value = json_array_get(value, (size_t)atoi(path + 1));
            path = strchr(path, ']') + 1;
            continue;
        }
        path += *path == '.';
        const size_t length = strcspn(path, ".[");
        assert_true(length < sizeof key);
        memcpy(key, path, length);
        key[length] = '\0';
        value = json_object_get(value, key);
        path += length;
    }
    return value;
}

/* What stands between `from` and the next `end`, entities taken back; the caller frees. */
static char *plain_text(const char *from, const char *to)
{
    static const char *const entities[][2] = {
        {"&amp;", "&"}, {"&lt;", "<"}, {"&gt;", ">"}, {"&quot;", "\""}};
    char *const text = calloc((size_t)(to - from) + 1, 1);
    char *put = text;
    assert_non_null(text);
    while (from < to) {
        size_t i = 0;
        while (i < 4 && strncmp(from, entities[i][0], strlen(entities[i][0])) != 0)
            i++;
        *put++ = i < 4 ? entities[i][1][0] : *from;
        from += i < 4 ? strlen(entities[i][0]) : 1;
    }
    return text;
}

/* Currents through a body, and what is set against them, are read in mA. */
static double scale_of(const char *path)
{
    static const char *const keys[] = {"body_a", "heart_a", "prospective_a", "rcd_a"};
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++)
        if (strstr(path, keys[i]) != NULL)
            return 1000;
    return 1;
}

/* A figure as it is shown comes from the value, to the last digit that is shown. */
static void check_shown(const char *shown, double value, const char *path)
{
    char *end = NULL;
    const double read = strtod(shown, &end);
    assert_true(end > shown);
    const char *const point = memchr(shown, '.', (size_t)(end - shown));
    const double unit = pow(10, point != NULL ? -(double)(end - point - 1) : 0);
    if (!close_enough(read, scale_of(path) * value, 1e-5, unit))
        fail_msg("%s: %.12g is shown as '%s'", path, value, shown);
    if (strstr(end, "mA") != NULL)
        assert_true(scale_of(path) == 1000);
}

static void check_figures(const struct page *page)
{
    static const char begins[] = "<data value=\"";
    size_t count = 0;
    for (const char *at = page->html; (at = strstr(at, begins)) != NULL; count++) {
        char *end = NULL;
        const double value = strtod(at + strlen(begins), &end);
        assert_int_equal(strncmp(end, "\" data-from=\"", 13), 0);
        const char *const from = end + 13, *const quote = strchr(from, '"');
        char *const path = plain_text(from, quote);
        const json_t *const there = json_at(page->root, path);
        if (!json_is_number(there) || json_number_value(there) != value)
            fail_msg("%s: the page has %.17g, the JSON %.17g", path, value,
                     json_number_value(there));
        at = strchr(quote, '>') + 1;
        char *const shown = plain_text(at, strstr(at, "</data>"));
        check_shown(shown, value, path);
        free(shown);
        free(path);
    }
    assert_true(count > 5);
}

static void test_every_figure_is_the_jsons(void **state)
{
    for_every_case(state, check_figures);
}

/* Whether a figure with a unit stands in a text. */
static bool has_quantity(const char *text)
{
    static const char *const units[] = {"V", "A", "mA", "ohm", "s", "W", "kW", "m", "%", "kA"};
    for (const char *at = text; *at != '\0'; at++) {
        if (!isdigit((unsigned char)*at) || isdigit((unsigned char)at[1]))
            continue;
        const char *unit = at + 1;
        while (*unit == ' ' || (unsigned char)*unit == 0xc2 || (unsigned char)*unit == 0xa0)
            unit++;
        const size_t length = strcspn(unit, " .,;:)(<\n");
        for (size_t i = 0; i < sizeof units / sizeof units[0]; i++)
            if (length == strlen(units[i]) && strncmp(unit, units[i], length) == 0)
                return true;
    }
    return false;
}

static bool is_string_of(const json_t *value, const char *text)
{
    const char *key;
    json_t *child;
    size_t i;
    if (json_is_string(value))
        return strcmp(json_string_value(value), text) == 0;
    json_array_foreach(value, i, child) if (is_string_of(child, text)) return true;
    if (json_is_object(value))
        json_object_foreach((json_t *)value, key, child) if (is_string_of(child, text)) return true;
    return false;
}

/* Figures outside <data> are only those of sentences that the JSON has word for word. */
static void check_text(const struct page *page, const char *from, const char *to)
{
    const char *const data = memmem(from, (size_t)(to - from), "<data ", 6);
    if (data != NULL) {
        const char *const after = strstr(data, "</data>");
        check_text(page, from, data);
        check_text(page, after + 7, to);
        return;
    }
    char *const text = plain_text(from, to);
    if (has_quantity(text) && !is_string_of(page->root, text))
        fail_msg("a figure without its source: '%s'", text);
    free(text);
}

/* Every cell of every table, and every paragraph and item that is neither caption nor command. */
static void check_cells(const struct page *page)
{
    static const char *const elements[] = {"<td", "<th", "<p", "<li"};
    size_t count = 0;
    for (size_t i = 0; i < sizeof elements / sizeof elements[0]; i++)
        for (const char *at = page->html; (at = strstr(at, elements[i])) != NULL;) {
            const size_t length = strlen(elements[i]);
            char close[8];
            at += length;
            if (*at != '>' && *at != ' ')
                continue;
            snprintf(close, sizeof close, "</%.3s>", elements[i] + 1);
            at = strchr(at, '>') + 1;
            const char *const to = strstr(at, close);
            assert_non_null(to);
            if (strncmp(at, "Left out. ", 10) != 0 && strncmp(at, "limits: ", 8) != 0)
                check_text(page, at, to);
            count++;
        }
    assert_true(count > 60);
}

static void test_nothing_else_in_a_table_is_a_figure(void **state)
{
    assert_true(has_quantity("over 70 V, and"));
    assert_true(has_quantity("4 s"));
    assert_true(has_quantity("2.46\xc2\xa0ohm"));
    assert_false(has_quantity("L1, route 4, and IEC 60479-1:2005 table 3 (from memory)"));
    for_every_case(state, check_cells);
}

static size_t occurrences(const char *text, const char *what)
{
    size_t count = 0;
    for (; (text = strstr(text, what)) != NULL; text += strlen(what))
        count++;
    return count;
}

/* Verdict, reasons and cautions before anything else; nothing from outside, nothing that runs. */
static void check_whole(const struct page *page)
{
    const char *const given = strstr(page->html, "<section id=\"given\">");
    const char *const verdict = strstr(page->html, "<p class=\"verdict\">");
    assert_true(verdict != NULL && given != NULL && verdict < given);
    for (size_t i = 0; i < PD_CAUTIONS; i++) {
        const char *const caution = strstr(page->html, pd_cautions[i]);
        assert_true(caution != NULL && caution < given);
    }
    assert_int_equal(occurrences(page->html, "<script"), 0);
    assert_int_equal(occurrences(page->html, "src="), 0);
    assert_int_equal(occurrences(page->html, "href=\"http"), 0);
    assert_int_equal(occurrences(page->html, "@import"), 0);
    assert_int_equal(occurrences(page->html, ">nan"), 0);
    assert_int_equal(occurrences(page->html, ">inf"), 0);
    assert_non_null(strstr(page->html, "<html lang=\"en\""));
    assert_true(page->length < 1000000);
    for (size_t i = 0; i < json_array_size(json_at(page->root, "inputs")); i++) {
        char path[40];
        snprintf(path, sizeof path, "inputs[%zu].sha256", i);
        assert_non_null(strstr(page->html, json_string_value(json_at(page->root, path))));
    }
    assert_non_null(strstr(page->html, "pendrift assess &lt;case&gt; &amp; more"));
    if (xml_there())
        assert_true(xml_well_formed(page->html, page->length));
}

static void test_the_page_is_whole(void **state)
{
    for_every_case(state, check_whole);
}

static void check_headings(const char *html)
{
    int before = 0;
    for (const char *at = html; (at = strstr(at, "<h")) != NULL; at++)
        if (isdigit((unsigned char)at[2]) && at[3] == '>') {
            assert_true(at[2] - '0' <= before + 1);
            before = at[2] - '0';
        }
    assert_int_equal(occurrences(html, "<h1>"), 1);
}

static void check_ids(const char *html)
{
    for (const char *at = html; (at = strstr(at, " id=\"")) != NULL; at++) {
        char id[80];
        snprintf(id, sizeof id, "%.*s\"", (int)strcspn(at + 5, "\"") + 5, at);
        assert_int_equal(occurrences(html, id), 1);
    }
    for (const char *at = html; (at = strstr(at, "href=\"#")) != NULL; at++) {
        char id[80];
        snprintf(id, sizeof id, " id=\"%.*s\"", (int)strcspn(at + 7, "\""), at + 7);
        assert_int_equal(occurrences(html, id), 1);
    }
}

/* Pictures have a name and say what is to be seen; tables a caption, their headings a scope. */
static void check_access(const struct page *page)
{
    const size_t pictures = occurrences(page->html, "<svg ");
    assert_int_equal(occurrences(page->html, "version=\"1.1\" role=\"img\" aria-labelledby=\""),
                     pictures);
    assert_int_equal(occurrences(page->html, "-title-of\">"), pictures);
    assert_int_equal(occurrences(page->html, "<desc id="), pictures);
    assert_int_equal(occurrences(page->html, "<figure>"), pictures);
    assert_int_equal(occurrences(page->html, "<figcaption>"), pictures);
    assert_int_equal(occurrences(page->html, "<table>"), occurrences(page->html, "<caption>"));
    assert_int_equal(occurrences(page->html, "<th scope=\"col\"") +
                         occurrences(page->html, "<th scope=\"row\""),
                     occurrences(page->html, "<th "));
    assert_int_equal(occurrences(page->html, "<th>"), 0);
    check_headings(page->html);
    check_ids(page->html);
}

static void test_who_cannot_see_it_can_use_it(void **state)
{
    for_every_case(state, check_access);
}

/* A colour of the style, by its name; `from` is where its scheme begins. */
static double luminance(const char *from, const char *name)
{
    const char *const at = strstr(from, name);
    unsigned colour[3];
    double part[3];
    assert_non_null(at);
    assert_int_equal(sscanf(at + strlen(name), ":#%2x%2x%2x", &colour[0], &colour[1], &colour[2]),
                     3);
    for (int i = 0; i < 3; i++) {
        const double c = colour[i] / 255.0;
        part[i] = c <= 0.03928 ? c / 12.92 : pow((c + 0.055) / 1.055, 2.4);
    }
    return 0.2126 * part[0] + 0.7152 * part[1] + 0.0722 * part[2];
}

static void test_contrast(void **state)
{
    static const char *const inks[] = {"--ink", "--faint", "--alert", "--link"};
    const char *const html = page_of(state, "house-no-electrode")->html;
    const char *const light = strstr(html, ":root{");
    const char *const dark = strstr(html, "prefers-color-scheme:dark");
    for (size_t i = 0; i < sizeof inks / sizeof inks[0]; i++)
        for (int scheme = 0; scheme < 2; scheme++) {
            const char *const from = scheme == 0 ? light : dark;
            const double a = luminance(from, inks[i]), b = luminance(from, "--paper");
            assert_true((fmax(a, b) + 0.05) / (fmin(a, b) + 0.05) >= 4.5);
        }
}

/* What cannot be drawn says why, and leaves no frame. */
static void test_pictures_left_out(void **state)
{
    const char *html = page_of(state, "house-rod-unmeasured")->html;
    assert_int_equal(occurrences(html, "<figure"), 0);
    assert_int_equal(occurrences(html, "Left out. The case is incomplete"), 5);
    html = page_of(state, "house-tt-near-rod")->html;
    assert_int_equal(occurrences(html, "<figure"), 2); /* the street and the ground */
    assert_non_null(strstr(html, "The charging point is on TT"));
    html = page_of(state, "workshop-unbalanced")->html;
    assert_non_null(strstr(html, "aria-labelledby=\"split-title-of"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_figure_is_the_jsons),
        cmocka_unit_test(test_nothing_else_in_a_table_is_a_figure),
        cmocka_unit_test(test_the_page_is_whole),
        cmocka_unit_test(test_who_cannot_see_it_can_use_it),
        cmocka_unit_test(test_contrast),
        cmocka_unit_test(test_pictures_left_out),
    };
    return cmocka_run_group_tests(tests, pages_open, pages_close);
}
