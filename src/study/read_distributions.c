/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "study/case_files.h"
#include "study/distribution.h"
#include "table/column.h"
#include "table/grow.h"
#include "table/words.h"

enum column {
    TABLE,
    ROW,
    COLUMN,
    KIND,
    LOW,
    HIGH,
    MEAN,
    DEVIATION,
    MEDIAN,
    SPREAD,
    VALUES,
    WEIGHTS,
    FILE_NAME,
    DATA_COLUMN,
    COLUMNS
};

static const struct pd_column columns[COLUMNS] = {
    [TABLE] = {"table", true},     [ROW] = {"row", true},
    [COLUMN] = {"column", true},   [KIND] = {"distribution", true},
    [LOW] = {"low", false},        [HIGH] = {"high", false},
    [MEAN] = {"mean", false},      [DEVIATION] = {"deviation", false},
    [MEDIAN] = {"median", false},  [SPREAD] = {"spread", false},
    [VALUES] = {"values", false},  [WEIGHTS] = {"weights", false},
    [FILE_NAME] = {"file", false}, [DATA_COLUMN] = {"data_column", false},
};

/* The columns that each uses. */
#define BIT(column) (1u << (column))
static const unsigned used[PD_SPREADS] = {
    [PD_SPREAD_FIXED] = BIT(VALUES),
    [PD_SPREAD_UNIFORM] = BIT(LOW) | BIT(HIGH),
    [PD_SPREAD_NORMAL] = BIT(LOW) | BIT(HIGH) | BIT(MEAN) | BIT(DEVIATION),
    [PD_SPREAD_LOGNORMAL] = BIT(LOW) | BIT(HIGH) | BIT(MEDIAN) | BIT(SPREAD),
    [PD_SPREAD_DISCRETE] = BIT(VALUES) | BIT(WEIGHTS),
    [PD_SPREAD_DATA] = BIT(FILE_NAME) | BIT(DATA_COLUMN),
};

struct reading {
    const char *folder;
    struct pd_spread_rows *rows;
};

static bool check_used(const struct pd_row *row, enum pd_distribution_kind kind,
                       struct pd_errors *errors)
{
    bool good = true;
    for (enum column c = LOW; c < COLUMNS; c++)
        if (pd_row_has(row, c) && (used[kind] & BIT(c)) == 0) {
            pd_row_error(row, c, errors, "a %s distribution does not use it; leave it empty",
                         pd_spread_names[kind]);
            good = false;
        }
    return good;
}

static const struct pd_range any = {-1e9, 1e9, NULL};
static const struct pd_range positive = {1e-9, 1e9, NULL};

static bool read_ends(const struct pd_row *row, struct pd_distribution *d, struct pd_errors *errors)
{
    bool good = pd_row_number(row, LOW, any, &d->low, errors);
    good &= pd_row_number(row, HIGH, any, &d->high, errors);
    if (!good || d->low < d->high)
        return good;
    pd_row_error(row, LOW, errors, "%s is not below high %s", pd_show(pd_row_text(row, LOW)).text,
                 pd_show(pd_row_text(row, HIGH)).text);
    return false;
}

static bool read_curve(const struct pd_row *row, struct pd_distribution *d,
                       struct pd_errors *errors)
{
    const bool normal = d->kind == PD_SPREAD_NORMAL;
    bool good = read_ends(row, d, errors);
    good &= pd_row_number(row, normal ? MEAN : MEDIAN, normal ? any : positive, &d->centre, errors);
    good &= pd_row_number(row, normal ? DEVIATION : SPREAD,
                          normal ? positive
                                 : (struct pd_range){1.0001, 1000,
                                                     "the deviation as a factor, 2 for a half to "
                                                     "double"},
                          &d->wide, errors);
    if (!good || pd_distribution_cut(d))
        return good;
    pd_row_error(row, LOW, errors, "between low and high lies next to nothing of the curve");
    return false;
}

