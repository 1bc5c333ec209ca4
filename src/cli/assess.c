/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdlib.h>
#include <unistd.h>

#include "cli/assess_page.h"
#include "cli/commands.h"
#include "cli/finish.h"
#include "cli/output.h"
#include "cli/progress.h"
#include "report/report.h"

/* NO_COLOR: any value but the empty one turns colour off, unless the user asks for it here. */
static bool wants_color(const struct options *options, FILE *out)
{
    const char *const no_color = getenv("NO_COLOR");
    const char *const terminal = getenv("TERM");
    if (options->color != WHEN_AUTO)
        return options->color == WHEN_ALWAYS;
    if ((no_color != NULL && no_color[0] != '\0') || terminal == NULL || terminal[0] == '\0')
        return false;
    return isatty(fileno(out));
}

static enum pd_status write_report(const struct options *options, FILE *out,
                                   const struct pd_assessment *assessment,
                                   const struct pd_pictured *pictured)
{
    const struct pd_report_style style = {.color = wants_color(options, out)};
    switch (options->format) {
    case FORMAT_JSON:
        return pd_report_json(out, assessment);
    case FORMAT_CSV:
        return pd_report_csv(out, assessment);
    case FORMAT_HTML:
        return write_assess_page(options, out, assessment, pictured);
    case FORMAT_TEXT:
    case FORMAT_SVG: /* not of this command */
    case FORMATS:
        break;
    }
    return pd_report_text(out, assessment, &style);
}

static int verdict_exit(enum pd_overall overall, bool strict)
{
    switch (overall) {
    case PD_ACCEPTABLE:
        return EXIT_GOOD;
    case PD_RESIDUAL_HAZARD:
        return strict ? EXIT_NOT_ACCEPTABLE : EXIT_GOOD;
    case PD_NOT_ACCEPTABLE:
        return EXIT_NOT_ACCEPTABLE;
    case PD_OVERALL_UNKNOWN:
        break;
    }
    return EXIT_NOT_DETERMINED;
}

/* Writes it and returns the exit status. The output is closed or abandoned on every way out. */
static int deliver(const struct options *options, struct output *output,
                   const struct pd_assessment *assessment, const struct pd_pictured *pictured)
{
    const enum pd_status status = write_report(options, output->file, assessment, pictured);
    return finish(output, status, verdict_exit(assessment->overall, options->strict));
}

static int assess(const struct options *options, struct output *output,
                  const struct pd_case *study_case)
{
    struct pd_assessment *assessment = NULL;
    struct progress progress;
    progress_start(&progress, options->quiet);
    const struct pd_assess_settings settings = {.faults = options->faults};
    struct pd_pictured *pictured = NULL;
    struct pd_errors errors = {0};
    enum pd_status status = pd_assess(study_case, &settings, progress_step, &progress, &assessment);
    if (status == PD_OK && options->format == FORMAT_HTML)
        status = pd_pictured_new(options->operands[1], assessment, progress_step, &progress,
                                 &pictured, &errors);
    progress_end(&progress);
    if (status != PD_OK) {
        output_abandon(output);
        pd_assessment_free(&assessment);
        return refuse(status, &errors);
    }
    const int result = deliver(options, output, assessment, pictured);
    pd_pictured_free(&pictured);
    pd_assessment_free(&assessment);
    return result;
}

int run_assess(const struct options *options)
{
    struct pd_case *study_case = NULL;
    int result = open_case(options->operands[1], &study_case);
    if (result != EXIT_GOOD)
        return result;
    struct output output;
    result = EXIT_USAGE;
    if (output_open(&output, options->output)) /* before the work: its fault shows at once */
        result = assess(options, &output, study_case);
    pd_case_free(&study_case);
    return result;
}
