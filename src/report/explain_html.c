/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/explain.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#include "report/cautions.h"
#include "report/figure.h"
#include "report/html.h"
#include "report/lesson.h"
#include "report/svg_put.h"

/* Sentences may be cut within a character where they name something long. */
static void write_plain(struct pd_html *html, const char *text)
{
    pd_svg_put_text(html->out, text, strlen(text));
}

static void write_element(struct pd_html *html, const char *open, const char *text,
                          const char *close)
{
    fputs(open, html->out);
    write_plain(html, text);
    fputs(close, html->out);
}

/* Where the JSON of the same explanation has the result. */
struct place {
    size_t section, part, step;
};

static void write_step(struct pd_html *html, const struct pd_working_step *step,
                       const struct place *place)
{
    char from[80];
    snprintf(from, sizeof from, "sections[%zu].parts[%zu].result", place->section, place->part);
    fprintf(html->out,
            "<div class=\"step\" id=\"step-%zu\">\n<p><span class=\"number\">(%zu)</span> ",
            place->step, place->step);
    write_plain(html, step->what);
    write_element(html, "</p>\n<p class=\"formula\">", step->formula, "</p>\n");
    write_element(html, "<p class=\"sum\">", step->sum, " = <span class=\"result\">");
    pd_html_figure(html, from, step->result, step->printed);
    write_element(html, " ", step->unit, "</span></p>\n</div>\n");
}

/* The name and the line first, figures after them. */
enum { WORDS = 2 };

static void write_table(struct pd_html *html, const struct pd_working_table *table)
{
    char title[PD_WORKING_CELLS][PD_WORKING_CELL_MAX];
    const char *heading[PD_WORKING_CELLS];
    for (size_t i = 0; i < table->columns; i++) {
        snprintf(title[i], sizeof title[i], "%s%s", i < WORDS ? "" : ">", table->title[i]);
        heading[i] = title[i];
    }
    pd_html_table(html, NULL, heading, table->columns);
    for (size_t r = 0; r < table->row_count; r++) {
        pd_html_row(html);
        for (size_t i = 0; i < table->columns; i++) {
            pd_html_cell_begin(html, i >= WORDS);
            write_plain(html, table->row[r].cell[i]);
            pd_html_cell_end(html);
        }
        pd_html_row_end(html);
    }
    pd_html_table_end(html);
}

static void write_part(struct pd_html *html, const struct pd_working_part *part,
                       struct place *place)
{
    switch (part->kind) {
    case PD_PART_PARAGRAPH:
        write_element(html, "<p>", part->text, "</p>\n");
        break;
    case PD_PART_STEP:
        place->step++;
        write_step(html, &part->step, place);
        break;
    case PD_PART_TABLE:
        write_table(html, &part->table);
        break;
    }
}

static void write_working(struct pd_html *html, const struct pd_working *working)
{
    struct place place = {0};
    for (size_t s = 0; s < working->section_count; s++) {
        const struct pd_working_section *const section = &working->section[s];
        char id[32];
        snprintf(id, sizeof id, "working-%zu", s + 1);
        pd_html_section(html, id, section->title);
        for (size_t i = 0; i < section->part_count; i++) {
            place.section = s;
            place.part = i;
            write_part(html, &section->part[i], &place);
        }
        pd_html_section_end(html);
    }
}

static void write_head(struct pd_html *html, FILE *out, const struct pd_case *c)
{
    static const char description[] =
        "What an open PEN does to this installation: the working, and the case to step through.";
    const struct pd_html_head head = {
        .title = c->title, .description = description, .style = pd_lesson_style};
    pd_html_begin(html, out, &head);
    pd_html_heading(html, 1, c->title);
    pd_html_alert(html, "Lethal voltages");
    pd_html_list(html);
    for (size_t i = 0; i < PD_CAUTIONS; i++)
        pd_html_item(html, pd_cautions[i]);
    pd_html_list_end(html);
    pd_html_alert_end(html);
}

static void write_verdict(struct pd_html *html, const struct pd_explanation *e)
{
    char line[80];
    snprintf(line, sizeof line, "%s.", pd_overall_names[e->assessment->overall]);
    line[0] = (char)toupper((unsigned char)line[0]);
    pd_html_paragraph(html, "verdict", line);
    if (e->assessment->because.count > 0) /* the news; the rest is in the working's last section */
        write_element(html, "<p>", e->assessment->because.text[0], "</p>\n");
}

static void write_limit(struct pd_html *html, const char *name, const char *text)
{
    pd_html_row(html);
    pd_html_row_head(html, name);
    pd_html_cell_begin(html, false);
    write_plain(html, text);
    pd_html_cell_end(html);
    pd_html_row_end(html);
}

static void write_limits(struct pd_html *html, const struct pd_limits *limits)
{
    static const char *const headings[] = {"What", "Figure"};
    char text[120];
    pd_html_section(html, "limits", "Limits");
    pd_html_table(html, NULL, headings, 2);
    write_limit(html, "Limit set", limits->set);
    snprintf(text, sizeof text, "%s V", pd_figure_v(limits->touch_v).text);
    write_limit(html, "Touch voltage", text);
    snprintf(text, sizeof text, "%s to %s V", pd_figure_v(limits->band_low_v).text,
             pd_figure_v(limits->band_high_v).text);
    write_limit(html, "Line to neutral", text);
    snprintf(text, sizeof text, "%s s", pd_figure(limits->time_s, 1).text);
    write_limit(html, "Disconnection", text);
    write_limit(html, "Source", limits->source);
    snprintf(text, sizeof text, "%s%s%s", limits->status,
             limits->checked[0] != '\0' ? ", last compared " : "", limits->checked);
    write_limit(html, "Status", text);
    pd_html_table_end(html);
    pd_html_paragraph(html, NULL,
                      "Hold the current standard and the local rules against these "
                      "figures.");
    pd_html_section_end(html);
}

enum pd_status pd_explain_html(FILE *out, const struct pd_explanation *e,
                               const struct pd_lesson *lesson)
{
    struct pd_html html;
    char *const data = lesson->count > 0 ? pd_lesson_data(lesson) : NULL;
    if (lesson->count > 0 && data == NULL)
        return PD_ERR_MEMORY; /* before anything is written */
    write_head(&html, out, e->assessment->study_case);
    write_verdict(&html, e);
    pd_lesson_html(&html, lesson, data);
    pd_lesson_story(&html, lesson);
    write_working(&html, &e->working);
    write_limits(&html, &e->assessment->study_case->limits);
    pd_html_end(&html);
    free(data);
    return ferror(out) ? PD_ERR_FILE : PD_OK;
}
