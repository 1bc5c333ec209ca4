/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/sweep.h"
#include "cli/commands.h"
#include "cli/finish.h"
#include "cli/output.h"
#include "cli/progress.h"
#include "report/report.h"

static enum pd_status write_sweep(const struct options *options, FILE *out,
                                  const struct pd_sweep *sweep)
{
    switch (options->format) {
    case FORMAT_JSON:
        return pd_sweep_json(out, sweep);
    case FORMAT_CSV:
        return pd_sweep_csv(out, sweep);
    case FORMAT_SVG:
        return pd_sweep_svg(out, sweep);
    case FORMAT_TEXT:
    case FORMAT_HTML: /* not of this command */
    case FORMATS:
        break;
    }
    return pd_sweep_text(out, sweep);
}

/* Writes it and returns the exit status; frees the sweep and closes or abandons the output. */
static int deliver(const struct options *options, struct output *output, struct pd_sweep *sweep)
{
    const enum pd_status status = write_sweep(options, output->file, sweep);
    const int answer = sweep->missing || sweep->unknown > 0 ? EXIT_NOT_DETERMINED : EXIT_GOOD;
    pd_sweep_free(&sweep);
    return finish(output, status, answer);
}

/* What is to be swept; false, and a line on stderr, where that is not clear. */
static bool read_settings(const struct options *options, struct pd_sweep_settings *settings)
{
    struct pd_errors errors = {0};
    *settings = (struct pd_sweep_settings){
        .vary_count = options->vary_count,
        .steps = options->number_given[NUMBER_STEPS] ? (size_t)options->number[NUMBER_STEPS]
                                                     : (size_t)PD_STEPS,
        .all_loads = options->loads_given && options->loads == PD_LOADS_CORNER,
    };
    if (options->number_given[NUMBER_LINES])
        settings->total_kw = options->number[NUMBER_LINES];
    const bool lines = options->number_given[NUMBER_LINES];
    if (lines == (options->vary_count > 0) || options->vary_count > 2) {
        fputs("pendrift: sweep: give --vary once or twice, or --lines\n", stderr);
        return false;
    }
    if (!lines && options->number_given[NUMBER_STEPS]) {
        fputs("pendrift: sweep: --steps is for --lines; a count stands in --vary itself\n", stderr);
        return false;
    }
    if (options->loads_given && options->loads != PD_LOADS_PRESENT && !settings->all_loads) {
        fputs("pendrift: sweep: --loads is present or worst\n", stderr);
        return false;
    }
    for (size_t i = 0; i < options->vary_count; i++)
        pd_vary_parse(options->vary[i], &settings->vary[i], &errors);
    if (errors.count == 0 && options->vary_count == 2 &&
        settings->vary[0].count * settings->vary[1].count > PD_POINTS_MOST) {
        fprintf(stderr, "pendrift: sweep: more than %d points; give smaller counts\n",
                (int)PD_POINTS_MOST);
        return false;
    }
    pd_report_errors(stderr, &errors);
    return errors.count == 0;
}

static int sweep(const struct options *options, const struct pd_sweep_settings *settings,
                 struct output *output)
{
    struct pd_errors errors = {0};
    struct pd_sweep *result = NULL;
    struct progress progress;
    progress_start(&progress, options->quiet);
    const enum pd_status status =
        pd_sweep_run(options->operands[1], settings, progress_step, &progress, &result, &errors);
    progress_end(&progress);
    if (status == PD_OK)
        return deliver(options, output, result);
    output_abandon(output);
    return refuse(status, &errors);
}

int run_sweep(const struct options *options)
{
    struct pd_sweep_settings settings;
    struct output output;
    if (!read_settings(options, &settings))
        return EXIT_USAGE;
    return output_open(&output, options->output) ? sweep(options, &settings, &output) : EXIT_USAGE;
}
