/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/progress.h"

#include <math.h>
#include <stdio.h>
#include <time.h>
#include <unistd.h>

#include "cli/interrupt.h"

static const double quiet_time_s = 1, interval_s = 1.0 / 6;

static double now_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

void progress_start(struct progress *progress, bool quiet)
{
    *progress = (struct progress){
        .wanted = !quiet && isatty(STDERR_FILENO), .start_s = now_s(), .last_s = -1};
}

static void show(struct progress *progress, double share, double spent_s)
{
    fprintf(stderr, "\r%3.0f %% done", 100 * share);
    if (share > 0.05)
        fprintf(stderr, ", about %5.0f s left", spent_s * (1 - share) / share);
    progress->shown = true;
}

/* Whether it is time to show something, and for how long the work has been going on. */
static bool is_time(struct progress *progress, double *spent_s)
{
    if (!progress->wanted)
        return false;
    const double time_s = now_s();
    *spent_s = time_s - progress->start_s;
    if (*spent_s < quiet_time_s || time_s - progress->last_s < interval_s)
        return false;
    progress->last_s = time_s;
    return true;
}

bool progress_step(double share, void *context)
{
    struct progress *const progress = context;
    double spent_s;
    if (interrupt_requested())
        return false;
    /* NaN: how much there is nobody knows */
    if (!isnan(share) && is_time(progress, &spent_s))
        show(progress, share, spent_s);
    return true;
}

bool progress_count(double share, size_t count, const char *of_what, void *context)
{
    struct progress *const progress = context;
    double spent_s;
    if (interrupt_requested())
        return false;
    if (!is_time(progress, &spent_s))
        return true;
    fprintf(stderr, "\r%zu %s, %.0f a second", count, of_what, (double)count / spent_s);
    if (isfinite(share) && share > 0)
        fprintf(stderr, ", %.0f %%, about %.0f s left ", 100 * share,
                spent_s * (1 - share) / share);
    progress->shown = true;
    return true;
}

void progress_end(struct progress *progress)
{
    if (progress->shown)
        fprintf(stderr, "\r%79s\r", "");
    progress->shown = false;
}
