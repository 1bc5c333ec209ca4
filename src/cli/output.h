/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_CLI_OUTPUT_H
#define PENDRIFT_CLI_OUTPUT_H

#include <stdbool.h>
#include <stdio.h>

/* Where a result goes: stdout, or a file that is written whole or not at all. It grows under
 * another name in the same folder and takes its own when it is on the disk. What is not an ordinary
 * file (a pipe, a device) is written straight. */
struct output {
    FILE *file;
    char *path;       /* of the file as it is to be, links followed; NULL for stdout */
    char *temporary;  /* NULL where it is written straight */
    const char *name; /* as the user gave it, for messages */
};

/* Opens `path`, or stdout where it is NULL. False, after a line on stderr, where it cannot. */
bool output_open(struct output *output, const char *path);

/* Finishes: all is flushed and checked, the file gets its name. False, after a line on stderr,
 * where anything failed or the user interrupted; then there is no new file, and one that was there
 * before is as it was. */
bool output_close(struct output *output);

/* A pattern for mkstemp or mkdtemp in the folder that `path` is in; the caller frees. NULL without
 * memory. */
char *output_beside(const char *path);

/* Gives up: nothing is left behind. */
void output_abandon(struct output *output);

#endif
