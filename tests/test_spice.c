/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "grow.h"

#include <fcntl.h>
#include <math.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

/* The tree engine against ngspice (batch mode, AC analysis at 50 Hz): a circuit simulator that
 * knows nothing of trees. Every conductor of every node is a node of the netlist; sections are R
 * and L in series, loads R with L or C in parallel, electrodes R; a section of 0 ohm is a source of
 * 0 V; an open conductor is left out. Mutual impedances are left to the dense oracle
 * (test_solve.c).
 *
 * Nothing of ngspice may help the circuit along: gmin is a conductance of its devices, which these
 * circuits do not have, and is set to 1e-15 all the same; rshunt, which would tie every node to
 * earth, is off unless set; noopac leaves out the d.c. operating point, in which an inductor across
 * a source is a short circuit. */

enum { LINE = 256 };
#define OMEGA (2 * 3.14159265358979323846 * 50)
#define FREQUENCY "50"

static bool is_there(const struct pd_network *network, size_t node, int conductor)
{
    return conductor == PD_N || (network->node[node].lines >> conductor & 1u) != 0;
}

/* R and L in series, of which either may be 0, by way of the node `name`m. */
static void write_series(FILE *file, const char *name, const char *from, const char *to,
                         double complex z_ohm)
{
    const double r = creal(z_ohm), l = cimag(z_ohm) / OMEGA;
    if (r == 0 && l == 0)
        fprintf(file, "V%s %s %s 0\n", name, from, to);
    else if (l == 0)
        fprintf(file, "R%s %s %s %.17g\n", name, from, to, r);
    else if (r == 0)
        fprintf(file, "L%s %s %s %.17g\n", name, from, to, l);
    else
        fprintf(file, "R%s %s %sm %.17g\nL%s %sm %s %.17g\n", name, from, name, r, name, name, to,
                l);
}

/* The load is described here from its words: current at nominal voltage, power factor. */
static void write_load(FILE *file, const struct pd_network *network, size_t i, double current_a)
{
    static const int ends[PD_PHASES][3][2] = {
        [PD_ON_L1] = {{0, 3}},
        [PD_ON_L2] = {{1, 3}},
        [PD_ON_L3] = {{2, 3}},
        [PD_ON_L12] = {{0, 1}},
        [PD_ON_L23] = {{1, 2}},
        [PD_ON_L31] = {{2, 0}},
        [PD_ON_L123] = {{0, 3}, {1, 3}, {2, 3}},
    };
    const struct pd_load *const load = &network->load[i];
    const bool between = ends[load->phase][0][1] != PD_N;
    const double times = !between ? 1 : network->system == PD_SPLIT_PHASE ? 2 : sqrt(3);
    const double y = current_a / (times * network->nominal_v);
    const double g = y * fabs(load->power_factor);
    const double b = y * sqrt(1 - load->power_factor * load->power_factor);
    for (int k = 0; k < 3 && ends[load->phase][k][0] != ends[load->phase][k][1]; k++) {
        const int from = ends[load->phase][k][0], to = ends[load->phase][k][1];
        if (g > 0)
            fprintf(file, "RG%zu_%d v%zu_%d v%zu_%d %.17g\n", i, k, load->node, from, load->node,
                    to, 1 / g);
        if (b > 0 && load->power_factor > 0)
            fprintf(file, "LB%zu_%d v%zu_%d v%zu_%d %.17g\n", i, k, load->node, from, load->node,
                    to, 1 / (OMEGA * b));
        else if (b > 0)
            fprintf(file, "CB%zu_%d v%zu_%d v%zu_%d %.17g\n", i, k, load->node, from, load->node,
                    to, b / OMEGA);
    }
}

static void write_source(FILE *file, const struct pd_network *network, double supply_v)
{
    for (int c = PD_L1; c < PD_LINES; c++) {
        if (!is_there(network, 0, c))
            continue;
        const double complex emf = network->source.unit_emf[c];
        char name[LINE], from[LINE], to[LINE];
        snprintf(name, sizeof name, "S%d", c);
        snprintf(from, sizeof from, "emf%d", c);
        snprintf(to, sizeof to, "v0_%d", c);
        fprintf(file, "VE%d emf%d v0_3 dc 0 ac %.17g %.17g\n", c, c, supply_v * cabs(emf),
                carg(emf) * 180 / acos(-1));
        write_series(file, name, from, to, network->source.z_ohm);
    }
    write_series(file, "STAR", "v0_3", "0", network->source.electrode_ohm);
}

