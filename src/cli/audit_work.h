/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_CLI_AUDIT_WORK_H
#define PENDRIFT_CLI_AUDIT_WORK_H

#include "cli/options.h"
#include "cli/progress.h"
#include "report/audit.h"

/* A sheet's rows through the audit, in threads, out in the order they came. Memory does not grow
 * with the sheet: each thread holds one block of rows and what is written of them. */
struct audit_work {
    struct pd_audit *audit;
    struct pd_sheet *sheet;
    struct pd_site_map map;
    struct pd_audit_words words;
    const char *name;   /* of the sheet, for messages */
    enum format format; /* FORMAT_TEXT: no rows are written */
    unsigned only;      /* bit 1u << enum pd_finding of the rows to write; 0: all */
    size_t threads;
    FILE *out;
    struct progress *progress;
    struct pd_tally tally;
    struct pd_errors *messages; /* rows and cells that could not be read */
};

/* Two passes: which readings are copies can be said of a row only when all have been seen. Fills
 * the tally; writes head, rows and end. PD_OK, PD_ERR_FILE, PD_ERR_MEMORY, PD_ERR_INTERRUPTED. */
enum pd_status audit_work_run(struct audit_work *work);

#endif
