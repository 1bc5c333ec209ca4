/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>

#include "many.h"
#include "stopwatch.h"

/* All breaks of a street, one voltage wanted: how the batch's time for a house and load state grows
 * with the street. */

struct both {
    struct many many[2];
    struct run run[2]; /* all houses on one main; at most 200 on each */
};

static void both_new(size_t houses, struct both *both)
{
    for (size_t i = 0; i < 2; i++) {
        const struct many_plan plan = {
            .street = {.houses = houses, .per_feeder = i == 0 ? houses : 200}, .states = 16};
        many_new(&plan, &both->many[i]);
        run_new(&both->many[i], 0, both->many[i].cut_count, 1, PD_WIDTH_BEST, &both->run[i]);
    }
}

static void both_free(struct both *both)
{
    for (size_t i = 0; i < 2; i++) {
        run_free(&both->run[i]);
        many_free(&both->many[i]);
    }
}

static void chain(void *context, size_t call)
{
    struct both *const both = context;
    (void)call;
    run_solve(&both->run[0]);
}

static void feeders(void *context, size_t call)
{
    struct both *const both = context;
    (void)call;
    run_solve(&both->run[1]);
}

/* Nanoseconds for a house and load state, all breaks. */
static struct times run(size_t houses)
{
    struct both both;
    both_new(houses, &both);
    struct times pair = fastest_both(chain, feeders, &both);
    const double shares = 16 * (double)houses;
    both_free(&both);
    pair.ours_s /= shares;
    pair.peer_s /= shares;
    printf("%6zu %12.1f %14.1f\n", houses, 1e9 * pair.ours_s, 1e9 * pair.peer_s);
    fflush(stdout);
    return pair;
}

int main(void)
{
    static const size_t houses[] = {10, 20, 55, 100, 200, 500, 1000, 2000, 5000, 10000};
    enum { SIZES = sizeof houses / sizeof houses[0] };
    struct times least = {INFINITY, INFINITY}, most = {0, 0};
    const struct since since = print_head(
        "All open PENs of a street by the batch engine, one voltage wanted, one thread:\n"
        "nanoseconds for a load state and house, both its sections broken.\n\n"
        "houses     one main   mains of 200");
    for (size_t i = 0; i < SIZES; i++) {
        const struct times pair = run(houses[i]);
        least = (struct times){fmin(least.ours_s, pair.ours_s), fmin(least.peer_s, pair.peer_s)};
        most = (struct times){fmax(most.ours_s, pair.ours_s), fmax(most.peer_s, pair.peer_s)};
    }
    printf("\nslowest over fastest: %.2f on one main, %.2f on mains of 200; target 1.20\n",
           most.ours_s / least.ours_s, most.peer_s / least.peer_s);
    print_foot(since);
    return 0;
}
