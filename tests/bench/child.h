/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_BENCH_CHILD_H
#define PENDRIFT_BENCH_CHILD_H

/* A program run to its end. */
struct child {
    double took_s; /* from before it is started until it has been waited for */
    long peak_kib; /* largest resident set */
    int status;    /* its exit status */
};

/* Runs arguments[0], looked for in PATH, input and output going to /dev/null. Ends the benchmark
 * where it cannot be started or does not end by itself. */
struct child child_run(char *const *arguments);

#endif
