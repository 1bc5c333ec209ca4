/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stopwatch.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

enum { BATCHES = 3, SHORT_BATCHES = 80 };
static const double batch_s = 0.2, short_batch_s = 0.005;

static double clock_s(clockid_t clock)
{
    struct timespec t;
    must(clock_gettime(clock, &t) == 0, "a clock is missing");
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

double now_s(void)
{
    return clock_s(CLOCK_MONOTONIC);
}

static double batch(bench_work *work, void *context, size_t calls)
{
    const double start_s = now_s();
    for (size_t i = 0; i < calls; i++) {
        work(context, i);
        keep(context);
    }
    return now_s() - start_s;
}

static int by_size(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

double median(double *figure, size_t count)
{
    qsort(figure, count, sizeof *figure, by_size);
    return (figure[count / 2] + figure[(count - 1) / 2]) / 2;
}

/* A batch may come out a little short where the warm-up ran slower; it is aimed higher. */
static size_t calls_for_batch(bench_work *work, void *context, double aim_s)
{
    size_t calls = 1;
    double took_s = batch(work, context, calls);
    while (took_s < aim_s / 4) {
        calls *= 2;
        took_s = batch(work, context, calls);
    }
    return 1 + (size_t)(1.1 * aim_s / took_s * (double)calls);
}

struct times time_both(bench_work *ours, bench_work *peer, void *context)
{
    double ours_s[BATCHES], peer_s[BATCHES];
    const size_t our_calls = calls_for_batch(ours, context, batch_s);
    const size_t peer_calls = calls_for_batch(peer, context, batch_s);
    for (size_t i = 0; i < BATCHES; i++) {
        ours_s[i] = batch(ours, context, our_calls) / (double)our_calls;
        peer_s[i] = batch(peer, context, peer_calls) / (double)peer_calls;
    }
    return (struct times){median(ours_s, BATCHES), median(peer_s, BATCHES)};
}

struct times fastest_both(bench_work *ours, bench_work *peer, void *context)
{
    struct times best = {INFINITY, INFINITY};
    const size_t our_calls = calls_for_batch(ours, context, short_batch_s);
    const size_t peer_calls = calls_for_batch(peer, context, short_batch_s);
    for (size_t i = 0; i < SHORT_BATCHES; i++) {
        best.ours_s = fmin(best.ours_s, batch(ours, context, our_calls) / (double)our_calls);
        best.peer_s = fmin(best.peer_s, batch(peer, context, peer_calls) / (double)peer_calls);
    }
    return best;
}

static void print_processor(void)
{
    char line[256] = "";
    FILE *const file = fopen("/proc/cpuinfo", "r");
    while (file != NULL && fgets(line, sizeof line, file) != NULL)
        if (strncmp(line, "model name", 10) == 0)
            break;
    if (file != NULL)
        fclose(file);
    const char *const colon = strchr(line, ':');
    printf("machine   %ld cores, %.60s", sysconf(_SC_NPROCESSORS_ONLN),
           colon != NULL ? colon + 2 : "processor not known\n");
}

struct since print_head(const char *about)
{
    print_processor();
    printf("compiled  %s\n\n%s\n", BENCH_FLAGS, about);
    fflush(stdout);
    return (struct since){now_s(), clock_s(CLOCK_PROCESS_CPUTIME_ID)};
}

void print_foot(struct since since)
{
    const double core_s = clock_s(CLOCK_PROCESS_CPUTIME_ID) - since.core_s;
    const double share = core_s / (now_s() - since.wall_s);
    printf("\nThis program had a core for %.0f %% of the time.%s\n", 100 * share,
           share < 0.9 ? "\nThe machine was busy with something else: times are too long." : "");
}

void print_load(void)
{
    double load = 0;
    must(getloadavg(&load, 1) == 1, "the load is not known");
    printf("\nIn the last minute %.1f processes wanted one of %ld cores, this one among them.\n",
           load, sysconf(_SC_NPROCESSORS_ONLN));
}

void must(bool good, const char *why)
{
    if (good)
        return;
    fflush(stdout);
    fprintf(stderr, "benchmark: %s\n", why);
    exit(2);
}
