/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "limits/limits.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "table/reference.h"
#include "table/table.h"

enum column {
    SET,
    NOMINAL,
    TOUCH,
    BAND_LOW,
    BAND_HIGH,
    TIME,
    SUPPLY_LOW,
    SUPPLY_HIGH,
    RCD,
    ROUTES,
    STATUS,
    SOURCE,
    CHECKED,
    COLUMNS
};

static const struct pd_column columns[COLUMNS] = {
    [SET] = {"set", true},
    [NOMINAL] = {"nominal_v", true},
    [TOUCH] = {"touch_v", true},
    [BAND_LOW] = {"band_low_v", true},
    [BAND_HIGH] = {"band_high_v", true},
    [TIME] = {"time_s", true},
    [SUPPLY_LOW] = {"supply_low_v", true},
    [SUPPLY_HIGH] = {"supply_high_v", true},
    [RCD] = {"rcd_ma", true},
    [ROUTES] = {"routes", true},
    [STATUS] = {"status", true},
    [SOURCE] = {"source", true},
    [CHECKED] = {"checked", true},
};

struct walk {
    pd_limits_function *function;
    void *context;
    bool stopped;
};

static double number_or_nan(const struct pd_row *row, enum column column, struct pd_errors *errors)
{
    double value = NAN;
    pd_row_number_or_keep(row, column, (struct pd_range){0, 1e6, NULL}, &value, errors);
    return value;
}

static unsigned routes_of(const char *text)
{
    unsigned routes = 0;
    for (; *text != '\0'; text++)
        if (*text >= '1' && *text <= '0' + PD_ROUTES)
            routes |= 1u << (*text - '0');
    return routes;
}

static enum pd_status read_set(const struct pd_row *row, void *context, struct pd_errors *errors)
{
    struct walk *const walk = context;
    if (walk->stopped)
        return PD_OK;
    struct pd_limits limits = {
        .nominal_v = number_or_nan(row, NOMINAL, errors),
        .touch_v = number_or_nan(row, TOUCH, errors),
        .band_low_v = number_or_nan(row, BAND_LOW, errors),
        .band_high_v = number_or_nan(row, BAND_HIGH, errors),
        .time_s = number_or_nan(row, TIME, errors),
        .supply_low_v = number_or_nan(row, SUPPLY_LOW, errors),
        .supply_high_v = number_or_nan(row, SUPPLY_HIGH, errors),
        .rcd_a = number_or_nan(row, RCD, errors) / 1000,
        .routes = routes_of(pd_row_text(row, ROUTES)),
    };
    snprintf(limits.set, sizeof limits.set, "%s", pd_row_text(row, SET));
    snprintf(limits.status, sizeof limits.status, "%s", pd_row_text(row, STATUS));
    snprintf(limits.source, sizeof limits.source, "%s", pd_row_text(row, SOURCE));
    snprintf(limits.checked, sizeof limits.checked, "%s", pd_row_text(row, CHECKED));
    walk->stopped = !walk->function(&limits, walk->context);
    return PD_OK;
}

enum pd_status pd_limits_each(pd_limits_function *function, void *context, struct pd_errors *errors)
{
    struct walk walk = {.function = function, .context = context};
    return pd_table_read_text(pd_reference_limits, pd_reference_limits_length,
                              "reference/limits.csv", columns, COLUMNS, read_set, &walk, errors);
}

enum { SETS_MAX = 64 };

struct search {
    const char *set;
    struct pd_limits *found;
    bool hit;
    char names[SETS_MAX][64];
    size_t count;
};

static bool compare_set(const struct pd_limits *limits, void *context)
{
    struct search *const search = context;
    if (search->count < SETS_MAX)
        memcpy(search->names[search->count++], limits->set, sizeof limits->set);
    search->hit = strcmp(limits->set, search->set) == 0;
    if (search->hit)
        *search->found = *limits;
    return !search->hit;
}

enum pd_status pd_limits_find(const char *set, struct pd_limits *limits, char nearest[64])
{
    struct search search = {.set = set, .found = limits};
    const enum pd_status status = pd_limits_each(compare_set, &search, NULL);
    if (status != PD_OK || search.hit)
        return status;
    if (nearest != NULL) {
        const char *names[SETS_MAX];
        for (size_t i = 0; i < search.count; i++)
            names[i] = search.names[i];
        const size_t near = pd_nearest(set, names, search.count);
        snprintf(nearest, 64, "%s", near < search.count ? names[near] : "");
    }
    return PD_ERR_INPUT;
}

enum pd_judgement pd_judge(double value, double limit)
{
    if (!isfinite(value) || !isfinite(limit))
        return PD_UNKNOWN;
    return value <= limit ? PD_WITHIN : PD_OVER;
}

double pd_electrode_formula(double nominal_v, double current_a, double limit_v, double factor)
{
    if (!(nominal_v > 0 && current_a >= 0 && limit_v > 0 && factor > 0) || !isfinite(nominal_v) ||
        !isfinite(current_a) || !isfinite(limit_v) || !isfinite(factor))
        return NAN;
    if (factor * nominal_v <= limit_v || current_a == 0)
        return INFINITY;
    return limit_v * nominal_v / (current_a * (factor * nominal_v - limit_v));
}
