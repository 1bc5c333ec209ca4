/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/explain.h"
#include "cli/commands.h"
#include "cli/finish.h"
#include "cli/output.h"
#include "cli/progress.h"
#include "report/report.h"

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
    return finish(output, status, complete ? EXIT_GOOD : EXIT_NOT_DETERMINED);
}

int run_explain(const struct options *options)
{
    return of_assessment(options, deliver);
}
