/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>

#include "many.h"
#include "stopwatch.h"

/* How near the batch comes to what a core can do: its floating-point operations, counted from the
 * kernels of src/solve/lane_pass.c, over its time, against two fused multiply-adds of eight numbers
 * a cycle.
 *
 * A complex product is 6 operations, one added to something 8, a sum 2, an inverse 6 (its division
 * one of them). A place of the street is one main and one service to a house of one load. Not
 * counted: the odd additions of what ties a neutral, comparisons, moving. */

enum { PRODUCT = 6, ADDED = 8, SUM = 2, INVERSE = 6, VECTOR = 4 * (PRODUCT + 3 * ADDED) };
enum {
    DOT = PRODUCT + 3 * ADDED,
    /* p, q, r, s; the determinant; four of B; three of D; three of A */
    TWO_IN_SERIES = 2 * ADDED + 2 * PRODUCT + (PRODUCT + ADDED + INVERSE) +
                    4 * (PRODUCT + PRODUCT + ADDED + PRODUCT) + 3 * (PRODUCT + ADDED + ADDED) +
                    (2 * (PRODUCT + ADDED) + 3 * PRODUCT),
    SERVICE = 6 + 2 * (ADDED + INVERSE) + 4 * PRODUCT + (PRODUCT + ADDED) + 3 * SUM,
    UP = 2 * TWO_IN_SERIES + SERVICE + 10 * SUM,
    ROW = 4 * (PRODUCT + 4 * ADDED), /* of a voltage, or of a cut: one place of its way */
    ON_WAY = DOT + SUM,              /* what two rows share at a place */
    IMPEDANCE = 4 * (VECTOR + 4 * ADDED + SUM) + 10 * (DOT + ADDED),
    FOLLOW = VECTOR + 4 * ADDED,
    EMF = SUM + INVERSE + PRODUCT + ADDED,
    CUT_MAIN = VECTOR + 2 * DOT + DOT + EMF,
    CUT_SERVICE = 5 * (PRODUCT + ADDED) + EMF,
};

struct work {
    struct many many;
    struct run run;
};

static void solve(void *context, size_t call)
{
    struct work *const work = context;
    (void)call;
    run_solve(&work->run);
}

/* A thousand products of whole numbers, each waiting for the last: three cycles each on all that
 * have AVX-512. (Sums of a constant take none: the core folds them.) */
static void wait_long(void *context, size_t call)
{
    unsigned long value = 3;
    (void)context;
    (void)call;
    for (int i = 0; i < 1000; i++) {
        value *= value;
        __asm__ volatile("" : "+r"(value));
    }
}

/* Of a pair, houses on one main and the voltage wanted in the middle; a break at `section`, of the
 * middle main, or every break. */
static double operations(double houses, bool all)
{
    const double to_middle = houses / 2;
    if (!all)
        return houses * UP + to_middle * (ROW + ROW + 2 * ON_WAY) + EMF;
    const double place = UP + IMPEDANCE + FOLLOW + (ROW + VECTOR) * 0.5 + FOLLOW * 0.5 + CUT_MAIN +
                         CUT_SERVICE + 2 * ADDED;
    return place / 2;
}

static size_t middle_main(const struct many *many)
{
    char name[32];
    snprintf(name, sizeof name, "joint%zu", many->street.network->load_count / 2);
    return pd_network_find(many->street.network, name);
}

static void run(size_t houses, bool all)
{
    struct work work;
    const struct many_plan plan = {.street = {.houses = houses, .per_feeder = houses},
                                   .states = 64};
    many_new(&plan, &work.many);
    const size_t first = all ? 0 : middle_main(&work.many) - 1;
    const size_t count = all ? work.many.cut_count : 1;
    run_new(&work.many, first, count, 1, PD_WIDTH_BEST, &work.run);
    const struct times times = fastest_both(solve, wait_long, &work);
    const double ghz = 3e3 / times.peer_s / 1e9;
    const double flops = operations((double)houses, all);
    const double pair_s = times.ours_s / (double)(plan.states * count);
    const double rate = flops / pair_s / 1e9;
    printf("%6zu  %-4s %10.0f %10.1f %10.2f %10.1f %10.1f %9.0f\n", houses, all ? "all" : "one",
           flops, 1e9 * pair_s, ghz, rate, 32 * ghz, 100 * rate / (32 * ghz));
    fflush(stdout);
    run_free(&work.run);
    many_free(&work.many);
}

int main(void)
{
    const struct since since = print_head(
        "Share of a core's peak that the batch reaches, one thread, one voltage wanted,\n"
        "one main: operations counted from the code, over time, against 32 a cycle (two\n"
        "fused multiply-adds of eight numbers). The clock is measured in whole numbers;\n"
        "with vectors it may be lower.\n\n"
        "                    for a pair                 thousand million a second\n"
        "houses  work operations         ns        GHz    reached       peak     per cent");
    static const size_t houses[] = {10, 55, 200, 1000};
    for (size_t i = 0; i < sizeof houses / sizeof houses[0]; i++) {
        run(houses[i], false);
        run(houses[i], true);
    }
    print_foot(since);
    return 0;
}
