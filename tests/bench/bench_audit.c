/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <csv.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <unistd.h>

#include "../sites.h"
#include "child.h"
#include "stopwatch.h"

/* An audit of a million sites beside libcsv, which only takes the same file apart, on one core.
 * Usage: bench_audit PENDRIFT */

enum { ROWS = 1000000, RUNS = 5, CHUNK = 1 << 16 };

struct seen {
    size_t cells, rows;
};

static void on_cell(void *cell, size_t length, void *context)
{
    (void)cell, (void)length;
    ((struct seen *)context)->cells++;
}

static void on_row(int end, void *context)
{
    (void)end;
    ((struct seen *)context)->rows++;
}

static double core_s(int who)
{
    struct rusage usage;
    getrusage(who, &usage);
    return (double)(usage.ru_utime.tv_sec + usage.ru_stime.tv_sec) +
           1e-6 * (double)(usage.ru_utime.tv_usec + usage.ru_stime.tv_usec);
}

struct run {
    double wall_s, core_s;
};

/* The peer: as table.c uses it, and nothing done with what it finds. */
static struct run parse(const char *path)
{
    static char chunk[CHUNK];
    struct csv_parser parser;
    struct seen seen = {0};
    size_t length;
    FILE *const file = fopen(path, "rb");
    must(file != NULL, "the sheet cannot be opened");
    const struct run before = {now_s(), core_s(RUSAGE_SELF)};
    csv_init(&parser, CSV_STRICT | CSV_STRICT_FINI | CSV_APPEND_NULL);
    csv_set_blk_size(&parser, 4096);
    while ((length = fread(chunk, 1, sizeof chunk, file)) > 0)
        must(csv_parse(&parser, chunk, length, on_cell, on_row, &seen) == length,
             "libcsv refuses the sheet");
    csv_fini(&parser, on_cell, on_row, &seen);
    csv_free(&parser);
    const struct run took = {now_s() - before.wall_s, core_s(RUSAGE_SELF) - before.core_s};
    fclose(file);
    must(seen.rows >= ROWS, "libcsv finds too few rows");
    return took;
}

static struct run audit(const char *program, const char *path, char *threads, long *peak_kib)
{
    char *const arguments[] = {(char *)program,
                               (char[]){"audit"},
                               (char *)path,
                               (char[]){"--format"},
                               (char[]){"csv"},
                               (char[]){"--output"},
                               (char[]){"/dev/null"},
                               (char[]){"--threads"},
                               threads,
                               (char[]){"--quiet"},
                               NULL};
    const double before_s = core_s(RUSAGE_CHILDREN);
    const struct child child = child_run(arguments);
    must(child.status == 1, "the audit does not end as it should");
    *peak_kib = child.peak_kib > *peak_kib ? child.peak_kib : *peak_kib;
    return (struct run){child.took_s, core_s(RUSAGE_CHILDREN) - before_s};
}

static void row(const char *work, const double *wall_s, const double *core_s_of,
                const double *peer_s, double bytes)
{
    double wall[RUNS], core[RUNS], peer[RUNS];
    for (int i = 0; i < RUNS; i++) {
        wall[i] = wall_s[i];
        core[i] = core_s_of[i];
        peer[i] = peer_s[i];
    }
    const double w = median(wall, RUNS), c = median(core, RUNS), p = median(peer, RUNS);
    printf("%-22s %8.3f %8.3f %8.0f %8.0f %8.2f %8.2f\n", work, w, c, bytes / c / 1e6,
           1e9 * c / ROWS, w / p, c / p);
}

int main(int argc, char **argv)
{
    char path[] = "/tmp/pendrift-bench-XXXXXX";
    double wall[3][RUNS], core[3][RUNS];
    long peak_kib = 0;
    must(argc == 2, "usage: bench_audit PENDRIFT");
    FILE *const sheet = fdopen(mkstemp(path), "w");
    must(sheet != NULL, "no temporary file");
    sites_write(sheet, NULL, 5, ROWS);
    const double bytes = (double)ftell(sheet);
    must(fclose(sheet) == 0, "the temporary folder is full");
    const struct since since = print_head(
        "A million sites (38 columns) audited to CSV in /dev/null, beside libcsv that takes the\n"
        "same file apart and does nothing with it, on one core; median of 5 runs in turn, file in\n"
        "the disk cache. wall, core: seconds by the clock, and of processor time. MB/s, ns/row: "
        "of\n"
        "processor time. times: over libcsv's processor time, which is its time on a core that is\n"
        "free. With two free cores the wall time of two threads is about half of their core "
        "time.\n\n"
        "work                       wall     core     MB/s   ns/row wall times core times");
    for (int i = 0; i < RUNS; i++) {
        const struct run peer = parse(path);
        const struct run one = audit(argv[1], path, (char[]){"1"}, &peak_kib);
        const struct run two = audit(argv[1], path, (char[]){"2"}, &peak_kib);
        const struct run runs[3] = {peer, one, two};
        for (int k = 0; k < 3; k++) {
            wall[k][i] = runs[k].wall_s;
            core[k][i] = runs[k].core_s;
        }
    }
    unlink(path);
    row("libcsv alone", wall[0], core[0], core[0], bytes);
    row("audit, one thread", wall[1], core[1], core[0], bytes);
    row("audit, two threads", wall[2], core[2], core[0], bytes);
    printf("peak memory of the audit: %ld KiB\n", peak_kib);
    print_foot(since);
    return 0;
}