static void write_netlist(const char *path, const struct grown *grown, const struct pd_cut *cut)
{
    const struct pd_network *const network = grown->network;
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fprintf(file, "tree\n.options gmin=1e-15 noopac\n");
    write_source(file, network, grown->operating.supply_v);
    for (size_t i = 1; i < network->node_count; i++)
        for (int c = 0; c < PD_CONDUCTORS; c++) {
            const bool cut_here = c == PD_N && cut->section == i;
            if (!is_there(network, i, c) || (cut_here && cut->kind == PD_CUT_OPEN))
                continue;
            char name[LINE], from[LINE], to[LINE];
            snprintf(name, sizeof name, "Z%zu_%d", i, c);
            snprintf(from, sizeof from, "v%zu_%d", network->node[i].parent, c);
            snprintf(to, sizeof to, "v%zu_%d", i, c);
            const double joint = cut_here && cut->kind == PD_CUT_JOINT ? cut->joint_ohm : 0;
            write_series(file, name, from, to, network->node[i].z_ohm.at[c][c] + joint);
        }
    for (size_t i = 0; i < network->load_count; i++)
        write_load(file, network, i, grown->load_a[i]);
    for (size_t i = 0; i < grown->operating.tie_count; i++) {
        size_t node = grown->tie[i].node;
        if (network->node[node].pe_node == PD_NONE || isinf(grown->tie[i].resistance_ohm))
            continue;
        while (network->node[node].separate)
            node = network->node[node].parent;
        fprintf(file, "RE%zu v%zu_3 0 %.17g\n", i, node, grown->tie[i].resistance_ohm);
    }
    fprintf(file, ".ac lin 1 " FREQUENCY " " FREQUENCY "\n.end\n");
    assert_int_equal(fclose(file), 0);
}

/* Runs ngspice, without a start-up file, its words going to a file; 127 where it is not there. */
static int run_ngspice(const char *netlist, const char *raw, const char *log)
{
    extern char **environ;
    char *const arguments[] = {(char[]){"ngspice"},
                               (char[]){"-n"},
                               (char[]){"-b"},
                               (char[]){"-r"},
                               (char *)raw,
                               (char *)netlist,
                               NULL};
    posix_spawn_file_actions_t actions;
    assert_int_equal(posix_spawn_file_actions_init(&actions), 0);
    posix_spawn_file_actions_addopen(&actions, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
    posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, log, O_WRONLY | O_CREAT | O_TRUNC,
                                     0600);
    posix_spawn_file_actions_adddup2(&actions, STDOUT_FILENO, STDERR_FILENO);
    pid_t child;
    const int error = posix_spawnp(&child, "ngspice", &actions, NULL, arguments, environ);
    posix_spawn_file_actions_destroy(&actions);
    if (error != 0)
        return 127;
    int status;
    assert_int_equal(waitpid(child, &status, 0), child);
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128;
}

/* Reads ngspice's raw file: names under "Variables:", then after "Binary:" a complex double for
 * each. Returns how many voltages of our conductors it held. */
static size_t read_voltages(const char *path, size_t node_count, double complex (*v)[PD_CONDUCTORS])
{
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return 0;
    char line[LINE];
    size_t count = 0, found = 0;
    while (fgets(line, sizeof line, file) != NULL && strcmp(line, "Variables:\n") != 0)
        sscanf(line, "No. Variables: %zu", &count);
    double complex **const place = calloc(count + 1, sizeof *place);
    assert_non_null(place);
    for (size_t i = 0; i < count && fgets(line, sizeof line, file) != NULL; i++) {
        size_t node;
        int conductor;
        if (sscanf(line, "%*u v(v%zu_%d)", &node, &conductor) == 2 && node < node_count)
            place[i] = &v[node][conductor];
    }
    const bool binary = fgets(line, sizeof line, file) != NULL && strcmp(line, "Binary:\n") == 0;
    for (size_t i = 0; binary && i < count; i++) {
        double complex value;
        if (fread(&value, sizeof value, 1, file) != 1)
            break;
        if (place[i] != NULL) {
            *place[i] = value;
            found++;
        }
    }
    free(place);
    fclose(file);
    return found;
}

static void show_log(const char *path)
{
    char line[LINE];
    FILE *file = fopen(path, "r");
    while (file != NULL && fgets(line, sizeof line, file) != NULL)
        print_error("ngspice: %s", line);
    if (file != NULL)
        fclose(file);
}

struct folder {
    char path[64], netlist[96], raw[96], log[96];
};

static struct folder folder_new(void)
{
    struct folder folder = {.path = "/tmp/pendrift-spice-XXXXXX"};
    assert_non_null(mkdtemp(folder.path));
    snprintf(folder.netlist, sizeof folder.netlist, "%s/tree.cir", folder.path);
    snprintf(folder.raw, sizeof folder.raw, "%s/tree.raw", folder.path);
    snprintf(folder.log, sizeof folder.log, "%s/log", folder.path);
    return folder;
}

