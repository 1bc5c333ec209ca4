/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "report/audit.h"
#include "report/cautions.h"
#include "report/report.h"
#include "study/rule.h"

static const char *const columns =
    ",audit_finding,audit_claim,audit_route_met,audit_electrode_max_ohm,audit_electrode_ohm,"
    "audit_alone_v,audit_blind_v,audit_reasons,audit_because,audit_assumed";

static void comment(struct pd_put *put, const char *label, const char *text)
{
    pd_put_text(put, "# ");
    pd_put_text(put, label);
    pd_put_text(put, ": ");
    pd_put_text(put, text);
    pd_put_text(put, "\n");
}

/* The header without its line end: what belongs to the last cell stays. */
static size_t bare_length(struct pd_bytes bytes)
{
    while (bytes.length > 0 &&
           (bytes.at[bytes.length - 1] == '\n' || bytes.at[bytes.length - 1] == '\r'))
        bytes.length--;
    return bytes.length;
}

void pd_audit_csv_head(struct pd_put *put, const struct pd_audit *audit,
                       const struct pd_sheet *sheet)
{
    const struct pd_limits *const limits = pd_audit_limits(audit);
    const struct pd_bytes comments = pd_sheet_comments(sheet), header = pd_sheet_header(sheet);
    if (pd_sheet_marked(sheet))
        pd_put_text(put, "\xef\xbb\xbf");
    comment(put, "pendrift", pd_version);
    for (size_t i = 0; i < PD_CAUTIONS; i++)
        comment(put, "caution", pd_cautions[i]);
    comment(put, "limit set", limits->set);
    comment(put, "limits", limits->status);
    pd_put_bytes(put, comments.at, comments.length);
    if (comments.length > 0 && comments.at[comments.length - 1] != '\n')
        pd_put_text(put, "\n");
    pd_put_bytes(put, header.at, bare_length(header));
    pd_put_text(put, columns);
    if (pd_audit_has_street(audit))
        pd_put_text(put, ",audit_street_v,audit_street_unseen_v,audit_street_neighbours");
    pd_put_text(put, "\n");
}

static void put_cell(struct pd_put *put, const char *text)
{
    pd_put_bytes(put, ",", 1);
    pd_put_text(put, text);
}

static void put_number(struct pd_put *put, double value, int decimals)
{
    pd_put_bytes(put, ",", 1);
    pd_put_number(put, value, decimals);
}

/* The row as it was. Of one with too many cells the rest comes behind the findings; of one that
 * could not be taken apart the cells stay empty: the messages say which line it is. */
static void put_original(struct pd_put *put, const struct pd_sheet_row *row, size_t width)
{
    if (row->fault == PD_ROW_GOOD) {
        pd_put_bytes(put, row->raw.at, row->raw.length);
        return;
    }
    for (size_t i = 0; i < width; i++) {
        if (i > 0)
            pd_put_bytes(put, ",", 1);
        if (row->cell != NULL && i < row->count && row->cell[i][0] != '\0')
            pd_put_csv(put, row->cell[i]);
    }
}

void pd_audit_csv_row(struct pd_put *put, const struct pd_audit_words *words,
                      const struct pd_sheet_row *row, size_t width, const struct pd_site *site,
                      const struct pd_audit_result *result)
{
    put_original(put, row, width);
    put_cell(put, pd_finding_names[result->finding]);
    put_cell(put, pd_audit_claim(site));
    put_cell(put, pd_audit_met(result));
    put_number(put, pd_round_down(result->figure[PD_F_MAX_OHM]), 2);
    put_number(put, result->figure[PD_F_DRY_OHM], 3);
    put_number(put, result->figure[PD_F_ALONE_V], 1);
    put_number(put, result->figure[PD_F_BLIND_V], 1);
    pd_put_bytes(put, ",", 1);
    pd_audit_codes(put, words->audit, result, false);
    pd_put_bytes(put, ",\"", 2);
    pd_audit_because(put, words, result); /* no sentence has a quote: tests/test_audit.c */
    pd_put_bytes(put, "\",", 2);
    pd_audit_codes(put, words->audit, result, true);
    if (pd_audit_has_street(words->audit)) {
        put_number(put, result->figure[PD_F_STREET_V], 1);
        put_number(put, result->figure[PD_F_UNSEEN_V], 1);
        put_number(put, result->figure[PD_F_NEIGHBOURS], 0);
    }
    for (size_t i = width; row->cell != NULL && i < row->count; i++) {
        pd_put_bytes(put, ",", 1);
        pd_put_csv(put, row->cell[i]);
    }
    pd_put_bytes(put, "\n", 1);
}
