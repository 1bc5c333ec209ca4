/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/output.h"

#include <errno.h>
#include <fcntl.h>
#include <libgen.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "cli/interrupt.h"

static bool complain(const struct output *output, const char *what)
{
    fprintf(stderr, "pendrift: %s: %s: %s\n", output->name, what, strerror(errno));
    return false;
}

static void forget(struct output *output)
{
    interrupt_removes(NULL);
    free(output->path);
    free(output->temporary);
    *output = (struct output){.name = output->name};
}

/* A file like any other that the user makes, or with the rights of the one that it replaces. */
static void set_rights(const struct output *output, int descriptor)
{
    struct stat before;
    const mode_t mask = umask(0);
    umask(mask);
    const bool there = stat(output->path, &before) == 0;
    if (fchmod(descriptor, there ? before.st_mode & 07777 : 0666 & ~mask) != 0)
        return; /* some file systems have no rights to set */
}

char *output_beside(const char *path)
{
    char *const copy = strdup(path);
    char *name = NULL;
    if (copy != NULL && asprintf(&name, "%s/.pendrift-XXXXXX", dirname(copy)) < 0)
        name = NULL;
    free(copy);
    return name;
}

static bool open_temporary(struct output *output)
{
    output->temporary = output_beside(output->path);
    const int descriptor = output->temporary != NULL ? mkstemp(output->temporary) : -1;
    if (descriptor < 0)
        return complain(output, "cannot be written");
    interrupt_removes(output->temporary);
    set_rights(output, descriptor);
    output->file = fdopen(descriptor, "w");
    if (output->file != NULL)
        return true;
    complain(output, "cannot be written");
    close(descriptor);
    unlink(output->temporary);
    return false;
}

static bool open_straight(struct output *output)
{
    output->file = fopen(output->path, "w");
    return output->file != NULL || complain(output, "cannot be written");
}

bool output_open(struct output *output, const char *path)
{
    *output = (struct output){.name = path != NULL ? path : "standard output"};
    if (path == NULL) {
        output->file = stdout;
        return true;
    }
    struct stat there;
    output->path = realpath(path, NULL); /* where a link leads to, the file is replaced */
    if (output->path == NULL)
        output->path = strdup(path);
    const bool straight = stat(path, &there) == 0 && !S_ISREG(there.st_mode);
    const bool good = output->path == NULL ? complain(output, "cannot be written")
                      : straight           ? open_straight(output)
                                           : open_temporary(output);
    if (!good)
        forget(output);
    return good;
}

void output_abandon(struct output *output)
{
    if (output->path != NULL)
        fclose(output->file);
    if (output->temporary != NULL)
        unlink(output->temporary);
    forget(output);
}

/* The name itself is on the disk only when its folder is. */
static void sync_folder(const struct output *output)
{
    char *const copy = strdup(output->path);
    const int folder = copy != NULL ? open(dirname(copy), O_RDONLY | O_DIRECTORY) : -1;
    if (folder >= 0) {
        fsync(folder); /* the file is whole either way */
        close(folder);
    }
    free(copy);
}

static bool keep(struct output *output)
{
    if (rename(output->temporary, output->path) != 0)
        return complain(output, "cannot be written");
    sync_folder(output);
    return true;
}

bool output_close(struct output *output)
{
    bool good = fflush(output->file) == 0 && !ferror(output->file);
    if (good && output->temporary != NULL)
        good = fsync(fileno(output->file)) == 0;
    const int reason = errno;
    if (fclose(output->file) != 0 && good)
        good = false;
    else
        errno = reason;
    if (!good)
        complain(output, "cannot be written");
    if (good && interrupt_requested())
        good = false;
    if (good && output->temporary != NULL)
        good = keep(output);
    if (!good && output->temporary != NULL)
        unlink(output->temporary);
    forget(output);
    return good;
}
