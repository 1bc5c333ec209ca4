/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_AFTERMATH_H
#define PENDRIFT_REPORT_AFTERMATH_H

#include <stdio.h>

#include "study/aftermath.h"

/* The seconds after a break, on paper. Each function writes to `out`, does not flush or close it,
 * and returns PD_OK, PD_ERR_FILE or PD_ERR_MEMORY as those of report.h do. Each has all the
 * cautions, and no figure of an interval that is not determined. */

/* For people: how it ends comes first, then what happens in order of time. */
enum pd_status pd_aftermath_text(FILE *out, const struct pd_aftermath *aftermath);

/* For programs: one object, "schema": 1; every house's voltages in every interval. */
enum pd_status pd_aftermath_json(FILE *out, const struct pd_aftermath *aftermath);

/* For a spreadsheet: one row an interval, with the events that begin it. */
enum pd_status pd_aftermath_csv(FILE *out, const struct pd_aftermath *aftermath);

/* The picture: what the chassis and the lines are at, step by step, events marked. */
enum pd_status pd_aftermath_svg(FILE *out, const struct pd_aftermath *aftermath);

/* Parts that several of them say. */

struct pd_aftermath_words {
    char text[900];
};

/* How it ends, and what that means for who touches the vehicle. */
struct pd_aftermath_words pd_aftermath_headline(const struct pd_aftermath *aftermath);

/* The rest of the house's metalwork; the neighbours. Empty where nothing is determined. */
struct pd_aftermath_words pd_aftermath_metalwork(const struct pd_aftermath *aftermath);
struct pd_aftermath_words pd_aftermath_neighbours(const struct pd_aftermath *aftermath);

/* The worst zone that a person at the chassis is in, and when. */
struct pd_aftermath_words pd_aftermath_body(const struct pd_aftermath *aftermath);

/* Which break, loads and supply. Empty where there is none. */
struct pd_aftermath_words pd_aftermath_start(const struct pd_aftermath *aftermath);

/* "'vehicle' lets go: 139.1 V, under-voltage below 195.5 V, for 0.5 s". */
struct pd_aftermath_words pd_aftermath_event(const struct pd_aftermath *aftermath,
                                             const struct pd_event *event);

/* What the figures are, and are not. */
extern const char *const pd_aftermath_note;

/* The last interval with figures, NULL where there is none. */
const struct pd_interval *pd_aftermath_last(const struct pd_aftermath *aftermath);

#endif
