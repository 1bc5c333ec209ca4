/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/explain.h"

#include <ctype.h>
#include <math.h>

#include "report/cautions.h"
#include "report/making.h"
#include "report/plain.h"
#include "report/text.h"

enum { MARGIN = 2, STEP = 6, CELL = 12, NAME = 14, LINE = 19 };

static void write_heading(struct pd_page *page, const char *title)
{
    char capitals[80];
    size_t i = 0;
    for (; title[i] != '\0' && i + 1 < sizeof capitals; i++)
        capitals[i] = (char)toupper((unsigned char)title[i]);
    capitals[i] = '\0';
    pd_page_heading(page, capitals);
}

static void write_step(struct pd_page *page, const struct pd_working_step *step, size_t number)
{
    char label[24], line[160];
    snprintf(label, sizeof label, "(%zu)", number);
    pd_page_paragraph(page, MARGIN, label, STEP + 1, step->what);
    pd_page_paragraph(page, STEP + 1, "", STEP + 3, step->formula);
    page->column = STEP + 1;
    pd_page_wrap(page, STEP + 3, step->sum);
    snprintf(line, sizeof line, "= %s %s", step->printed, step->unit);
    pd_page_to(page, page->column + 1);
    pd_page_wrap(page, STEP + 3, line);
    pd_page_end_line(page);
}

/* Where column i ends: the name and the line first, figures after them. */
static int right_of(size_t i)
{
    return LINE + (int)(i - 1) * (CELL + 1);
}

static void write_cells(struct pd_page *page, const struct pd_working_table *table,
                        const char *const *cell)
{
    pd_page_to(page, MARGIN);
    pd_page_wrap(page, MARGIN, pd_plain_short(cell[0], NAME - MARGIN).text);
    pd_page_to(page, NAME + 1);
    pd_page_wrap(page, NAME + 1, cell[1]);
    for (size_t i = 2; i < table->columns; i++)
        pd_page_right(page, right_of(i), cell[i]);
    pd_page_end_line(page);
}

static void write_table(struct pd_page *page, const struct pd_working_table *table)
{
    write_cells(page, table, table->title);
    for (size_t r = 0; r < table->row_count; r++) {
        const char *cell[PD_WORKING_CELLS];
        for (size_t i = 0; i < table->columns; i++)
            cell[i] = table->row[r].cell[i];
        write_cells(page, table, cell);
    }
}

static void write_part(struct pd_page *page, const struct pd_working_part *part, size_t *number)
{
    switch (part->kind) {
    case PD_PART_PARAGRAPH:
        pd_page_paragraph(page, 0, "", 0, part->text);
        break;
    case PD_PART_STEP:
        write_step(page, &part->step, ++*number);
        break;
    case PD_PART_TABLE:
        write_table(page, &part->table);
        break;
    }
}

enum pd_status pd_explain_text(FILE *out, const struct pd_explanation *e)
{
    struct pd_page page = {.out = out};
    size_t number = 0;
    const struct pd_assessment *const a = e->assessment;
    char line[80];
    snprintf(line, sizeof line, "%s.", pd_overall_names[a->overall]);
    line[0] = (char)toupper((unsigned char)line[0]);
    pd_page_paragraph(&page, 0, "", 2, line);
    pd_page_paragraph(&page, 0, "", 0, a->study_case->title);
    pd_page_end_line(&page);
    pd_page_paragraph(&page, 0, "", 0, pd_caution_short);
    pd_page_paragraph(&page, 0, "", 0, "The cautions at the end are part of this answer.");
    for (size_t s = 0; s < e->working.section_count; s++) {
        const struct pd_working_section *const section = &e->working.section[s];
        write_heading(&page, section->title);
        for (size_t i = 0; i < section->part_count; i++)
            write_part(&page, &section->part[i], &number);
    }
    pd_text_limits(&page, &a->study_case->limits);
    pd_text_cautions(&page);
    return ferror(out) ? PD_ERR_FILE : PD_OK;
}

static json_t *table_object(const struct pd_working_table *table)
{
    struct pd_making object = pd_json_make_object(), rows = pd_json_make_array();
    for (size_t r = 0; r < table->row_count; r++) {
        struct pd_making row = pd_json_make_array();
        for (size_t i = 0; i < table->columns; i++)
            pd_json_append(&row, pd_json_text(table->row[r].cell[i]));
        pd_json_append(&rows, pd_json_made(&row));
    }
    pd_json_put(&object, "kind", pd_json_text("table"));
    pd_json_put(&object, "columns", pd_json_texts(table->title, table->columns));
    pd_json_put(&object, "rows", pd_json_made(&rows));
    return pd_json_made(&object);
}

static json_t *step_object(const struct pd_working_step *step, size_t number)
{
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "kind", pd_json_text("step"));
    pd_json_put(&object, "step", pd_json_count(number));
    pd_json_put(&object, "what", pd_json_text(step->what));
    pd_json_put(&object, "formula", pd_json_text(step->formula));
    pd_json_put(&object, "sum", json_string(step->sum));
    pd_json_put(&object, "printed", pd_json_text(step->printed));
    pd_json_put(&object, "result", pd_json_number(step->result));
    pd_json_put(&object, "unit", pd_json_text(step->unit));
    return pd_json_made(&object);
}

static json_t *part_object(const struct pd_working_part *part, size_t *number)
{
    struct pd_making object = pd_json_make_object();
    if (part->kind != PD_PART_PARAGRAPH) {
        json_decref(object.json);
        return part->kind == PD_PART_TABLE ? table_object(&part->table)
                                           : step_object(&part->step, ++*number);
    }
    pd_json_put(&object, "kind", pd_json_text("paragraph"));
    pd_json_put(&object, "text", json_string(part->text));
    return pd_json_made(&object);
}

enum pd_status pd_explain_json(FILE *out, const struct pd_explanation *e)
{
    const struct pd_assessment *const a = e->assessment;
    struct pd_making object = pd_json_make_object(), sections = pd_json_make_array();
    size_t number = 0;
    for (size_t s = 0; s < e->working.section_count; s++) {
        const struct pd_working_section *const section = &e->working.section[s];
        struct pd_making one = pd_json_make_object(), parts = pd_json_make_array();
        for (size_t i = 0; i < section->part_count; i++)
            pd_json_append(&parts, part_object(&section->part[i], &number));
        pd_json_put(&one, "title", pd_json_text(section->title));
        pd_json_put(&one, "parts", pd_json_made(&parts));
        pd_json_append(&sections, pd_json_made(&one));
    }
    pd_json_put_head(&object, a->study_case->title);
    pd_json_put(&object, "verdict", pd_json_text(pd_overall_names[a->overall]));
    pd_json_put(&object, "complete", json_boolean(e->complete));
    pd_json_put(&object, "alone_v", pd_json_number(e->alone_v));
    pd_json_put(&object, "sum_v", pd_json_number(e->closed_v));
    pd_json_put(
        &object, "engine_v",
        pd_json_number(e->scenario == PD_NONE ? (double)NAN : a->scenario[e->scenario].met_v));
    pd_json_put(&object, "sections", pd_json_made(&sections));
    return pd_json_write(out, pd_json_made(&object));
}
