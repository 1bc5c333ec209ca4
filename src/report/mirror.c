/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/mirror.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct pd_mirror_path pd_mirror_path(const char *format, ...)
{
    struct pd_mirror_path path;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(path.text, sizeof path.text, format, arguments);
    va_end(arguments);
    return path;
}

/* One step of a path off *rest: a key, or a number in brackets. */
static const json_t *step(const json_t *value, const char **rest)
{
    char key[64];
    if (**rest == '[') {
        char *end = NULL;
        const size_t index = strtoul(*rest + 1, &end, 10);
        *rest = *end == ']' ? end + 1 : end;
        return json_array_get(value, index);
    }
    *rest += **rest == '.';
    const size_t length = strcspn(*rest, ".[");
    snprintf(key, sizeof key, "%.*s", (int)length, *rest);
    *rest += length;
    return json_object_get(value, key);
}

const json_t *pd_mirror_at(const struct pd_mirror *mirror, const char *path)
{
    const json_t *value = mirror->root;
    for (const char *rest = path; *rest != '\0' && value != NULL;)
        value = step(value, &rest);
    return json_is_null(value) ? NULL : value;
}

const char *pd_mirror_string(const struct pd_mirror *mirror, const char *path)
{
    return json_string_value(pd_mirror_at(mirror, path));
}

double pd_mirror_number(const struct pd_mirror *mirror, const char *path)
{
    const json_t *const value = pd_mirror_at(mirror, path);
    return json_is_number(value) ? json_number_value(value) : (double)NAN;
}

size_t pd_mirror_length(const struct pd_mirror *mirror, const char *path)
{
    return json_array_size(pd_mirror_at(mirror, path));
}

bool pd_mirror_true(const struct pd_mirror *mirror, const char *path)
{
    return json_is_true(pd_mirror_at(mirror, path));
}

/* How figures are read, by the end of their key; the first that fits. */
enum reading { AS_IT_IS, TENTHS, TENTHS_UP, OHMS, OHMS_MOST, MILLI, WHOLE, POWER_OF_TEN };
struct kind {
    const char *end, *unit;
    enum reading reading;
};
static const struct kind kinds[] = {
    {"bound_v", "V", TENTHS_UP},
    {"_v", "V", TENTHS},
    {"body_a", "mA", MILLI},
    {"heart_a", "mA", MILLI},
    {"prospective_a", "mA", MILLI},
    {"rcd_a", "mA", MILLI},
    {"_a", "A", TENTHS},
    {"max_ohm", "ohm", OHMS_MOST},
    {"most_ohm", "ohm", OHMS_MOST},
    {"most_now_ohm", "ohm", OHMS_MOST},
    {"divider_ohm", "ohm", OHMS_MOST},
    {"annex_ohm", "ohm", OHMS_MOST},
    {"_ohm", "ohm", OHMS},
    {"_s", "s", AS_IT_IS},
    {"_w", "W", WHOLE},
    {"_ohm_m", "ohm m", AS_IT_IS},
    {"_m", "m", AS_IT_IS},
    {"residual", "", POWER_OF_TEN},
};
enum { KINDS = sizeof kinds / sizeof kinds[0] };

/* An item of an array is read as the array's key says. */
static struct kind kind_of(const char *key)
{
    size_t length = strlen(key);
    if (length > 0 && key[length - 1] == ']')
        length = (size_t)(strrchr(key, '[') - key);
    for (size_t i = 0; i < KINDS; i++) {
        const size_t end = strlen(kinds[i].end);
        if (length >= end && strncmp(key + length - end, kinds[i].end, end) == 0)
            return kinds[i];
    }
    return (struct kind){"", "", AS_IT_IS};
}

static struct pd_figure written(const char *format, double value)
{
    struct pd_figure figure;
    snprintf(figure.text, sizeof figure.text, format, value); /* NOLINT: one of the two below */
    return figure;
}

struct pd_figure pd_mirror_shown(const char *key, double value)
{
    switch (kind_of(key).reading) {
    case TENTHS:
        return pd_figure(value, 1);
    case TENTHS_UP:
        return pd_figure(ceil(value * 10 - 1e-6) / 10, 1);
    case OHMS:
        return pd_figure_ohm(value);
    case OHMS_MOST:
        return pd_figure_ohm_most(value);
    case MILLI:
        return pd_figure(1000 * value, fabs(value) < 0.01 ? 1 : 0);
    case WHOLE:
        return pd_figure(value, 0);
    case POWER_OF_TEN:
        return written("%.1e", value);
    case AS_IT_IS:
        break;
    }
    return written("%.6g", value);
}

const char *pd_mirror_unit(const char *key)
{
    return kind_of(key).unit;
}

static void figure(struct pd_mirror *m, const char *path, const char *absent, bool with_unit)
{
    const double value = pd_mirror_number(m, path);
    const char *const unit = with_unit ? pd_mirror_unit(path) : "";
    char shown[64];
    if (!isfinite(value)) {
        pd_html_text(&m->html, absent != NULL ? absent : "not determined");
        return;
    }
    /* The blank before the unit does not break. */
    snprintf(shown, sizeof shown, "%s%s%s", pd_mirror_shown(path, value).text,
             unit[0] != '\0' ? "\xc2\xa0" : "", unit);
    pd_html_figure(&m->html, path, value, shown);
}

