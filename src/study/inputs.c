/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/inputs.h"

#include <errno.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include <nettle/sha2.h>

#include "study/case_files.h"

static const char *const tables[PD_INPUTS_MOST] = {"case.csv",       "sections.csv",  "loads.csv",
                                                   "electrodes.csv", "detectors.csv", "cables.csv"};

static void write_digest(struct sha256_ctx *sum, char text[PD_SHA256_TEXT + 1])
{
    uint8_t digest[SHA256_DIGEST_SIZE];
    sha256_digest(sum, sizeof digest, digest);
    for (size_t i = 0; i < sizeof digest; i++)
        snprintf(text + 2 * i, 3, "%02x", digest[i]);
}

/* False, with errno, where the file cannot be read. */
static bool digest_file(const char *path, char text[PD_SHA256_TEXT + 1])
{
    uint8_t chunk[16384];
    struct sha256_ctx sum;
    struct stat kind;
    text[0] = '\0';
    if (stat(path, &kind) != 0)
        return false;
    if (!S_ISREG(kind.st_mode)) /* a pipe gives its bytes once, and the tables need them */
        return true;
    FILE *const file = fopen(path, "rb");
    if (file == NULL)
        return false;
    sha256_init(&sum);
    for (size_t length = sizeof chunk; length == sizeof chunk;) {
        length = fread(chunk, 1, sizeof chunk, file);
        sha256_update(&sum, length, chunk);
    }
    const bool good = ferror(file) == 0;
    const int reason = errno;
    fclose(file); /* was only read */
    errno = reason;
    if (good)
        write_digest(&sum, text);
    return good;
}

enum pd_status pd_inputs_take(const char *folder, struct pd_inputs *inputs,
                              struct pd_errors *errors)
{
    char path[PD_PATH_MAX];
    enum pd_status status = PD_OK;
    inputs->count = 0;
    for (size_t i = 0; i < PD_INPUTS_MOST; i++) {
        if (!pd_case_has(folder, tables[i]))
            continue;
        struct pd_input *const input = &inputs->input[inputs->count++];
        snprintf(input->file, sizeof input->file, "%s", tables[i]);
        pd_case_path(folder, tables[i], path);
        if (!digest_file(path, input->sha256))
            status = pd_errors_add(errors, PD_ERR_FILE, tables[i], 0, "", "cannot be read: %s (%s)",
                                   strerror(errno), path);
    }
    return status;
}

/* NULL where the list has no such file. */
static const struct pd_input *find(const struct pd_inputs *inputs, const char *file)
{
    for (size_t i = 0; i < inputs->count; i++)
        if (strcmp(inputs->input[i].file, file) == 0)
            return &inputs->input[i];
    return NULL;
}

enum pd_status pd_inputs_compare(const struct pd_inputs *before, const struct pd_inputs *after,
                                 struct pd_errors *errors)
{
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < PD_INPUTS_MOST; i++) {
        const struct pd_input *const a = find(before, tables[i]), *const b = find(after, tables[i]);
        const bool same = a == b || (a != NULL && b != NULL && strcmp(a->sha256, b->sha256) == 0);
        if (!same)
            status = pd_errors_add(errors, PD_ERR_FILE, tables[i], 0, "",
                                   "changed while it was being read; try again");
    }
    return status;
}
