/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_AUDIT_TABLES_H
#define PENDRIFT_STUDY_AUDIT_TABLES_H

#include "study/audit.h"

/* What sites are held against: the limit set, sentences, soils, transformers. The room's own. */
enum { PD_AUDIT_SOILS = 32, PD_AUDIT_TRANSFORMERS = 64 };

struct pd_audit_soil {
    char name[48];
    double low_ohm_m;
};
struct pd_audit_transformer {
    char name[48];
    double ohm;
};

struct pd_audit {
    struct pd_limits limits;
    struct pd_audit_row reason[PD_AUDIT_REASONS];
    bool there[PD_AUDIT_REASONS];
    struct pd_audit_soil soil[PD_AUDIT_SOILS];
    size_t soils;
    struct pd_audit_transformer transformer[PD_AUDIT_TRANSFORMERS];
    size_t transformers;
    double least_transformer_ohm;
    const char *street; /* NULL: none */
};

#endif
