/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/audit_tables.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "network/transformer.h"
#include "study/audit_street.h"
#include "table/reference.h"
#include "table/table.h"

const char *const pd_finding_names[PD_FINDINGS] = {
    [PD_SUPPORTED] = "supported",
    [PD_NOT_SUPPORTED] = "not supported",
    [PD_INSUFFICIENT_EVIDENCE] = "insufficient evidence",
    [PD_NOT_READ] = "not read",
};

const char *const pd_effect_names[PD_EFFECTS] = {
    [PD_AGAINST] = "against",
    [PD_DOUBT] = "doubt",
    [PD_REMARK] = "remark",
    [PD_ASSUMED] = "assumed",
};

const char *const pd_audit_figure_names[PD_AUDIT_FIGURES] = {
    [PD_F_MAX_OHM] = "max_ohm",
    [PD_F_DRY_OHM] = "dry_ohm",
    [PD_F_READ_OHM] = "read_ohm",
    [PD_F_BALANCE_V] = "balance_v",
    [PD_F_ALONE_V] = "alone_v",
    [PD_F_STREET_V] = "street_v",
    [PD_F_UNSEEN_V] = "street_unseen_v",
    [PD_F_NEIGHBOURS] = "street_neighbours",
    [PD_F_BLIND_V] = "blind_v",
    [PD_F_TOUCH_LIMIT_V] = "touch_limit_v",
    [PD_F_BAND_LOW_V] = "band_low_v",
    [PD_F_BAND_HIGH_V] = "band_high_v",
    [PD_F_TIME_S] = "time_s",
    [PD_F_DELAY_S] = "delay_s",
    [PD_F_RCD_MA] = "rcd_ma",
    [PD_F_REACH_M] = "reach_m",
    [PD_F_LEAST_OHM] = "least_ohm",
    [PD_F_LOOP_OHM] = "loop_ohm",
    [PD_F_CHARGER_A] = "charger_a",
};

const char *pd_audit_code(enum pd_audit_reason reason)
{
    static const char *const codes[PD_AUDIT_REASONS] = {
#define X(name, code) [name] = code,
        PD_AUDIT_REASON_LIST(X)
#undef X
    };
    return codes[reason];
}

enum { CODE, EFFECT, SENTENCE, SOURCE, COLUMNS };
static const struct pd_column columns[COLUMNS] = {
    [CODE] = {"code", true},
    [EFFECT] = {"effect", true},
    [SENTENCE] = {"sentence", true},
    [SOURCE] = {"source", true},
};

static enum pd_status read_reason(const struct pd_row *row, void *context, struct pd_errors *errors)
{
    struct pd_audit *const audit = context;
    size_t effect, code = 0;
    if (!pd_row_choice(row, EFFECT, pd_effect_names, PD_EFFECTS, &effect, errors))
        return PD_ERR_INPUT;
    while (code < PD_AUDIT_REASONS &&
           strcmp(pd_row_text(row, CODE), pd_audit_code((enum pd_audit_reason)code)) != 0)
        code++;
    if (code == PD_AUDIT_REASONS)
        return pd_row_error(row, CODE, errors, "no reason has the code '%s'",
                            pd_row_text(row, CODE));
    struct pd_audit_row *const reason = &audit->reason[code];
    reason->effect = (enum pd_effect)effect;
    audit->there[code] = true;
    snprintf(reason->sentence, sizeof reason->sentence, "%s", pd_row_text(row, SENTENCE));
    snprintf(reason->source, sizeof reason->source, "%s", pd_row_text(row, SOURCE));
    return PD_OK;
}

static enum pd_status read_reasons(struct pd_audit *audit, struct pd_errors *errors)
{
    enum pd_status status = pd_table_read_text(
        pd_reference_audit_reasons, pd_reference_audit_reasons_length,
        "reference/audit_reasons.csv", columns, COLUMNS, read_reason, audit, errors);
    for (int i = 0; i < PD_AUDIT_REASONS && status == PD_OK; i++)
        if (!audit->there[i])
            status = pd_errors_add(errors, PD_ERR_INPUT, "reference/audit_reasons.csv", 0, "code",
                                   "has no row '%s'", pd_audit_code((enum pd_audit_reason)i));
    return status;
}

