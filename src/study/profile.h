/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_PROFILE_H
#define PENDRIFT_STUDY_PROFILE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "network/network.h"
#include "table/status.h"

/* Reading profile.csv: a recorded or forecast load series, a moment a row, handed on one by one, so
 * that memory does not grow with the record.
 *
 * Columns: one of times, and one for each load that has a series, by its name in loads.csv and in
 * the unit in which loads.csv gives that load (current_a or power_kw, at nominal voltage). A load
 * without a column keeps its present value. A cell left empty is a moment that is not known. A
 * number below 0 is an error: what feeds into the network is an inverter, a load of its own.
 *
 * Times are in the column `time`: ISO 8601 (2026-01-31T17:30, with seconds or without, T or a
 * blank, Z or an offset or neither) or a clock (17:30, 17:30:00, up to 24:00); or, as plain
 * numbers, in one of time_s, time_min, time_h. Each is later than the one before. */

enum { PD_TIME_MAX = 40 }; /* bytes of a time's text */

/* One moment, lent for the length of the call. */
struct pd_profile_moment {
    const char *time; /* as the table has it */
    const char *unit; /* " h", " min" or " s" where that is a plain number, else "" */
    int64_t at_ms;    /* since some zero, the same for all moments of a table */
    double *load_a;   /* [load_count] ampere of each load's elements at nominal voltage */
    bool known;       /* no cell was left empty; else load_a is 0 there */
    size_t bytes;     /* of the table read so far */
};

/* Called for each good row. Returns as a pd_row_function. */
typedef enum pd_status pd_profile_function(const struct pd_profile_moment *moment, void *context);

/* What a load did in the record. */
struct pd_profile_load {
    bool given;             /* has a column */
    double least_a, most_a; /* NaN where there is none */
};

/* Reads a profile from a file, "-" for standard input. `name` is for messages. load[load_count] is
 * filled. Called on after an error only to find the others: not `function`.
 *
 * PD_OK; PD_ERR_FILE, PD_ERR_INPUT (also: no load has a column, a load has the name of a column of
 * times), PD_ERR_MEMORY, or what `function` ended it with; a line in `errors` for each failure. */
enum pd_status pd_profile_read(const char *path, const char *name, const struct pd_network *network,
                               pd_profile_function *function, void *context,
                               struct pd_profile_load *load, struct pd_errors *errors);

/* Reads a time: ISO 8601 or a clock, as above, into milliseconds. False where it is neither.
 * *dated tells which. */
bool pd_profile_time(const char *text, int64_t *at_ms, bool *dated);

/* The step of a record from its first moments: the difference between neighbours that occurs most
 * often, of equals the shorter. count >= 2. Milliseconds, > 0. */
int64_t pd_profile_step(const int64_t *at_ms, size_t count);

#endif
