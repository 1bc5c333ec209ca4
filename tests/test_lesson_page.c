/* SPDX-License-Identifier: GPL-3.0-or-later */

/* The page of a lesson as text: whole, alone, with all that the other formats have. */

#include "check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "lesson_page.h"
#include "report/cautions.h"
#include "report/explain.h"
#include "xml.h"

/* A text as HTML has it; the caller frees. */
static char *escaped(const char *text)
{
    static const struct {
        char is;
        const char *becomes;
    } marks[] = {{'&', "&amp;"}, {'<', "&lt;"}, {'>', "&gt;"}, {'"', "&quot;"}, {'\'', "&#39;"}};
    char *const copy = calloc(strlen(text) * 6 + 1, 1);
    assert_non_null(copy);
    for (size_t used = 0; *text != '\0'; text++) {
        const char *by = NULL;
        for (size_t i = 0; i < sizeof marks / sizeof marks[0]; i++)
            if (*text == marks[i].is)
                by = marks[i].becomes;
        if (by == NULL)
            copy[used++] = *text;
        else
            used += (size_t)sprintf(copy + used, "%s", by);
    }
    return copy;
}

/* A part of the same explanation's JSON. */
static size_t check_part(const struct page *p, size_t section, size_t index, const json_t *part)
{
    const char *const text = json_string_value(json_object_get(part, "text"));
    const char *const printed = json_string_value(json_object_get(part, "printed"));
    if (text != NULL) {
        char *const plain = escaped(text);
        page_expect(p, plain);
        free(plain);
    }
    if (printed == NULL)
        return 0;
    char from[160];
    snprintf(from, sizeof from, "data-from=\"sections[%zu].parts[%zu].result\">%s</data>", section,
             index, printed);
    page_expect(p, from);
    const char *const value = strstr(p->text, from) - 40;
    const char *const begins = strstr(value, "value=\"");
    assert_non_null(begins);
    assert_close(strtod(begins + 7, NULL), json_number_value(json_object_get(part, "result")),
                 1e-11, 0);
    return 1;
}

static size_t check_against_json(const struct page *p)
{
    char *text = NULL;
    size_t length = 0, steps = 0, s, i;
    json_t *section, *part;
    FILE *const out = open_memstream(&text, &length);
    assert_int_equal(pd_explain_json(out, p->e), PD_OK);
    assert_int_equal(fclose(out), 0);
    json_t *const object = json_loads(text, 0, NULL);
    json_array_foreach(json_object_get(object, "sections"), s, section)
    {
        page_expect(p, json_string_value(json_object_get(section, "title")));
        json_array_foreach(json_object_get(section, "parts"), i, part) steps +=
            check_part(p, s, i, part);
    }
    json_decref(object);
    free(text);
    return steps;
}

/* Names of name spaces are the only addresses. */
static void check_alone(const struct page *p)
{
    for (const char *at = p->text; (at = strstr(at, "://")) != NULL; at += 3) {
        const char *const name = at - 4;
        if (strncmp(name, "http://www.w3.org/1999/xhtml\"", 29) != 0 &&
            strncmp(name, "http://www.w3.org/2000/svg\"", 27) != 0)
            fail_msg("the page points elsewhere: %.80s", name);
    }
    assert_null(strstr(p->text, "src="));
    assert_null(strstr(p->text, "@import"));
}

static void every_case_makes_a_whole_page(void **state)
{
    (void)state;
    const bool lint = xml_there();
    size_t steps = 0;
    for (size_t i = 0; case_names[i] != NULL; i++) {
        struct page p;
        page_of_example(&p, case_names[i]);
        if (lint)
            assert_true(xml_well_formed(p.text, p.length));
        assert_true(p.length < 700000);
        check_alone(&p);
        steps += check_against_json(&p);
        for (size_t k = 0; k < PD_CAUTIONS; k++) {
            char *const caution = escaped(pd_cautions[k]);
            for (char *at; (at = strstr(caution, "&#39;")) != NULL;) {
                *at = '\''; /* HTML needs no such mark */
                memmove(at + 1, at + 5, strlen(at + 5) + 1);
            }
            page_expect(&p, caution);
            free(caution);
        }
        assert_true(strstr(p.text, pd_cautions[0]) < strstr(p.text, "class=\"verdict\">"));
        page_free(&p);
    }
    assert_true(steps > 100);
}

/* Whatever a case calls its things, it stays text. */
static void names_are_no_markup(void **state)
{
    (void)state;
    struct page p;
    size_t scripts = 0;
    page_of_small_case(&p);
    if (xml_there())
        assert_true(xml_well_formed(p.text, p.length));
    page_expect(&p, "<h1>Oddenbury &lt;b&gt; &amp; '&lt;/script&gt;' \xc3\xa9</h1>");
    for (const char *at = p.text; (at = strstr(at, "</script>")) != NULL; at++)
        scripts++;
    assert_int_equal(scripts, 2);
    page_free(&p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_case_makes_a_whole_page),
        cmocka_unit_test(names_are_no_markup),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
