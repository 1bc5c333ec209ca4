/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_CLI_PROGRESS_H
#define PENDRIFT_CLI_PROGRESS_H

#include <stdbool.h>
#include <stddef.h>

/* Progress on stderr: only on a terminal, only after a second, at most six times a second. */
struct progress {
    bool wanted;
    bool shown;
    double start_s, last_s;
};

void progress_start(struct progress *progress, bool quiet);

/* A pd_progress_function: `context` is a struct progress. False once the user has interrupted. */
bool progress_step(double share, void *context);

/* The same with a count of what has been done, its rate, and time left; a share that is not finite
 * is not known. */
bool progress_count(double share, size_t count, const char *of_what, void *context);

/* Takes the line away. */
void progress_end(struct progress *progress);

#endif
