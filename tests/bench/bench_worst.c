/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "stopwatch.h"
#include "street.h"
#include "study/worst.h"

/* The largest touch voltage over every load's range, the least, and the largest that a device on
 * three lines does not see, proved for every break of the street, beside
 * solving corners of the ranges by the tree engine, which can only find: of 2^n corners for n
 * houses all where that is possible, else as many at random as take the same time.
 *
 * Houses draw 0.2 A to 8 A (what a house draws at the most when many are looked at together: common
 * practice, no source), a main from the substation to every 25 of them, the voltage wanted at the
 * house in the middle. */

struct work {
    struct street street;
    struct pd_tree *tree;
    struct pd_solution solution;
    struct pd_worst_settings settings;
    struct pd_worst worst;
    struct pd_detectors detectors;
    struct pd_detector detector;
    size_t detector_node;
    size_t *section;
    double *low_a, *high_a, *corner_a;
};

static const double high_v = 253;

static void work_new(size_t houses, struct work *w)
{
    const struct street_plan plan = {.houses = houses, .per_feeder = 25};
    char name[32];
    *w = (struct work){0};
    street_new(&plan, &w->street);
    struct pd_network *const network = w->street.network;
    const size_t loads = network->load_count, sections = network->node_count;
    w->section = calloc(sections, sizeof *w->section);
    w->low_a = calloc(loads, sizeof *w->low_a);
    w->high_a = calloc(loads, sizeof *w->high_a);
    w->corner_a = calloc(loads, sizeof *w->corner_a);
    must(w->section != NULL && w->low_a != NULL && w->high_a != NULL && w->corner_a != NULL &&
             pd_tree_new(network, &w->tree) == PD_OK &&
             pd_solution_new(network, &w->solution) == PD_OK,
         "there is no memory");
    for (size_t i = 0; i < loads; i++) {
        w->low_a[i] = 0.2;
        w->high_a[i] = 8;
    }
    for (size_t i = 0; i < sections; i++)
        w->section[i] = i == 0 ? PD_NONE : i;
    snprintf(name, sizeof name, "house%zu", houses / 2);
    w->detector_node = pd_network_find(network, name);
    w->detector = (struct pd_detector){.name = "three lines",
                                       .senses = PD_SENSE_LINES,
                                       .low_v = 207,
                                       .high_v = 253,
                                       .delay_s = 4,
                                       .disconnects = PD_CUTS_LIVE_AND_PE,
                                       .disconnects_known = true};
    w->detectors = (struct pd_detectors){.detector = &w->detector, .count = 1};
    w->settings = (struct pd_worst_settings){.network = network,
                                             .tie = w->street.tie,
                                             .tie_count = w->street.operating[0].tie_count,
                                             .low_a = w->low_a,
                                             .high_a = w->high_a,
                                             .supply_low_v = 216.2,
                                             .supply_high_v = high_v,
                                             .target = w->detector_node,
                                             .section = w->section,
                                             .section_count = sections,
                                             .detectors = &w->detectors,
                                             .detector_node = &w->detector_node,
                                             .detector_lines = 7,
                                             .limit_v = 70,
                                             .time_s = 5};
    pd_worst_effort(&w->settings);
}

static void work_free(struct work *w)
{
    pd_worst_free(&w->worst);
    pd_solution_free(&w->solution);
    pd_tree_free(&w->tree);
    street_free(&w->street);
    free(w->section);
    free(w->low_a);
    free(w->high_a);
    free(w->corner_a);
}

/* Solves one corner for every break; the largest by which it passes its bound is kept. */
static void try_corner(struct work *w, double *most_v, double *beyond_v)
{
    const struct pd_operating operating = {.load_a = w->corner_a,
                                           .tie = w->settings.tie,
                                           .tie_count = w->settings.tie_count,
                                           .supply_v = high_v};
    must(pd_tree_factor(w->tree, &operating) == PD_OK, "a corner cannot be factored");
    for (size_t k = 0; k < w->worst.count; k++) {
        const size_t section = w->section[k];
        const struct pd_cut cut = {.kind = section == PD_NONE ? PD_CUT_NONE : PD_CUT_OPEN,
                                   .section = section == PD_NONE ? 0 : section};
        must(pd_tree_solve(w->tree, &cut, &w->solution) == PD_OK, "a break cannot be solved");
        const double volts = cabs(w->solution.v[w->settings.target][PD_N]);
        if (w->solution.standing != PD_SOLVED)
            continue;
        most_v[k] = fmax(most_v[k], volts);
        *beyond_v = fmax(*beyond_v, volts - w->worst.brk[k].bound_v);
    }
}

static void choose_corner(struct work *w, unsigned long number, bool all)
{
    static unsigned long long state = 1;
    for (size_t i = 0; i < w->street.network->load_count; i++) {
        state = 6364136223846793005u * state + 1442695040888963407u; /* Knuth, MMIX */
        const bool high = all ? (number >> i & 1) != 0 : (state >> 40 & 1) != 0;
        w->corner_a[i] = high ? w->high_a[i] : w->low_a[i];
    }
}

/* Largest gaps: between bound and what the proof found, and between bound and what corners found.
 */
static void run(size_t houses)
{
    struct work w;
    work_new(houses, &w);
    double began_s = now_s();
    must(pd_worst_find(&w.settings, &w.worst) == PD_OK, "no worst case");
    const double ours_s = now_s() - began_s;
    double *const most_v = calloc(w.worst.count, sizeof *most_v);
    must(most_v != NULL, "there is no memory");
    const bool all = houses <= 16;
    double beyond_v = -INFINITY, gap_v = 0, short_v = 0;
    unsigned long corners = 0;
    began_s = now_s();
    for (; all ? corners < 1ul << houses : now_s() - began_s < ours_s; corners++) {
        choose_corner(&w, corners, all);
        try_corner(&w, most_v, &beyond_v);
    }
    const double peer_s = now_s() - began_s;
    for (size_t k = 0; k < w.worst.count; k++) {
        if (w.worst.brk[k].method != PD_WORST_CELLS)
            continue;
        gap_v = fmax(gap_v, w.worst.brk[k].bound_v - w.worst.brk[k].attained_v);
        short_v = fmax(short_v, w.worst.brk[k].bound_v - most_v[k]);
    }
    printf("%6zu %6zu %9.3f %9.3f %8lu %-6s %8.2f %9.1e %9.3f\n", houses, w.worst.count, ours_s,
           peer_s, corners, all ? "all" : "random", peer_s / ours_s, gap_v, short_v);
    fflush(stdout);
    must(beyond_v <= 0, "a corner passes its bound");
    must(!all || short_v < 0.5, "the corners do not come to the bound");
    free(most_v);
    work_free(&w);
}

int main(void)
{
    const struct since since = print_head(
        "Certified worst case of every break, ranges of 0.2 A to 8 A, one thread: most,\n"
        "least, and most that a device on three lines does not see; beside\n"
        "corners of the ranges by the tree engine: all, or as many at random as the\n"
        "same time allows. Gap: bound less what attains it, the largest of all breaks\n"
        "that the house lies beyond; short: bound less the best of the corners.\n\n"
        "              proved   corners\n"
        "houses breaks        s         s       of which      ratio   gap V   short V");
    static const size_t houses[] = {8, 12, 55, 200, 400};
    for (size_t i = 0; i < sizeof houses / sizeof houses[0]; i++)
        run(houses[i]);
    print_foot(since);
    return 0;
}
