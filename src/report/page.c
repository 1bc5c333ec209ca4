/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/page.h"

#include <string.h>

#include "report/plain.h"
#include "report/report.h"

void pd_page_to(struct pd_page *page, int column)
{
    page->column = column > page->column ? column : page->column + (page->column > 0);
}

void pd_page_end_line(struct pd_page *page)
{
    fputc('\n', page->out);
    page->column = page->written = 0;
}

/* Writes `length` bytes that hold `count` characters. */
static void put(struct pd_page *page, const char *text, size_t length, size_t count)
{
    fprintf(page->out, "%*s%.*s", page->column - page->written, "", (int)length, text);
    page->column += (int)count;
    page->written = page->column;
}

/* Writes the word text[length], on a new line where it no longer fits on this one. */
static void put_word(struct pd_page *page, int indent, const char *text, size_t length)
{
    char word[sizeof(struct pd_plain)];
    memcpy(word, text, length);
    word[length] = '\0';
    size_t count = pd_plain_length(word);
    if (page->column + (int)count > PD_REPORT_WIDTH && page->written > 0) {
        pd_page_end_line(page);
        page->column = indent;
    }
    const char *rest = word;
    for (size_t room; count > (room = (size_t)(PD_REPORT_WIDTH - page->column)); count -= room) {
        const size_t bytes = pd_plain_offset(rest, room);
        put(page, rest, bytes, room);
        pd_page_end_line(page);
        page->column = indent;
        rest += bytes;
    }
    put(page, rest, strlen(rest), count);
}

void pd_page_wrap(struct pd_page *page, int indent, const char *text)
{
    const struct pd_plain plain = pd_plain(text);
    const char *word = plain.text + strspn(plain.text, " ");
    for (size_t length; (length = strcspn(word, " ")) > 0;) {
        put_word(page, indent, word, length);
        word += length;
        word += strspn(word, " ");
        page->column += *word != '\0';
    }
}

void pd_page_right(struct pd_page *page, int column, const char *text)
{
    const struct pd_plain plain = pd_plain(text);
    const size_t count = pd_plain_length(plain.text);
    pd_page_to(page, column - (int)count);
    put(page, plain.text, strlen(plain.text), count);
}

void pd_page_paragraph(struct pd_page *page, int margin, const char *first, int indent,
                       const char *text)
{
    page->column = margin;
    pd_page_wrap(page, indent, first);
    if (first[0] != '\0')
        pd_page_to(page, indent);
    pd_page_wrap(page, indent, text);
    pd_page_end_line(page);
}

void pd_page_heading(struct pd_page *page, const char *text)
{
    pd_page_end_line(page);
    pd_page_paragraph(page, 0, "", 0, text);
}

void pd_page_rule(struct pd_page *page)
{
    for (int i = 0; i < PD_REPORT_WIDTH - 2; i++)
        fputc('=', page->out);
    pd_page_end_line(page);
}
