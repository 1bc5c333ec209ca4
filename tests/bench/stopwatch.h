/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_BENCH_STOPWATCH_H
#define PENDRIFT_BENCH_STOPWATCH_H

#include <stdbool.h>
#include <stddef.h>

/* What every benchmark needs: a watch, a head for its table, and a way to give up. */

/* One piece of work. Called again and again with the number of the call, so that each may take
 * another load state; `context` is the benchmark's. */
typedef void bench_work(void *context, size_t call);

/* Seconds by the monotonic clock. */
double now_s(void);

/* Seconds that a call of each takes: after a warm-up that also finds how many calls fill 0.2 s,
 * three batches of so many are timed and the median batch over its calls is given. The batches of
 * the two alternate, so that what else the machine does meets both alike. */
struct times {
    double ours_s, peer_s;
};
struct times time_both(bench_work *ours, bench_work *peer, void *context);

/* The same, but of 80 batches of 5 ms in turn the fastest: on a machine that others use as well,
 * what the work takes when nobody is in its way. */
struct times fastest_both(bench_work *ours, bench_work *peer, void *context);

/* The middle of `count` figures, which are put in order. */
double median(double *figure, size_t count);

/* Tells the compiler that what `p` points to is read and may be changed: a result that nobody
 * prints is then still worked out. */
static inline void keep(const void *p)
{
    __asm__ volatile("" : : "g"(p) : "memory");
}

/* Prints the machine and how this was compiled, then `about` on lines of its own. */
struct since {
    double wall_s, core_s;
};
struct since print_head(const char *about);

/* Prints how much of the time since print_head this program had a core; below 90 % the machine was
 * busy with something else and times are too long, ours and the peer's. */
void print_foot(struct since since);

/* Prints how many processes wanted a core in the last minute, for a benchmark of many threads. */
void print_load(void);

/* Ends the benchmark with `why`, status 2, where `good` is false: there is nothing to measure. */
void must(bool good, const char *why);

#endif
