/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>

#include "cli/commands.h"
#include "cli/finish.h"
#include "cli/output.h"
#include "report/report.h"

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
    return finish(output, status, complete ? EXIT_GOOD : EXIT_NOT_DETERMINED);
}

int run_commission(const struct options *options)
{
    return of_assessment(options, deliver);
}
