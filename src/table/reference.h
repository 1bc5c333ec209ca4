/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TABLE_REFERENCE_H
#define PENDRIFT_TABLE_REFERENCE_H

#include <stdbool.h>
#include <stddef.h>

#include "table/status.h"

/* The tables of reference/, compiled into the program byte for byte. */
extern const char pd_reference_limits[];
extern const size_t pd_reference_limits_length;
extern const char pd_reference_cables[];
extern const size_t pd_reference_cables_length;
extern const char pd_reference_checks[];
extern const size_t pd_reference_checks_length;
extern const char pd_reference_mixtures[];
extern const size_t pd_reference_mixtures_length;
extern const char pd_reference_stages[];
extern const size_t pd_reference_stages_length;
extern const char pd_reference_window_times[];
extern const size_t pd_reference_window_times_length;
extern const char pd_reference_transformers[];
extern const size_t pd_reference_transformers_length;
extern const char pd_reference_soils[];
extern const size_t pd_reference_soils_length;
extern const char pd_reference_seasons[];
extern const size_t pd_reference_seasons_length;
extern const char pd_reference_body[];
extern const size_t pd_reference_body_length;
extern const char pd_reference_body_paths[];
extern const size_t pd_reference_body_paths_length;
extern const char pd_reference_shock_curves[];
extern const size_t pd_reference_shock_curves_length;
extern const char pd_reference_audit_reasons[];
extern const size_t pd_reference_audit_reasons_length;

/* All of them, in the order of their names. */
struct pd_reference {
    const char *name; /* of the file, without .csv */
    const char *text;
    const size_t *length;
};
enum { PD_REFERENCES = 13 };
extern const struct pd_reference pd_references[PD_REFERENCES];

/* One of them taken apart, for people who want to see it. Free it with pd_listing_free. */
struct pd_listing {
    const struct pd_reference *reference;
    char *comment; /* what stands at its head, without the '#', lines joined by a blank */
    char **columns;
    size_t column_count, row_count;
    char **cells; /* row by row, row_count x column_count; "" where empty */
};

/* Reads it into *listing, which is freed with pd_listing_free also after a failure. PD_OK,
 * PD_ERR_MEMORY, or PD_ERR_INPUT where the table has been damaged: then `errors`, not NULL, says
 * where. */
enum pd_status pd_listing_read(const struct pd_reference *reference, struct pd_listing *listing,
                               struct pd_errors *errors);
void pd_listing_free(struct pd_listing *listing);

/* The column of that name, column_count where there is none. */
size_t pd_listing_column(const struct pd_listing *listing, const char *name);

/* How many rows say in `status`, `seen` or `source` that they, or a part of them, are from memory;
 * and how many that they have no source. */
size_t pd_listing_from_memory(const struct pd_listing *listing);
size_t pd_listing_no_source(const struct pd_listing *listing);

/* Whether every cell of the column that is not empty is a number, and there is one. */
bool pd_listing_numeric(const struct pd_listing *listing, size_t column);

#endif
