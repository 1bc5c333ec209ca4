/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "child.h"
#include "stopwatch.h"
#include "street.h"

/* One open PEN of a small street: the tree engine, and ngspice in batch mode (AC at 50 Hz) from
 * starting the program until it has ended, its answer written to a file. The netlist is written
 * beforehand. What starting alone takes is measured with a circuit of one resistor. */

enum { LINE = 256, RUNS = 11 };
static const double omega = 2 * 3.14159265358979323846 * 50;

struct files {
    char folder[64], netlist[96], raw[96], one[96], one_raw[96]; /* `one`: of one resistor */
};

static void write_series(FILE *file, const char *name, const char *from, const char *to,
                         double complex ohm)
{
    fprintf(file, "R%s %s %sm %.17g\nL%s %sm %s %.17g\n", name, from, name, creal(ohm), name, name,
            to, cimag(ohm) / omega);
}

static void write_source(FILE *file, const struct street *street, double supply_v)
{
    const struct pd_source *const source = &street->network->source;
    for (int c = PD_L1; c < PD_LINES; c++) {
        char name[LINE], from[LINE], to[LINE];
        snprintf(name, sizeof name, "S%d", c);
        snprintf(from, sizeof from, "emf%d", c);
        snprintf(to, sizeof to, "v0_%d", c);
        fprintf(file, "VE%d emf%d v0_3 dc 0 ac %.17g %.17g\n", c, c, supply_v,
                carg(source->unit_emf[c]) * 180 / acos(-1));
        write_series(file, name, from, to, source->z_ohm);
    }
    fprintf(file, "RSTAR v0_3 0 %.17g\n", source->electrode_ohm);
}

static void write_loads(FILE *file, const struct street *street,
                        const struct pd_operating *operating)
{
    const struct pd_network *const network = street->network;
    for (size_t i = 0; i < network->load_count; i++) {
        const struct pd_load *const load = &network->load[i];
        const double y = operating->load_a[i] / network->nominal_v, pf = load->power_factor;
        fprintf(file, "RG%zu v%zu_%d v%zu_3 %.17g\n", i, load->node, (int)load->phase, load->node,
                1 / (y * pf));
        fprintf(file, "LB%zu v%zu_%d v%zu_3 %.17g\n", i, load->node, (int)load->phase, load->node,
                1 / (omega * y * sqrt(1 - pf * pf)));
    }
    for (size_t i = 0; i < operating->tie_count; i++)
        fprintf(file, "RE%zu v%zu_3 0 %.17g\n", i, operating->tie[i].node,
                operating->tie[i].resistance_ohm);
}

static void write_netlist(const char *path, const struct street *street, size_t state, size_t open)
{
    const struct pd_operating *const operating = &street->operating[state];
    FILE *const file = fopen(path, "w");
    must(file != NULL, "the netlist cannot be written");
    fprintf(file, "street\n.options gmin=1e-15 noopac\n");
    write_source(file, street, operating->supply_v);
    for (size_t i = 1; i < street->network->node_count; i++)
        for (int c = 0; c < PD_CONDUCTORS; c++) {
            char name[LINE], from[LINE], to[LINE];
            if (c == PD_N && i == open)
                continue;
            snprintf(name, sizeof name, "Z%zu_%d", i, c);
            snprintf(from, sizeof from, "v%zu_%d", street->network->node[i].parent, c);
            snprintf(to, sizeof to, "v%zu_%d", i, c);
            write_series(file, name, from, to, street->network->node[i].z_ohm.at[c][c]);
        }
    write_loads(file, street, operating);
    fprintf(file, ".ac lin 1 50 50\n.end\n");
    must(fclose(file) == 0, "the netlist cannot be written");
}

/* ngspice's raw file: names under "Variables:", then after "Binary:" a complex double for each.
 * What it does not hold is NaN. */
static void read_answer(const char *path, size_t nodes, double complex (*v)[PD_CONDUCTORS])
{
    char line[LINE];
    size_t count = 0;
    FILE *const file = fopen(path, "rb");
    must(file != NULL, "ngspice wrote no answer");
    for (size_t i = 0; i < nodes * PD_CONDUCTORS; i++)
        v[0][i] = NAN;
    while (fgets(line, sizeof line, file) != NULL && strcmp(line, "Variables:\n") != 0)
        sscanf(line, "No. Variables: %zu", &count);
    double complex **const place = calloc(count + 1, sizeof *place);
    must(place != NULL, "out of memory");
    for (size_t i = 0; i < count && fgets(line, sizeof line, file) != NULL; i++) {
        size_t node;
        int conductor;
        if (sscanf(line, "%*u v(v%zu_%d)", &node, &conductor) == 2 && node < nodes)
            place[i] = &v[node][conductor];
    }
    must(fgets(line, sizeof line, file) != NULL && strcmp(line, "Binary:\n") == 0,
         "ngspice's answer is not binary");
    for (size_t i = 0; i < count; i++) {
        double complex value;
        must(fread(&value, sizeof value, 1, file) == 1, "ngspice's answer is cut short");
        if (place[i] != NULL)
            *place[i] = value;
    }
    free(place);
    fclose(file);
}

