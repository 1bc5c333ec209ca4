/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TESTS_SITES_H
#define PENDRIFT_TESTS_SITES_H

#include <stdint.h>
#include <stdio.h>

/* A made-up contractors' spreadsheet: completed jobs in an invented place, with known defects
 * planted in it. The same seed makes the same bytes. */

/* Writes the sheet; and to `planted`, which may be NULL, a line for each row: the finding that it
 * must come to and the one reason for it ("supported -" where nothing is wrong). */
void sites_write(FILE *sheet, FILE *planted, uint64_t seed, size_t rows);

enum { SITES_DEMO_ROWS = 320 };
#define SITES_DEMO_SEED UINT64_C(20260301)

#endif
