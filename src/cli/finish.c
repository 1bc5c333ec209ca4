/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/finish.h"

#include "cli/commands.h"
#include "cli/interrupt.h"
#include "cli/progress.h"
#include "report/report.h"

int give_up(enum pd_status status)
{
    fprintf(stderr, "pendrift: %s\n", pd_status_text(status));
    return pd_status_exit(status);
}

int refuse(enum pd_status status, const struct pd_errors *errors)
{
    pd_report_errors(stderr, errors);
    return errors->count > 0 ? pd_status_exit(status) : give_up(status);
}

int finish(struct output *output, enum pd_status status, int answer)
{
    if (status != PD_OK && status != PD_ERR_FILE) {
        output_abandon(output);
        return give_up(status);
    }
    if (!output_close(output)) /* says what failed, also for PD_ERR_FILE */
        return interrupt_requested() ? give_up(PD_ERR_INTERRUPTED) : EXIT_USAGE;
    return answer;
}

int open_case(const char *folder, struct pd_case **out)
{
    struct pd_errors errors = {0};
    const enum pd_status status = pd_case_read(folder, out, &errors);
    return status == PD_OK ? EXIT_GOOD : refuse(status, &errors);
}

static int assess_for(const struct options *options, struct output *output,
                      const struct pd_case *study_case, deliver_assessment *deliver)
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

int of_assessment(const struct options *options, deliver_assessment *deliver)
{
    struct pd_case *study_case = NULL;
    int result = open_case(options->operands[1], &study_case);
    if (result != EXIT_GOOD)
        return result;
    struct output output;
    result = EXIT_USAGE;
    if (output_open(&output, options->output))
        result = assess_for(options, &output, study_case, deliver);
    pd_case_free(&study_case);
    return result;
}
