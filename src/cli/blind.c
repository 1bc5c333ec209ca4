/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>

#include "cli/commands.h"
#include "cli/finish.h"
#include "cli/output.h"
#include "cli/progress.h"
#include "report/blind.h"
#include "report/report.h"

static enum pd_status write_blind(const struct options *options, FILE *out,
                                  const struct pd_blind *blind)
{
    switch (options->format) {
    case FORMAT_JSON:
        return pd_blind_json(out, blind);
    case FORMAT_CSV:
        return pd_blind_csv(out, blind);
    case FORMAT_SVG:
        return pd_blind_svg(out, blind);
    case FORMAT_TEXT:
    case FORMAT_HTML: /* not of this command */
    case FORMATS:
        break;
    }
    return pd_blind_text(out, blind);
}

/* Writes it and returns the exit status; frees the answer and closes or abandons the output. */
static int deliver(const struct options *options, struct output *output, struct pd_blind *blind)
{
    const enum pd_status status = write_blind(options, output->file, blind);
    const int answer = pd_blind_unknown(blind) ? EXIT_NOT_DETERMINED : EXIT_GOOD;
    pd_blind_free(&blind);
    return finish(output, status, answer);
}

static int of_case(const struct options *options)
{
    struct pd_case *study_case = NULL;
    int result = open_case(options->operands[1], &study_case);
    if (result != EXIT_GOOD)
        return result;
    struct output output;
    result = EXIT_USAGE;
    if (output_open(&output, options->output)) {
        struct pd_blind *blind = NULL;
        struct progress progress;
        progress_start(&progress, options->quiet);
        const enum pd_status status = pd_blind_case(study_case, progress_step, &progress, &blind);
        progress_end(&progress);
        if (status == PD_OK) {
            result = deliver(options, &output, blind);
        } else {
            output_abandon(&output);
            result = give_up(status);
        }
    }
    pd_case_free(&study_case);
    return result;
}

static double volts(const struct options *options, enum number number)
{
    return options->number_given[number] ? options->number[number] : (double)NAN;
}

static bool complain(const char *text)
{
    fprintf(stderr, "pendrift: %s\n", text);
    return false;
}

/* What does not go together, in one line each. */
static bool fits(const struct options *options, const struct pd_blind_alone *alone)
{
    const enum pd_sense senses = alone->detector.senses;
    const bool band = senses == PD_SENSE_LINE || senses == PD_SENSE_LINES;
    bool fit = true;
    if (band && options->number_given[NUMBER_LIMIT])
        fit = complain("--limit: a device that watches a band has --low and --high");
    if (!band && (options->number_given[NUMBER_LOW] || options->number_given[NUMBER_HIGH]))
        fit = complain("--low, --high: this device has one threshold: --limit");
    if (!band && !options->number_given[NUMBER_LIMIT])
        fit = complain("--limit: is needed: the voltage at which the device acts");
    if (alone->detector.low_v >= alone->detector.high_v)
        fit = complain("--low: is not below --high");
    if (alone->low_v > alone->high_v)
        fit = complain("--supply-low: is above --supply-high");
    if (senses != PD_SENSE_LINE && senses != PD_SENSE_PE && alone->system != PD_THREE_PHASE)
        fit = complain("--system: this device needs the three lines of a three-phase supply");
    return fit;
}

static int of_detector(const struct options *options)
{
    struct pd_blind_alone alone = {
        .detector = {.senses = (enum pd_sense)options->senses,
                     .low_v = volts(options, NUMBER_LOW),
                     .high_v = volts(options, NUMBER_HIGH),
                     .limit_v = volts(options, NUMBER_LIMIT),
                     .tolerance_v = options->number[NUMBER_TOLERANCE],
                     .delay_s = NAN},
        .system = options->system_given ? (enum pd_system)options->system : PD_THREE_PHASE,
        .low_v = volts(options, NUMBER_SUPPLY_LOW),
        .high_v = volts(options, NUMBER_SUPPLY_HIGH),
        .touch_v = volts(options, NUMBER_TOUCH_LIMIT),
        .limit_set = "gb-outdoor-charging",
    };
    snprintf(alone.detector.name, sizeof alone.detector.name, "%s",
             pd_sense_names[alone.detector.senses]);
    if (!fits(options, &alone))
        return EXIT_USAGE;
    struct output output;
    struct pd_blind *blind = NULL;
    if (!output_open(&output, options->output))
        return EXIT_USAGE;
    const enum pd_status status = pd_blind_alone(&alone, &blind);
    if (status == PD_OK)
        return deliver(options, &output, blind);
    output_abandon(&output);
    if (status != PD_ERR_ARGUMENT)
        return give_up(status);
    complain(
        "blind: --low and --high, or --supply-low and --supply-high, are no range with what the "
        "limit set has for the one left out: give both");
    return EXIT_USAGE;
}

int run_blind(const struct options *options)
{
    const bool has_case = options->operand_count > 1;
    if (has_case == options->senses_given) {
        complain(has_case ? "blind: give either CASE or --senses, not both"
                          : "blind: give CASE, or --senses for a detector by itself");
        return EXIT_USAGE;
    }
    if (has_case)
        for (size_t i = 0; i < NUMBERS; i++)
            if (options->number_given[i] || options->system_given) {
                complain("blind: with CASE the thresholds, supply and limit are those of the case");
                return EXIT_USAGE;
            }
    return has_case ? of_case(options) : of_detector(options);
}
