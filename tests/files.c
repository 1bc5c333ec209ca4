/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "files.h"

#include "check.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

void written_make(struct written *written)
{
    snprintf(written->path, sizeof written->path, "/tmp/pendrift-written-XXXXXX");
    assert_non_null(mkdtemp(written->path));
}

void written_put(const struct written *written, const char *file, const char *text)
{
    char path[256];
    snprintf(path, sizeof path, "%s/%s", written->path, file);
    FILE *const out = fopen(path, "w");
    assert_non_null(out);
    assert_true(fputs(text, out) >= 0);
    assert_int_equal(fclose(out), 0);
}

void written_remove(const struct written *written)
{
    DIR *const folder = opendir(written->path);
    assert_non_null(folder);
    for (struct dirent *entry; (entry = readdir(folder)) != NULL;) {
        char path[512];
        if (entry->d_name[0] == '.')
            continue;
        snprintf(path, sizeof path, "%s/%s", written->path, entry->d_name);
        unlink(path);
    }
    closedir(folder);
    rmdir(written->path);
}
