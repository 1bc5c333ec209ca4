/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>

#include "cli/commands.h"
#include "cli/interrupt.h"
#include "cli/output.h"
#include "cli/progress.h"
#include "report/report.h"

static int give_up(enum pd_status status)
{
    fprintf(stderr, "pendrift: %s\n", pd_status_text(status));
    return pd_status_exit(status);
}

static enum pd_status write_sheet(const struct options *options, FILE *out,
                                  const struct pd_test_sheet *sheet)
{
    if (options->format == FORMAT_JSON)
        return pd_commission_json(out, sheet);
    return options->format == FORMAT_CSV ? pd_commission_csv(out, sheet)
                                         : pd_commission_text(out, sheet);
}

static int deliver(const struct options *options, struct output *output,
                   const struct pd_assessment *assessment)
{
    struct pd_test_sheet *sheet = NULL;
    enum pd_status status = pd_commission(assessment, &sheet);
    if (status == PD_OK)
        status = write_sheet(options, output->file, sheet);
    const bool complete = sheet != NULL && sheet->complete;
    pd_test_sheet_free(&sheet);
    if (status != PD_OK && status != PD_ERR_FILE) {
        output_abandon(output);
        return give_up(status);
    }
    if (!output_close(output)) /* says what failed */
        return interrupt_requested() ? give_up(PD_ERR_INTERRUPTED) : EXIT_USAGE;
    return complete ? EXIT_GOOD : EXIT_NOT_DETERMINED;
}

static int commission(const struct options *options, struct output *output,
                      const struct pd_case *study_case)
{
    struct pd_assessment *assessment = NULL;
    struct progress progress;
    progress_start(&progress, options->quiet);
    const enum pd_status status =
        pd_assess(study_case, NULL, progress_step, &progress, &assessment);
    progress_end(&progress);
    if (status != PD_OK) {
        output_abandon(output);
        return give_up(status);
    }
    const int result = deliver(options, output, assessment);
    pd_assessment_free(&assessment);
    return result;
}

int run_commission(const struct options *options)
{
    struct pd_errors errors = {0};
    struct pd_case *study_case = NULL;
    const enum pd_status status = pd_case_read(options->operands[1], &study_case, &errors);
    if (status != PD_OK) {
        pd_report_errors(stderr, &errors);
        return errors.count > 0 ? pd_status_exit(status) : give_up(status);
    }
    struct output output;
    int result = EXIT_USAGE;
    if (output_open(&output, options->output))
        result = commission(options, &output, study_case);
    pd_case_free(&study_case);
    return result;
}
