/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "mix.h"
#include "spice.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Loads that are not linear against ngspice. Its AC analysis knows phasors, but linearises: the
 * behaviours are functions of a phasor's size, which no device of its has, and in a transient the
 * size is known a period late. So it is driven by iteration: each such load is its admittance at
 * nominal voltage and, beside it, a current source of what it draws otherwise at the voltage of the
 * last run (inverters are sources alone); ngspice solves the circuit; half of what the voltages
 * move is taken; and so on until they move by less than 1e-9 of the supply. Then ngspice's circuit
 * holds the loads' true currents, so its voltages are a solution whatever led there: the iteration
 * starts from the healthy voltages and knows nothing of the engine's answer. Which loads have let
 * go is taken from that answer, where each that has not must be inside its window.
 *
 * All trees are one netlist of parts that share only remote earth: one run iterates them all. */

enum { TREES = 60, SECTIONS = 9, ROUNDS = 110, NAME = 48 };

struct part {
    struct grown grown;
    struct bench bench;
    struct pd_cut cut;
    bool off[MIX_LOADS];
    double complex (*v)[PD_CONDUCTORS]; /* ngspice's, of the last run */
    double complex u[MIX_LOADS][3];     /* across each element, as iterated */
    double moved_v;
    bool flexible;
};

static bool is_there(const struct pd_network *network, size_t node, int conductor)
{
    return conductor == PD_N || (network->node[node].lines >> conductor & 1u) != 0;
}

static const char *name_node(char name[NAME], size_t tree, size_t node, int conductor)
{
    snprintf(name, NAME, "t%zuv%zu_%d", tree, node, conductor);
    return name;
}

static void write_source(FILE *file, size_t tree, const struct part *part)
{
    const struct pd_network *const network = part->grown.network;
    char name[NAME], emf[NAME], star[NAME], line[NAME];
    name_node(star, tree, 0, PD_N);
    for (int c = PD_L1; c < PD_LINES; c++) {
        if (!is_there(network, 0, c))
            continue;
        const double complex e = part->grown.operating.supply_v * network->source.unit_emf[c];
        snprintf(emf, sizeof emf, "t%zuemf%d", tree, c);
        snprintf(name, sizeof name, "S%zu_%d", tree, c);
        fprintf(file, "VE%zu_%d %s %s dc 0 ac %.17g %.17g\n", tree, c, emf, star, cabs(e),
                carg(e) * 180 / acos(-1));
        spice_series(file, name, emf, name_node(line, tree, 0, c), network->source.z_ohm);
    }
    snprintf(name, sizeof name, "STAR%zu", tree);
    spice_series(file, name, star, "0", network->source.electrode_ohm);
}

static void write_sections(FILE *file, size_t tree, const struct part *part)
{
    const struct pd_network *const network = part->grown.network;
    const struct pd_cut *const cut = &part->cut;
    for (size_t i = 1; i < network->node_count; i++)
        for (int c = 0; c < PD_CONDUCTORS; c++) {
            const bool here = cut->kind != PD_CUT_NONE && cut->section == i;
            const bool joint = here && c == PD_N && cut->kind == PD_CUT_JOINT;
            const bool crossed = here && cut->kind == PD_CUT_CROSSED;
            if (!is_there(network, i, c) || (here && c == PD_N && cut->kind == PD_CUT_OPEN))
                continue;
            const int far = !crossed ? c : c == PD_N ? cut->line : c == cut->line ? PD_N : c;
            char name[NAME], from[NAME], to[NAME];
            snprintf(name, sizeof name, "Z%zu_%zu_%d", tree, i, c);
            spice_series(file, name, name_node(from, tree, network->node[i].parent, c),
                         name_node(to, tree, i, far),
                         network->node[i].z_ohm.at[c][c] + (joint ? cut->joint_ohm : 0));
        }
}

/* Volts across at nominal voltage; the current there, over it. */
static double complex nominal_s(const struct part *part, size_t i)
{
    const struct pd_load *const load = &part->grown.network->load[i];
    const bool line = oracle_ends(load, 0)[1] != PD_N;
    const double times = !line ? 1 : part->grown.network->system == PD_SPLIT_PHASE ? 2 : sqrt(3);
    const double un = times * part->grown.network->nominal_v;
    return oracle_draw(part->grown.network, load, part->grown.load_a[i], un) / un;
}

