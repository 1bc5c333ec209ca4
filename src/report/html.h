/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_HTML_H
#define PENDRIFT_REPORT_HTML_H

#include <stdbool.h>
#include <stdio.h>

/* Writes a page of HTML (the living standard's, in XML's spelling, so that xmllint can read it too)
 * that needs nothing but itself: no network, no script to be read, no font that is not there. It
 * prints to A4, and turns dark on a dark screen but never on paper. Pictures go in between as SVG
 * (report/svg.h, inlined), each with a prefix of its own.
 *
 * Texts may hold anything: they are escaped, and a control character becomes '?'. A failed write
 * shows in ferror(out). Elements are closed by whoever opened them; the header names what closes
 * what. */

struct pd_html {
    FILE *out;
};

/* What a page says of itself; texts are borrowed for the call. */
struct pd_html_head {
    const char *title;
    const char *description;
    const char *style; /* CSS of this page's own, after the common style; NULL: none */
};
void pd_html_begin(struct pd_html *html, FILE *out, const struct pd_html_head *head);
void pd_html_end(struct pd_html *html);

/* <p> that holds more than text, such as figures; closed by the other. */
void pd_html_paragraph_begin(struct pd_html *html);
void pd_html_paragraph_end(struct pd_html *html);

/* <pre>: a text line by line, as typed. */
void pd_html_verbatim(struct pd_html *html, const char *text);

/* A text within an element, escaped. */
void pd_html_text(struct pd_html *html, const char *text);

/* <section> under a heading; `id` is a fragment that the page may be entered by. */
void pd_html_section(struct pd_html *html, const char *id, const char *heading);
void pd_html_section_end(struct pd_html *html);
void pd_html_heading(struct pd_html *html, int level, const char *text); /* level 1 to 6 */

/* <div> of a class of the page's own style. */
void pd_html_group(struct pd_html *html, const char *of_class);
void pd_html_group_end(struct pd_html *html);

/* <nav>: links to sections, pairs of id and text. Not on paper. */
void pd_html_links(struct pd_html *html, const char *label, const char *const (*to)[2],
                   size_t count);

/* <p>, with a class of the style (NULL: none): "verdict" is the answer in large letters, "note"
 * small. */
void pd_html_paragraph(struct pd_html *html, const char *of_class, const char *text);

/* The box that cautions stand in: it shows on a grey print too. */
void pd_html_alert(struct pd_html *html, const char *heading);
void pd_html_alert_end(struct pd_html *html);

/* <ul>. */
void pd_html_list(struct pd_html *html);
void pd_html_item(struct pd_html *html, const char *text);
void pd_html_list_end(struct pd_html *html);

/* <table> with a caption (NULL: none) and a row of column headings; a column whose heading begins
 * with '>' is one of figures and stands to the right. */
void pd_html_table(struct pd_html *html, const char *caption, const char *const *heading,
                   size_t count);
void pd_html_row(struct pd_html *html);
void pd_html_row_head(struct pd_html *html, const char *text); /* <th scope="row"> */
void pd_html_cell(struct pd_html *html, const char *text);
/* A cell that holds more than text, such as figures: closed by pd_html_cell_end. */
void pd_html_cell_begin(struct pd_html *html, bool right);
void pd_html_cell_end(struct pd_html *html);
void pd_html_row_end(struct pd_html *html);
void pd_html_table_end(struct pd_html *html);

/* A figure: `shown` is what is read, `value` what it was made from, `from` where the JSON of the
 * same command has it, such as "verdict.network.residual_v" or "routes[2].value": a test holds
 * each against the other. Not finite: shown as "not determined", without a value. */
void pd_html_figure(struct pd_html *html, const char *from, double value, const char *shown);

/* <figure>: the picture comes in between; the caption is said again beneath it. */
void pd_html_picture(struct pd_html *html);
void pd_html_picture_end(struct pd_html *html, const char *caption);

/* <details> that is closed on a screen, and on paper is printed only where it was opened. */
void pd_html_details(struct pd_html *html, const char *summary);
void pd_html_details_end(struct pd_html *html);

#endif