/* Numbers with ';' between them into an array of the caller's; 0, with an error, where they are
 * none. */
enum { LIST_MAX = 256 };
static size_t read_list(const struct pd_row *row, enum column column, double number[LIST_MAX],
                        struct pd_errors *errors)
{
    char cell[4096];
    size_t count = 0;
    char *rest = cell;
    snprintf(cell, sizeof cell, "%s", pd_row_text(row, column));
    for (char *word; (word = strsep(&rest, ";")) != NULL; count++) {
        word += strspn(word, " ");
        word[strcspn(word, " ")] = '\0';
        if (count == LIST_MAX || !pd_parse_number(word, &number[count])) {
            pd_row_error(row, column, errors,
                         "'%s' is not a number; write numbers with ';' between them, at most %d",
                         pd_show(word).text, (int)LIST_MAX);
            return 0;
        }
    }
    return count;
}

static int by_size(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return x < y ? -1 : x > y;
}

struct pair {
    double value, weight;
};

static enum pd_status keep_pairs(struct pair *pair, size_t count, struct pd_distribution *d)
{
    double sum = 0, so_far = 0;
    qsort(pair, count, sizeof *pair, by_size); /* the value comes first in a pair */
    d->value = calloc(count, sizeof *d->value);
    d->up_to = calloc(count, sizeof *d->up_to);
    if (d->value == NULL || d->up_to == NULL)
        return PD_ERR_MEMORY;
    for (size_t i = 0; i < count; i++)
        sum += pair[i].weight;
    for (size_t i = 0; i < count; i++) {
        so_far += pair[i].weight;
        d->value[i] = pair[i].value;
        d->up_to[i] = so_far / sum;
    }
    d->count = count;
    d->low = d->value[0];
    d->high = d->value[count - 1];
    return PD_OK;
}

static enum pd_status read_discrete(const struct pd_row *row, struct pd_distribution *d,
                                    struct pd_errors *errors)
{
    double value[LIST_MAX], weight[LIST_MAX], sum = 0;
    struct pair pair[LIST_MAX];
    const size_t count = read_list(row, VALUES, value, errors);
    const size_t weights = pd_row_has(row, WEIGHTS) ? read_list(row, WEIGHTS, weight, errors) : 0;
    if (count == 0 || (pd_row_has(row, WEIGHTS) && weights == 0))
        return PD_ERR_INPUT;
    if (d->kind == PD_SPREAD_FIXED) {
        d->low = d->high = value[0];
        return count == 1
                   ? PD_OK
                   : pd_row_error(row, VALUES, errors, "has %zu values; fixed is one", count);
    }
    if (weights > 0 && weights != count)
        return pd_row_error(row, WEIGHTS, errors, "has %zu weights for %zu values", weights, count);
    for (size_t i = 0; i < count; i++) {
        pair[i] = (struct pair){value[i], weights > 0 ? weight[i] : 1};
        sum += pair[i].weight;
        if (!(pair[i].weight >= 0))
            return pd_row_error(row, WEIGHTS, errors, "%g is below 0", pair[i].weight);
    }
    if (!(sum > 0))
        return pd_row_error(row, WEIGHTS, errors, "add up to 0");
    return keep_pairs(pair, count, d);
}

static enum pd_status read_data(const struct pd_row *row, const struct reading *reading,
                                struct pd_distribution *d, struct pd_errors *errors)
{
    char path[PD_PATH_MAX];
    const char *const file = pd_row_name(row, FILE_NAME, errors);
    const char *const column = pd_row_name(row, DATA_COLUMN, errors);
    if (file == NULL || column == NULL)
        return PD_ERR_INPUT;
    if (file[0] == '/')
        snprintf(path, sizeof path, "%s", file);
    else
        pd_case_path(reading->folder, file, path);
    const enum pd_status status = pd_column_read(path, file, column, &d->value, &d->count, errors);
    if (status != PD_OK)
        return status == PD_ERR_FILE ? PD_ERR_INPUT : status; /* the other rows are read too */
    qsort(d->value, d->count, sizeof *d->value, by_size);
    d->low = d->value[0];
    d->high = d->value[d->count - 1];
    return PD_OK;
}