static void folder_remove(const struct folder *folder)
{
    unlink(folder->netlist);
    unlink(folder->raw);
    unlink(folder->log);
    rmdir(folder->path);
}

/* The largest difference in volts, INFINITY where ngspice gave no answer. */
static double compare(const struct folder *folder, const struct grown *grown,
                      const struct pd_cut *cut, const struct pd_solution *solution,
                      size_t *compared)
{
    const struct pd_network *const network = grown->network;
    double complex(*v)[PD_CONDUCTORS] = calloc(network->node_count, sizeof *v);
    assert_non_null(v);
    unlink(folder->raw);
    write_netlist(folder->netlist, grown, cut);
    const int status = run_ngspice(folder->netlist, folder->raw, folder->log);
    size_t wanted = 0;
    double worst = 0;
    const size_t found = read_voltages(folder->raw, network->node_count, v);
    for (size_t i = 0; i < network->node_count; i++)
        for (int c = 0; c < PD_CONDUCTORS; c++)
            if (is_there(network, i, c)) {
                const double difference = cabs(v[i][c] - solution->v[i][c]);
                worst = difference <= worst ? worst : isnan(difference) ? INFINITY : difference;
                wanted++;
            }
    free(v);
    *compared += found;
    if (status == 0 && found == wanted)
        return worst;
    print_error("ngspice ended with %d, %zu of %zu voltages\n", status, found, wanted);
    return INFINITY;
}

static void check_tree(const struct folder *folder, uint64_t seed, size_t sections,
                       enum pd_cut_kind kind, size_t *compared)
{
    struct stream stream = {seed};
    struct grown grown;
    const struct growth growth = {.system = (enum pd_system)stream_below(&stream, PD_SYSTEMS),
                                  .sections = sections ? sections : grow_size(&stream, 199)};
    grow(&stream, &growth, &grown);
    struct pd_cut cut = grow_cut(&stream, grown.network, kind);
    struct pd_tree *tree;
    struct pd_solution solution;
    assert_int_equal(pd_tree_new(grown.network, &tree), PD_OK);
    assert_int_equal(pd_solution_new(grown.network, &solution), PD_OK);
    assert_int_equal(pd_tree_factor(tree, &grown.operating), PD_OK);
    assert_int_equal(pd_tree_solve(tree, &cut, &solution), PD_OK);
    /* To ngspice a floating neutral is a singular matrix; that island is judged in test_solve.c,
     * and here the tree is compared with its PEN whole. */
    if (solution.floating != PD_NONE) {
        cut.kind = PD_CUT_NONE;
        assert_int_equal(pd_tree_solve(tree, &cut, &solution), PD_OK);
    }
    assert_int_equal(solution.standing, PD_SOLVED);
    const double difference = compare(folder, &grown, &cut, &solution, compared);
    const bool close = difference <= 1e-6 * grown.operating.supply_v;
    if (!close) {
        show_log(folder->log);
        folder_remove(folder);
        fail_msg("seed %llu, %zu nodes, cut %d at section %zu: off by %g V",
                 (unsigned long long)seed, grown.network->node_count, (int)cut.kind, cut.section,
                 difference);
    }
    pd_tree_free(&tree);
    pd_solution_free(&solution);
    grown_free(&grown);
}

static bool ngspice_is_there(const struct folder *folder)
{
    FILE *file = fopen(folder->netlist, "w");
    assert_non_null(file);
    fprintf(file, "divider\nV1 a 0 dc 0 ac 1\nR1 a 0 1\n.ac lin 1 50 50\n.end\n");
    fclose(file);
    return run_ngspice(folder->netlist, folder->raw, folder->log) == 0;
}

static void test_agrees_with_ngspice(void **state)
{
    (void)state;
    const struct folder folder = folder_new();
    if (!ngspice_is_there(&folder)) {
        folder_remove(&folder);
        if (getenv("PENDRIFT_NEED_NGSPICE") != NULL)
            fail_msg("ngspice does not run, and PENDRIFT_NEED_NGSPICE is set");
        print_message("ngspice does not run here: the engine is not compared with it\n");
        skip();
    }
    size_t compared = 0;
    const enum pd_cut_kind kind[] = {PD_CUT_OPEN, PD_CUT_JOINT, PD_CUT_OPEN, PD_CUT_NONE};
    for (uint64_t seed = 1; seed <= 300 * soak(); seed++)
        check_tree(&folder, seed, 0, kind[seed % 4], &compared);
    for (uint64_t seed = 9000; seed < 9004; seed++)
        check_tree(&folder, seed, 199, kind[seed % 4], &compared);
    folder_remove(&folder);
    print_message("%zu voltages compared with ngspice\n", compared);
    assert_true(compared > 20000);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_agrees_with_ngspice)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