static double spice_s(const char *netlist, const char *raw)
{
    const struct child child =
        child_run((char *[]){(char[]){"ngspice"}, (char[]){"-n"}, (char[]){"-b"}, (char[]){"-r"},
                             (char *)raw, (char *)netlist, NULL});
    must(child.status == 0, "ngspice failed");
    return child.took_s;
}

/* In turn: as ours_s the circuit of one resistor, as peer_s the street; the first runs warm the
 * disk cache. */
static struct times time_spice(const struct files *files)
{
    double one_s[RUNS], street_s[RUNS];
    spice_s(files->one, files->one_raw);
    spice_s(files->netlist, files->raw);
    for (size_t i = 0; i < RUNS; i++) {
        one_s[i] = spice_s(files->one, files->one_raw);
        street_s[i] = spice_s(files->netlist, files->raw);
    }
    return (struct times){median(one_s, RUNS), median(street_s, RUNS)};
}

struct engine {
    struct street street;
    struct pd_tree *tree;
    struct pd_solution solution;
    size_t open;
};

/* A state taken up and one break of it, as ngspice does. */
static void tree_one(void *context, size_t call)
{
    struct engine *const engine = context;
    const struct pd_cut cut = {.kind = PD_CUT_OPEN, .section = engine->open};
    (void)call;
    must(pd_tree_factor(engine->tree, &engine->street.operating[0]) == PD_OK,
         "the state is refused");
    must(pd_tree_solve(engine->tree, &cut, &engine->solution) == PD_OK, "the break is refused");
    must(engine->solution.standing == PD_SOLVED, "the break is not solved");
    keep(engine->solution.v);
}

static void write_one(const char *path)
{
    FILE *const file = fopen(path, "w");
    must(file != NULL, "the netlist cannot be written");
    fprintf(file, "one\nV1 a 0 dc 0 ac 1\nR1 a 0 1\n.ac lin 1 50 50\n.end\n");
    must(fclose(file) == 0, "the netlist cannot be written");
}

static double run(const struct files *files, size_t houses)
{
    struct engine engine = {.open = houses}; /* half-way along the ordered nodes */
    const struct street_plan plan = {.houses = houses, .per_feeder = houses};
    street_new(&plan, &engine.street);
    const size_t nodes = engine.street.network->node_count;
    double complex(*v)[PD_CONDUCTORS] = calloc(nodes, sizeof *v);
    must(v != NULL && pd_tree_new(engine.street.network, &engine.tree) == PD_OK &&
             pd_solution_new(engine.street.network, &engine.solution) == PD_OK,
         "out of memory");
    write_netlist(files->netlist, &engine.street, 0, engine.open);
    const struct times spice = time_spice(files);
    const double ours_s = time_both(tree_one, tree_one, &engine).ours_s;
    read_answer(files->raw, nodes, v);
    const double apart = street_difference(&engine.street, engine.solution.v, v);
    printf("%6zu %8zu %10.2f %12.0f %14.0f %9.0f %9.1e\n", houses, nodes * PD_CONDUCTORS,
           1e6 * ours_s, 1e6 * spice.peer_s, 1e6 * (spice.peer_s - spice.ours_s),
           spice.peer_s / ours_s, apart);
    fflush(stdout);
    free(v);
    pd_tree_free(&engine.tree);
    pd_solution_free(&engine.solution);
    street_free(&engine.street);
    return apart;
}

int main(void)
{
    struct files files = {.folder = "/tmp/pendrift-bench-XXXXXX"};
    must(mkdtemp(files.folder) != NULL, "no folder for the netlist");
    snprintf(files.netlist, sizeof files.netlist, "%s/street.cir", files.folder);
    snprintf(files.raw, sizeof files.raw, "%s/street.raw", files.folder);
    snprintf(files.one, sizeof files.one, "%s/one.cir", files.folder);
    snprintf(files.one_raw, sizeof files.one_raw, "%s/one.raw", files.folder);
    print_head("One load state, one open PEN: tree engine in a program that runs, and ngspice in\n"
               "batch mode, started for it. Microseconds. ngspice: from start to end of the\n"
               "program, reading and writing files included. less start: less what one resistor\n"
               "takes. ratio: ngspice over ours, start included.\n"
               "apart: largest disagreement of a voltage, over the supply; 1e-6 is allowed.\n\n"
               "houses unknowns       ours      ngspice     less start     ratio     apart");
    write_one(files.one);
    const double ten = run(&files, 10), street = run(&files, 55);
    unlink(files.netlist);
    unlink(files.raw);
    unlink(files.one);
    unlink(files.one_raw);
    rmdir(files.folder);
    if (!(fmax(ten, street) <= 1e-6)) {
        printf("\nThe answers disagree by more than 1e-6 of the supply.\n");
        return 1;
    }
    return 0;
}
