/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cli/commands.h"
#include "cli/finish.h"
#include "cli/output.h"
#include "cli/progress.h"
#include "report/electrode.h"
#include "report/report.h"
#include "table/words.h"

static const double usual_diameter_m = 0.016; /* common practice, no source */

static double number(const struct options *options, enum number which)
{
    return options->number_given[which] ? options->number[which] : (double)NAN;
}

static bool complain(const char *text)
{
    fprintf(stderr, "pendrift: %s\n", text);
    return false;
}

/* "R1,H,R2" */
static bool read_layers(const char *text, struct pd_soil *soil)
{
    char copy[96];
    double value[3];
    snprintf(copy, sizeof copy, "%s", text);
    size_t count = 0;
    char *rest = copy;
    for (char *part; (part = strsep(&rest, ",")) != NULL; count++)
        if (count >= 3 || !pd_parse_number(part, &value[count]))
            count = 4;
    const bool good = count == 3 && value[0] >= pd_soil_least_ohm_m &&
                      value[0] <= pd_soil_most_ohm_m && value[1] >= pd_soil_least_m &&
                      value[1] <= pd_soil_most_m && value[2] >= pd_soil_least_ohm_m &&
                      value[2] <= pd_soil_most_ohm_m;
    *soil = (struct pd_soil){value[0], value[1], value[2]};
    if (!good)
        fprintf(stderr,
                "pendrift: --layers: '%s' is not three numbers: upper ohm-m, its depth in m, lower "
                "ohm-m; %g to %g ohm-m, %g to %g m\n",
                pd_show(text).text, pd_soil_least_ohm_m, pd_soil_most_ohm_m, pd_soil_least_m,
                pd_soil_most_m);
    return good;
}

static bool read_soil(const char *text, struct pd_electrode_question *q, struct pd_errors *errors)
{
    double ohm_m;
    if (!pd_parse_number(text, &ohm_m)) {
        if (pd_soil_kind_find(text, "--soil", &q->kind, errors) != PD_OK)
            return false;
        ohm_m = q->kind.high_ohm_m;
    }
    q->soil = pd_soil_uniform(ohm_m);
    if (ohm_m >= pd_soil_least_ohm_m && ohm_m <= pd_soil_most_ohm_m)
        return true;
    pd_errors_add(errors, PD_ERR_INPUT, "--soil", 0, "", "%s is out of range: %g to %g ohm-m",
                  pd_show(text).text, pd_soil_least_ohm_m, pd_soil_most_ohm_m);
    return false;
}

static bool read_season(const char *text, struct pd_season *season, struct pd_errors *errors)
{
    if (!pd_parse_number(text, &season->factor))
        return pd_season_find(text, "--season", season, errors) == PD_OK;
    if (season->factor >= 1 && season->factor <= 100)
        return true;
    pd_errors_add(errors, PD_ERR_INPUT, "--season", 0, "",
                  "%s is out of range: 1 to 100, dry-season resistance over the present one",
                  pd_show(text).text);
    return false;
}

/* Which sizes the shape has and which it needs; a line for each that is wrong. */
static bool fits_shape(const struct options *options, const struct pd_electrode_question *q)
{
    const bool rods = q->shape == PD_ROD || q->shape == PD_SQUARE;
    const bool solid = q->shape == PD_PLATE || q->shape == PD_FOUNDATION;
    const bool wants = !isnan(q->want_ohm);
    bool fit = true;
    if (wants && (options->shape_given || options->number_given[NUMBER_COUNT]))
        fit = complain("--want: finds the rods itself: leave out --shape and --count");
    if (!wants && isnan(q->size.length_m))
        fit = complain("--length: is needed, m: of rods, wire or strip; the side of a plate or "
                       "foundation; a ring's diameter");
    if (solid && options->number_given[NUMBER_DIAMETER])
        fit = complain("--diameter: this shape has none");
    if (!solid && isnan(q->size.diameter_m))
        fit = complain("--diameter: is needed, mm: of the wire, or a strip's width");
    if (!rods && q->shape != PD_PLATE && isnan(q->size.depth_m))
        fit = complain("--depth: is needed, m: how deep it lies; of a foundation its underside");
    if (!rods && (options->number_given[NUMBER_COUNT] || options->number_given[NUMBER_SPACING]))
        fit = complain("--count, --spacing: are for rods");
    if (rods && q->size.count != 1 && !wants && isnan(q->size.spacing_m))
        fit = complain("--spacing: is needed, m: between rods");
    if (options->number_given[NUMBER_COUNT] &&
        options->number[NUMBER_COUNT] != floor(options->number[NUMBER_COUNT]))
        fit = complain("--count: is not a whole number");
    else if (q->shape == PD_SQUARE && (q->size.count < 4 || q->size.count % 4 != 0))
        fit = complain("--count: rods stand evenly round a square by 4, 8, 12 ...");
    if (!solid && q->size.diameter_m > q->size.length_m / 10)
        fit = complain("--diameter: is more than a tenth of --length: no thin conductor");
    if (q->size.count > 1 && q->size.spacing_m < q->size.diameter_m)
        fit = complain("--spacing: is less than --diameter");
    return fit;
}

