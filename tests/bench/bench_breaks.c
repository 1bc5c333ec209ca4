/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "klu_peer.h"
#include "stopwatch.h"
#include "street.h"

/* Open PENs of a street: pairs of a load state and a break, each solved for every conductor of
 * every node, by the tree engine and by KLU. */

struct race {
    struct street street;
    struct pd_tree *tree;
    struct pd_solution solution;
    struct klu_peer klu;
    size_t breaks; /* of a state: as many as are solved, spread over the street */
};

static void race_new(const struct street_plan *plan, struct race *race)
{
    street_new(plan, &race->street);
    must(pd_tree_new(race->street.network, &race->tree) == PD_OK, "out of memory");
    must(pd_solution_new(race->street.network, &race->solution) == PD_OK, "out of memory");
    klu_peer_new(race->street.network, &race->street.operating[0], &race->klu);
}

static void race_free(struct race *race)
{
    klu_peer_free(&race->klu);
    pd_tree_free(&race->tree);
    pd_solution_free(&race->solution);
    street_free(&race->street);
}

static void tree_state(void *context, size_t state)
{
    struct race *const race = context;
    const struct pd_operating *const operating = &race->street.operating[state % STREET_STATES];
    must(pd_tree_factor(race->tree, operating) == PD_OK, "the state is refused");
}

static void klu_state(void *context, size_t state)
{
    struct race *const race = context;
    klu_peer_set_state(&race->klu, &race->street.operating[state % STREET_STATES]);
}

static void tree_break(void *context, size_t i)
{
    struct race *const race = context;
    const struct pd_cut cut = {.kind = PD_CUT_OPEN,
                               .section = street_section(&race->street, i, race->breaks)};
    must(pd_tree_solve(race->tree, &cut, &race->solution) == PD_OK, "the break is refused");
    must(race->solution.standing == PD_SOLVED, "a break is not solved");
    keep(race->solution.v);
}

static void klu_break(void *context, size_t i)
{
    struct race *const race = context;
    klu_peer_solve(&race->klu, street_section(&race->street, i, race->breaks));
    keep(race->klu.v);
}

/* One break for each load state. */
static void tree_one(void *context, size_t call)
{
    tree_state(context, call);
    tree_break(context, call);
}

static void klu_one(void *context, size_t call)
{
    klu_state(context, call);
    klu_break(context, call);
}

/* The four breaks from i on, fewer at the end. */
static size_t klu_four(struct race *race, size_t i)
{
    size_t section[4], count = 0;
    for (; count < 4 && i + count < race->breaks; count++)
        section[count] = street_section(&race->street, i + count, race->breaks);
    klu_peer_ranks(&race->klu, section, count);
    keep(race->klu.columns);
    return count;
}

/* The four breaks of the call. */
static void klu_call(void *context, size_t call)
{
    struct race *const race = context;
    klu_four(race, call * 4 % race->breaks);
}

/* The largest difference over the breaks of two states, both of KLU's ways tried. */
static double disagreement(struct race *race)
{
    double worst = 0;
    for (size_t state = 0; state < 2; state++) {
        tree_state(race, state);
        klu_state(race, state);
        for (size_t i = 0; i < race->breaks; i++) {
            tree_break(race, i);
            klu_break(race, i);
            worst = fmax(worst, street_difference(&race->street, race->solution.v, race->klu.v));
        }
        klu_peer_whole(&race->klu);
        for (size_t i = 0, count; i < race->breaks; i += count) {
            count = klu_four(race, i);
            for (size_t k = 0; k < count; k++) {
                tree_break(race, i + k);
                worst = fmax(
                    worst, street_difference(&race->street, race->solution.v, race->klu.column[k]));
            }
        }
    }
    return worst;
}

static void print_row(const struct race *race, const char *work, struct times pair, double apart)
{
    const struct pd_network *const network = race->street.network;
    printf("%6zu %8d %6zu  %-16s %9.2f %9.2f %7.2f %9.1e\n", network->load_count,
           race->klu.nodal.count, race->breaks, work, 1e6 * pair.ours_s, 1e6 * pair.peer_s,
           pair.peer_s / pair.ours_s, apart);
    fflush(stdout);
}

