/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_CLI_FOLDER_H
#define PENDRIFT_CLI_FOLDER_H

#include <stdbool.h>
#include <stddef.h>

/* A new folder of files, there whole or not at all: it grows under another name beside the one it
 * is to have, and takes that when all of it is on the disk. */
struct folder {
    const char *name; /* as the user gave it, for messages */
    char *path;       /* as it is to be, links followed */
    char *temporary;
};

/* Begins. `path` may be a folder that is empty, never one with anything in it. False, after a line
 * on stderr that says what to do, where it cannot. */
bool folder_open(struct folder *folder, const char *path);

/* Adds a file. False, after a line on stderr, where it cannot be written. */
bool folder_add(struct folder *folder, const char *file, const char *text, size_t length);

/* Finishes: the folder gets its name. False, after a line on stderr, where it cannot; silently
 * where the user interrupted. Then nothing is left behind. */
bool folder_close(struct folder *folder);

/* Gives up: nothing is left behind. */
void folder_abandon(struct folder *folder);

#endif