static enum pd_status read_distribution(const struct pd_row *row, const struct reading *reading,
                                        struct pd_distribution *d, struct pd_errors *errors)
{
    size_t kind;
    if (!pd_row_choice(row, KIND, pd_spread_names, PD_SPREADS, &kind, errors))
        return PD_ERR_INPUT;
    d->kind = (enum pd_distribution_kind)kind;
    if (!check_used(row, d->kind, errors))
        return PD_ERR_INPUT;
    switch (d->kind) {
    case PD_SPREAD_FIXED:
    case PD_SPREAD_DISCRETE:
        return read_discrete(row, d, errors);
    case PD_SPREAD_UNIFORM:
        return read_ends(row, d, errors) ? PD_OK : PD_ERR_INPUT;
    case PD_SPREAD_NORMAL:
    case PD_SPREAD_LOGNORMAL:
        return read_curve(row, d, errors) ? PD_OK : PD_ERR_INPUT;
    case PD_SPREAD_DATA:
        break;
    }
    return read_data(row, reading, d, errors);
}

static bool read_address(const struct pd_row *row, struct pd_address *at, struct pd_errors *errors)
{
    const char *const table = pd_row_name(row, TABLE, errors);
    const char *const name = pd_row_name(row, ROW, errors);
    const char *const column = pd_row_name(row, COLUMN, errors);
    if (table == NULL || name == NULL || column == NULL)
        return false;
    const size_t length = strlen(table);
    const bool whole = length > 4 && strcmp(table + length - 4, ".csv") == 0;
    const size_t stem = whole ? length - 4 : length;
    snprintf(at->table, sizeof at->table, "%.*s.csv", stem < 27 ? (int)stem : 27, table);
    snprintf(at->row, sizeof at->row, "%s", name);
    snprintf(at->column, sizeof at->column, "%.31s", column);
    return true;
}

static bool is_same(const struct pd_address *a, const struct pd_address *b)
{
    return strcmp(a->table, b->table) == 0 && strcmp(a->row, b->row) == 0 &&
           strcmp(a->column, b->column) == 0;
}

static enum pd_status append(struct pd_spread_rows *rows, const struct pd_spread_row *one)
{
    struct pd_spread_row *const larger = pd_grow(rows->row, rows->count, sizeof *larger);
    if (larger == NULL)
        return PD_ERR_MEMORY;
    rows->row = larger;
    rows->row[rows->count++] = *one;
    return PD_OK;
}

static enum pd_status read_row(const struct pd_row *row, void *context, struct pd_errors *errors)
{
    const struct reading *const reading = context;
    struct pd_spread_row one = {.line = row->line};
    const bool addressed = read_address(row, &one.at, errors);
    enum pd_status status = read_distribution(row, reading, &one.distribution, errors);
    if (status == PD_OK && !addressed)
        status = PD_ERR_INPUT;
    for (size_t i = 0; i < reading->rows->count && status == PD_OK; i++)
        if (is_same(&reading->rows->row[i].at, &one.at))
            status = pd_row_error(row, ROW, errors, "'%s' already has a distribution, of line %zu",
                                  one.at.row, reading->rows->row[i].line);
    if (status == PD_OK)
        status = append(reading->rows, &one);
    if (status != PD_OK)
        pd_distribution_free(&one.distribution);
    return status;
}

enum pd_status pd_spread_rows_read(const char *folder, struct pd_spread_rows *rows,
                                   struct pd_errors *errors)
{
    char path[PD_PATH_MAX];
    struct reading reading = {folder, rows};
    pd_case_path(folder, "distributions.csv", path);
    return pd_table_read(path, "distributions.csv", columns, COLUMNS, read_row, &reading, errors);
}
