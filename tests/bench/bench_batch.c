/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <gsl/gsl_errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "dense_peer.h"
#include "klu_peer.h"
#include "many.h"
#include "stopwatch.h"
#include "tree_peer.h"

/* Open PENs of many load states, a voltage or a few wanted of each: the batch engine, and on the
 * same work KLU, the tree engine and dense LU. */

enum { ONES = 8, DENSE_MOST = 55 };

struct race {
    struct many many;
    struct run all, one[ONES]; /* every break of a state; one break, at places spread over it */
    struct tree_peer tree;
    struct klu_peer klu;
    struct dense_peer dense; /* up to DENSE_MOST houses */
    size_t breaks;           /* so many breaks of a state the peers are timed on, spread */
};

static size_t one_section(const struct race *race, size_t i)
{
    return street_section(&race->many.street, i, ONES);
}

static size_t section_of(const struct race *race, size_t i)
{
    return street_section(&race->many.street, i, race->breaks);
}

static void race_new(const struct many_plan *plan, size_t breaks, struct race *race)
{
    *race = (struct race){.breaks = breaks};
    struct many *const many = &race->many;
    many_new(plan, many);
    run_new(many, 0, many->cut_count, 1, PD_WIDTH_BEST, &race->all);
    for (size_t i = 0; i < ONES; i++)
        run_new(many, one_section(race, i) - 1, 1, 1, PD_WIDTH_BEST, &race->one[i]);
    const struct pd_network *const network = many->street.network;
    tree_peer_new(&many->street, &race->tree);
    klu_peer_new(network, &many->street.operating[0], &race->klu);
    if (network->load_count <= DENSE_MOST)
        dense_peer_new(network, &many->street.operating[0], &race->dense);
}

static void race_free(struct race *race)
{
    if (race->many.street.network->load_count <= DENSE_MOST)
        dense_peer_free(&race->dense);
    klu_peer_free(&race->klu);
    tree_peer_free(&race->tree);
    for (size_t i = 0; i < ONES; i++)
        run_free(&race->one[i]);
    run_free(&race->all);
    many_free(&race->many);
}

static const struct pd_operating *state_of(const struct race *race, size_t state)
{
    return &race->many.street.operating[state % STREET_STATES];
}

static void batch_all(void *context, size_t call)
{
    struct race *const race = context;
    (void)call;
    run_solve(&race->all);
}

static void batch_one(void *context, size_t call)
{
    struct race *const race = context;
    run_solve(&race->one[call % ONES]);
}

static void tree_state(void *context, size_t state)
{
    struct race *const race = context;
    tree_peer_state(&race->tree, state);
}

static void tree_break(void *context, size_t i)
{
    struct race *const race = context;
    tree_peer_open(&race->tree, section_of(race, i));
}

static void tree_one(void *context, size_t call)
{
    tree_state(context, call);
    tree_break(context, call);
}

static void klu_state(void *context, size_t state)
{
    struct race *const race = context;
    klu_peer_set_state(&race->klu, state_of(race, state));
}

static void klu_break(void *context, size_t i)
{
    struct race *const race = context;
    klu_peer_solve(&race->klu, section_of(race, i));
    keep(race->klu.v);
}

static void klu_one(void *context, size_t call)
{
    klu_state(context, call);
    klu_break(context, call);
}

static void klu_state_whole(void *context, size_t state)
{
    struct race *const race = context;
    klu_state(race, state);
    klu_peer_whole(&race->klu);
}

/* Four breaks at a time, as KLU likes best. */
static void klu_four(void *context, size_t call)
{
    struct race *const race = context;
    size_t section[4];
    for (size_t k = 0; k < 4; k++)
        section[k] = section_of(race, 4 * call + k);
    klu_peer_ranks(&race->klu, section, 4);
    keep(race->klu.columns);
}

static void dense_one(void *context, size_t call)
{
    struct race *const race = context;
    dense_peer_solve(&race->dense, state_of(race, call), section_of(race, call));
}

static void dense_state(void *context, size_t state)
{
    struct race *const race = context;
    dense_peer_whole(&race->dense, state_of(race, state));
}

static void dense_break(void *context, size_t i)
{
    struct race *const race = context;
    dense_peer_rank(&race->dense, section_of(race, i));
}

/* A state's cost, shared by all breaks of the street, and a break's. */
static double shared_s(struct race *race, bench_work *state, bench_work *solve, size_t breaks)
{
    const struct times pair = fastest_both(state, solve, race);
    return pair.ours_s / (double)race->many.cut_count + pair.peer_s / (double)breaks;
}

/* The largest difference from KLU, over two states. */
static double disagreement(struct race *race)
{
    double worst = 0;
    batch_all(race, 0);
    for (size_t i = 0; i < ONES; i++)
        batch_one(race, i);
    for (size_t state = 0; state < 2; state++) {
        klu_state(race, state);
        for (size_t i = 0; i < race->breaks; i++) {
            klu_break(race, i);
            worst =
                fmax(worst, run_difference(&race->all, state, section_of(race, i), race->klu.v));
        }
        for (size_t i = 0; i < ONES; i++) {
            klu_peer_solve(&race->klu, one_section(race, i));
            worst = fmax(worst,
                         run_difference(&race->one[i], state, one_section(race, i), race->klu.v));
        }
    }
    return worst;
}

