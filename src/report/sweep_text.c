/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "report/cautions.h"
#include "report/figure.h"
#include "report/plain.h"
#include "report/report.h"
#include "report/sweep.h"
#include "report/text.h"

enum { MARGIN = 2, VALUES = 22, ROWS = 25 };

static void write_answer(struct pd_page *page, const struct pd_sweep *sweep)
{
    pd_page_paragraph(page, 0, "", 2, pd_sweep_headline(sweep).text);
    pd_page_paragraph(page, 0, "", 2, sweep->study_case->title);
    pd_page_end_line(page);
    for (size_t i = 0; i < sweep->study_case->missing.count; i++)
        pd_page_paragraph(page, MARGIN, "-", MARGIN + 2, sweep->study_case->missing.text[i]);
    if (!sweep->missing) {
        pd_page_paragraph(page, MARGIN, "-", MARGIN + 2, pd_sweep_present(sweep).text);
        pd_page_paragraph(page, MARGIN, "-", MARGIN + 2, pd_sweep_largest(sweep).text);
    }
    pd_page_end_line(page);
    pd_page_paragraph(page, 0, "", 0, pd_caution_short);
    pd_page_paragraph(page, 0, "", 0, "The cautions at the end are part of this answer.");
}

static void write_crossings(struct pd_page *page, const struct pd_sweep *sweep)
{
    if (sweep->crossing_count == 0)
        return;
    pd_page_heading(page, "WHERE THE LIMIT IS CROSSED (solved there)");
    for (size_t i = 0; i < sweep->crossing_count; i++) {
        const struct pd_sweep_crossing *const c = &sweep->crossing[i];
        const struct pd_sweep_point *const in = c->low.touch == PD_WITHIN ? &c->low : &c->high;
        char text[256];
        snprintf(text, sizeof text, "%s V with the PEN open in section '%.60s', supply %s V%s",
                 pd_figure(in->touch_v, 3).text,
                 pd_plain_short(pd_sweep_section(sweep, in->section), 40).text,
                 pd_figure_v(in->supply_v).text,
                 c->jumps ? "; beyond it the voltage jumps: something lets go, or takes up" : "");
        pd_page_paragraph(page, MARGIN, pd_figure(in->value[0], 6).text, VALUES, text);
    }
}

enum { VALUE = 16, TOUCH = 26, LIMIT = 28, SECTION = 44, SUPPLY = 66, UNSEEN = 77 };

static void write_columns(struct pd_page *page, const struct pd_sweep *sweep)
{
    const char *const unit = pd_sweep_value_unit(sweep, 0);
    pd_page_right(page, VALUE, unit[0] != '\0' ? unit : "value");
    pd_page_right(page, TOUCH, "touch V");
    pd_page_to(page, LIMIT);
    pd_page_wrap(page, LIMIT, "limit");
    pd_page_to(page, SECTION);
    pd_page_wrap(page, SECTION, "PEN open in");
    pd_page_right(page, SUPPLY, "supply V");
    pd_page_right(page, UNSEEN, "unseen V");
    pd_page_end_line(page);
}

static void write_point(struct pd_page *page, const struct pd_sweep *sweep,
                        const struct pd_sweep_point *point)
{
    pd_page_right(page, VALUE, pd_sweep_number(point->value[0]).text);
    pd_page_right(page, TOUCH, pd_figure_v(point->touch_v).text);
    pd_page_to(page, LIMIT);
    pd_page_wrap(page, LIMIT, pd_sweep_judgements[point->touch]);
    pd_page_to(page, SECTION);
    pd_page_wrap(page, SECTION, pd_plain_short(pd_sweep_section(sweep, point->section), 12).text);
    pd_page_right(page, SUPPLY, pd_figure_v(point->supply_v).text);
    pd_page_right(page, UNSEEN,
                  point->unseen_v > 0      ? pd_figure_v(point->unseen_v).text
                  : isnan(point->unseen_v) ? "?"
                                           : "none");
    pd_page_end_line(page);
}

/* Every value, or so many of them evenly chosen, both ends among them. */
static void write_curve(struct pd_page *page, const struct pd_sweep *sweep)
{
    const size_t rows = sweep->count < ROWS ? sweep->count : ROWS;
    pd_page_heading(page, pd_sweep_value_name(sweep, 0).text);
    write_columns(page, sweep);
    for (size_t i = 0; i < rows; i++)
        write_point(page, sweep, &sweep->point[i * (sweep->count - 1) / (rows - 1)]);
    pd_page_paragraph(page, MARGIN, "", MARGIN,
                      "unseen V: the largest over the limit that no device disconnects in time, "
                      "in any section.");
    if (rows < sweep->count)
        pd_page_paragraph(page, MARGIN, "", MARGIN, "Some values only: --format csv has them all.");
}

static char letter(const struct pd_sweep_point *point)
{
    if (point->touch == PD_UNKNOWN || isnan(point->unseen_v))
        return '?';
    if (point->touch == PD_WITHIN)
        return '.';
    return point->unseen_v > 0 ? '#' : 'o';
}

