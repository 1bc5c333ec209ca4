/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "nodal.h"
#include "stopwatch.h"
#include "street.h"

/* Open PENs of a small street: the tree engine and dense LU by GSL, with GSL's own CBLAS. */

struct race {
    struct street street;
    struct pd_tree *tree;
    struct pd_solution solution;
    struct nodal nodal;
    gsl_matrix_complex *lu;
    gsl_permutation *order;
    double complex *whole;
    double complex (*v)[PD_CONDUCTORS];
};

static void race_new(size_t houses, struct race *race)
{
    const struct street_plan plan = {.houses = houses, .per_feeder = houses};
    street_new(&plan, &race->street);
    must(pd_tree_new(race->street.network, &race->tree) == PD_OK, "out of memory");
    must(pd_solution_new(race->street.network, &race->solution) == PD_OK, "out of memory");
    nodal_new(race->street.network, &race->street.operating[0], &race->nodal);
    const size_t count = (size_t)race->nodal.count;
    race->lu = gsl_matrix_complex_alloc(count, count);
    race->order = gsl_permutation_alloc(count);
    race->whole = calloc(count, sizeof *race->whole);
    race->v = calloc(race->street.network->node_count, sizeof *race->v);
    must(race->lu != NULL && race->order != NULL && race->whole != NULL && race->v != NULL,
         "out of memory");
}

static void race_free(struct race *race)
{
    gsl_matrix_complex_free(race->lu);
    gsl_permutation_free(race->order);
    free(race->whole);
    free(race->v);
    nodal_free(&race->nodal);
    pd_tree_free(&race->tree);
    pd_solution_free(&race->solution);
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
    must(pd_tree_factor(race->tree, state_of(race, state)) == PD_OK, "the state is refused");
}

static void tree_break(void *context, size_t i)
{
    struct race *const race = context;
    const struct pd_cut cut = {.kind = PD_CUT_OPEN, .section = section_of(race, i)};
    must(pd_tree_solve(race->tree, &cut, &race->solution) == PD_OK, "the break is refused");
    must(race->solution.standing == PD_SOLVED, "a break is not solved");
    keep(race->solution.v);
}

static void tree_one(void *context, size_t call)
{
    tree_state(context, call);
    tree_break(context, call);
}

static void factor(struct race *race)
{
    const struct nodal *const nodal = &race->nodal;
    int sign;
    gsl_matrix_complex_set_zero(race->lu);
    for (int column = 0; column < nodal->count; column++)
        for (int i = nodal->start[column]; i < nodal->start[column + 1]; i++) {
            double *const at =
                &race->lu->data[2 * ((size_t)nodal->row[i] * race->lu->tda + (size_t)column)];
            at[0] = creal(nodal->value[i]);
            at[1] = cimag(nodal->value[i]);
        }
    must(gsl_linalg_complex_LU_decomp(race->lu, race->order, &sign) == GSL_SUCCESS, "GSL: LU");
}

static void solve(struct race *race, double complex *right)
{
    gsl_vector_complex_view view =
        gsl_vector_complex_view_array((double *)right, (size_t)race->nodal.count);
    must(gsl_linalg_complex_LU_svx(race->lu, race->order, &view.vector) == GSL_SUCCESS,
         "GSL: singular");
}

static void dense_one(void *context, size_t call)
{
    struct race *const race = context;
    nodal_set_state(&race->nodal, state_of(race, call));
    nodal_open(&race->nodal, section_of(race, call));
    factor(race);
    memcpy(race->v, race->nodal.right, (size_t)race->nodal.count * sizeof *race->nodal.right);
    solve(race, race->v[0]);
    keep(race->v);
}

/* All breaks of a state: the whole street is factored, each break is a change of rank one. */
static void dense_state(void *context, size_t state)
{
    struct race *const race = context;
    nodal_set_state(&race->nodal, state_of(race, state));
    factor(race);
    memcpy(race->whole, race->nodal.right, (size_t)race->nodal.count * sizeof *race->nodal.right);
    solve(race, race->whole);
}

static void dense_break(void *context, size_t i)
{
    struct race *const race = context;
    const size_t section = section_of(race, i);
    memset(race->v, 0, (size_t)race->nodal.count * sizeof *race->nodal.right);
    nodal_mark(&race->nodal, section, race->v[0]);
    solve(race, race->v[0]);
    must(nodal_take_out(&race->nodal, section, race->whole, race->v[0]), "GSL: singular");
    keep(race->v);
}

static double disagreement(struct race *race)
{
    double worst = 0;
    for (size_t i = 0; i < STREET_STATES; i++) {
        tree_one(race, i);
        dense_one(race, i);
        worst = fmax(worst, street_difference(&race->street, race->solution.v, race->v));
    }
    tree_state(race, 0);
    dense_state(race, 0);
    for (size_t i = 0; i + 1 < race->street.network->node_count; i++) {
        tree_break(race, i);
        dense_break(race, i);
        worst = fmax(worst, street_difference(&race->street, race->solution.v, race->v));
    }
    return worst;
}

static void print_row(const struct race *race, const char *work, struct times pair, double apart)
{
    printf("%6zu %8d  %-16s %12.2f %12.2f %8.2f %9.1e\n", race->street.network->load_count,
           race->nodal.count, work, 1e6 * pair.ours_s, 1e6 * pair.peer_s, pair.peer_s / pair.ours_s,
           apart);
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
