/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/working.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "table/grow.h"

static void free_part(struct pd_working_part *part)
{
    free(part->text);
    free(part->step.sum);
    free(part->table.row);
}

void pd_working_free(struct pd_working *w)
{
    for (size_t i = 0; i < w->section_count; i++) {
        for (size_t k = 0; k < w->section[i].part_count; k++)
            free_part(&w->section[i].part[k]);
        free(w->section[i].part);
    }
    free(w->section);
    *w = (struct pd_working){0};
}

void pd_working_begin(struct pd_working *w, const char *title)
{
    struct pd_working_section *const larger = pd_grow(w->section, w->section_count, sizeof *larger);
    w->failed |= larger == NULL;
    if (larger == NULL)
        return;
    w->section = larger;
    w->section[w->section_count++] = (struct pd_working_section){.title = title};
}

/* A new part of the last section, NULL where there is none or memory is short. */
static struct pd_working_part *add_part(struct pd_working *w, enum pd_part_kind kind)
{
    if (w->failed || w->section_count == 0)
        return NULL;
    struct pd_working_section *const section = &w->section[w->section_count - 1];
    struct pd_working_part *const larger =
        pd_grow(section->part, section->part_count, sizeof *larger);
    w->failed |= larger == NULL;
    if (larger == NULL)
        return NULL;
    section->part = larger;
    section->part[section->part_count] = (struct pd_working_part){.kind = kind};
    return &section->part[section->part_count++];
}

static struct pd_working_part *last_part(const struct pd_working *w, enum pd_part_kind kind)
{
    if (w->failed || w->section_count == 0)
        return NULL;
    const struct pd_working_section *const section = &w->section[w->section_count - 1];
    if (section->part_count == 0 || section->part[section->part_count - 1].kind != kind)
        return NULL;
    return &section->part[section->part_count - 1];
}

/* Appends to a text that it owns; false where memory is short. */
static bool append(char **text, const char *format, va_list arguments)
{
    va_list again;
    va_copy(again, arguments);
    const int length = vsnprintf(NULL, 0, format, again);
    va_end(again);
    const size_t used = *text != NULL ? strlen(*text) : 0;
    char *const larger = length < 0 ? NULL : realloc(*text, used + (size_t)length + 1);
    if (larger == NULL)
        return false;
    *text = larger;
    vsnprintf(larger + used, (size_t)length + 1, format, arguments);
    return true;
}

void pd_working_say(struct pd_working *w, const char *format, ...)
{
    struct pd_working_part *const part = add_part(w, PD_PART_PARAGRAPH);
    if (part == NULL)
        return;
    va_list arguments;
    va_start(arguments, format);
    w->failed |= !append(&part->text, format, arguments);
    va_end(arguments);
}

void pd_working_step(struct pd_working *w, const char *what, const char *formula, double result,
                     int digits, const char *unit)
{
    struct pd_working_part *const part = add_part(w, PD_PART_STEP);
    if (part == NULL)
        return;
    struct pd_working_step *const step = &part->step;
    snprintf(step->what, sizeof step->what, "%s", what);
    snprintf(step->formula, sizeof step->formula, "%s", formula);
    snprintf(step->printed, sizeof step->printed, "%.*g", digits, result + 0.0);
    step->result = result;
    step->unit = unit;
    pd_working_sum(w, "%s", "");
}

void pd_working_sum(struct pd_working *w, const char *format, ...)
{
    struct pd_working_part *const part = last_part(w, PD_PART_STEP);
    if (part == NULL)
        return;
    va_list arguments;
    va_start(arguments, format);
    w->failed |= !append(&part->step.sum, format, arguments);
    va_end(arguments);
}

void pd_working_table(struct pd_working *w, const char *const *title, size_t columns)
{
    struct pd_working_part *const part = add_part(w, PD_PART_TABLE);
    if (part == NULL)
        return;
    part->table.title = title;
    part->table.columns = columns;
}

struct pd_working_row *pd_working_row(struct pd_working *w)
{
    struct pd_working_part *const part = last_part(w, PD_PART_TABLE);
    if (part == NULL)
        return NULL;
    struct pd_working_row *const larger =
        pd_grow(part->table.row, part->table.row_count, sizeof *larger);
    w->failed |= larger == NULL;
    if (larger == NULL)
        return NULL;
    part->table.row = larger;
    larger[part->table.row_count] = (struct pd_working_row){{""}};
    return &larger[part->table.row_count++];
}

struct pd_digits pd_digits(double value, double scale)
{
    struct pd_digits digits;
    const bool rounding = fabs(value) < 1e-6 * fabs(scale);
    snprintf(digits.text, sizeof digits.text, "%.6g", rounding ? 0.0 : value);
    return digits;
}
