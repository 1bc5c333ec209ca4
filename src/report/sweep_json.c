/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include <jansson.h>

#include "report/cautions.h"
#include "report/plain.h"
#include "report/report.h"
#include "report/sweep.h"

/* json_pack takes what it is given, also when it fails, and fails where a part is NULL. */

static json_t *number(double value)
{
    return isfinite(value) ? json_real(value + 0.0) : json_null(); /* + 0.0: no "-0.0" */
}

static json_t *text(const char *value)
{
    return json_string(pd_plain(value).text);
}

static json_t *section(const struct pd_sweep *sweep, size_t which)
{
    return which != PD_NONE ? text(pd_sweep_section(sweep, which)) : json_null();
}

static json_t *values_array(const struct pd_sweep *sweep, const struct pd_sweep_point *point)
{
    json_t *const array = json_array();
    for (size_t i = 0; i < pd_sweep_values(sweep); i++)
        if (json_array_append_new(array, number(point->value[i])) != 0) {
            json_decref(array);
            return NULL;
        }
    return array;
}

static json_t *point_object(const struct pd_sweep *sweep, const struct pd_sweep_point *point)
{
    return json_pack(
        "{s:o,s:o,s:s,s:o,s:s,s:o,s:o,s:o,s:o,s:I,s:I,s:o}", "values", values_array(sweep, point),
        "touch_v", number(point->touch_v), "limit", pd_sweep_judgements[point->touch], "section",
        section(sweep, point->section), "loads", pd_loads_names[point->loads], "supply_v",
        number(point->supply_v), "disconnected_in_time",
        point->touch != PD_OVER ? json_null() : json_boolean(point->disconnected), "unseen_v",
        number(point->unseen_v), "unseen_section", section(sweep, point->unseen_section),
        "scenarios", (json_int_t)point->scenarios, "unsolved", (json_int_t)point->unsolved,
        "residual", number(point->residual));
}

static json_t *quantity_object(const struct pd_sweep *sweep, size_t i)
{
    if (sweep->settings.vary_count == 0)
        return json_pack("{s:o,s:s}", "name", text(pd_sweep_value_name(sweep, i).text), "unit",
                         "kW");
    const struct pd_vary *const vary = &sweep->settings.vary[i];
    return json_pack("{s:o,s:s,s:s,s:o,s:s,s:o,s:o,s:I,s:b}", "name",
                     text(pd_sweep_value_name(sweep, i).text), "unit", pd_vary_unit(vary), "table",
                     vary->at.table, "row", text(vary->at.row), "column", vary->at.column, "from",
                     number(vary->from), "to", number(vary->to), "count", (json_int_t)vary->count,
                     "log", vary->log);
}

static json_t *crossing_object(const struct pd_sweep *sweep,
                               const struct pd_sweep_crossing *crossing)
{
    return json_pack("{s:o,s:o,s:b}", "low", point_object(sweep, &crossing->low), "high",
                     point_object(sweep, &crossing->high), "jumps", crossing->jumps);
}

/* Adds a part to an array; an array that cannot take it is given up. */
static void add(json_t **array, json_t *part)
{
    if (*array != NULL && json_array_append_new(*array, part) == 0)
        return;
    json_decref(*array);
    *array = NULL;
}

static json_t *sweep_object(const struct pd_sweep *sweep)
{
    const struct pd_case *const c = sweep->study_case;
    json_t *cautions = json_array(), *missing = json_array(), *assumed = json_array();
    json_t *quantities = json_array(), *crossings = json_array(), *points = json_array();
    for (size_t i = 0; i < PD_CAUTIONS; i++)
        add(&cautions, text(pd_cautions[i]));
    for (size_t i = 0; i < c->missing.count; i++)
        add(&missing, text(c->missing.text[i]));
    for (size_t i = 0; i < c->assumptions.count; i++)
        add(&assumed, text(c->assumptions.text[i]));
    for (size_t i = 0; i < pd_sweep_values(sweep); i++)
        add(&quantities, quantity_object(sweep, i));
    for (size_t i = 0; i < sweep->crossing_count; i++)
        add(&crossings, crossing_object(sweep, &sweep->crossing[i]));
    for (size_t i = 0; i < sweep->count; i++)
        add(&points, point_object(sweep, &sweep->point[i]));
    return json_pack(
        "{s:i,s:s,s:o,s:o,s:o,s:o,s:o,s:{s:o,s:o,s:o},s:s,s:o,s:o,s:o,s:o,s:{s:I,s:I,s:I,s:I},s:o,"
        "s:o}",
        "schema", 1, "program", "pendrift", "version", text(pd_version), "case", text(c->title),
        "cautions", cautions, "answer", text(pd_sweep_headline(sweep).text), "missing", missing,
        "limits", "set", text(c->limits.set), "touch_v", number(c->limits.touch_v), "status",
        text(c->limits.status), "loads", sweep->settings.all_loads ? "worst" : "present", "method",
        text(pd_sweep_method(sweep).text), "assumptions", assumed, "quantities", quantities,
        "present", sweep->missing ? json_null() : point_object(sweep, &sweep->present), "counts",
        "within", (json_int_t)sweep->within, "over", (json_int_t)sweep->over, "not_determined",
        (json_int_t)sweep->unknown, "unseen", (json_int_t)sweep->unseen, "crossings", crossings,
        "points", points);
}

enum pd_status pd_sweep_json(FILE *out, const struct pd_sweep *sweep)
{
    json_t *const object = sweep_object(sweep);
    if (object == NULL)
        return PD_ERR_MEMORY;
    const int result = json_dumpf(object, out, JSON_INDENT(2) | JSON_REAL_PRECISION(12));
    json_decref(object);
    return result != 0 || fputc('\n', out) == EOF || ferror(out) ? PD_ERR_FILE : PD_OK;
}
