/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/sample.h"
#include <math.h>

#include "cli/commands.h"
#include "cli/finish.h"
#include "cli/output.h"
#include "cli/progress.h"
#include "report/report.h"

static enum pd_status write_sample(const struct options *options, FILE *out,
                                   const struct pd_sample *sample)
{
    switch (options->format) {
    case FORMAT_JSON:
        return pd_sample_json(out, sample);
    case FORMAT_CSV:
        return pd_sample_csv(out, sample);
    case FORMAT_SVG:
        return pd_sample_svg(out, sample);
    case FORMAT_TEXT:
    case FORMAT_HTML: /* not of this command */
    case FORMATS:
        break;
    }
    return pd_sample_text(out, sample);
}

/* Whether anything in it is not determined. */
static bool is_doubtful(const struct pd_sample *sample)
{
    return sample->missing || !(sample->odds.unknown.value == 0);
}

/* Writes it and returns the exit status; frees the sample and closes or abandons the output. */
static int deliver(const struct options *options, struct output *output, struct pd_sample *sample)
{
    const enum pd_status status = write_sample(options, output->file, sample);
    const int answer = is_doubtful(sample) ? EXIT_NOT_DETERMINED : EXIT_GOOD;
    pd_sample_free(&sample);
    return finish(output, status, answer);
}

static double number_or(const struct options *options, enum number number, double otherwise)
{
    return options->number_given[number] ? options->number[number] : otherwise;
}

/* The settings; false, and a line on stderr, where a number is not whole. */
static bool read_settings(const struct options *options, struct pd_sample_settings *settings)
{
    static const struct {
        enum number number;
        const char *name;
    } whole[] = {
        {NUMBER_TRIALS, "trials"}, {NUMBER_SEED, "seed"}, {NUMBER_REPLICATES, "replicates"}};
    for (size_t i = 0; i < sizeof whole / sizeof whole[0]; i++) {
        const double value = number_or(options, whole[i].number, 0);
        if (value == floor(value))
            continue;
        fprintf(stderr, "pendrift: --%s: %g is not a whole number\n", whole[i].name, value);
        return false;
    }
    *settings = (struct pd_sample_settings){
        .trials = (size_t)number_or(options, NUMBER_TRIALS, PD_TRIALS),
        .seed = (uint64_t)number_or(options, NUMBER_SEED, 1),
        .replicates = (size_t)number_or(options, NUMBER_REPLICATES, PD_REPLICATES),
        .threads = options->threads,
    };
    return true;
}

static int sample(const struct options *options, const struct pd_sample_settings *settings,
                  struct output *output)
{
    struct pd_errors errors = {0};
    struct pd_sample *result = NULL;
    struct progress progress;
    progress_start(&progress, options->quiet);
    const enum pd_status status =
        pd_sample_run(options->operands[1], settings, progress_step, &progress, &result, &errors);
    progress_end(&progress);
    if (status == PD_OK)
        return deliver(options, output, result);
    output_abandon(output);
    return refuse(status, &errors);
}

int run_sample(const struct options *options)
{
    struct pd_sample_settings settings;
    struct output output;
    if (!read_settings(options, &settings))
        return EXIT_USAGE;
    return output_open(&output, options->output) ? sample(options, &settings, &output) : EXIT_USAGE;
}
