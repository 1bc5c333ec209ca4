/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/case_files.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "table/table.h"

static const char *const tables[] = {"case.csv",       "sections.csv",    "loads.csv",
                                     "electrodes.csv", "detectors.csv",   "cables.csv",
                                     "profile.csv",    "voltage-log.csv", "distributions.csv"};
enum { TABLES = sizeof tables / sizeof tables[0] };

void pd_case_path(const char *folder, const char *file, char path[PD_PATH_MAX])
{
    snprintf(path, PD_PATH_MAX, "%s/%s", folder, file);
}

bool pd_case_has(const char *folder, const char *file)
{
    char path[PD_PATH_MAX];
    struct stat unused;
    pd_case_path(folder, file, path);
    return lstat(path, &unused) == 0 || errno != ENOENT;
}

enum pd_status pd_case_join(enum pd_status a, enum pd_status b)
{
    const bool goes_on = a == PD_OK || a == PD_ERR_INPUT || a == PD_ERR_FILE;
    const bool ends = b != PD_OK && b != PD_ERR_INPUT && b != PD_ERR_FILE;
    return a == PD_OK || (goes_on && ends) ? b : a;
}

/* Whether a file is a table under another ending: "loads.csv.txt", "loads.ods". */
static bool resembles_table(const char *file)
{
    for (size_t i = 0; i < TABLES; i++) {
        const size_t stem = strlen(tables[i]) - strlen("csv");
        if (strncasecmp(file, tables[i], stem) == 0)
            return true;
    }
    return false;
}

/* A table under a name with a slip in it would be left out in silence. */
static enum pd_status check_file(const char *file, struct pd_notes *notes, struct pd_errors *errors)
{
    const char *const dot = strrchr(file, '.');
    const bool is_csv = dot != NULL && strcasecmp(dot, ".csv") == 0;
    const size_t near = pd_nearest(file, tables, TABLES);
    if (near < TABLES && strcmp(tables[near], file) == 0)
        return PD_OK;
    if (strcmp(file, "survey.csv") == 0)
        return PD_OK; /* of the soil, for pendrift electrode */
    if (near < TABLES && is_csv)
        return pd_errors_add(errors, PD_ERR_INPUT, file, 0, "",
                             "is not a table of a case; did you mean %s?", tables[near]);
    if (is_csv || resembles_table(file))
        return pd_notes_add(notes, "File '%.120s' is not a table of a case and was not read.",
                            file);
    return PD_OK;
}

enum pd_status pd_case_files_check(const char *folder, struct pd_notes *notes,
                                   struct pd_errors *errors)
{
    struct dirent **entry;
    enum { LONGEST_TABLE = 32 };
    if (strlen(folder) > PD_PATH_MAX - LONGEST_TABLE)
        return pd_errors_add(errors, PD_ERR_FILE, folder, 0, "", "cannot be opened: %s",
                             strerror(ENAMETOOLONG));
    const int count = scandir(folder, &entry, NULL, alphasort);
    if (count < 0)
        return pd_errors_add(errors, errno == ENOMEM ? PD_ERR_MEMORY : PD_ERR_FILE, folder, 0, "",
                             "cannot be opened: %s", strerror(errno));
    enum pd_status status = PD_OK;
    for (int i = 0; i < count; i++) {
        status = pd_case_join(status, check_file(entry[i]->d_name, notes, errors));
        free(entry[i]);
    }
    free(entry);
    return status;
}
