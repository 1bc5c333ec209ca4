/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <string.h>

#include "cli/commands.h"
#include "cli/finish.h"
#include "cli/output.h"
#include "cli/progress.h"
#include "report/report.h"

static enum pd_status write_report(const struct options *options, FILE *out,
                                   const struct pd_nuisance *nuisance,
                                   const struct pd_errors *errors)
{
    if (options->format == FORMAT_JSON)
        return pd_nuisance_json(out, nuisance, errors);
    return options->format == FORMAT_CSV ? pd_nuisance_csv(out, nuisance, errors)
                                         : pd_nuisance_text(out, nuisance, errors);
}

/* Something that could not be worked out must not pass for an answer. */
static int result_exit(const struct pd_nuisance *nuisance)
{
    if (nuisance->study_case->missing.count > 0)
        return EXIT_NOT_DETERMINED;
    for (size_t i = 0; i < nuisance->study_case->detectors.count; i++)
        if (!nuisance->device[i].determined || nuisance->device[i].both == PD_UNKNOWN)
            return EXIT_NOT_DETERMINED;
    return EXIT_GOOD;
}

static int deliver(const struct options *options, struct output *output,
                   const struct pd_nuisance *nuisance, const struct pd_errors *errors)
{
    const enum pd_status status = write_report(options, output->file, nuisance, errors);
    return finish(output, status, result_exit(nuisance));
}

static int study(const struct options *options, struct output *output,
                 const struct pd_case *study_case)
{
    const char *const log = options->operand_count > 2 ? options->operands[2] : NULL;
    const bool piped = log != NULL && strcmp(log, "-") == 0;
    struct pd_errors errors = {0};
    struct pd_nuisance *nuisance = NULL;
    struct progress progress;
    progress_start(&progress, options->quiet);
    const enum pd_status status =
        pd_nuisance_study(study_case, piped ? "/dev/stdin" : log, piped ? "standard input" : log,
                          progress_step, &progress, &nuisance, &errors);
    progress_end(&progress);
    if (status != PD_OK) {
        output_abandon(output);
        pd_report_errors(stderr, &errors);
        return errors.count > 0 && status != PD_ERR_INTERRUPTED ? pd_status_exit(status)
                                                                : give_up(status);
    }
    const int result = deliver(options, output, nuisance, &errors);
    pd_nuisance_free(&nuisance);
    return result;
}

int run_nuisance(const struct options *options)
{
    struct pd_case *study_case = NULL;
    int result = open_case(options->operands[1], &study_case);
    if (result != EXIT_GOOD)
        return result;
    struct output output;
    result = EXIT_USAGE;
    if (output_open(&output, options->output))
        result = study(options, &output, study_case);
    pd_case_free(&study_case);
    return result;
}