static void klu_state_whole(void *context, size_t state)
{
    struct race *const race = context;
    klu_state(race, state);
    klu_peer_whole(&race->klu);
}

/* A state's cost is shared by all breaks of the street, also where only some of them are timed. */
static struct times shared(const struct race *race, struct times state, struct times solve)
{
    const double breaks = (double)(race->street.network->node_count - 1);
    return (struct times){state.ours_s / breaks + solve.ours_s,
                          state.peer_s / breaks + solve.peer_s};
}

static void print_rows(struct race *race, double apart)
{
    print_row(race, "one", time_both(tree_one, klu_one, race), apart);
    const struct times refactored = time_both(tree_break, klu_break, race);
    print_row(race, "all, refactored",
              shared(race, time_both(tree_state, klu_state, race), refactored), apart);
    struct times state = time_both(tree_state, klu_state_whole, race);
    struct times solve = time_both(tree_break, klu_call, race);
    solve.peer_s /= 4;
    print_row(race, "all, rank one", shared(race, state, solve), apart);
}

static double run(size_t houses, size_t breaks)
{
    struct race race = {.breaks = breaks};
    const struct street_plan plan = {.houses = houses, .per_feeder = 200};
    race_new(&plan, &race);
    const double apart = disagreement(&race);
    print_rows(&race, apart);
    race_free(&race);
    return apart;
}

/* Under callgrind, which has 0.2 s last a minute: one kind of work, so many times and no more, for
 * bench_count.sh to count what the function of that name runs. */
static int count(size_t houses, const char *name, size_t calls)
{
    static const struct {
        const char *name;
        bench_work *work;
    } works[] = {{"tree_one", tree_one},
                 {"klu_one", klu_one},
                 {"tree_break", tree_break},
                 {"klu_break", klu_break},
                 {"klu_call", klu_call},
                 {"tree_state", tree_state},
                 {"klu_state_whole", klu_state_whole}};
    const struct street_plan plan = {.houses = houses, .per_feeder = 200};
    struct race race = {.breaks = calls};
    bool done = false;
    race_new(&plan, &race);
    tree_state(&race, 0);
    klu_peer_whole(&race.klu);
    for (size_t k = 0; k < sizeof works / sizeof works[0]; k++)
        for (size_t i = 0; strcmp(works[k].name, name) == 0 && i < calls; i++) {
            works[k].work(&race, i);
            done = true;
        }
    must(done, "no such work");
    race_free(&race);
    return 0;
}

int main(int argc, char **argv)
{
    if (argc == 4)
        return count(strtoul(argv[1], NULL, 10), argv[2], strtoul(argv[3], NULL, 10));
    static const struct {
        size_t houses, breaks;
    } size[] = {{10, 20}, {55, 110}, {200, 400}, {1000, 80}, {10000, 8}};
    double worst = 0;
    const struct since since = print_head(
        "Open PENs: tree engine and KLU, microseconds for one pair of load state and\n"
        "break, every conductor of every node solved. At most 200 houses on one main.\n"
        "one: one break for each load state. all: all breaks of the street for each load\n"
        "state, timed on as many as are given, spread over the street. KLU refactors for\n"
        "each, or takes the PEN out of the whole street's factors by a change of rank\n"
        "one, four at a time. ratio: KLU's time over ours.\n"
        "apart: largest disagreement of a voltage, over the supply.\n\n"
        "houses unknowns breaks  work                  ours       KLU   ratio     apart");
    for (size_t i = 0; i < sizeof size / sizeof size[0]; i++)
        worst = fmax(worst, run(size[i].houses, size[i].breaks));
    print_foot(since);
    if (!(worst <= 1e-9)) {
        printf("\nThe answers disagree by more than 1e-9 of the supply.\n");
        return 1;
    }
    return 0;
}