static void write_load(FILE *file, size_t tree, const struct part *part, size_t i)
{
    const struct pd_network *const network = part->grown.network;
    const struct pd_load *const load = &network->load[i];
    const bool feeds = strncmp(load->behaviour->name, "inverter", 8) == 0;
    const double complex y_s = feeds ? 0 : nominal_s(part, i);
    for (size_t k = 0; k < oracle_elements(load); k++) {
        const int *const ends = oracle_ends(load, k);
        char name[NAME], from[NAME], to[NAME];
        snprintf(name, sizeof name, "%zu_%zu_%zu", tree, i, k);
        name_node(from, tree, load->node, ends[0]);
        name_node(to, tree, load->node, ends[1]);
        spice_admittance(file, name, from, to, y_s);
        const double complex u = part->u[i][k];
        const double complex rest = oracle_draw(network, load, part->grown.load_a[i], u) - y_s * u;
        if (strcmp(load->behaviour->name, "impedance") != 0)
            fprintf(file, "IF%s %s %s dc 0 ac %.17g %.17g\n", name, from, to, cabs(rest),
                    carg(rest) * 180 / acos(-1));
    }
}

static void write_shunts(FILE *file, size_t tree, const struct part *part)
{
    const struct pd_network *const network = part->grown.network;
    const struct pd_operating *const operating = &part->grown.operating;
    char name[NAME], from[NAME], to[NAME];
    for (size_t i = 0; i < network->load_count; i++)
        if (part->grown.load_a[i] > 0 && !part->off[i])
            write_load(file, tree, part, i);
    for (size_t i = 0; i < operating->tie_count; i++) {
        size_t node = operating->tie[i].node;
        if (network->node[node].pe_node == PD_NONE || isinf(operating->tie[i].resistance_ohm))
            continue;
        while (network->node[node].separate)
            node = network->node[node].parent;
        fprintf(file, "RE%zu_%zu %s 0 %.17g\n", tree, i, name_node(from, tree, node, PD_N),
                operating->tie[i].resistance_ohm);
    }
    const struct pd_bridge *const bridge = &operating->bridge;
    snprintf(name, sizeof name, "bridge%zu", tree);
    if (bridge->admittance_s > 0)
        spice_admittance(file, name, name_node(from, tree, bridge->node, bridge->line),
                         name_node(to, tree, bridge->node, PD_N), bridge->admittance_s);
}

/* A tree with an answer and without an island that floats, which is a singular matrix to ngspice.
 */
static bool grow_part(uint64_t seed, struct part *part)
{
    struct stream stream = {seed};
    const struct growth growth = {.system = (enum pd_system)stream_below(&stream, PD_SYSTEMS),
                                  .sections = grow_size(&stream, SECTIONS)};
    *part = (struct part){.moved_v = INFINITY};
    grow(&stream, &growth, &part->grown);
    mix_behaviours(&stream, &part->grown, true);
    if (stream_below(&stream, 4) == 0)
        mix_bridge(&stream, &part->grown);
    part->cut = mix_cut(&stream, part->grown.network);
    part->bench = bench_new(part->grown.network, &part->grown.operating);
    part->v = calloc(part->grown.network->node_count, sizeof *part->v);
    assert_non_null(part->v);
    struct pd_solution *const solution = &part->bench.solution;
    assert_int_equal(pd_tree_solve(part->bench.tree, &part->cut, solution), PD_OK);
    part->flexible = !pd_tree_linear(part->bench.tree);
    return part->flexible && solution->standing == PD_SOLVED && solution->floating == PD_NONE &&
           mix_find_off(&part->grown, &part->cut, solution, part->off) <= PD_RESIDUAL_MAX;
}

static void part_free(struct part *part)
{
    bench_free(&part->bench);
    grown_free(&part->grown);
    free(part->v);
}

static void start_healthy(struct part *part)
{
    const struct pd_network *const network = part->grown.network;
    for (size_t i = 0; i < network->load_count; i++)
        for (size_t k = 0; k < oracle_elements(&network->load[i]); k++)
            for (int end = 0; end < 2; end++) {
                const int c = oracle_ends(&network->load[i], k)[end];
                const double complex v =
                    c == PD_N ? 0 : part->grown.operating.supply_v * network->source.unit_emf[c];
                part->u[i][k] += end == 0 ? v : -v;
            }
}

/* Half way to the voltages of the run. */
static void move(struct part *part)
{
    const struct pd_network *const network = part->grown.network;
    part->moved_v = 0;
    for (size_t i = 0; i < network->load_count; i++)
        for (size_t k = 0; k < oracle_elements(&network->load[i]); k++) {
            const struct pd_load *const load = &network->load[i];
            const int *const ends = oracle_ends(load, k);
            const double complex u = part->v[load->node][ends[0]] - part->v[load->node][ends[1]];
            if (part->grown.load_a[i] > 0 && !part->off[i])
                part->moved_v = fmax(part->moved_v, cabs(u - part->u[i][k]));
            part->u[i][k] += (u - part->u[i][k]) / 2;
        }
}

