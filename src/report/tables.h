/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_TABLES_H
#define PENDRIFT_REPORT_TABLES_H

#include <stdio.h>

#include "table/reference.h"

/* The reference tables compiled into the program, to be looked at. Every function writes to `out`,
 * does not flush or close it, and returns PD_OK, PD_ERR_FILE (what was written may be cut off) or
 * PD_ERR_MEMORY. */

/* What there is: each table's name, what it is for, its rows and how many are from memory. */
enum pd_status pd_tables_text(FILE *out, const struct pd_listing *listing, size_t count);
enum pd_status pd_tables_csv(FILE *out, const struct pd_listing *listing, size_t count);
enum pd_status pd_tables_json(FILE *out, const struct pd_listing *listing, size_t count);

/* One table. As text: aligned, what is too wide for its line under it, sources numbered and listed
 * at the end; numbers of many digits are shortened to six. As JSON: rows as objects, with all
 * digits; a cell without anything in it is null. */
enum pd_status pd_listing_text(FILE *out, const struct pd_listing *listing);
enum pd_status pd_listing_json(FILE *out, const struct pd_listing *listing);

/* What a table is for: the first sentence of its comment. Written into text[size]. */
void pd_listing_purpose(const struct pd_listing *listing, char *text, size_t size);

#endif
