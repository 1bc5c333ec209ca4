/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "report/audit.h"
#include "report/cautions.h"
#include "report/report.h"

static void key(struct pd_put *put, const char *name)
{
    pd_put_text(put, ", \"");
    pd_put_text(put, name);
    pd_put_text(put, "\": ");
}

static void number(struct pd_put *put, const char *name, double value)
{
    key(put, name);
    if (isfinite(value))
        pd_put_number(put, value, 6);
    else
        pd_put_text(put, "null");
}

static void string(struct pd_put *put, const char *name, const char *text)
{
    key(put, name);
    pd_put_json(put, text);
}

void pd_audit_json_head(struct pd_put *put, const struct pd_audit *audit,
                        const struct pd_sheet *sheet)
{
    const struct pd_limits *const limits = pd_audit_limits(audit);
    pd_put_text(put, "{\"schema\": 1, \"program\": \"pendrift\", \"what\": \"audit\"");
    string(put, "version", pd_version);
    key(put, "cautions");
    for (size_t i = 0; i < PD_CAUTIONS; i++) {
        pd_put_text(put, i == 0 ? "[" : ", ");
        pd_put_json(put, pd_cautions[i]);
    }
    pd_put_text(put, "]");
    key(put, "limits");
    pd_put_text(put, "{\"set\": ");
    pd_put_json(put, limits->set);
    string(put, "status", limits->status);
    number(put, "touch_v", limits->touch_v);
    number(put, "band_low_v", limits->band_low_v);
    number(put, "band_high_v", limits->band_high_v);
    number(put, "time_s", limits->time_s);
    pd_put_text(put, "}");
    key(put, "columns");
    for (size_t i = 0; i < pd_sheet_width(sheet); i++) {
        pd_put_text(put, i == 0 ? "[" : ", ");
        pd_put_json(put, pd_sheet_column(sheet, i));
    }
    pd_put_text(put, "]}\n");
}

static void codes(struct pd_put *put, const char *name, const struct pd_audit *audit,
                  const struct pd_audit_result *result, bool assumed)
{
    bool first = true;
    key(put, name);
    pd_put_text(put, "[");
    struct pd_reasons rest = result->reasons;
    for (enum pd_audit_reason reason; pd_reasons_take(&rest, &reason);) {
        if ((pd_audit_reason_row(audit, reason)->effect == PD_ASSUMED) != assumed)
            continue;
        pd_put_text(put, first ? "\"" : ", \"");
        pd_put_text(put, pd_audit_code(reason));
        pd_put_text(put, "\"");
        first = false;
    }
    pd_put_text(put, "]");
}

void pd_audit_json_row(struct pd_put *put, const struct pd_audit_words *words,
                       const struct pd_sheet *sheet, const struct pd_sheet_row *row,
                       const struct pd_site *site, const struct pd_audit_result *result)
{
    pd_put_text(put, "{\"line\": ");
    pd_put_count(put, row->line);
    string(put, "site", site->text[PD_S_SITE]);
    string(put, "finding", pd_finding_names[result->finding]);
    string(put, "claim", pd_audit_claim(site));
    string(put, "route_met", pd_audit_met(result));
    number(put, "electrode_max_ohm", result->figure[PD_F_MAX_OHM]);
    number(put, "electrode_ohm", result->figure[PD_F_DRY_OHM]);
    number(put, "alone_v", result->figure[PD_F_ALONE_V]);
    number(put, "blind_v", result->figure[PD_F_BLIND_V]);
    number(put, "street_v", result->figure[PD_F_STREET_V]);
    number(put, "street_unseen_v", result->figure[PD_F_UNSEEN_V]);
    number(put, "street_neighbours", result->figure[PD_F_NEIGHBOURS]);
    codes(put, "reasons", words->audit, result, false);
    key(put, "because");
    pd_put_text(put, "\"");
    pd_audit_because(put, words, result);
    pd_put_text(put, "\"");
    codes(put, "assumed", words->audit, result, true);
    key(put, "cells");
    pd_put_text(put, "[");
    for (size_t i = 0; row->cell != NULL && i < row->count; i++) {
        pd_put_text(put, i == 0 ? "" : ", ");
        pd_put_json(put, row->cell[i]);
    }
    pd_put_text(put, "]}\n");
    (void)sheet;
}

void pd_audit_json_end(struct pd_put *put, const struct pd_audit *audit,
                       const struct pd_tally *tally)
{
    static const char *const names[PD_FINDINGS] = {[PD_SUPPORTED] = "supported",
                                                   [PD_NOT_SUPPORTED] = "not_supported",
                                                   [PD_INSUFFICIENT_EVIDENCE] =
                                                       "insufficient_evidence",
                                                   [PD_NOT_READ] = "not_read"};
    bool first = true;
    (void)audit;
    pd_put_text(put, "{\"rows\": ");
    pd_put_count(put, tally->rows);
    for (int i = 0; i < PD_FINDINGS; i++)
        number(put, names[i], (double)tally->finding[i]);
    key(put, "reasons");
    pd_put_text(put, "{");
    for (int i = 0; i < PD_AUDIT_REASONS; i++) {
        if (tally->reason[i] == 0)
            continue;
        pd_put_text(put, first ? "" : ", ");
        pd_put_json(put, pd_audit_code((enum pd_audit_reason)i));
        pd_put_text(put, ": ");
        pd_put_count(put, tally->reason[i]);
        first = false;
    }
    pd_put_text(put, "}}\n");
}
