/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_AUDIT_H
#define PENDRIFT_REPORT_AUDIT_H

#include <stdio.h>

#include "report/put.h"
#include "study/audit_tally.h"
#include "table/sheet.h"

/* What an audit is written as: rows, as CSV or as a JSON object each; and a page that sums up. */

/* Sentences cut at their figures once, so that a row only joins the pieces. */
enum { PD_PIECES = 9 };
struct pd_sentence {
    struct pd_bytes text[PD_PIECES];
    int figure[PD_PIECES]; /* behind each piece; -1: none */
    int count;
};
struct pd_audit_words {
    const struct pd_audit *audit;
    struct pd_sentence sentence[PD_AUDIT_REASONS];
};
/* PD_OK, or PD_ERR_INPUT where a sentence names a figure that there is not (a fault of the
 * program's own table). */
enum pd_status pd_audit_words_new(const struct pd_audit *audit, struct pd_audit_words *words,
                                  struct pd_errors *errors);

void pd_audit_codes(struct pd_put *put, const struct pd_audit *audit,
                    const struct pd_audit_result *result, bool assumed);
void pd_audit_because(struct pd_put *put, const struct pd_audit_words *words,
                      const struct pd_audit_result *result);

/* The name of the claim and of what holds: "none", "not determined". */
const char *pd_audit_claim(const struct pd_site *site);
const char *pd_audit_met(const struct pd_audit_result *result);

void pd_audit_csv_head(struct pd_put *put, const struct pd_audit *audit,
                       const struct pd_sheet *sheet);
void pd_audit_csv_row(struct pd_put *put, const struct pd_audit_words *words,
                      const struct pd_sheet_row *row, size_t width, const struct pd_site *site,
                      const struct pd_audit_result *result);

/* JSON lines: the first says what wrote it, with cautions; then an object for each row; the last
 * sums up. */
void pd_audit_json_head(struct pd_put *put, const struct pd_audit *audit,
                        const struct pd_sheet *sheet);
void pd_audit_json_row(struct pd_put *put, const struct pd_audit_words *words,
                       const struct pd_sheet *sheet, const struct pd_sheet_row *row,
                       const struct pd_site *site, const struct pd_audit_result *result);
void pd_audit_json_end(struct pd_put *put, const struct pd_audit *audit,
                       const struct pd_tally *tally);

struct pd_audit_page {
    const struct pd_audit *audit;
    const struct pd_tally *tally;
    const char *sheet; /* its name */
    const struct pd_site_map *map;
    const struct pd_errors *near; /* columns named nearly like ours */
};
void pd_audit_text(FILE *out, const struct pd_audit_page *page);
void pd_audit_html(struct pd_put *put, const struct pd_audit_page *page);

/* Contractors, the one with most sites not supported first; at most `most`. Returns how many. */
size_t pd_audit_rank(const struct pd_tally *tally, const struct pd_contractor **ranked,
                     size_t most);

#endif
