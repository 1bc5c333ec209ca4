/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/explain.h"
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

/* A page has the case tabulated beside its working. */
static enum pd_status write_page(const struct options *options, struct output *output,
                                 const struct pd_explanation *e)
{
    const struct pd_assessment *const a = e->assessment;
    const size_t section = e->scenario == PD_NONE ? PD_NONE : a->scenario[e->scenario].section;
    struct pd_lesson *lesson = NULL;
    struct progress progress;
    progress_start(&progress, options->quiet);
    enum pd_status status =
        pd_lesson_new(a->study_case, section, progress_step, &progress, &lesson);
    progress_end(&progress);
    if (status == PD_OK)
        status = pd_explain_html(output->file, e, lesson);
    pd_lesson_free(&lesson);
    return status;
}

static enum pd_status write_explanation(const struct options *options, struct output *output,
                                        const struct pd_explanation *explanation)
{
    if (options->format == FORMAT_HTML)
        return write_page(options, output, explanation);
    return options->format == FORMAT_JSON ? pd_explain_json(output->file, explanation)
                                          : pd_explain_text(output->file, explanation);
}

static int deliver(const struct options *options, struct output *output,
                   const struct pd_assessment *assessment)
{
    struct pd_explanation *explanation = NULL;
    enum pd_status status = pd_explain(assessment, &explanation);
    if (status == PD_OK)
        status = write_explanation(options, output, explanation);
    const bool complete = explanation != NULL && explanation->complete;
    pd_explanation_free(&explanation);
    if (status != PD_OK && status != PD_ERR_FILE) {
        output_abandon(output);
        return give_up(status);
    }
    if (!output_close(output)) /* says what failed */
        return interrupt_requested() ? give_up(PD_ERR_INTERRUPTED) : EXIT_USAGE;
    return complete ? EXIT_GOOD : EXIT_NOT_DETERMINED;
}

static int explain(const struct options *options, struct output *output,
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

int run_explain(const struct options *options)
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
        result = explain(options, &output, study_case);
    pd_case_free(&study_case);
    return result;
}
