/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>

#include "many.h"
#include "stopwatch.h"
#include "tree_peer.h"

/* Open PENs of a street of 55 where some houses draw constant current: the batch iterates on the
 * matrix of their ports, the tree engine by itself. */

struct race {
    struct many many;
    struct run all, one;
    struct tree_peer tree;
};

enum { STATES = 8, ONE = 55 };

static void batch_all(void *context, size_t call)
{
    struct race *const race = context;
    (void)call;
    run_solve(&race->all);
}

static void batch_one(void *context, size_t call)
{
    struct race *const race = context;
    (void)call;
    run_solve(&race->one);
}

static void tree_state(void *context, size_t state)
{
    struct race *const race = context;
    tree_peer_state(&race->tree, state);
}

static void tree_break(void *context, size_t i)
{
    struct race *const race = context;
    tree_peer_open(&race->tree, 1 + i % race->many.cut_count);
}

static void tree_one(void *context, size_t call)
{
    struct race *const race = context;
    tree_state(context, call);
    tree_peer_open(&race->tree, ONE);
}

/* What was compared: where both found an answer to be judged. */
struct tally {
    size_t pairs, judged, unlike;
    double worst;
};

static void compare(struct race *race, struct tally *tally)
{
    run_solve(&race->all);
    for (size_t state = 0; state < STATES; state++) {
        tree_state(race, state);
        for (size_t i = 0; i < race->many.cut_count; i++) {
            tree_break(race, i);
            const enum pd_standing ours =
                pd_batch_standing(race->all.batch, &race->all.output, state, i);
            tally->pairs++;
            tally->unlike += ours != race->tree.solution.standing;
            if (ours != PD_SOLVED || race->tree.solution.standing != PD_SOLVED)
                continue;
            tally->judged++;
            tally->worst =
                fmax(tally->worst, run_difference(&race->all, state, i + 1, race->tree.solution.v));
        }
    }
}

static void print_row(size_t settling, const char *work, double ours_s, double peer_s,
                      const struct tally *tally)
{
    printf("%9zu  %-4s %10.2f %10.2f %8.1f %7zu/%zu %9.1e\n", settling, work, 1e6 * ours_s,
           1e6 * peer_s, peer_s / ours_s, tally->judged, tally->pairs, tally->worst);
    fflush(stdout);
}

static bool run(size_t settling)
{
    struct race race;
    struct tally tally = {0};
    const struct many_plan plan = {.street = {.houses = 55, .per_feeder = 55, .settling = settling},
                                   .states = STATES};
    many_new(&plan, &race.many);
    run_new(&race.many, 0, race.many.cut_count, 1, PD_WIDTH_BEST, &race.all);
    run_new(&race.many, ONE - 1, 1, 1, PD_WIDTH_BEST, &race.one);
    tree_peer_new(&race.many.street, &race.tree);
    compare(&race, &tally);
    const struct times one = fastest_both(batch_one, tree_one, &race);
    print_row(settling, "one", one.ours_s / STATES, one.peer_s, &tally);
    const double cuts = (double)race.many.cut_count;
    const struct times state = fastest_both(batch_all, tree_state, &race);
    tree_state(&race, 0);
    const struct times all = fastest_both(batch_all, tree_break, &race);
    print_row(settling, "all", all.ours_s / (STATES * cuts), state.peer_s / cuts + all.peer_s,
              &tally);
    tree_peer_free(&race.tree);
    run_free(&race.all);
    run_free(&race.one);
    many_free(&race.many);
    return tally.worst <= 1e-6 && tally.unlike == 0 && tally.judged > 0;
}

int main(void)
{
    const struct since since = print_head(
        "Open PENs of 55 houses, some drawing constant current, one voltage wanted, one\n"
        "thread: microseconds for a pair of load state and break, batch and tree engine.\n"
        "judged: pairs that both engines solved, of all. apart: largest disagreement,\n"
        "over the supply.\n\n"
        "constant-  work       ours       tree    ratio   judged     apart\n"
        "current houses");
    const bool good = run(1) && run(5) && run(10) && run(20);
    print_foot(since);
    if (!good) {
        printf("\nThe answers disagree by more than 1e-6 of the supply, or in their standing.\n");
        return 1;
    }
    return 0;
}
