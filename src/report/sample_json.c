/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include <jansson.h>

#include "report/cautions.h"
#include "report/plain.h"
#include "report/report.h"
#include "report/sample.h"

/* json_pack takes what it is given, also when it fails, and fails where a part is NULL. */

static json_t *number(double value)
{
    return isfinite(value) ? json_real(value + 0.0) : json_null(); /* + 0.0: no "-0.0" */
}

static json_t *text(const char *value)
{
    return json_string(pd_plain(value).text);
}

/* Adds a part to an array; an array that cannot take it is given up. */
static void add(json_t **array, json_t *part)
{
    if (*array != NULL && json_array_append_new(*array, part) == 0)
        return;
    json_decref(*array);
    *array = NULL;
}

static json_t *estimate_object(const struct pd_estimate *e)
{
    return json_pack("{s:o,s:o,s:o}", "value", number(e->value), "low", number(e->low), "high",
                     number(e->high));
}

static json_t *odds_object(const struct pd_sample_odds *odds)
{
    return json_pack("{s:o,s:o,s:o,s:o,s:o,s:I,s:I}", "over_limit", estimate_object(&odds->over),
                     "over_limit_unseen", estimate_object(&odds->unseen), "not_determined",
                     estimate_object(&odds->unknown), "mean_v", estimate_object(&odds->mean_v),
                     "largest_v", number(odds->largest_v), "trials_over_limit",
                     (json_int_t)odds->over_trials, "trials_over_limit_unseen",
                     (json_int_t)odds->unseen_trials);
}

static json_t *breaks_array(const struct pd_sample *sample)
{
    json_t *array = json_array();
    for (size_t i = 0; i < sample->break_count; i++)
        add(&array,
            json_pack("{s:o,s:o,s:o}", "section",
                      text(sample->study_case->network->node[sample->at[i].section].section),
                      "share", number(sample->at[i].share), "odds",
                      odds_object(&sample->at[i].odds)));
    return array;
}

static json_t *quantiles_array(const struct pd_sample *sample)
{
    json_t *array = json_array();
    for (size_t i = 0; i < PD_QUANTILES; i++)
        add(&array, json_pack("{s:f,s:o}", "part_below", pd_quantile_levels[i], "touch_v",
                              estimate_object(&sample->quantile_v[i])));
    return array;
}

static json_t *histogram_object(const struct pd_sample *sample)
{
    json_t *array = json_array();
    for (size_t i = 0; i < PD_BARS; i++)
        add(&array, number(sample->bar[i]));
    return json_pack("{s:o,s:o,s:o}", "bar_v", number(sample->bar_v), "shares", array, "beyond",
                     number(sample->beyond));
}

static json_t *drawn_array(const struct pd_sample *sample)
{
    json_t *array = json_array();
    for (size_t i = 0; i < sample->dimensions; i++) {
        const struct pd_sample_drawn *const drawn = &sample->drawn[i];
        add(&array, json_pack("{s:o,s:s,s:o,s:b}", "number", text(drawn->name), "distribution",
                              pd_spread_names[drawn->distribution.kind], "words",
                              text(pd_sample_spread(&drawn->distribution).text), "declared",
                              drawn->declared));
    }
    return array;
}

static json_t *notes_array(const struct pd_notes *notes)
{
    json_t *array = json_array();
    for (size_t i = 0; i < notes->count; i++)
        add(&array, text(notes->text[i]));
    return array;
}

static json_t *sample_object(const struct pd_sample *sample)
{
    const struct pd_case *const c = sample->study_case;
    const struct pd_sample_settings *const s = &sample->settings;
    json_t *cautions = json_array();
    for (size_t i = 0; i < PD_CAUTIONS; i++)
        add(&cautions, text(pd_cautions[i]));
    return json_pack(
        "{s:i,s:s,s:o,s:o,s:o,s:o,s:o,s:o,s:{s:o,s:o,s:o},s:{s:I,s:I,s:I,s:I,s:I},s:[o,o,o,o],s:o,"
        "s:o,s:o,s:o,s:o,s:o}",
        "schema", 1, "program", "pendrift", "version", text(pd_version), "case", text(c->title),
        "cautions", cautions, "answer", text(pd_sample_headline(sample).text), "missing",
        notes_array(&c->missing), "doubts", notes_array(&sample->doubts), "limits", "set",
        text(c->limits.set), "touch_v", number(c->limits.touch_v), "status", text(c->limits.status),
        "settings", "trials", (json_int_t)s->trials, "seed", (json_int_t)s->seed, "replicates",
        (json_int_t)s->replicates, "dimensions", (json_int_t)sample->dimensions, "sobol_dimensions",
        (json_int_t)sample->sobol, "notes", text(pd_sample_method(sample).text),
        text(pd_sample_breaks(sample).text), text(pd_sample_given_note), text(pd_sample_alone_note),
        "odds", sample->missing ? json_null() : odds_object(&sample->odds), "quantiles",
        sample->missing ? json_array() : quantiles_array(sample), "histogram",
        sample->missing ? json_null() : histogram_object(sample), "breaks", breaks_array(sample),
        "drawn", drawn_array(sample), "assumptions", notes_array(&c->assumptions));
}

enum pd_status pd_sample_json(FILE *out, const struct pd_sample *sample)
{
    json_t *const object = sample_object(sample);
    if (object == NULL)
        return PD_ERR_MEMORY;
    const int result = json_dumpf(object, out, JSON_INDENT(2) | JSON_REAL_PRECISION(12));
    json_decref(object);
    return result != 0 || fputc('\n', out) == EOF || ferror(out) ? PD_ERR_FILE : PD_OK;
}
