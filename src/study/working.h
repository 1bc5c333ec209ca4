/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_WORKING_H
#define PENDRIFT_STUDY_WORKING_H

#include <stdbool.h>
#include <stddef.h>

#include "table/status.h"

/* A working in the making: sections of paragraphs, steps and tables, for any format to render. */

/* A step: what is worked out, the formula in symbols, the same with numbers in it, its result. The
 * numbers in `sum` are those printed before it, or the case's; it holds numbers, + - x / ^,
 * brackets and sqrt(), so that a pocket calculator gives the result to the digits printed. */
struct pd_working_step {
    char what[160];
    char formula[120];
    char *sum;
    double result;    /* as computed, not from the digits printed */
    char printed[24]; /* the result in digits */
    const char *unit; /* "V", "S", "" ... */
};

enum { PD_WORKING_CELLS = 8, PD_WORKING_CELL_MAX = 40 };
struct pd_working_row {
    char cell[PD_WORKING_CELLS][PD_WORKING_CELL_MAX];
};
struct pd_working_table {
    size_t columns;
    const char *const *title; /* [columns] */
    struct pd_working_row *row;
    size_t row_count;
};

enum pd_part_kind { PD_PART_PARAGRAPH, PD_PART_STEP, PD_PART_TABLE };
struct pd_working_part {
    enum pd_part_kind kind;
    char *text; /* of a paragraph */
    struct pd_working_step step;
    struct pd_working_table table;
};

struct pd_working_section {
    const char *title;
    struct pd_working_part *part;
    size_t part_count;
};

/* Owns all of it. Start it with {0}. Once memory is short `failed` stays true and nothing more is
 * added. */
struct pd_working {
    struct pd_working_section *section;
    size_t section_count;
    bool failed;
};
void pd_working_free(struct pd_working *working);

/* Begins a section; what is added belongs to the last one begun. `title` is borrowed. */
void pd_working_begin(struct pd_working *working, const char *title);

void pd_working_say(struct pd_working *working, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* Adds a step with its result in so many significant digits; its sum, which begins empty, is then
 * written by pd_working_sum. `unit` is borrowed. */
void pd_working_step(struct pd_working *working, const char *what, const char *formula,
                     double result, int digits, const char *unit);

/* Appends to the sum of the step added last. */
void pd_working_sum(struct pd_working *working, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* Begins a table; titles are borrowed. Rows are added to the last. NULL where memory is short. */
void pd_working_table(struct pd_working *working, const char *const *title, size_t columns);
struct pd_working_row *pd_working_row(struct pd_working *working);

/* A number in six significant digits, as sums have them; what is below a millionth of `scale` is 0:
 * rounding. */
struct pd_digits {
    char text[24];
};
struct pd_digits pd_digits(double value, double scale);

#endif
