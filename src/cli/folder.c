/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/folder.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <libgen.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "cli/interrupt.h"
#include "cli/output.h"

static bool complain(const struct folder *folder, const char *why)
{
    fprintf(stderr, "pendrift: %s: cannot be made: %s\n", folder->name, why);
    return false;
}

static bool refuse(const struct folder *folder, int reason)
{
    if (reason == ENOENT)
        return complain(folder, "the folder that it is to stand in is not there; make that first");
    if (reason == ENOTEMPTY || reason == EEXIST)
        return complain(folder, "it is there and has something in it, which is never written over; "
                                "name a folder that is not there yet");
    return complain(folder, strerror(reason));
}

/* The path as it is to be; NULL without memory. */
static char *resolve(const char *path)
{
    char *const there = realpath(path, NULL);
    return there != NULL ? there : strdup(path);
}

static bool is_here(const char *path)
{
    struct stat there, here;
    return stat(path, &there) == 0 && stat(".", &here) == 0 && there.st_dev == here.st_dev &&
           there.st_ino == here.st_ino;
}

static bool has_entries(const char *path)
{
    DIR *const directory = opendir(path);
    size_t count = 0;
    if (directory == NULL)
        return false; /* what is wrong with it, the end will tell */
    for (const struct dirent *entry; (entry = readdir(directory)) != NULL;)
        count += strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0;
    closedir(directory);
    return count > 0;
}

static bool make_temporary(struct folder *folder)
{
    folder->temporary = output_beside(folder->path);
    if (folder->temporary == NULL || mkdtemp(folder->temporary) == NULL) {
        const int reason = errno;
        free(folder->temporary);
        folder->temporary = NULL;
        return refuse(folder, reason);
    }
    const mode_t mask = umask(0);
    umask(mask);
    chmod(folder->temporary, 0777 & ~mask); /* some file systems have no rights to set */
    return true;
}

bool folder_open(struct folder *folder, const char *path)
{
    struct stat there;
    *folder = (struct folder){.name = path, .path = resolve(path)};
    bool good;
    if (folder->path == NULL)
        good = refuse(folder, ENOMEM);
    else if (stat(folder->path, &there) == 0 && !S_ISDIR(there.st_mode))
        good = complain(folder, "there is a file of that name; name a folder that is not there "
                                "yet");
    else if (has_entries(folder->path))
        good = refuse(folder, ENOTEMPTY);
    else if (is_here(folder->path))
        good = complain(folder, "it is the folder you are in; name one that is not there yet");
    else
        good = make_temporary(folder);
    if (!good)
        folder_abandon(folder);
    return good;
}

static bool write_all(int descriptor, const char *text, size_t length)
{
    while (length > 0) {
        const ssize_t written = write(descriptor, text, length);
        if (written < 0)
            return false;
        text += written;
        length -= (size_t)written;
    }
    return fsync(descriptor) == 0;
}

bool folder_add(struct folder *folder, const char *file, const char *text, size_t length)
{
    char *path;
    if (asprintf(&path, "%s/%s", folder->temporary, file) < 0)
        return refuse(folder, ENOMEM);
    const int descriptor = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    free(path);
    bool good = descriptor >= 0 && write_all(descriptor, text, length);
    int reason = errno;
    if (descriptor >= 0 && close(descriptor) != 0 && good) {
        good = false;
        reason = errno;
    }
    return good || refuse(folder, reason);
}

static void sync_path(const char *path)
{
    const int descriptor = open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (descriptor < 0)
        return;
    fsync(descriptor); /* the folder is whole either way */
    close(descriptor);
}

/* A folder is renamed onto an empty one only: what somebody else put there meanwhile stays. */
bool folder_close(struct folder *folder)
{
    bool good = !interrupt_requested();
    sync_path(folder->temporary);
    if (good && rename(folder->temporary, folder->path) != 0)
        good = refuse(folder, errno);
    if (good) {
        free(folder->temporary);
        folder->temporary = NULL;
        char *const copy = strdup(folder->path);
        if (copy != NULL)
            sync_path(dirname(copy));
        free(copy);
    }
    folder_abandon(folder);
    return good;
}

static void remove_temporary(const struct folder *folder)
{
    DIR *const directory = opendir(folder->temporary);
    if (directory != NULL) {
        for (const struct dirent *entry; (entry = readdir(directory)) != NULL;)
            if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0)
                unlinkat(dirfd(directory), entry->d_name, 0);
        closedir(directory);
    }
    rmdir(folder->temporary);
}

void folder_abandon(struct folder *folder)
{
    if (folder->temporary != NULL)
        remove_temporary(folder);
    free(folder->temporary);
    free(folder->path);
    *folder = (struct folder){.name = folder->name};
}
