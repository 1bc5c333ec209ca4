/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TESTS_LESSON_PAGE_H
#define PENDRIFT_TESTS_LESSON_PAGE_H

#include "lesson_case.h"
#include "study/explain.h"

/* A page of a lesson, what it was made from, and its file. */
struct page {
    struct study study;
    struct pd_explanation *e;
    struct pd_lesson *lesson;
    char *text;
    size_t length;
    struct folder folder;
    char path[128];
};

void page_of_example(struct page *page, const char *name);

/* Of the case of lesson_case.h, as declared. */
void page_of_small_case(struct page *page);

/* Writes it where a browser finds it. */
void page_write(struct page *page);

void page_free(struct page *page);

/* Fails the test where the page does not have a text, as it stands in the file. */
void page_expect(const struct page *page, const char *text);

#endif
