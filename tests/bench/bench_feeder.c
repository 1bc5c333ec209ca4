/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "solve/batch.h"
#include "stopwatch.h"
#include "study/case.h"

/* A real feeder through a day: the IEEE European Low Voltage Test Feeder (IEEE PES, public test
 * data; its PEN, electrodes, source and vehicle are the project's, the folder's README), 905
 * sections, each broken in each of 1440 minutes, the chassis wanted. Usage: bench_feeder FOLDER */

enum { MINUTES = 1440, LINE = 8192, CHUNK = 64 };

struct day {
    struct pd_case *study_case;
    double *load_a;  /* [minutes][load_count] */
    size_t *load_of; /* [columns] of the profile; PD_NONE: of no load */
    size_t minutes, columns;
    double supply_v[CHUNK];
    struct pd_cut *cut;
    size_t cut_count;
};

/* The next field of a line without quotes; NULL at its end. */
static char *field(char **rest)
{
    return strsep(rest, ",\r\n");
}

static size_t load_named(const struct pd_network *network, const char *name)
{
    for (size_t i = 0; i < network->load_count; i++)
        if (strcmp(network->load[i].name, name) == 0)
            return i;
    return PD_NONE;
}

/* The loads not in the profile draw what they do at present. */
static void read_minute(struct day *day, char *line)
{
    const struct pd_network *const network = day->study_case->network;
    double *const load_a = day->load_a + day->minutes * network->load_count;
    for (size_t i = 0; i < network->load_count; i++)
        load_a[i] = network->load[i].present_a;
    field(&line); /* time */
    for (size_t k = 0; k < day->columns; k++) {
        const char *const text = field(&line);
        must(text != NULL && *text != '\0', "profile.csv: a cell is missing");
        const struct pd_load *const load = &network->load[day->load_of[k]];
        load_a[day->load_of[k]] = pd_phase_current(load->phase, network->system, network->nominal_v,
                                                   atof(text), load->power_factor);
    }
    day->minutes++;
}

static void read_head(struct day *day, char *line)
{
    field(&line);
    for (const char *name; (name = field(&line)) != NULL && *name != '\0';) {
        must(day->columns < day->study_case->network->load_count, "profile.csv: too many columns");
        day->load_of[day->columns] = load_named(day->study_case->network, name);
        must(day->load_of[day->columns++] != PD_NONE, "profile.csv: a load is not in loads.csv");
    }
}

static void read_profile(const char *folder, struct day *day)
{
    char path[4096], line[LINE];
    snprintf(path, sizeof path, "%s/profile.csv", folder);
    FILE *const file = fopen(path, "r");
    must(file != NULL && fgets(line, sizeof line, file) != NULL, "profile.csv cannot be read");
    read_head(day, line);
    while (day->minutes < MINUTES && fgets(line, sizeof line, file) != NULL)
        read_minute(day, line);
    fclose(file);
    must(day->minutes > 0, "profile.csv is empty");
}

static void day_new(const char *folder, struct day *day)
{
    *day = (struct day){0};
    struct pd_errors errors = {0};
    must(pd_case_read(folder, &day->study_case, &errors) == PD_OK, "the case cannot be read");
    const struct pd_network *const network = day->study_case->network;
    must(network != NULL, "the case lacks something");
    day->load_a = calloc(MINUTES * network->load_count, sizeof *day->load_a);
    day->load_of = calloc(network->load_count, sizeof *day->load_of);
    day->cut_count = network->node_count - 1;
    day->cut = calloc(day->cut_count, sizeof *day->cut);
    must(day->load_a != NULL && day->load_of != NULL && day->cut != NULL, "out of memory");
    for (size_t i = 0; i < day->cut_count; i++)
        day->cut[i] = (struct pd_cut){.kind = PD_CUT_OPEN, .section = i + 1};
    for (size_t i = 0; i < CHUNK; i++)
        day->supply_v[i] = day->study_case->supply_v;
    read_profile(folder, day);
}

static void day_free(struct day *day)
{
    pd_case_free(&day->study_case);
    free(day->load_a);
    free(day->load_of);
    free(day->cut);
}