static void write_key(struct pd_page *page)
{
    pd_page_paragraph(page, MARGIN, "", MARGIN,
                      ". within the limit   o over it, a device lets go in time   # over it, "
                      "nothing does   ? not determined");
    pd_page_end_line(page);
}

enum { ACROSS = 56, DOWN = 24 };

/* The second quantity upwards, the first to the right. */
static void write_map(struct pd_page *page, const struct pd_sweep *sweep)
{
    const size_t columns = sweep->settings.vary[0].count, rows = sweep->settings.vary[1].count;
    const size_t across = columns < ACROSS ? columns : ACROSS, down = rows < DOWN ? rows : DOWN;
    char head[900];
    snprintf(head, sizeof head, "%s (up) AGAINST %s (to the right)",
             pd_sweep_value_name(sweep, 1).text, pd_sweep_value_name(sweep, 0).text);
    pd_page_heading(page, head);
    write_key(page);
    for (size_t y = down; y-- > 0;) {
        const size_t row = y * (rows - 1) / (down - 1);
        char line[ACROSS + 1];
        for (size_t x = 0; x < across; x++)
            line[x] = letter(&sweep->point[x * (columns - 1) / (across - 1) * rows + row]);
        line[across] = '\0';
        pd_page_right(page, VALUE, pd_sweep_number(sweep->point[row].value[1]).text);
        pd_page_to(page, VALUE + 2);
        pd_page_wrap(page, VALUE + 2, line);
        pd_page_end_line(page);
    }
    pd_page_right(page, VALUE + 8, pd_sweep_number(sweep->settings.vary[0].from).text);
    pd_page_right(page, VALUE + 2 + (int)across > VALUE + 20 ? VALUE + 2 + (int)across : VALUE + 20,
                  pd_sweep_number(sweep->settings.vary[0].to).text);
    pd_page_end_line(page);
}

/* The point of a split: i and j parts of the whole on L1 and L2. */
static const struct pd_sweep_point *split(const struct pd_sweep *sweep, size_t i, size_t j)
{
    const size_t steps = sweep->settings.steps;
    return &sweep->point[i * (steps + 1) - i * (i - 1) / 2 + j];
}

/* L1 alone at the top, L2 at the bottom right, L3 at the bottom left. */
static void write_triangle(struct pd_page *page, const struct pd_sweep *sweep)
{
    const size_t steps = sweep->settings.steps, down = steps < DOWN ? steps : DOWN;
    pd_page_heading(page, "SHARES OF L1 (top), L2 (right), L3 (left)");
    write_key(page);
    for (size_t row = 0; row <= down; row++) {
        const size_t i = steps - row * steps / down;
        pd_page_to(page, MARGIN + 3 + (int)(down - row));
        for (size_t k = 0; k <= row; k++) {
            const size_t j = row > 0 ? k * (steps - i) / row : 0;
            const char cell[2] = {letter(split(sweep, i, j)), '\0'};
            if (k > 0)
                page->column++;
            pd_page_wrap(page, 0, cell);
        }
        pd_page_end_line(page);
    }
}

static void write_points(struct pd_page *page, const struct pd_sweep *sweep)
{
    if (sweep->missing)
        return;
    write_crossings(page, sweep);
    if (sweep->settings.vary_count == 1)
        write_curve(page, sweep);
    else if (sweep->settings.vary_count == 2)
        write_map(page, sweep);
    else
        write_triangle(page, sweep);
}

static void write_record(struct pd_page *page, const struct pd_sweep *sweep)
{
    const size_t count = sweep->settings.vary_count > 0 ? sweep->settings.vary_count : 1;
    char text[160];
    pd_page_heading(page, "COMPUTED");
    for (size_t i = 0; i < count; i++)
        pd_page_paragraph(page, MARGIN, "varied", VALUES, pd_sweep_quantity(sweep, i).text);
    pd_page_paragraph(page, MARGIN, "method", VALUES, pd_sweep_method(sweep).text);
    snprintf(text, sizeof text, "%zu: within %zu, over %zu, not determined %zu", sweep->count,
             sweep->within, sweep->over, sweep->unknown);
    pd_page_paragraph(page, MARGIN, "points", VALUES, text);
    if (!sweep->settings.all_loads)
        pd_page_paragraph(page, MARGIN, "not tried", VALUES,
                          "loads other than the present ones, which may be worse: --loads worst "
                          "tries the ends of their ranges.");
}

enum pd_status pd_sweep_text(FILE *out, const struct pd_sweep *sweep)
{
    struct pd_page page = {.out = out};
    write_answer(&page, sweep);
    write_points(&page, sweep);
    write_record(&page, sweep);
    pd_text_limits(&page, &sweep->study_case->limits);
    for (size_t i = 0; i < sweep->study_case->assumptions.count; i++) {
        if (i == 0)
            pd_page_heading(&page, "ASSUMED");
        pd_page_paragraph(&page, MARGIN, "-", MARGIN + 2, sweep->study_case->assumptions.text[i]);
    }
    pd_text_cautions(&page);
    return ferror(out) ? PD_ERR_FILE : PD_OK;
}
