/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>

#include "many.h"
#include "stopwatch.h"
#include "tree_peer.h"

/* A year of half-hours of a street of 55, the PEN of each section opened in each of them, and of
 * each section the highest voltage kept: what a replay does. Solved some states at a time, so that
 * memory stays bounded. */

enum { HOUSES = 55, HALF_HOURS = 17520 };

struct year {
    struct many many;
    double *load_a, *supply_v; /* [HALF_HOURS] states */
    double *highest;           /* [cut_count] squared */
    size_t *when;              /* [cut_count] */
};

/* An evening and a winter peak on what each house draws by itself. An invented street. */
static double half_hour_a(size_t state, size_t house)
{
    const double day = (double)(state % 48) / 48, season = (double)state / HALF_HOURS;
    const double shape =
        (1 - 0.6 * cos(2 * M_PI * (day - 0.3))) * (1 + 0.4 * cos(2 * M_PI * season));
    return shape * street_house_a(state, house);
}

static void year_new(bool every_house, struct year *year)
{
    const struct many_plan plan = {.street = {.houses = HOUSES, .per_feeder = HOUSES},
                                   .states = 1,
                                   .every_house = every_house};
    many_new(&plan, &year->many);
    year->load_a = calloc(HALF_HOURS * HOUSES, sizeof *year->load_a);
    year->supply_v = calloc(HALF_HOURS, sizeof *year->supply_v);
    year->highest = calloc(year->many.cut_count, sizeof *year->highest);
    year->when = calloc(year->many.cut_count, sizeof *year->when);
    must(year->load_a != NULL && year->supply_v != NULL && year->highest != NULL &&
             year->when != NULL,
         "out of memory");
    for (size_t s = 0; s < HALF_HOURS; s++) {
        year->supply_v[s] = 240;
        for (size_t i = 0; i < HOUSES; i++)
            year->load_a[s * HOUSES + i] = half_hour_a(s, i);
    }
}

static void year_free(struct year *year)
{
    many_free(&year->many);
    free(year->load_a);
    free(year->supply_v);
    free(year->highest);
    free(year->when);
}

/* The highest voltage of each section, over the probes. An answer that is not one is refused. */
static void take_highest(struct year *year, const struct run *run, size_t first, size_t count)
{
    for (size_t cut = 0; cut < run->count; cut++)
        for (size_t k = 0; k < year->many.probe_count; k++)
            for (size_t s = 0; s < count; s++) {
                const double complex v = pd_batch_voltage(run->batch, &run->output, s, cut, k);
                const double square = creal(v) * creal(v) + cimag(v) * cimag(v);
                must(!isnan(square), "a pair is not solved");
                if (square <= year->highest[cut])
                    continue;
                year->highest[cut] = square;
                year->when[cut] = first + s;
            }
}

/* Seconds in the batch, and with the reading of all its answers. */
struct taken {
    double solve_s, all_s;
};

static struct taken go_through(struct year *year, size_t chunk, size_t threads)
{
    struct run run;
    struct taken taken = {0};
    for (size_t i = 0; i < year->many.cut_count; i++)
        year->highest[i] = 0;
    year->many.input.count = chunk;
    const double start_s = now_s();
    run_new(&year->many, 0, year->many.cut_count, threads, PD_WIDTH_BEST, &run);
    for (size_t first = 0; first < HALF_HOURS; first += chunk) {
        const size_t left = HALF_HOURS - first;
        year->many.input = (struct pd_batch_input){.count = left < chunk ? left : chunk,
                                                   .load_a = year->load_a + first * HOUSES,
                                                   .supply_v = year->supply_v + first};
        const double before_s = now_s();
        run_solve(&run);
        taken.solve_s += now_s() - before_s;
        take_highest(year, &run, first, year->many.input.count);
    }
    run_free(&run);
    taken.all_s = now_s() - start_s;
    return taken;
}

/* The highest voltages again, by the tree engine: the largest difference, over the supply. */
static double check(const struct year *year)
{
    struct tree_peer tree;
    double worst = 0;
    tree_peer_new(&year->many.street, &tree);
    for (size_t cut = 0; cut < year->many.cut_count; cut++) {
        struct pd_operating state = year->many.street.operating[0];
        state.load_a = year->load_a + year->when[cut] * HOUSES;
        must(pd_tree_factor(tree.tree, &state) == PD_OK, "the state is refused");
        tree_peer_open(&tree, cut + 1);
        double highest = 0;
        for (size_t k = 0; k < year->many.probe_count; k++)
            highest = fmax(highest, cabs(tree.solution.v[year->many.probe[k].node][PD_N]));
        worst = fmax(worst, fabs(highest - sqrt(year->highest[cut])) / state.supply_v);
    }
    tree_peer_free(&tree);
    return worst;
}

static double peak_mib(void)
{
    struct rusage usage;
    must(getrusage(RUSAGE_SELF, &usage) == 0, "no memory figures");
    return (double)usage.ru_maxrss / 1024;
}

static double run(bool every_house, size_t chunk, size_t threads, const char *target)
{
    struct year year;
    year_new(every_house, &year);
    struct taken best = go_through(&year, chunk, threads);
    for (int again = 0; again < 14; again++) {
        const struct taken taken = go_through(&year, chunk, threads);
        best = taken.solve_s < best.solve_s ? taken : best;
    }
    const double worst = check(&year);
    const double pairs = (double)HALF_HOURS * (double)year.many.cut_count;
    printf("%6zu %7zu %6zu %9.3f %9.3f %7s %8.1f %8.1f %9.1e\n", year.many.probe_count, threads,
           chunk, best.solve_s, best.all_s, target, 1e9 * best.solve_s / pairs, peak_mib(), worst);
    fflush(stdout);
    year_free(&year);
    return worst;
}

int main(void)
{
    print_head("A year: 17520 load states of 55 houses, each of the 110 PENs opened in each, the\n"
               "highest voltage of each section kept. states: solved at a time. solved, all:\n"
               "seconds in the batch, and with taking the highest, best of fifteen. ns: of the\n"
               "batch for a pair. MiB: peak of this program so far, target 64. apart: of the\n"
               "highest voltages from the tree engine's, over the supply.\n\n"
               "wanted threads states    solved       all  target       ns      MiB     apart");
    double worst = run(false, 1024, 1, "");
    worst = fmax(worst, run(false, 1024, 2, "1"));
    worst = fmax(worst, run(true, 128, 1, ""));
    worst = fmax(worst, run(true, 128, 2, ""));
    print_load();
    if (!(worst <= 1e-9)) {
        printf("\nThe answers disagree by more than 1e-9 of the supply.\n");
        return 1;
    }
    return 0;
}
