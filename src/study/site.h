/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_SITE_H
#define PENDRIFT_STUDY_SITE_H

#include <stdbool.h>
#include <stddef.h>

#include "table/status.h"

/* A completed job as a row of a contractor's spreadsheet declares it. */

enum pd_site_number {
    PD_S_DEMAND_L1, /* maximum demand of all but the charging point, and the least; by line */
    PD_S_DEMAND_L2,
    PD_S_DEMAND_L3,
    PD_S_LEAST_L1,
    PD_S_LEAST_L2,
    PD_S_LEAST_L3,
    PD_S_CHARGER,
    PD_S_MANAGEMENT,
    PD_S_ELECTRODE,
    PD_S_SEASON_FACTOR,
    PD_S_ROD_LENGTH,
    PD_S_LOW,
    PD_S_HIGH,
    PD_S_LIMIT,
    PD_S_TOLERANCE,
    PD_S_DELAY,
    PD_S_RCD,
    PD_S_REACH,
    PD_S_LOOP,
    PD_S_VOLTAGE_L1,
    PD_S_VOLTAGE_L2,
    PD_S_VOLTAGE_L3
};
enum { PD_SITE_NUMBERS = PD_S_VOLTAGE_L3 + 1 };

enum pd_site_choice {
    PD_S_EARTHING,
    PD_S_SYSTEM,
    PD_S_CHARGER_PHASE,
    PD_S_PME_USED,
    PD_S_CONFIRMED,
    PD_S_SEASON,
    PD_S_SHAPE,
    PD_S_SENSES,
    PD_S_DISCONNECTS,
    PD_S_RESET,
    PD_S_BASIS
};
enum { PD_SITE_CHOICES = PD_S_BASIS + 1 };

enum pd_site_text { PD_S_SITE, PD_S_SOIL, PD_S_TRANSFORMER, PD_S_CONTRACTOR, PD_S_DATE };
enum { PD_SITE_TEXTS = PD_S_DATE + 1 };

enum pd_site_season { PD_SEASON_DRY, PD_SEASON_WET, PD_SEASON_FROZEN };
/* What the contractor rests on: route 1 to 6 by enum pd_route_kind, or that there is no PEN. */
enum { PD_BASIS_NO_PEN = 0, PD_BASES = 7 };
extern const char *const pd_basis_names[PD_BASES];

struct pd_site {
    double number[PD_SITE_NUMBERS]; /* NaN: not given */
    int choice[PD_SITE_CHOICES];    /* -1: not given */
    const char *text[PD_SITE_TEXTS];
    unsigned wrong;  /* cells that could not be understood, taken as not given */
    int first_wrong; /* column of the first; -1 */
};

enum { PD_SITE_COLUMNS = PD_SITE_NUMBERS + PD_SITE_CHOICES + PD_SITE_TEXTS };

/* The columns that are ours, in the order of README. */
const char *pd_site_column(size_t column);

/* Which of a sheet's columns are ours, and what is odd about them. */
struct pd_site_map {
    size_t *column_of; /* [width] number of our column, or PD_NONE */
    size_t width;
    size_t cell_of[PD_SITE_COLUMNS]; /* PD_NONE: the sheet has no such column */
};

/* Maps a header. A column of ours given twice is an error at `line`. Lines for the columns that are
 * named nearly like one of ours go to *near, which is told and is not an error. PD_OK,
 * PD_ERR_INPUT, PD_ERR_MEMORY. The caller frees with pd_site_map_free. */
enum pd_status pd_site_map_new(const char *const *header, size_t width, const char *table,
                               size_t line, struct pd_site_map *map, struct pd_errors *near,
                               struct pd_errors *errors);
void pd_site_map_free(struct pd_site_map *map);

/* Reads a row's cells. Cells that cannot be understood go to `errors` (may be NULL), at the row's
 * line, and count as not given. */
void pd_site_read(const struct pd_site_map *map, const char *const *cell, const char *table,
                  size_t line, struct pd_site *site, struct pd_errors *errors);

/* A site of which nothing is given. */
void pd_site_none(struct pd_site *site);

/* Only the contractor and the readings that are held against each other (study/audit_tally.h). */
void pd_site_read_readings(const struct pd_site_map *map, const char *const *cell,
                           struct pd_site *site);

#endif
