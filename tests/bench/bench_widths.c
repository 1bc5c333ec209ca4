/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "many.h"
#include "stopwatch.h"
#include "tree_peer.h"

/* The batch by each width of vector instructions that this machine has, on one thread and on two,
 * 55 houses. The answers must be those of the tree engine, and the same to the last bit for any
 * number of threads. */

enum { STATES = 8192 }; /* half a year of half-hours: starting a thread takes 0.1 ms of a solve */

struct pair {
    struct many many;
    struct run single, two; /* threads */
};

static void one_thread(void *context, size_t call)
{
    struct pair *const pair = context;
    (void)call;
    run_solve(&pair->single);
}

static void two_threads(void *context, size_t call)
{
    struct pair *const pair = context;
    (void)call;
    run_solve(&pair->two);
}

static double from_tree(const struct pair *pair)
{
    struct tree_peer tree;
    double worst = 0;
    tree_peer_new(&pair->many.street, &tree);
    for (size_t state = 0; state < STREET_STATES; state++) {
        tree_peer_state(&tree, state);
        for (size_t i = 0; i < pair->single.count; i++) {
            const size_t section = 1 + pair->single.first + i;
            tree_peer_open(&tree, section);
            worst = fmax(worst, run_difference(&pair->single, state, section, tree.solution.v));
        }
    }
    tree_peer_free(&tree);
    return worst;
}

static void must_be_same(const struct pair *pair)
{
    const size_t count = pd_batch_voltage_room(pair->single.batch, STATES);
    const struct pd_batch_output *const a = &pair->single.output, *const b = &pair->two.output;
    must(memcmp(a->re, b->re, count * sizeof *a->re) == 0 &&
             memcmp(a->im, b->im, count * sizeof *a->im) == 0,
         "the answers of one thread and of two are not the same");
}

static double run(const char *name, enum pd_width width, size_t first, size_t count)
{
    struct pair pair;
    const struct many_plan plan = {.street = {.houses = 55, .per_feeder = 55}, .states = STATES};
    many_new(&plan, &pair.many);
    run_new(&pair.many, first, count, 1, width, &pair.single);
    run_new(&pair.many, first, count, 2, width, &pair.two);
    const struct times times = fastest_both(one_thread, two_threads, &pair);
    const double worst = from_tree(&pair);
    must_be_same(&pair);
    const double pairs = STATES * (double)count;
    printf("%-9s %-4s %12.1f %12.1f %8.2f %7s %9.1e\n", name, count > 1 ? "all" : "one",
           1e9 * times.ours_s / pairs, 1e9 * times.peer_s / pairs, times.ours_s / times.peer_s,
           "1.9", worst);
    fflush(stdout);
    run_free(&pair.single);
    run_free(&pair.two);
    many_free(&pair.many);
    return worst;
}

/* Whether this machine has the width: a batch can be made with it. */
static bool is_there(enum pd_width width)
{
    struct many many;
    struct pd_batch *batch;
    const struct many_plan plan = {.street = {.houses = 1, .per_feeder = 1}, .states = 1};
    many_new(&plan, &many);
    const struct pd_batch_settings settings = {.network = many.street.network,
                                               .probe = many.probe,
                                               .probe_count = 1,
                                               .threads = 1,
                                               .width = width};
    const enum pd_status status = pd_batch_new(&settings, &batch);
    pd_batch_free(&batch);
    many_free(&many);
    return status == PD_OK;
}

int main(void)
{
    static const char *const name[PD_WIDTHS] = {"best", "baseline", "AVX2", "AVX-512"};
    double worst = 0;
    print_head("Batch engine, 55 houses, one voltage wanted: nanoseconds for a pair of load state\n"
               "and break by each width of vector instructions. gain: one thread's time over two\n"
               "threads'. apart: largest disagreement with the tree engine, over the supply.\n\n"
               "width     work   one thread  two threads     gain  target     apart");
    for (int width = PD_WIDTH_BASELINE; width < PD_WIDTHS; width++) {
        if (!is_there((enum pd_width)width)) {
            printf("%-9s not on this machine\n", name[width]);
            continue;
        }
        worst = fmax(worst, run(name[width], (enum pd_width)width, 0, 110));
        worst = fmax(worst, run(name[width], (enum pd_width)width, 55, 1));
    }
    print_load();
    if (!(worst <= 1e-9)) {
        printf("\nThe answers disagree by more than 1e-9 of the supply.\n");
        return 1;
    }
    return 0;
}