/* One run: all trees, each at its present voltages. */
static void run_round(const struct spice *spice, struct part *part, size_t count)
{
    FILE *const file = spice_begin(spice);
    for (size_t tree = 0; tree < count; tree++) {
        write_source(file, tree, &part[tree]);
        write_sections(file, tree, &part[tree]);
        write_shunts(file, tree, &part[tree]);
    }
    spice_end(file);
    struct spice_voltage *voltage;
    const size_t found = spice_run(spice, &voltage);
    for (size_t i = 0; i < found; i++) {
        size_t tree, node;
        int conductor;
        if (sscanf(voltage[i].name, "v(t%zuv%zu_%d)", &tree, &node, &conductor) == 3 &&
            tree < count && node < part[tree].grown.network->node_count &&
            conductor < PD_CONDUCTORS)
            part[tree].v[node][conductor] = voltage[i].v;
    }
    free(voltage);
    for (size_t tree = 0; tree < count; tree++)
        move(&part[tree]);
}

static bool has_arrived(const struct part *part)
{
    return part->moved_v <= 1e-9 * part->grown.operating.supply_v;
}

static double worst_difference(const struct part *part, size_t *compared)
{
    double worst = 0;
    for (size_t i = 0; i < part->grown.network->node_count; i++)
        for (int c = 0; c < PD_CONDUCTORS; c++)
            if (is_there(part->grown.network, i, c)) {
                const double difference = cabs(part->v[i][c] - part->bench.solution.v[i][c]);
                worst = isnan(difference) ? INFINITY : fmax(worst, difference);
                ++*compared;
            }
    return worst;
}

static void compare(const struct part *part, const uint64_t *seed, size_t count)
{
    size_t compared = 0, arrived = 0, kinds[PD_CUT_CROSSED + 1] = {0}, gone = 0;
    for (size_t tree = 0; tree < count; tree++) {
        if (!has_arrived(&part[tree])) {
            print_message("seed %llu: ngspice still moves by %g V\n",
                          (unsigned long long)seed[tree], part[tree].moved_v);
            continue;
        }
        const double difference = worst_difference(&part[tree], &compared);
        if (!(difference <= 1e-6 * part[tree].grown.operating.supply_v))
            fail_msg("seed %llu, cut %d at section %zu: off by %g V",
                     (unsigned long long)seed[tree], (int)part[tree].cut.kind,
                     part[tree].cut.section, difference);
        arrived++;
        kinds[part[tree].cut.kind]++;
        gone += part[tree].bench.solution.let_go > 0;
    }
    print_message(
        "%zu voltages of %zu trees compared with ngspice: %zu whole, %zu open, %zu with a "
        "joint, %zu crossed; in %zu loads let go\n",
        compared, arrived, kinds[PD_CUT_NONE], kinds[PD_CUT_OPEN], kinds[PD_CUT_JOINT],
        kinds[PD_CUT_CROSSED], gone);
    assert_true(arrived >= 3 * count / 4 && arrived >= 24 && gone > 0);
    for (int kind = PD_CUT_NONE; kind <= PD_CUT_CROSSED; kind++)
        assert_true(kinds[kind] > 3);
}

static void compare_some(const struct spice *spice, uint64_t first_seed)
{
    struct part *const part = calloc(TREES, sizeof *part);
    assert_non_null(part);
    uint64_t seed[TREES];
    uint64_t next = first_seed;
    for (size_t tree = 0; tree < TREES; next++) {
        seed[tree] = next;
        if (grow_part(next, &part[tree]))
            start_healthy(&part[tree++]);
        else
            part_free(&part[tree]);
    }
    bool all = false;
    for (int round = 0; round < ROUNDS && !all; round++) {
        run_round(spice, part, TREES);
        all = true;
        for (size_t tree = 0; tree < TREES; tree++)
            all = all && has_arrived(&part[tree]);
    }
    compare(part, seed, TREES);
    for (size_t tree = 0; tree < TREES; tree++)
        part_free(&part[tree]);
    free(part);
}

static void test_agrees_with_ngspice_iterated(void **state)
{
    (void)state;
    struct spice spice;
    spice_open(&spice);
    for (size_t i = 0; i < soak(); i++)
        compare_some(&spice, 1 + 1000 * i);
    spice_close(&spice);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_agrees_with_ngspice_iterated)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
