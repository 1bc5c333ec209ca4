/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_EARTHING_SEASON_H
#define PENDRIFT_EARTHING_SEASON_H

#include <stdbool.h>
#include <stddef.h>

#include "table/status.h"

/* Published kinds of soil and what the seasons do to it: reference/soils.csv and seasons.csv. */

struct pd_soil_kind {
    char name[48];
    double low_ohm_m, high_ohm_m; /* the range that is printed; a single figure twice */
    char seen[16], source[160];
};

struct pd_season {
    char name[48];
    double factor; /* bad season over the present, >= 1 */
    char seen[16], source[160];
};

/* Called for each row in the table's order. Return false to stop. */
typedef bool pd_soil_kind_function(const struct pd_soil_kind *kind, void *context);
typedef bool pd_season_function(const struct pd_season *season, void *context);

/* Walk the tables. PD_OK, PD_ERR_MEMORY, PD_ERR_INPUT (a fault of the program's own table). */
enum pd_status pd_soil_kinds_each(pd_soil_kind_function *function, void *context,
                                  struct pd_errors *errors);
enum pd_status pd_seasons_each(pd_season_function *function, void *context,
                               struct pd_errors *errors);

/* The row of that name. PD_OK; PD_ERR_INPUT where there is none: a line in `errors`, headed
 * `where`, names the nearest and lists them all; PD_ERR_MEMORY. */
enum pd_status pd_soil_kind_find(const char *name, const char *where, struct pd_soil_kind *kind,
                                 struct pd_errors *errors);
enum pd_status pd_season_find(const char *name, const char *where, struct pd_season *season,
                              struct pd_errors *errors);

/* The largest factor of the table that is from an electrode measured through a year: what is told
 * where no season is declared. */
enum pd_status pd_season_measured(struct pd_season *season);

#endif
