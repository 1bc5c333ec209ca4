/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "table/table.h"
#include "table/utf8.h"
#include "table/words.h"

const char *pd_row_text(const struct pd_row *row, size_t column)
{
    return column < row->column_count ? row->cells[column] : "";
}

bool pd_row_has(const struct pd_row *row, size_t column)
{
    return pd_row_text(row, column)[0] != '\0';
}

enum pd_status pd_row_error(const struct pd_row *row, size_t column, struct pd_errors *errors,
                            const char *format, ...)
{
    char text[2 * sizeof errors->kept[0].text] = "";
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    const char *name = column < row->column_count ? row->columns[column].name : "";
    return pd_errors_add(errors, PD_ERR_INPUT, row->table, row->line, name, "%s", text);
}

bool pd_row_given(const struct pd_row *row, size_t column)
{
    return column < row->column_count && row->given[column];
}

/* The range in words: "-1 to 1", "0 or more", with the reason for it. */
static void describe_range(char *buffer, size_t size, struct pd_range range)
{
    const char *why = range.why != NULL ? range.why : "";
    const char *colon = range.why != NULL ? ": " : "";
    if (isfinite(range.low) && isfinite(range.high))
        snprintf(buffer, size, "%.10g to %.10g%s%s", range.low, range.high, colon, why);
    else if (isfinite(range.low))
        snprintf(buffer, size, "%.10g or more%s%s", range.low, colon, why);
    else if (isfinite(range.high))
        snprintf(buffer, size, "%.10g or less%s%s", range.high, colon, why);
    else
        snprintf(buffer, size, "any number%s%s", colon, why);
}

static bool has_unit_column(const struct pd_row *row)
{
    for (size_t i = 0; i < row->column_count; i++)
        if (strcmp(row->columns[i].name, "unit") == 0)
            return true;
    return false;
}

/* What is most often meant by a number that is none. */
static const char *number_hint(const struct pd_row *row, const char *cell)
{
    const char *after_sign = cell + strspn(cell, "+-");
    const char *rest = after_sign + strspn(after_sign, "0123456789.");
    if (rest == after_sign || *rest == '\0')
        return "";
    if (cell[strspn(cell, "+-0123456789.,' ")] == '\0')
        return "; write it like 1234.5, with a point and without spaces";
    if (strpbrk(rest, "0123456789") == NULL && strcspn(rest, "eE") > 0)
        return has_unit_column(row) ? "; leave the unit out, it has its own column"
                                    : "; leave the unit out, it is in the column's name";
    return "";
}

/* Says what is wrong with a cell that is not a number of the range. */
static void refuse_number(const struct pd_row *row, size_t column, struct pd_range range,
                          struct pd_errors *errors)
{
    const char *cell = pd_row_text(row, column);
    char allowed[200];
    double number;
    describe_range(allowed, sizeof allowed, range);
    if (cell[0] == '\0')
        pd_row_error(row, column, errors, "is empty; a number is needed: %s", allowed);
    else if (!pd_parse_number(cell, &number))
        pd_row_error(row, column, errors, "'%s' is not a number%s", pd_show(cell).text,
                     number_hint(row, cell));
    else
        pd_row_error(row, column, errors, "%s is out of range: %s", pd_show(cell).text, allowed);
}

bool pd_row_number(const struct pd_row *row, size_t column, struct pd_range range, double *value,
                   struct pd_errors *errors)
{
    const char *cell = pd_row_text(row, column);
    double number;
    if (!pd_parse_number(cell, &number) || !(number >= range.low && number <= range.high)) {
        refuse_number(row, column, range, errors);
        return false;
    }
    *value = number;
    return true;
}

bool pd_row_number_or_keep(const struct pd_row *row, size_t column, struct pd_range range,
                           double *value, struct pd_errors *errors)
{
    return !pd_row_has(row, column) || pd_row_number(row, column, range, value, errors);
}

bool pd_row_choice(const struct pd_row *row, size_t column, const char *const choices[],
                   size_t count, size_t *index, struct pd_errors *errors)
{
    const char *cell = pd_row_text(row, column);
    for (size_t i = 0; i < count; i++) {
        if (strcmp(cell, choices[i]) == 0) {
            *index = i;
            return true;
        }
    }
    char list[sizeof errors->kept[0].text];
    pd_list_names(list, sizeof list, choices, count);
    const size_t nearest = pd_nearest(cell, choices, count);
    if (cell[0] == '\0')
        pd_row_error(row, column, errors, "is empty; it must be one of: %s", list);
    else if (nearest < count)
        pd_row_error(row, column, errors, "unknown '%s'; did you mean '%s'? One of: %s",
                     pd_show(cell).text, choices[nearest], list);
    else
        pd_row_error(row, column, errors, "unknown '%s'; it must be one of: %s", pd_show(cell).text,
                     list);
    return false;
}

static bool has_control(const char *text)
{
    struct pd_utf8 state = {0};
    for (; *text != '\0'; text++)
        if (!pd_utf8_step(&state, (unsigned char)*text) ||
            pd_utf8_control(&state, (unsigned char)*text))
            return true;
    return false;
}

const char *pd_row_name(const struct pd_row *row, size_t column, struct pd_errors *errors)
{
    const char *cell = pd_row_text(row, column);
    const size_t length = strlen(cell);
    if (length == 0)
        pd_row_error(row, column, errors, "is empty; a name is needed");
    else if (length > PD_NAME_MAX)
        pd_row_error(row, column, errors, "'%s' is %zu bytes long; a name has at most %d",
                     pd_show(cell).text, length, (int)PD_NAME_MAX);
    else if (has_control(cell))
        pd_row_error(row, column, errors, "'%s' has a line end, tab or other control character",
                     pd_show(cell).text);
    else
        return cell;
    return NULL;
}
