/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TESTS_CASE_FOLDER_H
#define PENDRIFT_TESTS_CASE_FOLDER_H

#include <stdbool.h>

#include "check.h"

#include "study/assess.h"

/* Cases for tests: those of the folder cases/, and changed copies of them in a folder of their own.
 */

enum { CASE_TABLES = 6 };
extern const char *const case_table[CASE_TABLES]; /* "case.csv" first */

extern const char *const case_names[]; /* every folder of cases/, NULL at the end */

/* The folder of cases: PENDRIFT_CASES in the environment, default "cases". */
const char *cases_folder(void);

/* A case read and assessed. Start with {0}. */
struct study {
    struct pd_case *study_case;
    struct pd_assessment *a;
};

/* Reads and assesses; fails the test with the errors' lines where that fails. */
void study_open(struct study *study, const char *folder);
void study_open_example(struct study *study, const char *name);
void study_close(struct study *study);

/* The scenario of a break, or of none (section NULL). Fails the test where there is not just one
 * or, for PD_LOADS_CORNER, returns the one with the largest touch voltage. */
const struct pd_scenario *study_scenario(const struct study *study, const char *section,
                                         enum pd_loads loads, double supply_v);

/* A case's tables as text; NULL where there is no such table. */
struct case_text {
    char *table[CASE_TABLES];
};
void case_text_read(struct case_text *text, const char *name);
void case_text_free(struct case_text *text);

/* Puts a table in place of what is there. */
void case_text_set(struct case_text *text, const char *table, const char *content);

/* A folder of its own under the system's temporary folder, empty. Removed, with the tables in it,
 * by folder_remove. */
struct folder {
    char path[64];
};
void folder_make(struct folder *folder);
void folder_remove(struct folder *folder);

/* Writes the tables, removing those that are NULL. */
void folder_fill(const struct folder *folder, const struct case_text *text);

/* Reads and assesses, without failing the test where the case is wrong: then its status. */
enum pd_status folder_assess(const struct folder *folder, struct study *study,
                             struct pd_errors *errors);

/* One cell of a table's text: data rows only, not comments and not the header. */
struct cell {
    char column[64];
    char quantity[64];  /* first cell of the row */
    size_t start, end;  /* bytes of the cell in the text, quotes included */
    size_t line, index; /* line from 1, cell from 0 */
};

/* Finds the cells of a table; the caller frees *cells. Cells with a line end in them are not
 * understood. */
size_t find_cells(const char *table, struct cell **cells);

/* The text with bytes start to end replaced; the caller frees. */
char *replaced(const char *text, size_t start, size_t end, const char *by);

#endif
