/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/aftermath.h"
#include "cli/commands.h"
#include "cli/finish.h"
#include "cli/output.h"
#include "cli/progress.h"
#include "cli/section.h"
#include "report/report.h"

static enum pd_status write_aftermath(const struct options *options, FILE *out,
                                      const struct pd_aftermath *aftermath)
{
    switch (options->format) {
    case FORMAT_JSON:
        return pd_aftermath_json(out, aftermath);
    case FORMAT_CSV:
        return pd_aftermath_csv(out, aftermath);
    case FORMAT_SVG:
        return pd_aftermath_svg(out, aftermath);
    case FORMAT_TEXT:
    case FORMAT_HTML: /* not of this command */
    case FORMATS:
        break;
    }
    return pd_aftermath_text(out, aftermath);
}

/* Writes it and returns the exit status; frees it and closes or abandons the output. */
static int deliver(const struct options *options, struct output *output,
                   struct pd_aftermath *aftermath)
{
    const enum pd_status status = write_aftermath(options, output->file, aftermath);
    const bool followed =
        aftermath->ending != PD_ENDING_UNKNOWN && aftermath->ending != PD_ENDING_BOUND;
    pd_aftermath_free(&aftermath);
    return finish(output, status, followed ? EXIT_GOOD : EXIT_NOT_DETERMINED);
}

static int follow(const struct options *options, const struct pd_case *study_case)
{
    struct pd_aftermath_settings settings = pd_aftermath_defaults();
    struct pd_aftermath *aftermath = NULL;
    struct output output;
    if (!choose_section(study_case, options->section, &settings.section))
        return EXIT_USAGE;
    if (options->loads_given)
        settings.loads = (enum pd_loads)options->loads;
    if (options->number_given[NUMBER_HORIZON])
        settings.horizon_s = options->number[NUMBER_HORIZON];
    if (!output_open(&output, options->output))
        return EXIT_USAGE;
    struct progress progress;
    progress_start(&progress, options->quiet);
    const enum pd_status status =
        pd_aftermath(study_case, &settings, progress_step, &progress, &aftermath);
    progress_end(&progress);
    if (status == PD_OK)
        return deliver(options, &output, aftermath);
    output_abandon(&output);
    return give_up(status);
}

int run_aftermath(const struct options *options)
{
    struct pd_case *study_case = NULL;
    int result = open_case(options->operands[1], &study_case);
    if (result != EXIT_GOOD)
        return result;
    result = follow(options, study_case);
    pd_case_free(&study_case);
    return result;
}
