/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include <jansson.h>

#include "report/cautions.h"
#include "report/electrode.h"
#include "report/plain.h"
#include "report/report.h"
#include "table/names.h"

/* Each part returns NULL where memory is short; json_pack and its arrays pass that on. */

static json_t *number(double value)
{
    return isfinite(value) ? json_real(value + 0.0) : json_null(); /* + 0.0: no "-0.0" */
}

static json_t *text(const char *value)
{
    return value[0] != '\0' ? json_string(pd_plain(value).text) : json_null();
}

static json_t *count(size_t value)
{
    return json_integer((json_int_t)value);
}

/* Appends; true goes on. NULL, and the array with it, is let go. */
static bool append(json_t **array, json_t *value)
{
    if (*array == NULL || json_array_append_new(*array, value) != 0) {
        if (*array == NULL)
            json_decref(value);
        json_decref(*array);
        *array = NULL;
    }
    return *array != NULL;
}

static json_t *cautions_array(void)
{
    json_t *array = json_array();
    for (size_t i = 0; i < PD_CAUTIONS && append(&array, text(pd_cautions[i])); i++)
        ;
    return array;
}

static json_t *soil_object(const struct pd_electrode_question *q)
{
    const bool layered = pd_soil_layered(&q->soil);
    return json_pack("{s:o,s:o,s:o,s:o,s:o}", "upper_ohm_m", number(q->soil.upper_ohm_m), "upper_m",
                     number(layered ? q->soil.upper_m : (double)NAN), "lower_ohm_m",
                     number(layered ? q->soil.lower_ohm_m : (double)NAN), "kind",
                     text(q->kind.name), "source", text(q->kind.source));
}

static json_t *survey_object(const struct pd_electrode_question *q)
{
    const struct pd_survey_fit *const fit = &q->survey;
    if (!q->surveyed)
        return json_null();
    return json_pack(
        "{s:s,s:s,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o}", "answer",
        pd_survey_answer_names[fit->answer], "because", fit->why, "uniform_ohm_m",
        number(fit->uniform_ohm_m), "uniform_error", number(fit->uniform_error),
        "uniform_misfit_percent", number(fit->uniform_misfit), "upper_ohm_m",
        number(fit->layered.upper_ohm_m), "upper_m", number(fit->layered.upper_m), "lower_ohm_m",
        number(fit->layered.lower_ohm_m), "upper_error", number(fit->upper_error), "depth_error",
        number(fit->depth_error), "lower_error", number(fit->lower_error), "layered_misfit_percent",
        number(fit->layered_misfit), "f", number(fit->f), "f_needed", number(fit->f_needed));
}

static json_t *figure_object(const struct pd_electrode_figure *figure)
{
    return json_pack("{s:o,s:o,s:o,s:o,s:o}", "handbook_ohm", number(figure->handbook_ohm),
                     "numerical_ohm", number(figure->numerical_ohm), "numerical_error",
                     number(figure->error), "resistance_ohm", number(figure->ohm), "dry_ohm",
                     number(figure->dry_ohm));
}

static json_t *layout_object(const struct pd_layout *layout)
{
    return json_pack("{s:s,s:o,s:o,s:o,s:o,s:b,s:o}", "shape", pd_shape_names[layout->shape],
                     "count", count(layout->count), "length_m", number(layout->length_m),
                     "spacing_m", number(layout->spacing_m), "land_m", number(layout->land_m),
                     "meets", layout->meets, "figure", figure_object(&layout->figure));
}

static json_t *layouts_array(const struct pd_layout *layout, size_t length)
{
    json_t *array = json_array();
    for (size_t i = 0; i < length && append(&array, layout_object(&layout[i])); i++)
        ;
    return array;
}

static json_t *want_object(const struct pd_electrode_answer *answer)
{
    if (isnan(answer->question.want_ohm))
        return json_null();
    return json_pack("{s:o,s:s,s:o,s:o,s:o,s:o}", "want_ohm", number(answer->question.want_ohm),
                     "answer", pd_electrode_practicable_names[answer->practicable], "best",
                     answer->best != PD_NONE ? count(answer->best) : json_null(), "layouts",
                     layouts_array(answer->layout, answer->layout_count), "one_more",
                     layouts_array(answer->ladder, answer->ladder_count), "little_from",
                     answer->little_from > 0 ? count(answer->little_from) : json_null());
}

static json_t *shape_object(const struct pd_electrode_question *q)
{
    const struct pd_formula *const formula = pd_shape_formula(q->shape);
    if (!isnan(q->want_ohm))
        return json_null();
    return json_pack("{s:s,s:o,s:o,s:o,s:o,s:o,s:s,s:s,s:s}", "shape", pd_shape_names[q->shape],
                     "length_m", number(q->size.length_m), "diameter_m", number(q->size.diameter_m),
                     "depth_m", number(q->size.depth_m), "count", count(q->size.count), "spacing_m",
                     number(q->size.spacing_m), "formula", formula->form, "formula_source",
                     formula->source, "formula_range", formula->range);
}

enum pd_status pd_electrode_json(FILE *out, const struct pd_electrode_answer *answer)
{
    const struct pd_electrode_question *const q = &answer->question;
    json_t *const root = json_pack(
        "{s:i,s:s,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o}", "schema", 1, "pendrift",
        pd_version, "answer", text(pd_electrode_headline(answer).text), "cautions",
        cautions_array(), "soil", soil_object(q), "survey", survey_object(q), "season_factor",
        number(q->season.factor), "season", text(pd_electrode_season(answer).text), "shape",
        shape_object(q), "figure", figure_object(&answer->figure), "low_ohm",
        number(answer->low_ohm), "want", want_object(answer), "separation_share",
        number(q->separation_share), "separation_m", number(answer->separation_m));
    if (root == NULL)
        return PD_ERR_MEMORY;
    const int failed = json_dumpf(root, out, JSON_INDENT(2) | JSON_REAL_PRECISION(12));
    json_decref(root);
    fputc('\n', out);
    return failed != 0 || ferror(out) ? PD_ERR_FILE : PD_OK;
}
