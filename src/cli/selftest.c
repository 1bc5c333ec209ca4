/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/selftest.h"

#include <string.h>

#include "cli/commands.h"
#include "cli/interrupt.h"
#include "cli/output.h"
#include "report/cautions.h"
#include "report/figure.h"
#include "report/page.h"
#include "report/report.h"

enum { NAME = 8, WANT = 52, FIRST = 62, SECOND = 72, UNIT = 74 };

struct listing {
    struct pd_page page;
    char source[512]; /* of the last check, so that it stands over all that share it */
    size_t count, failed;
};

static void write_source(struct listing *listing, const struct pd_selftest_result *result)
{
    char source[sizeof listing->source];
    snprintf(source, sizeof source, "%s (%s)", result->source, result->seen);
    if (strcmp(source, listing->source) == 0)
        return;
    memcpy(listing->source, source, sizeof source);
    pd_page_paragraph(&listing->page, 0, "", 2, source);
}

static bool write_result(const struct pd_selftest_result *result, void *context)
{
    struct listing *const listing = context;
    struct pd_page *const page = &listing->page;
    write_source(listing, result);
    page->column = 2;
    pd_page_wrap(page, NAME, result->passed ? "ok" : "FAILS");
    page->column = NAME;
    pd_page_wrap(page, NAME, result->check);
    if (page->column > WANT - 10)
        pd_page_end_line(page);
    pd_page_right(page, WANT, pd_figure(result->want, 3).text);
    pd_page_right(page, FIRST, pd_figure(result->got[0], 3).text);
    pd_page_right(page, SECOND, result->roads > 1 ? pd_figure(result->got[1], 3).text : "");
    pd_page_to(page, UNIT);
    pd_page_wrap(page, UNIT, result->unit);
    pd_page_end_line(page);
    listing->count++;
    listing->failed += !result->passed;
    return !interrupt_requested();
}

static void write_head(struct pd_page *page)
{
    fprintf(page->out, "pendrift %s: published figures, recomputed on this machine\n\n",
            pd_version);
    pd_page_paragraph(page, 0, "", 0, pd_caution_short);
    pd_page_end_line(page);
    page->column = NAME;
    pd_page_wrap(page, NAME, "check");
    pd_page_right(page, WANT, "published");
    pd_page_right(page, FIRST, "formula");
    pd_page_right(page, SECOND, "tree");
    pd_page_to(page, UNIT);
    pd_page_wrap(page, UNIT, "unit");
    pd_page_end_line(page);
}

static int give_up(enum pd_status status, const struct pd_errors *errors)
{
    pd_report_errors(stderr, errors);
    fprintf(stderr, "pendrift: %s\n", pd_status_text(status));
    /* wrong input here is a fault of the program: the table is its own */
    return pd_status_exit(status == PD_ERR_INPUT ? PD_ERR_ARGUMENT : status);
}

int run_selftest(const struct options *options)
{
    struct output output;
    struct pd_errors errors = {0};
    if (!output_open(&output, options->output))
        return EXIT_USAGE;
    struct listing listing = {.page = {.out = output.file}};
    write_head(&listing.page);
    const enum pd_status status = pd_selftest_run(write_result, &listing, &errors);
    if (status != PD_OK) {
        output_abandon(&output);
        return give_up(status, &errors);
    }
    fprintf(output.file, "\n%zu checks, %zu agree, %zu fail\n", listing.count,
            listing.count - listing.failed, listing.failed);
    if (!output_close(&output))
        return interrupt_requested() ? EXIT_INTERRUPTED : EXIT_USAGE;
    return listing.failed > 0 ? EXIT_NOT_ACCEPTABLE : EXIT_GOOD;
}
