/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>

#include "stopwatch.h"
#include "street.h"

/* How the time of one break grows with the street, for every conductor of every node solved: all
 * houses on one main, where a break is far from the substation, and at most 200 on one main. */

struct engine {
    struct street street;
    struct pd_tree *tree;
    struct pd_solution solution;
};

struct both {
    struct engine chain, feeders;
    size_t breaks;
};

static void engine_new(size_t houses, size_t per_feeder, struct engine *engine)
{
    const struct street_plan plan = {.houses = houses, .per_feeder = per_feeder};
    street_new(&plan, &engine->street);
    must(pd_tree_new(engine->street.network, &engine->tree) == PD_OK, "out of memory");
    must(pd_solution_new(engine->street.network, &engine->solution) == PD_OK, "out of memory");
    must(pd_tree_factor(engine->tree, &engine->street.operating[0]) == PD_OK,
         "the state is refused");
}

static void engine_free(struct engine *engine)
{
    pd_tree_free(&engine->tree);
    pd_solution_free(&engine->solution);
    street_free(&engine->street);
}

static void solve(struct engine *engine, size_t i, size_t breaks)
{
    const struct pd_cut cut = {.kind = PD_CUT_OPEN,
                               .section = street_section(&engine->street, i, breaks)};
    must(pd_tree_solve(engine->tree, &cut, &engine->solution) == PD_OK, "the break is refused");
    must(engine->solution.standing == PD_SOLVED, "a break is not solved");
    keep(engine->solution.v);
}

static void chain_break(void *context, size_t i)
{
    struct both *const both = context;
    solve(&both->chain, i, both->breaks);
}

static void feeders_break(void *context, size_t i)
{
    struct both *const both = context;
    solve(&both->feeders, i, both->breaks);
}

/* A batch goes through its breaks more than once, so that near and far ones weigh alike. */
static struct times run(size_t houses)
{
    struct both both = {.breaks = houses < 16 ? 2 * houses : 32};
    engine_new(houses, houses, &both.chain);
    engine_new(houses, 200, &both.feeders);
    const struct times pair = time_both(chain_break, feeders_break, &both);
    engine_free(&both.chain);
    engine_free(&both.feeders);
    printf("%6zu %12.2f %12.2f %16.2f %12.2f\n", houses, 1e6 * pair.ours_s, 1e6 * pair.peer_s,
           1e9 * pair.ours_s / (double)houses, 1e9 * pair.peer_s / (double)houses);
    fflush(stdout);
    return pair;
}

/* The power of the number of houses that the time of a break goes with: 0 flat, 1 in proportion. */
static void say(const char *which, double first_s, double last_s, double times_houses)
{
    const double power = log(last_s / first_s) / log(times_houses);
    printf("%s: a break goes with houses^%.2f, all breaks with houses^%.2f;\n"
           "    for each house, all breaks %s.\n",
           which, power, 1 + power, power < 0.1 ? "are flat" : "grow");
}

int main(void)
{
    static const size_t houses[] = {10, 55, 200, 1000, 10000};
    enum { SIZES = sizeof houses / sizeof houses[0] };
    struct times pair[SIZES];
    const struct since since =
        print_head("One open PEN more in a load state that is factored, every conductor of every\n"
                   "node solved: all houses on one main, or at most 200 on each.\n\n"
                   "            microseconds for a break    nanoseconds for a break and house\n"
                   "houses     one main   mains of 200         one main mains of 200");
    for (size_t i = 0; i < SIZES; i++)
        pair[i] = run(houses[i]);
    const double times_houses = (double)houses[SIZES - 1] / (double)houses[1];
    print_foot(since);
    printf("\nFrom %zu to %zu houses\n", houses[1], houses[SIZES - 1]);
    say("one main", pair[1].ours_s, pair[SIZES - 1].ours_s, times_houses);
    say("mains of 200", pair[1].peer_s, pair[SIZES - 1].peer_s, times_houses);
    return 0;
}
