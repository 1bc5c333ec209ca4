/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdlib.h>
#include <string.h>

#include "cli/audit_work.h"
#include "cli/commands.h"
#include "cli/interrupt.h"
#include "cli/output.h"
#include "report/report.h"
#include "table/processors.h"

/* All that the command holds. */
struct audit {
    struct audit_work work;
    struct pd_errors messages, near, errors;
    struct output output;
    const struct options *options;
};

static int give_up(const struct audit *audit, enum pd_status status)
{
    if (audit->errors.count > 0) {
        pd_report_errors(stderr, &audit->errors);
        return pd_status_exit(status);
    }
    fprintf(stderr, "pendrift: %s\n", pd_status_text(status));
    return pd_status_exit(status);
}

static struct pd_audit_page page_of(const struct audit *audit)
{
    return (struct pd_audit_page){.audit = audit->work.audit,
                                  .tally = &audit->work.tally,
                                  .sheet = audit->work.name,
                                  .map = &audit->work.map,
                                  .near = &audit->near};
}

static bool is_html(const char *path)
{
    const size_t length = strlen(path);
    return length > 5 && strcmp(path + length - 5, ".html") == 0;
}

static bool write_summary(const struct audit *audit, const char *path)
{
    struct output output;
    const struct pd_audit_page page = page_of(audit);
    struct pd_put put = {0};
    if (!output_open(&output, path))
        return false;
    if (is_html(path))
        pd_audit_html(&put, &page);
    else
        pd_audit_text(output.file, &page);
    if (put.failed) {
        output_abandon(&output);
        fprintf(stderr, "pendrift: %s\n", pd_status_text(PD_ERR_MEMORY));
    } else if (put.length > 0) {
        fwrite(put.text, 1, put.length, output.file); /* output_close looks at it */
    }
    const bool failed = put.failed;
    pd_put_free(&put);
    return !failed && output_close(&output);
}

static int finding_exit(const struct pd_tally *tally)
{
    if (tally->finding[PD_NOT_SUPPORTED] > 0)
        return EXIT_NOT_ACCEPTABLE;
    const bool all = tally->rows > 0 && tally->finding[PD_SUPPORTED] == tally->rows;
    return all ? EXIT_GOOD : EXIT_NOT_DETERMINED;
}

/* On stderr what could not be read, and where the rows went elsewhere, what they come to. */
static void say_counts(const struct audit *audit)
{
    const struct pd_tally *const tally = &audit->work.tally;
    pd_report_errors(stderr, &audit->near);
    pd_report_errors(stderr, &audit->messages);
    if (audit->options->format == FORMAT_TEXT || audit->options->quiet)
        return;
    fprintf(stderr,
            "pendrift: %zu rows: %zu supported, %zu not supported, %zu insufficient evidence, %zu "
            "not read\n",
            tally->rows, tally->finding[PD_SUPPORTED], tally->finding[PD_NOT_SUPPORTED],
            tally->finding[PD_INSUFFICIENT_EVIDENCE], tally->finding[PD_NOT_READ]);
}

static int run_rows(struct audit *audit)
{
    struct progress progress;
    struct audit_work *const work = &audit->work;
    if (!output_open(&audit->output, audit->options->output))
        return EXIT_USAGE;
    work->out = audit->output.file;
    work->progress = &progress;
    progress_start(&progress, audit->options->quiet);
    const enum pd_status status = audit_work_run(work);
    progress_end(&progress);
    if (status == PD_OK && work->format == FORMAT_TEXT) {
        const struct pd_audit_page page = page_of(audit);
        pd_audit_text(work->out, &page);
    }
    if (status != PD_OK && status != PD_ERR_FILE) {
        output_abandon(&audit->output);
        return give_up(audit, status);
    }
    if (status == PD_ERR_FILE && !ferror(work->out)) { /* the sheet's, not the output's */
        output_abandon(&audit->output);
        pd_report_errors(stderr, &audit->messages);
        return EXIT_USAGE;
    }
    if (!output_close(&audit->output))
        return interrupt_requested() ? give_up(audit, PD_ERR_INTERRUPTED) : EXIT_USAGE;
    say_counts(audit);
    if (audit->options->summary != NULL && !write_summary(audit, audit->options->summary))
        return EXIT_USAGE;
    return finding_exit(&work->tally);
}

static enum pd_status prepare(struct audit *audit)
{
    struct audit_work *const work = &audit->work;
    const struct options *const options = audit->options;
    const char *const path = options->operands[1];
    work->name = strcmp(path, "-") == 0 ? "standard input" : path;
    work->format = options->format;
    work->only = options->only;
    work->threads = options->threads > 0 ? options->threads : pd_processors();
    work->messages = &audit->messages;
    enum pd_status status =
        pd_audit_new(options->limits != NULL ? options->limits : "gb-outdoor-charging",
                     &work->audit, &audit->errors);
    if (status == PD_OK && options->street != NULL)
        status = pd_audit_set_street(work->audit, options->street, &audit->errors);
    if (status == PD_OK)
        status = pd_audit_words_new(work->audit, &work->words, &audit->errors);
    if (status == PD_OK)
        status = pd_sheet_open(path, work->name, &work->sheet, &audit->errors);
    if (status != PD_OK)
        return status;
    const size_t width = pd_sheet_width(work->sheet);
    const char **const header = reallocarray(NULL, width, sizeof *header);
    if (header == NULL)
        return PD_ERR_MEMORY;
    for (size_t i = 0; i < width; i++)
        header[i] = pd_sheet_column(work->sheet, i);
    status = pd_site_map_new(header, width, work->name, pd_sheet_header_line(work->sheet),
                             &work->map, &audit->near, &audit->errors);
    free(header);
    return status == PD_OK ? pd_tally_new(&work->tally) : status;
}

int run_audit(const struct options *options)
{
    struct audit *const audit = calloc(1, sizeof *audit);
    if (audit == NULL)
        return pd_status_exit(PD_ERR_MEMORY);
    audit->options = options;
    const enum pd_status status = prepare(audit);
    const int result = status == PD_OK ? run_rows(audit) : give_up(audit, status);
    pd_tally_free(&audit->work.tally);
    pd_site_map_free(&audit->work.map);
    pd_sheet_free(&audit->work.sheet);
    pd_audit_free(&audit->work.audit);
    free(audit);
    return result;
}
