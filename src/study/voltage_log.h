/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_VOLTAGE_LOG_H
#define PENDRIFT_STUDY_VOLTAGE_LOG_H

#include "network/load.h"
#include "table/status.h"
#include "table/table.h"

/* A recorded voltage log: CSV, a header, a column of time and one of line-neutral voltage, or one
 * for each line. Streamed: memory does not grow with the log.
 *
 * Columns are known by the words in their names, capitals or not. Time: `time`, `timestamp`, `date`
 * or `datetime`; ISO 8601 (table/moment.h), or plain numbers in the unit that the name ends in (s,
 * ms, min, h; seconds where there is none). Voltage: `v`, `volts`, `voltage`, `vrms`, and where
 * there are several a number or line: `l2_v`, `voltage_3`. Other columns are passed over. */

/* One moment. A line without a figure is not in `lines`. */
struct pd_log_sample {
    double time_s;
    double voltage_v[PD_LINES];
    unsigned lines;
    double hold_s; /* how long it stands for: to the next sample, or the usual step before a gap */
    bool breaks;   /* after it the record is broken */
};
typedef enum pd_status pd_sample_function(const struct pd_log_sample *sample, void *context);

/* Where the record is broken: a gap, or a clock set back. */
struct pd_gap {
    size_t line;     /* of the row after it */
    double length_s; /* what is missing; below 0: the clock goes back by this much */
};
enum { PD_GAPS_KEPT = 20 };

struct pd_log {
    char time_column[PD_NAME_MAX + 1];
    char voltage_column[PD_LINES][PD_NAME_MAX + 1]; /* "" for a line not recorded */
    unsigned lines;                                 /* recorded */
    size_t samples;
    size_t broken; /* rows that could not be used: in the errors */
    double first_s, last_s, covered_s;
    double step_s;                            /* the usual one: the median of the first intervals */
    double low_v[PD_LINES], high_v[PD_LINES]; /* NaN for a line not recorded */
    size_t gaps;
    double gaps_s, longest_gap_s;
    struct pd_gap gap[PD_GAPS_KEPT];
};

/* Reads a log, hands each sample on with how long it stands for, and fills *log. `only` is the line
 * that a single column without a number is of. A gap is an interval of more than one and a half
 * usual steps; of what is missing nothing is assumed.
 *
 * PD_OK: look at log->broken and `errors` for rows that were passed over, each with its line. A
 * header that does not say what is time and voltage, a log without a sample, or one that cannot be
 * read to its end: PD_ERR_INPUT, PD_ERR_FILE; PD_ERR_MEMORY; or what the function returned. */
enum pd_status pd_voltage_log_read(const char *path, const char *name, int only,
                                   pd_sample_function *function, void *context, struct pd_log *log,
                                   struct pd_errors *errors);

#endif
