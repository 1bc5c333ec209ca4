/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <gsl/gsl_errno.h>
#include <math.h>
#include <stdio.h>

#include "dense_peer.h"
#include "stopwatch.h"
#include "tree_peer.h"

/* Open PENs of a small street: the tree engine and dense LU by GSL, with GSL's own CBLAS. */

struct race {
    struct street street;
    struct tree_peer tree;
    struct dense_peer dense;
};

static void race_new(size_t houses, struct race *race)
{
    const struct street_plan plan = {.houses = houses, .per_feeder = houses};
    street_new(&plan, &race->street);
    tree_peer_new(&race->street, &race->tree);
    dense_peer_new(race->street.network, &race->street.operating[0], &race->dense);
}

static void race_free(struct race *race)
{
    dense_peer_free(&race->dense);
    tree_peer_free(&race->tree);
    street_free(&race->street);
}

static const struct pd_operating *state_of(const struct race *race, size_t state)
{
    return &race->street.operating[state % STREET_STATES];
}

static size_t section_of(const struct race *race, size_t i)
{
    return street_section(&race->street, i, race->street.network->node_count - 1);
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
    must(race->tree.solution.standing == PD_SOLVED, "a break is not solved");
}

static void tree_one(void *context, size_t call)
{
    tree_state(context, call);
    tree_break(context, call);
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

static double disagreement(struct race *race)
{
    double worst = 0;
    for (size_t i = 0; i < STREET_STATES; i++) {
        tree_one(race, i);
        dense_one(race, i);
        worst = fmax(worst, street_difference(&race->street, race->tree.solution.v, race->dense.v));
    }
    tree_state(race, 0);
    dense_state(race, 0);
    for (size_t i = 0; i + 1 < race->street.network->node_count; i++) {
        tree_break(race, i);
        dense_break(race, i);
        worst = fmax(worst, street_difference(&race->street, race->tree.solution.v, race->dense.v));
    }
    return worst;
}

static void print_row(const struct race *race, const char *work, struct times pair, double apart)
{
    printf("%6zu %8d  %-16s %12.2f %12.2f %8.2f %9.1e\n", race->street.network->load_count,
           race->dense.nodal.count, work, 1e6 * pair.ours_s, 1e6 * pair.peer_s,
           pair.peer_s / pair.ours_s, apart);
    fflush(stdout);
}

static double run(size_t houses)
{
    struct race race;
    race_new(houses, &race);
    const double apart = disagreement(&race);
    print_row(&race, "one", time_both(tree_one, dense_one, &race), apart);
    const double breaks = (double)(race.street.network->node_count - 1);
    const struct times state = time_both(tree_state, dense_state, &race);
    const struct times each = time_both(tree_break, dense_break, &race);
    print_row(
        &race, "all, rank one",
        (struct times){state.ours_s / breaks + each.ours_s, state.peer_s / breaks + each.peer_s},
        apart);
    race_free(&race);
    return apart;
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct since since = print_head(
        "Open PENs: tree engine and dense LU (GSL, with its own CBLAS), microseconds for\n"
        "one pair of load state and break. one: one break for each load state. all: all\n"
        "breaks for each load state, GSL by changes of rank one. ratio: GSL's over ours.\n"
        "apart: largest disagreement of a voltage, over the supply.\n\n"
        "houses unknowns  work                     ours          GSL    ratio     apart");
    const double ten = run(10), street = run(55);
    print_foot(since);
    if (!(fmax(ten, street) <= 1e-9)) {
        printf("\nThe answers disagree by more than 1e-9 of the supply.\n");
        return 1;
    }
    return 0;
}