static struct pd_batch *batch_of(const struct day *day, size_t threads)
{
    const struct pd_case *const c = day->study_case;
    const struct pd_probe chassis = {c->network->node[c->charging_point].pe_node, PD_N};
    const struct pd_batch_settings settings = {.network = c->network,
                                               .tie = c->tie,
                                               .tie_count = c->electrodes.count,
                                               .cut = day->cut,
                                               .cut_count = day->cut_count,
                                               .probe = &chassis,
                                               .probe_count = 1,
                                               .threads = threads};
    struct pd_batch *batch;
    must(pd_batch_new(&settings, &batch) == PD_OK, "no batch could be made");
    return batch;
}

/* The largest difference from the tree engine in one state, over the supply. */
static double from_tree(const struct day *day, const struct pd_batch *batch,
                        const struct pd_batch_output *output, size_t first)
{
    const struct pd_case *const c = day->study_case;
    const size_t chassis = c->network->node[c->charging_point].pe_node;
    struct pd_tree *tree;
    struct pd_solution solution;
    double worst = 0;
    const struct pd_operating state = {.load_a = day->load_a + first * c->network->load_count,
                                       .tie = c->tie,
                                       .tie_count = c->electrodes.count,
                                       .supply_v = c->supply_v};
    must(pd_tree_new(c->network, &tree) == PD_OK && pd_tree_factor(tree, &state) == PD_OK &&
             pd_solution_new(c->network, &solution) == PD_OK,
         "no tree could be made");
    for (size_t i = 0; i < day->cut_count; i++) {
        must(pd_tree_solve(tree, &day->cut[i], &solution) == PD_OK, "the break is refused");
        const double apart =
            cabs(pd_batch_voltage(batch, output, 0, i, 0) - solution.v[chassis][PD_N]);
        worst = fmax(worst, isnan(apart) ? INFINITY : apart / c->supply_v);
    }
    pd_solution_free(&solution);
    pd_tree_free(&tree);
    return worst;
}

/* Seconds for the day, best of five; the disagreement is looked at in three of its minutes. */
static double go_through(const struct day *day, size_t threads, double *worst)
{
    double best_s = INFINITY;
    struct pd_batch *batch = batch_of(day, threads);
    struct pd_batch_output output;
    must(pd_batch_output_new(batch, CHUNK, &output) == PD_OK, "out of memory");
    for (int again = 0; again < 5; again++) {
        double took_s = 0;
        for (size_t first = 0; first < day->minutes; first += CHUNK) {
            const size_t left = day->minutes - first;
            const struct pd_batch_input input = {
                .count = left < CHUNK ? left : CHUNK,
                .load_a = day->load_a + first * day->study_case->network->load_count,
                .supply_v = day->supply_v};
            const double start_s = now_s();
            must(pd_batch_solve(batch, &input, &output, NULL, NULL) == PD_OK, "not solved");
            took_s += now_s() - start_s;
            if (again == 0 && first % (8 * CHUNK) == 0)
                *worst = fmax(*worst, from_tree(day, batch, &output, first));
        }
        best_s = fmin(best_s, took_s);
    }
    pd_batch_output_free(&output);
    pd_batch_free(&batch);
    return best_s;
}

int main(int argc, char **argv)
{
    struct day day;
    double worst = 0;
    must(argc == 2, "usage: bench_feeder FOLDER");
    if (access(argv[1], F_OK) != 0) {
        printf("skipped: no %s\n", argv[1]);
        return 77; /* meson's for skipped */
    }
    print_head("A day of the test feeder by the minute, every section's PEN opened in each, the\n"
               "chassis wanted, best of five. The columns are what differs: sections in series\n"
               "with nothing between them have one answer. apart: largest disagreement with the\n"
               "tree engine, in three minutes, over the supply.\n\n"
               "threads minutes sections columns   seconds  ns a pair     apart");
    day_new(argv[1], &day);
    for (size_t threads = 1; threads <= 2; threads++) {
        const double took_s = go_through(&day, threads, &worst);
        struct pd_batch *batch = batch_of(&day, threads);
        printf("%7zu %7zu %8zu %7zu %9.4f %10.2f %9.1e\n", threads, day.minutes, day.cut_count,
               pd_batch_columns(batch), took_s,
               1e9 * took_s / ((double)day.minutes * (double)day.cut_count), worst);
        pd_batch_free(&batch);
    }
    day_free(&day);
    print_load();
    if (!(worst <= 1e-9)) {
        printf("\nThe answers disagree by more than 1e-9 of the supply.\n");
        return 1;
    }
    return 0;
}
