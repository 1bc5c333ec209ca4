/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/replay.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "cli/commands.h"
#include "cli/interrupt.h"
#include "cli/output.h"
#include "cli/progress.h"
#include "cli/section.h"
#include "report/replay.h"
#include "report/report.h"
#include "table/words.h"

/* What the functions that are called from a replay need. */
struct context {
    const struct options *options;
    const struct pd_case *study_case;
    FILE *out;
    struct progress progress;
    double size_bytes; /* of the profile; NaN where that is not known */
};

static int give_up(enum pd_status status, const struct pd_errors *errors)
{
    if (errors->count > 0 && status != PD_ERR_INTERRUPTED)
        pd_report_errors(stderr, errors);
    else
        fprintf(stderr, "pendrift: %s\n", pd_status_text(status));
    return pd_status_exit(status);
}

static bool on_progress(size_t moments, size_t bytes, void *data)
{
    struct context *const context = data;
    return progress_count((double)bytes / context->size_bytes, moments, "moments",
                          &context->progress);
}

static enum pd_status on_moment(const struct pd_replay_moment *moment, void *data)
{
    const struct context *const context = data;
    pd_report_replay_csv_moment(context->out, context->study_case, moment);
    return ferror(context->out) ? PD_ERR_FILE : PD_OK;
}

static enum pd_status on_answer(const struct pd_replay_answer *answer, void *data)
{
    const struct context *const context = data;
    pd_report_replay_csv_answer(context->out, context->study_case, answer);
    return ferror(context->out) ? PD_ERR_FILE : PD_OK;
}

static bool choose_place(const struct pd_case *c, const char *name,
                         struct pd_replay_settings *settings)
{
    settings->place = PD_REPLAY_POINT;
    if (name == NULL)
        return true;
    settings->node = pd_network_find(c->network, name);
    if (strcmp(name, "all") == 0)
        settings->place = PD_REPLAY_ALL;
    else if (settings->node != c->charging_point)
        settings->place = PD_REPLAY_NODE;
    if (settings->place != PD_REPLAY_NODE || settings->node != PD_NONE)
        return true;
    const char *const near = pd_network_nearest(c->network, name);
    fprintf(stderr, "pendrift: --at: the case has no node '%s'", pd_show(name).text);
    if (near != NULL)
        fprintf(stderr, "; did you mean '%s'?\n", near);
    else
        fputs("; expected: all, or a node\n", stderr);
    return false;
}

static enum pd_status pass_over(const struct pd_profile_moment *moment, void *context)
{
    (void)moment, (void)context;
    return interrupt_requested() ? PD_ERR_INTERRUPTED : PD_OK;
}

/* A table is written while the record is read: a record with something wrong in it is to leave
 * nothing behind, so where it can be read twice it is read for its errors first. */
static enum pd_status read_ahead(const struct context *context,
                                 const struct pd_replay_settings *settings,
                                 struct pd_errors *errors)
{
    if (settings->moment == NULL && settings->answer == NULL)
        return PD_OK;
    if (isnan(context->size_bytes))
        return PD_OK;
    const struct pd_network *const network = context->study_case->network;
    struct pd_profile_load *const load = calloc(network->load_count + 1, sizeof *load);
    const enum pd_status status = load == NULL
                                      ? PD_ERR_MEMORY
                                      : pd_profile_read(settings->profile, settings->profile_name,
                                                        network, pass_over, NULL, load, errors);
    free(load);
    return status;
}

static enum pd_status write_report(const struct context *context, const struct pd_replay *replay)
{
    switch (context->options->format) {
    case FORMAT_JSON:
        return pd_report_replay_json(context->out, replay);
    case FORMAT_CSV:
        return pd_report_replay_csv_end(context->out, replay);
    case FORMAT_SVG:
        return pd_report_replay_svg(context->out, replay);
    case FORMAT_TEXT:
    case FORMAT_HTML: /* not of this command */
    case FORMATS:
        break;
    }
    return pd_report_replay_text(context->out, replay);
}

/* The output is closed or abandoned on every way out. */
static int run_to(struct context *context, const struct pd_replay_settings *settings,
                  struct output *output)
{
    struct pd_errors errors = {0};
    struct pd_replay *replay = NULL;
    enum pd_status status = read_ahead(context, settings, &errors);
    if (status == PD_OK && context->options->format == FORMAT_CSV)
        pd_report_replay_csv_head(output->file, context->study_case, context->options->every);
    progress_start(&context->progress, context->options->quiet);
    if (status == PD_OK)
        status = pd_replay(context->study_case, settings, &replay, &errors);
    progress_end(&context->progress);
    if (status == PD_OK)
        status = write_report(context, replay);
    pd_replay_free(&replay);
    /* What was told of a row that could not be written is told by closing. */
    if (status != PD_OK && !ferror(output->file)) {
        output_abandon(output);
        return give_up(status, &errors);
    }
    if (!output_close(output))
        return interrupt_requested() ? give_up(PD_ERR_INTERRUPTED, &errors) : EXIT_USAGE;
    return EXIT_GOOD;
}

static double file_size(const char *path)
{
    struct stat there;
    if (strcmp(path, "-") == 0 || stat(path, &there) != 0 || !S_ISREG(there.st_mode))
        return NAN;
    return (double)there.st_size;
}

static int replay(const struct options *options, const struct pd_case *c)
{
    enum { WORST = 10 };
    const char *const profile = options->operands[2];
    const bool from_input = strcmp(profile, "-") == 0;
    struct context context = {
        .options = options, .study_case = c, .size_bytes = file_size(profile)};
    struct pd_replay_settings settings = {
        .profile = profile,
        .profile_name = from_input ? "standard input" : profile,
        .supply = (enum pd_replay_supply)options->supply,
        .worst = options->worst > 0 ? options->worst : WORST,
        .threads = options->threads,
        .context = &context,
        .progress = on_progress,
        .progress_context = &context,
    };
    struct output output;
    if (!choose_section(c, options->section, &settings.section) ||
        !choose_place(c, options->at, &settings))
        return EXIT_USAGE;
    if (options->format == FORMAT_CSV)
        settings.moment = options->every ? NULL : on_moment;
    if (options->format == FORMAT_CSV && options->every)
        settings.answer = on_answer;
    if (!output_open(&output, options->output)) /* before the work: its fault shows at once */
        return EXIT_USAGE;
    context.out = output.file;
    return run_to(&context, &settings, &output);
}

int run_replay(const struct options *options)
{
    struct pd_errors errors = {0};
    struct pd_case *c = NULL;
    const enum pd_status status = pd_case_read(options->operands[1], &c, &errors);
    if (status != PD_OK)
        return give_up(status, &errors);
    int result = EXIT_NOT_DETERMINED;
    if (options->every && options->format != FORMAT_CSV) {
        fputs("pendrift: --every: is for --format csv\n", stderr);
        result = EXIT_USAGE;
    } else if (c->missing.count > 0) {
        fputs("pendrift: not determined:\n", stderr);
        for (size_t i = 0; i < c->missing.count; i++)
            fprintf(stderr, "  %s\n", c->missing.text[i]);
    } else {
        result = replay(options, c);
    }
    pd_case_free(&c);
    return result;
}
