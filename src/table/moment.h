/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TABLE_MOMENT_H
#define PENDRIFT_TABLE_MOMENT_H

#include <stdbool.h>

/* Reads a moment into seconds: from 1970-01-01 UTC for a date, from wherever the numbers begin for
 * a plain number, which is in `unit_s` seconds. Dates are ISO 8601, extended form: YYYY-MM-DD, or
 * with 'T' or a blank HH:MM, HH:MM:SS or HH:MM:SS.fff, and then nothing, 'Z', or an offset +HH,
 * +HH:MM; without an offset they are taken as UTC, so that local time jumps twice a year. Second 60
 * is allowed. False, with *time_s untouched, for anything else. */
bool pd_parse_moment(const char *text, double unit_s, double *time_s);

#endif
