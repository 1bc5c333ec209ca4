/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_REPORT_H
#define PENDRIFT_REPORT_REPORT_H

#include <stdbool.h>
#include <stdio.h>

#include "study/assess.h"
#include "study/commission.h"
#include "study/nuisance.h"

/* An assessment on paper: for people, for programs, for a spreadsheet. Each carries the verdict,
 * where it comes from, and all the cautions.
 *
 * Every function writes to `out`, does not flush or close it, and returns PD_OK, PD_ERR_FILE (what
 * was written may be cut off) or PD_ERR_MEMORY (nothing was written). A figure that is not known is
 * never written as a number. Of a scenario that is not solved no voltage is written. */

/* The program's version, "0.1.0". */
extern const char *const pd_version;

/* No line of a text report is longer than this, counted in characters. */
enum { PD_REPORT_WIDTH = 80 };

struct pd_report_style {
    bool color; /* ANSI colour on the verdict; the word says the same without it */
};

/* For people: the answer first, then what decides it, then the record. */
enum pd_status pd_report_text(FILE *out, const struct pd_assessment *assessment,
                              const struct pd_report_style *style);

/* For programs: one object, "schema": 1, the shape of DESIGN section 7. A figure that is not finite
 * is null: "max_ohm" is null both where none is needed and where it is not determined; the
 * answer beside it tells which. */
enum pd_status pd_report_json(FILE *out, const struct pd_assessment *assessment);

/* For a spreadsheet: the scenarios, one a row, RFC 4180 quoting with LF line ends; verdict and
 * cautions are '#' lines at its head. A figure that is not known is an empty cell. */
enum pd_status pd_report_csv(FILE *out, const struct pd_assessment *assessment);

/* Nuisance: the same three, and the same promises. `errors` holds the log's rows that were passed
 * over. In CSV a row is a device. */
enum pd_status pd_nuisance_text(FILE *out, const struct pd_nuisance *nuisance,
                                const struct pd_errors *errors);
enum pd_status pd_nuisance_json(FILE *out, const struct pd_nuisance *nuisance,
                                const struct pd_errors *errors);
enum pd_status pd_nuisance_csv(FILE *out, const struct pd_nuisance *nuisance,
                               const struct pd_errors *errors);

/* A commissioning sheet, with blanks for the tester's readings: the same three. In CSV a row is a
 * step. */
enum pd_status pd_commission_text(FILE *out, const struct pd_test_sheet *sheet);
enum pd_status pd_commission_json(FILE *out, const struct pd_test_sheet *sheet);
enum pd_status pd_commission_csv(FILE *out, const struct pd_test_sheet *sheet);

/* Every error kept, one a line as pd_error_format makes it, then how many more there were. */
void pd_report_errors(FILE *out, const struct pd_errors *errors);

#endif
