/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_AUDIT_TALLY_H
#define PENDRIFT_STUDY_AUDIT_TALLY_H

#include "study/audit.h"

/* What a whole sheet comes to: counted in bounded memory, the same for any number of threads. */

enum { PD_CONTRACTORS = 4096, PD_CONTRACTOR_MAX = 63, PD_WORST = 10, PD_WORST_TEXT = 63 };

/* One contractor's readings, to see whether they are copies of one, and findings. */
struct pd_contractor {
    char name[PD_CONTRACTOR_MAX + 1]; /* "" is one too: not named */
    uint64_t hash;                    /* of the whole name; 0: the place is free */
    size_t readings[PD_READINGS];
    double reading[PD_READINGS];
    bool differ[PD_READINGS];
    size_t finding[PD_FINDINGS];
    uint32_t reason[PD_AUDIT_REASONS];
};

struct pd_worst_site {
    char site[PD_WORST_TEXT + 1], contractor[PD_WORST_TEXT + 1];
    size_t line;
    double alone_v;
    enum pd_finding finding;
};

struct pd_tally {
    struct pd_contractor *contractor; /* [PD_CONTRACTORS] by hash */
    size_t contractors, beyond;       /* rows of contractors that there was no room for */
    size_t rows, wrong_cells;
    size_t finding[PD_FINDINGS];
    size_t reason[PD_AUDIT_REASONS];
    struct pd_worst_site worst[PD_WORST]; /* not supported, by voltage, then by line */
    size_t worsts;
};

/* Makes room; the caller frees. PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_tally_new(struct pd_tally *tally);
void pd_tally_free(struct pd_tally *tally);

/* The contractor of that name, added where it is new; NULL where there is no room for another. */
struct pd_contractor *pd_tally_contractor(struct pd_tally *tally, const char *name);

void pd_tally_readings(struct pd_tally *tally, const struct pd_site *site);
void pd_tally_result(struct pd_tally *tally, const struct pd_site *site, size_t line,
                     const struct pd_audit_result *result);
/* Adds what another thread has counted. */
void pd_tally_add(struct pd_tally *tally, const struct pd_tally *other);

/* Bits 1u << enum pd_reading_kind: readings of which there are PD_COPIED_LEAST or more, all equal.
 */
unsigned pd_tally_copied(const struct pd_tally *tally, const char *contractor);

#endif