void pd_mirror_figure(struct pd_mirror *m, const char *path, const char *absent)
{
    figure(m, path, absent, false);
}

void pd_mirror_quantity(struct pd_mirror *m, const char *path, const char *absent)
{
    figure(m, path, absent, true);
}

void pd_mirror_list(struct pd_mirror *m, const char *path)
{
    const size_t count = pd_mirror_length(m, path);
    if (count == 0)
        return;
    pd_html_list(&m->html);
    for (size_t i = 0; i < count; i++) {
        const char *const text = pd_mirror_string(m, pd_mirror_path("%s[%zu]", path, i).text);
        pd_html_item(&m->html, text != NULL ? text : "");
    }
    pd_html_list_end(&m->html);
}

/* What stands at a path, whatever it is. */
static void put_value(struct pd_mirror *m, const char *path, const char *absent, bool with_unit)
{
    const json_t *const value = pd_mirror_at(m, path);
    if (json_is_number(value))
        figure(m, path, absent, with_unit);
    else if (json_is_boolean(value))
        pd_html_text(&m->html, json_is_true(value) ? "yes" : "no");
    else
        pd_html_text(&m->html, json_is_string(value) ? json_string_value(value) : absent);
}

void pd_mirror_properties(struct pd_mirror *m, const char *caption, const struct pd_mirror_row *row,
                          size_t count)
{
    static const char *const headings[] = {"What", "Value"};
    pd_html_table(&m->html, caption, headings, 2);
    for (size_t i = 0; i < count; i++) {
        if (pd_mirror_at(m, row[i].path) == NULL && row[i].absent == NULL)
            continue;
        pd_html_row(&m->html);
        pd_html_row_head(&m->html, row[i].heading);
        pd_html_cell_begin(&m->html, false);
        put_value(m, row[i].path, row[i].absent, true);
        pd_html_cell_end(&m->html);
        pd_html_row_end(&m->html);
    }
    pd_html_table_end(&m->html);
}

static struct pd_mirror_path cell_path(const struct pd_mirror_items *items, size_t i,
                                       const struct pd_mirror_column *column)
{
    const size_t item = items->item != NULL ? items->item[i] : i;
    return pd_mirror_path("%s[%zu].%s", items->path, item, column->key);
}

/* Whether the row has what the column waits for. */
static bool waits(const struct pd_mirror *m, const struct pd_mirror_items *items, size_t i,
                  const struct pd_mirror_column *column)
{
    const struct pd_mirror_column other = {.key = column->when};
    if (column->when == NULL)
        return false;
    const json_t *const value = pd_mirror_at(m, cell_path(items, i, &other).text);
    return value == NULL || json_is_false(value);
}

static bool has_any(const struct pd_mirror *m, const struct pd_mirror_items *items,
                    const struct pd_mirror_column *column)
{
    for (size_t i = 0; i < items->count; i++)
        if (!waits(m, items, i, column) &&
            pd_mirror_at(m, cell_path(items, i, column).text) != NULL)
            return true;
    return false;
}

static void put_row(struct pd_mirror *m, const struct pd_mirror_items *items, size_t i,
                    const struct pd_mirror_column *const *column, size_t columns)
{
    pd_html_row(&m->html);
    for (size_t k = 0; k < columns; k++) {
        const char *const absent = column[k]->absent != NULL ? column[k]->absent : "-";
        const struct pd_mirror_path path = cell_path(items, i, column[k]);
        const char *const text = pd_mirror_string(m, path.text);
        if (k == 0) {
            pd_html_row_head(&m->html, text != NULL ? text : absent);
            continue;
        }
        if (text != NULL) {
            pd_html_cell(&m->html, text);
            continue;
        }
        pd_html_cell_begin(&m->html, column[k]->heading[0] == '>');
        if (waits(m, items, i, column[k]))
            pd_html_text(&m->html, "-");
        else
            put_value(m, path.text, absent, false);
        pd_html_cell_end(&m->html);
    }
    pd_html_row_end(&m->html);
}

void pd_mirror_table(struct pd_mirror *m, const char *caption, const struct pd_mirror_items *items,
                     const struct pd_mirror_column *column, size_t columns)
{
    enum { COLUMNS_MOST = 24 };
    const struct pd_mirror_column *shown[COLUMNS_MOST];
    const char *heading[COLUMNS_MOST];
    size_t count = 0;
    if (items->count == 0)
        return;
    for (size_t k = 0; k < columns && count < COLUMNS_MOST; k++)
        if (k == 0 || has_any(m, items, &column[k])) {
            shown[count] = &column[k];
            heading[count++] = column[k].heading;
        }
    pd_html_table(&m->html, caption, heading, count);
    for (size_t i = 0; i < items->count; i++)
        put_row(m, items, i, shown, count);
    pd_html_table_end(&m->html);
}