enum { SOIL, LOW, HIGH, SEEN, SOIL_SOURCE, SOIL_COLUMNS };
static const struct pd_column soil_columns[SOIL_COLUMNS] = {
    [SOIL] = {"soil", true}, [LOW] = {"low_ohm_m", true},      [HIGH] = {"high_ohm_m", true},
    [SEEN] = {"seen", true}, [SOIL_SOURCE] = {"source", true},
};

static enum pd_status read_soil(const struct pd_row *row, void *context, struct pd_errors *errors)
{
    struct pd_audit *const audit = context;
    double low_ohm_m;
    if (!pd_row_number(row, LOW, (struct pd_range){0.1, 1e5, NULL}, &low_ohm_m, errors))
        return PD_ERR_INPUT;
    if (audit->soils == PD_AUDIT_SOILS)
        return pd_row_error(row, SOIL, errors, "there is room for %d soils", PD_AUDIT_SOILS);
    struct pd_audit_soil *const soil = &audit->soil[audit->soils++];
    snprintf(soil->name, sizeof soil->name, "%s", pd_row_text(row, SOIL));
    soil->low_ohm_m = low_ohm_m;
    return PD_OK;
}

static bool take_transformer(const struct pd_transformer *t, void *context)
{
    struct pd_audit *const audit = context;
    if (audit->transformers == PD_AUDIT_TRANSFORMERS)
        return false;
    struct pd_audit_transformer *const to = &audit->transformer[audit->transformers++];
    snprintf(to->name, sizeof to->name, "%s", t->name);
    to->ohm = cabs(pd_transformer_ohm(t));
    audit->least_transformer_ohm = fmin(audit->least_transformer_ohm, to->ohm);
    return true;
}

static enum pd_status read_set(struct pd_audit *audit, const char *set, struct pd_errors *errors)
{
    char nearest[64];
    const enum pd_status status = pd_limits_find(set, &audit->limits, nearest);
    if (status == PD_ERR_INPUT)
        return pd_errors_add(errors, status, "--limits", 0, "", "no limit set '%s'%s%s%s", set,
                             nearest[0] != '\0' ? "; did you mean '" : "", nearest,
                             nearest[0] != '\0' ? "'?" : "");
    if (status == PD_OK && isnan(audit->limits.touch_v))
        return pd_errors_add(errors, PD_ERR_INPUT, "--limits", 0, "",
                             "set '%s' has no figures of its own; choose another", set);
    return status;
}

enum pd_status pd_audit_new(const char *limit_set, struct pd_audit **out, struct pd_errors *errors)
{
    struct pd_audit *audit = *out = calloc(1, sizeof *audit);
    if (audit == NULL)
        return PD_ERR_MEMORY;
    audit->least_transformer_ohm = INFINITY;
    enum pd_status status = read_set(audit, limit_set, errors);
    if (status == PD_OK)
        status = read_reasons(audit, errors);
    if (status == PD_OK)
        status =
            pd_table_read_text(pd_reference_soils, pd_reference_soils_length, "reference/soils.csv",
                               soil_columns, SOIL_COLUMNS, read_soil, audit, errors);
    if (status == PD_OK)
        status = pd_transformers_each(take_transformer, audit, errors);
    if (status != PD_OK)
        pd_audit_free(out);
    return status;
}

void pd_audit_free(struct pd_audit **audit)
{
    free(*audit);
    *audit = NULL;
}

const struct pd_limits *pd_audit_limits(const struct pd_audit *audit)
{
    return &audit->limits;
}

const struct pd_audit_row *pd_audit_reason_row(const struct pd_audit *audit,
                                               enum pd_audit_reason reason)
{
    return &audit->reason[reason];
}

enum pd_status pd_audit_set_street(struct pd_audit *audit, const char *folder,
                                   struct pd_errors *errors)
{
    struct pd_street *street;
    const enum pd_status status = pd_street_new(folder, &audit->limits, &street, errors);
    pd_street_free(&street);
    audit->street = status == PD_OK ? folder : NULL;
    return status;
}

bool pd_audit_has_street(const struct pd_audit *audit)
{
    return audit->street != NULL;
}
