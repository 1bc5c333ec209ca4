/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_CELLS_H
#define PENDRIFT_REPORT_CELLS_H

#include <stdio.h>

/* Cells of a CSV output, each after a comma, and the '#' lines at its head. */

/* "# label: text" */
void pd_csv_comment(FILE *out, const char *label, const char *text);

/* The program, the case and all the cautions, as '#' lines. */
void pd_csv_head(FILE *out, const char *title);

/* The user's own texts are quoted whatever is in them; figures and our own words need no quotes. */
void pd_csv_text(FILE *out, const char *text);

/* Empty where it is not finite. */
void pd_csv_number(FILE *out, double value);

#endif
