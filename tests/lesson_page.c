/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "lesson_page.h"

#include "check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/explain.h"

static void make(struct page *p)
{
    const struct pd_assessment *const a = p->study.a;
    assert_int_equal(pd_explain(a, &p->e), PD_OK);
    const size_t section =
        p->e->scenario == PD_NONE ? PD_NONE : a->scenario[p->e->scenario].section;
    assert_int_equal(pd_lesson_new(a->study_case, section, NULL, NULL, &p->lesson), PD_OK);
    FILE *const out = open_memstream(&p->text, &p->length);
    assert_non_null(out);
    assert_int_equal(pd_explain_html(out, p->e, p->lesson), PD_OK);
    assert_int_equal(fclose(out), 0);
}

void page_of_example(struct page *p, const char *name)
{
    *p = (struct page){.text = NULL};
    study_open_example(&p->study, name);
    make(p);
}

void page_of_small_case(struct page *p)
{
    struct pd_errors errors = {0};
    *p = (struct page){.text = NULL};
    folder_make(&p->folder);
    lesson_case_declare(&p->folder);
    assert_int_equal(folder_assess(&p->folder, &p->study, &errors), PD_OK);
    folder_remove(&p->folder);
    make(p);
}

void page_write(struct page *p)
{
    folder_make(&p->folder);
    snprintf(p->path, sizeof p->path, "%s/lesson.html", p->folder.path);
    FILE *const out = fopen(p->path, "w");
    assert_non_null(out);
    assert_int_equal(fwrite(p->text, 1, p->length, out), p->length);
    assert_int_equal(fclose(out), 0);
}

void page_free(struct page *p)
{
    if (p->path[0] != '\0') {
        remove(p->path);
        folder_remove(&p->folder);
    }
    free(p->text);
    pd_lesson_free(&p->lesson);
    pd_explanation_free(&p->e);
    study_close(&p->study);
}

void page_expect(const struct page *p, const char *text)
{
    if (strstr(p->text, text) == NULL)
        fail_msg("the page does not have: %s", text);
}