static bool read_question(const struct options *options, struct pd_electrode_question *q,
                          struct pd_errors *errors)
{
    const int soils =
        (options->soil != NULL) + (options->layers != NULL) + (options->survey != NULL);
    const bool rods = options->shape == PD_ROD || options->shape == PD_SQUARE;
    const double diameter_mm = number(options, NUMBER_DIAMETER);
    *q = (struct pd_electrode_question){
        .soil = {NAN, NAN, NAN},
        .shape = (enum pd_shape)options->shape,
        .size = {.length_m = number(options, NUMBER_LENGTH),
                 .diameter_m = isnan(diameter_mm) && rods ? usual_diameter_m : diameter_mm / 1000,
                 .depth_m = number(options, NUMBER_DEPTH),
                 .spacing_m = number(options, NUMBER_SPACING),
                 .soil_ohm_m = NAN,
                 .count = options->number_given[NUMBER_COUNT]
                              ? (size_t)options->number[NUMBER_COUNT]
                              : 1},
        .length_given = options->number_given[NUMBER_LENGTH],
        .spacing_given = options->number_given[NUMBER_SPACING],
        .want_ohm = number(options, NUMBER_WANT),
        .season = {.factor = NAN},
        .separation_share = number(options, NUMBER_SEPARATION) / 100};
    bool good = fits_shape(options, q);
    if (soils != 1)
        good = complain("electrode: give one of --soil, --layers, --survey");
    if (options->soil != NULL)
        good &= read_soil(options->soil, q, errors);
    if (options->layers != NULL)
        good &= read_layers(options->layers, &q->soil);
    if (options->season != NULL)
        good &= read_season(options->season, &q->season, errors);
    return good;
}

static enum pd_status read_survey(const char *path, struct pd_electrode_question *q,
                                  struct pd_errors *errors)
{
    struct pd_survey survey = {0};
    enum pd_status status = pd_survey_read(path, path, &survey, errors);
    if (status == PD_OK)
        status = pd_survey_fit(&survey, &q->survey);
    q->surveyed = true;
    q->soil = q->survey.soil;
    pd_survey_free(&survey);
    return status;
}

static enum pd_status write_answer(const struct options *options, FILE *out,
                                   const struct pd_electrode_answer *answer)
{
    switch (options->format) {
    case FORMAT_JSON:
        return pd_electrode_json(out, answer);
    case FORMAT_CSV:
        return pd_electrode_csv(out, answer);
    case FORMAT_SVG:
        return pd_electrode_svg(out, answer, (enum pd_electrode_picture)options->picture);
    case FORMAT_TEXT:
    case FORMAT_HTML: /* not of this command */
    case FORMATS:
        break;
    }
    return pd_electrode_text(out, answer);
}

static int exit_of(const struct pd_electrode_answer *answer)
{
    if (pd_electrode_answer_unknown(answer))
        return EXIT_NOT_DETERMINED;
    return answer->practicable == PD_NOT_PRACTICABLE ? EXIT_NOT_ACCEPTABLE : EXIT_GOOD;
}

/* Writes it and returns the exit status; frees the answer and closes or abandons the output. */
static int deliver(const struct options *options, struct output *output,
                   struct pd_electrode_answer *answer)
{
    const enum pd_status status = write_answer(options, output->file, answer);
    const int result = exit_of(answer);
    pd_electrode_answer_free(&answer);
    return finish(output, status, result);
}

int run_electrode(const struct options *options)
{
    struct pd_errors errors = {0};
    struct pd_electrode_question question;
    struct pd_electrode_answer *answer = NULL;
    struct output output;
    if (!read_question(options, &question, &errors)) {
        pd_report_errors(stderr, &errors);
        return EXIT_USAGE;
    }
    enum pd_status status =
        options->survey != NULL ? read_survey(options->survey, &question, &errors) : PD_OK;
    if (status != PD_OK)
        return refuse(status, &errors);
    if (!output_open(&output, options->output)) /* before the work: its fault shows at once */
        return EXIT_USAGE;
    struct progress progress;
    progress_start(&progress, options->quiet);
    status = pd_electrode_answer(&question, progress_step, &progress, &answer);
    progress_end(&progress);
    if (status == PD_OK)
        return deliver(options, &output, answer);
    output_abandon(&output);
    if (status != PD_ERR_ARGUMENT)
        return give_up(status);
    complain("electrode: no such electrode can be laid: conductors touch or lie in one another, or "
             "there are too many");
    return EXIT_USAGE;
}
