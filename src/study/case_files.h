/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_CASE_FILES_H
#define PENDRIFT_STUDY_CASE_FILES_H

#include <stdbool.h>

#include "table/notes.h"
#include "table/status.h"

/* The files of a case's folder. The room's own. */

enum { PD_PATH_MAX = 4096 };

/* Writes folder/file into path. The folder has passed pd_case_files_check. */
void pd_case_path(const char *folder, const char *file, char path[PD_PATH_MAX]);

/* Whether the folder has the file. One that is there but cannot be read is not one left out. */
bool pd_case_has(const char *folder, const char *file);

/* Looks for tables under a name with a slip in it, which would be left out in silence: near names
 * are errors; other .csv files, and tables under another ending, are noted. PD_OK, PD_ERR_INPUT,
 * PD_ERR_FILE (the folder cannot be read), PD_ERR_MEMORY. */
enum pd_status pd_case_files_check(const char *folder, struct pd_notes *notes,
                                   struct pd_errors *errors);

/* The first failure of the two; one that ends the reading before one that does not. */
enum pd_status pd_case_join(enum pd_status a, enum pd_status b);

#endif