static void print_row(const struct race *race, const char *work, const char *peer,
                      struct times pair, const char *target)
{
    printf("%6zu %6zu  %-4s %-15s %9.3f %10.2f %8.1f %7s\n", race->many.street.network->load_count,
           race->many.probe_count, work, peer, 1e6 * pair.ours_s, 1e6 * pair.peer_s,
           pair.peer_s / pair.ours_s, target);
    fflush(stdout);
}

/* Ours is timed in turn with each peer, so that what else the machine does meets both. */
static void print_one(struct race *race, const char *peer, bench_work *work, const char *target)
{
    struct times pair = fastest_both(batch_one, work, race);
    pair.ours_s /= (double)race->many.input.count;
    print_row(race, "one", peer, pair, target);
}

static void print_all(struct race *race, const char *peer, double peer_s, const char *target)
{
    const struct times pair = fastest_both(batch_all, batch_all, race);
    const double pairs = (double)(race->many.input.count * race->many.cut_count);
    print_row(race, "all", peer, (struct times){fmin(pair.ours_s, pair.peer_s) / pairs, peer_s},
              target);
}

static double run(const struct many_plan *plan, size_t breaks)
{
    struct race race;
    race_new(plan, breaks, &race);
    const bool dense = plan->street.houses <= DENSE_MOST;
    const double apart = disagreement(&race);
    print_one(&race, "KLU, refactored", klu_one, "20");
    print_one(&race, "tree engine", tree_one, "");
    if (dense)
        print_one(&race, "dense LU", dense_one, "");
    print_all(&race, "KLU, refactored", shared_s(&race, klu_state, klu_break, 1), "100");
    klu_state_whole(&race, 0);
    print_all(&race, "KLU, rank one", shared_s(&race, klu_state_whole, klu_four, 4), "");
    tree_state(&race, 0);
    print_all(&race, "tree engine", shared_s(&race, tree_state, tree_break, 1), "");
    if (dense) {
        dense_state(&race, 0);
        print_all(&race, "dense, rank one", shared_s(&race, dense_state, dense_break, 1), "");
    }
    printf("       largest disagreement with KLU, over the supply: %.1e\n", apart);
    race_free(&race);
    return apart;
}

/* Under callgrind: one kind of work, so often, for bench_batch_count.sh. Prints how many pairs of
 * state and break a call solves. */
static int count(size_t houses, const char *name, const char *width, size_t calls)
{
    const struct many_plan plan = {.street = {.houses = houses, .per_feeder = 200}, .states = 64};
    const enum pd_width with = strcmp(width, "avx2") == 0 ? PD_WIDTH_AVX2 : PD_WIDTH_BASELINE;
    struct race race = {0};
    many_new(&plan, &race.many);
    run_new(&race.many, 0, race.many.cut_count, 1, with, &race.all);
    for (size_t i = 0; i < ONES; i++)
        run_new(&race.many, one_section(&race, i) - 1, 1, 1, with, &race.one[i]);
    const bool all = strcmp(name, "batch_all") == 0;
    for (size_t i = 0; i < calls; i++)
        (all ? batch_all : batch_one)(&race, i);
    printf("pairs %zu\n", plan.states * (all ? race.many.cut_count : 1));
    for (size_t i = 0; i < ONES; i++)
        run_free(&race.one[i]);
    run_free(&race.all);
    many_free(&race.many);
    return 0;
}

int main(int argc, char **argv)
{
    if (argc == 5)
        return count(strtoul(argv[1], NULL, 10), argv[2], argv[3], strtoul(argv[4], NULL, 10));
    static const struct {
        struct many_plan plan;
        size_t breaks;
    } size[] = {
        {{.street = {.houses = 10, .per_feeder = 200}, .states = 64}, 20},
        {{.street = {.houses = 55, .per_feeder = 200}, .states = 64}, 110},
        {{.street = {.houses = 55, .per_feeder = 200}, .states = 64, .every_house = true}, 110},
        {{.street = {.houses = 200, .per_feeder = 200}, .states = 64}, 400},
        {{.street = {.houses = 1000, .per_feeder = 200}, .states = 16}, 80},
        {{.street = {.houses = 10000, .per_feeder = 200}, .states = 16}, 8}};
    gsl_set_error_handler_off();
    double worst = 0;
    const struct since since = print_head(
        "Open PENs of many load states, one thread: batch engine and peers, microseconds\n"
        "for one pair of load state and break. At most 200 houses on one main.\n"
        "one: one break for each load state. all: all breaks of the street for each.\n"
        "wanted: voltages of a pair, of neutrals of houses; peers solve every conductor of\n"
        "every node, ours finds what is wanted. ratio: the peer's time over ours.\n\n"
        "houses wanted  work peer                 ours       peer    ratio  target");
    for (size_t i = 0; i < sizeof size / sizeof size[0]; i++)
        worst = fmax(worst, run(&size[i].plan, size[i].breaks));
    print_foot(since);
    if (!(worst <= 1e-9)) {
        printf("\nThe answers disagree by more than 1e-9 of the supply.\n");
        return 1;
    }
    return 0;
}
