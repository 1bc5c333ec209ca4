/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>

#include "child.h"
#include "stopwatch.h"

/* Cold start: a program started, run and waited for, beside /bin/true, which does nothing. What it
 * reads is in the disk cache. Usage: bench_cold PENDRIFT CASE... */

enum { RUNS = 201 };

struct cold {
    double took_s[RUNS];
    long peak_kib;
    int status;
};

static void run_once(char *const *arguments, size_t i, struct cold *cold)
{
    const struct child child = child_run(arguments);
    must(i == 0 || child.status == cold->status, "the exit status changed from run to run");
    cold->took_s[i] = child.took_s;
    cold->status = child.status;
    if (child.peak_kib > cold->peak_kib)
        cold->peak_kib = child.peak_kib;
}

static void compare(const char *work, char *const *arguments)
{
    char *const nothing[] = {(char[]){"/bin/true"}, NULL};
    struct cold ours = {0}, peer = {0};
    child_run(arguments); /* warms the disk cache */
    for (size_t i = 0; i < RUNS; i++) {
        run_once(arguments, i, &ours);
        run_once(nothing, i, &peer);
    }
    const double ours_ms = 1e3 * median(ours.took_s, RUNS);
    const double peer_ms = 1e3 * median(peer.took_s, RUNS);
    printf("%-30.30s %4d %8.2f %8.2f %7.2f %8ld %8ld\n", work, ours.status, ours_ms, peer_ms,
           ours_ms / peer_ms, ours.peak_kib, peer.peak_kib);
    fflush(stdout);
}

static const char *last_part(const char *path)
{
    const char *last = path;
    for (const char *p = path; *p != '\0'; p++)
        if (*p == '/')
            last = p + 1;
    return last;
}

int main(int argc, char **argv)
{
    must(argc >= 3, "usage: bench_cold PENDRIFT CASE...");
    print_head("Cold start: milliseconds from starting a program to its end, median of 201\n"
               "runs in turn with /bin/true; peak resident memory in KiB. Files are in the disk\n"
               "cache. ratio: our time over that of /bin/true. exit: our exit status.\n\n"
               "work                           exit     ours     true   ratio ours KiB true KiB");
    compare("--version", (char *[]){argv[1], (char[]){"--version"}, NULL});
    for (int i = 2; i < argc; i++) {
        char work[64];
        snprintf(work, sizeof work, "assess %s", last_part(argv[i]));
        compare(work, (char *[]){argv[1], (char[]){"assess"}, argv[i], NULL});
    }
    return 0;
}
