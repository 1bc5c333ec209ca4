/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "report/audit.h"
#include "study/rule.h"

static int figure_of(const char *name, size_t length)
{
    for (int i = 0; i < PD_AUDIT_FIGURES; i++)
        if (strlen(pd_audit_figure_names[i]) == length &&
            memcmp(pd_audit_figure_names[i], name, length) == 0)
            return i;
    return -1;
}

static bool cut(const char *text, struct pd_sentence *sentence)
{
    const char *open;
    while ((open = strchr(text, '{')) != NULL) {
        const char *const close = strchr(open, '}');
        if (close == NULL || sentence->count + 1 >= PD_PIECES)
            return false;
        const int figure = figure_of(open + 1, (size_t)(close - open) - 1);
        if (figure < 0)
            return false;
        sentence->text[sentence->count] = (struct pd_bytes){text, (size_t)(open - text)};
        sentence->figure[sentence->count++] = figure;
        text = close + 1;
    }
    sentence->text[sentence->count] = (struct pd_bytes){text, strlen(text)};
    sentence->figure[sentence->count++] = -1;
    return true;
}

enum pd_status pd_audit_words_new(const struct pd_audit *audit, struct pd_audit_words *words,
                                  struct pd_errors *errors)
{
    *words = (struct pd_audit_words){.audit = audit};
    for (int i = 0; i < PD_AUDIT_REASONS; i++) {
        const enum pd_audit_reason reason = (enum pd_audit_reason)i;
        if (!cut(pd_audit_reason_row(audit, reason)->sentence, &words->sentence[i]))
            return pd_errors_add(errors, PD_ERR_INPUT, "reference/audit_reasons.csv", 0, "sentence",
                                 "of '%s' names a figure that there is not", pd_audit_code(reason));
    }
    return PD_OK;
}

void pd_audit_codes(struct pd_put *put, const struct pd_audit *audit,
                    const struct pd_audit_result *result, bool assumed)
{
    bool first = true;
    struct pd_reasons rest = result->reasons;
    for (enum pd_audit_reason reason; pd_reasons_take(&rest, &reason);) {
        if ((pd_audit_reason_row(audit, reason)->effect == PD_ASSUMED) != assumed)
            continue;
        if (!first)
            pd_put_bytes(put, " ", 1);
        first = false;
        pd_put_text(put, pd_audit_code(reason));
    }
}

/* A resistance not to be passed is rounded down. */
static void put_figure(struct pd_put *put, const struct pd_audit_result *result, int figure)
{
    const double value = result->figure[figure];
    if (!isfinite(value))
        pd_put_text(put, "?");
    else if (figure == PD_F_MAX_OHM)
        pd_put_number(put, pd_round_down(value), 2);
    else
        pd_put_number(
            put, value,
            figure == PD_F_BALANCE_V || figure == PD_F_BLIND_V || figure == PD_F_UNSEEN_V ? 1 : 3);
}

void pd_audit_because(struct pd_put *put, const struct pd_audit_words *words,
                      const struct pd_audit_result *result)
{
    bool first = true;
    struct pd_reasons rest = result->reasons;
    for (enum pd_audit_reason reason; pd_reasons_take(&rest, &reason);) {
        const struct pd_sentence *const sentence = &words->sentence[reason];
        if (pd_audit_reason_row(words->audit, reason)->effect == PD_ASSUMED)
            continue;
        if (!first)
            pd_put_bytes(put, " ", 1);
        first = false;
        for (int i = 0; i < sentence->count; i++) {
            pd_put_bytes(put, sentence->text[i].at, sentence->text[i].length);
            if (sentence->figure[i] >= 0)
                put_figure(put, result, sentence->figure[i]);
        }
    }
}

const char *pd_audit_claim(const struct pd_site *site)
{
    const int basis = site->choice[PD_S_BASIS];
    return basis < 0 ? "" : pd_basis_names[basis];
}

const char *pd_audit_met(const struct pd_audit_result *result)
{
    for (int kind = PD_ROUTE_BALANCE; kind <= PD_ROUTE_TT; kind++)
        if ((result->met & 1u << kind) != 0)
            return pd_basis_names[kind];
    return result->route_known ? "none" : "not determined";
}
