/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_PAGE_H
#define PENDRIFT_REPORT_PAGE_H

#include <stdio.h>

/* Text within a width. Lines never end in blanks; width is counted in characters. Start it with
 * {.out = file}. A failed write shows in ferror(out). */
struct pd_page {
    FILE *out;
    int column;  /* where the next character goes, from 0 */
    int written; /* characters on the line so far; blanks are owed until something follows them */
};

/* Moves to a column further right; what comes next is put there. At or past it: one blank. */
void pd_page_to(struct pd_page *page, int column);

/* Writes text from the present column on, wrapped between words; further lines begin at `indent`.
 * A word longer than a line is broken. */
void pd_page_wrap(struct pd_page *page, int indent, const char *text);

/* Writes a short text that ends just before `column`. */
void pd_page_right(struct pd_page *page, int column, const char *text);

void pd_page_end_line(struct pd_page *page);

/* A whole paragraph: `first` leads its first line at `margin`, further lines stand at `indent`. */
void pd_page_paragraph(struct pd_page *page, int margin, const char *first, int indent,
                       const char *text);

/* A blank line and a heading in capitals. */
void pd_page_heading(struct pd_page *page, const char *text);

/* A line across the page. */
void pd_page_rule(struct pd_page *page);

#endif
