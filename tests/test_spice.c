/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "grow.h"
#include "spice.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* The tree engine against ngspice (batch mode, AC analysis at 50 Hz): a circuit simulator that
 * knows nothing of trees. Every conductor of every node is a node of the netlist; sections are R
 * and L in series, loads R with L or C in parallel, electrodes R; a section of 0 ohm is a source of
 * 0 V; an open conductor is left out. Mutual impedances are left to the dense oracle
 * (test_solve.c). */

enum { LINE = 256 };

static bool is_there(const struct pd_network *network, size_t node, int conductor)
{
    return conductor == PD_N || (network->node[node].lines >> conductor & 1u) != 0;
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
        char name[LINE], near[LINE], far[LINE];
        snprintf(name, sizeof name, "%zu_%d", i, k);
        snprintf(near, sizeof near, "v%zu_%d", load->node, from);
        snprintf(far, sizeof far, "v%zu_%d", load->node, to);
        spice_admittance(file, name, near, far, load->power_factor > 0 ? g - I * b : g + I * b);
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
        spice_series(file, name, from, to, network->source.z_ohm);
    }
    spice_series(file, "STAR", "v0_3", "0", network->source.electrode_ohm);
}

static void write_netlist(const struct spice *spice, const struct grown *grown,
                          const struct pd_cut *cut)
{
    const struct pd_network *const network = grown->network;
    FILE *const file = spice_begin(spice);
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
            spice_series(file, name, from, to, network->node[i].z_ohm.at[c][c] + joint);
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
    spice_end(file);
}

/* Runs it, and takes the voltages of our conductors; how many there were. */
static size_t solve_netlist(const struct spice *spice, size_t node_count,
                            double complex (*v)[PD_CONDUCTORS])
{
    struct spice_voltage *voltage;
    const size_t count = spice_run(spice, &voltage);
    size_t found = 0;
    for (size_t i = 0; i < count; i++) {
        size_t node;
        int conductor;
        if (sscanf(voltage[i].name, "v(v%zu_%d)", &node, &conductor) == 2 && node < node_count) {
            v[node][conductor] = voltage[i].v;
            found++;
        }
    }
    free(voltage);
    return found;
}

/* The largest difference in volts, INFINITY where ngspice gave no answer. */
static double compare(const struct spice *spice, const struct grown *grown,
                      const struct pd_cut *cut, const struct pd_solution *solution,
                      size_t *compared)
{
    const struct pd_network *const network = grown->network;
    double complex(*v)[PD_CONDUCTORS] = calloc(network->node_count, sizeof *v);
    assert_non_null(v);
    write_netlist(spice, grown, cut);
    size_t wanted = 0;
    double worst = 0;
    const size_t found = solve_netlist(spice, network->node_count, v);
    for (size_t i = 0; i < network->node_count; i++)
        for (int c = 0; c < PD_CONDUCTORS; c++)
            if (is_there(network, i, c)) {
                const double difference = cabs(v[i][c] - solution->v[i][c]);
                worst = difference <= worst ? worst : isnan(difference) ? INFINITY : difference;
                wanted++;
            }
    free(v);
    *compared += found;
    return found == wanted ? worst : INFINITY;
}

static void check_tree(const struct spice *spice, uint64_t seed, size_t sections,
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
    const double difference = compare(spice, &grown, &cut, &solution, compared);
    const bool close = difference <= 1e-6 * grown.operating.supply_v;
    if (!close) {
        spice_close(spice);
        fail_msg("seed %llu, %zu nodes, cut %d at section %zu: off by %g V",
                 (unsigned long long)seed, grown.network->node_count, (int)cut.kind, cut.section,
                 difference);
    }
    pd_tree_free(&tree);
    pd_solution_free(&solution);
    grown_free(&grown);
}

static void test_agrees_with_ngspice(void **state)
{
    (void)state;
    struct spice spice;
    spice_open(&spice);
    size_t compared = 0;
    const enum pd_cut_kind kind[] = {PD_CUT_OPEN, PD_CUT_JOINT, PD_CUT_OPEN, PD_CUT_NONE};
    for (uint64_t seed = 1; seed <= 300 * soak(); seed++)
        check_tree(&spice, seed, 0, kind[seed % 4], &compared);
    for (uint64_t seed = 9000; seed < 9004; seed++)
        check_tree(&spice, seed, 199, kind[seed % 4], &compared);
    spice_close(&spice);
    print_message("%zu voltages compared with ngspice\n", compared);
    assert_true(compared > 20000);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_agrees_with_ngspice)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
