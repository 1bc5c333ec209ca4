/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "grow.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static void *room(size_t count, size_t size)
{
    void *const memory = calloc(count, size);
    assert_non_null(memory);
    return memory;
}

enum shape { CHAIN, STAR, BRUSH, ANY, SHAPES };

struct plan {
    size_t parent;
    unsigned lines;
    bool separate;
};

static bool one_in(struct stream *stream, size_t count)
{
    return stream_below(stream, count) == 0;
}

static double log_uniform(struct stream *stream, double low, double high)
{
    return exp(stream_uniform(stream, log(low), log(high)));
}

static size_t plan_parent(struct stream *stream, enum shape shape, size_t i)
{
    switch (shape) {
    case CHAIN:
        return i - 1;
    case STAR:
        return i == 1 ? 0 : 1;
    case BRUSH:
        return i <= 4 ? stream_below(stream, i) : i - 1 - stream_below(stream, 4);
    default:
        return stream_below(stream, i);
    }
}

static unsigned fewer_lines(struct stream *stream, unsigned lines)
{
    const unsigned some = lines & (unsigned)stream_below(stream, 8);
    return some != 0 ? some : lines;
}

static struct pd_matrix grow_impedance(struct stream *stream, const struct growth *growth)
{
    if (one_in(stream, 8))
        return (struct pd_matrix){0};
    const double reactive = growth->resistive || one_in(stream, 4) ? 0 : 0.5;
    const double complex line =
        log_uniform(stream, 1e-3, 0.5) * (1 + I * reactive * stream_uniform(stream, 0, 1));
    const double complex pen = one_in(stream, 8) ? 0 : line * stream_uniform(stream, 0.5, 3);
    struct pd_matrix z = pd_matrix_diagonal(line, pen);
    if (!growth->mutuals || !one_in(stream, 3))
        return z;
    /* The coupling of a section of mutual part m is passive while m is below each self term. */
    const double share = stream_uniform(stream, 0, 0.9);
    const double complex m = cabs(pen) < cabs(line) ? share * pen : share * line;
    const int coupled = one_in(stream, 3) ? PD_LINES : PD_CONDUCTORS; /* the lines, or all */
    for (int i = 0; i < coupled; i++)
        for (int j = 0; j < coupled; j++)
            if (i != j)
                z.at[i][j] = m;
    return z;
}

static void grow_sections(struct stream *stream, const struct growth *growth,
                          struct pd_network *network)
{
    const size_t count = growth->sections + 1;
    struct plan *const plan = room(count, sizeof *plan);
    size_t *const order = room(count, sizeof *order);
    const enum shape shape = (enum shape)stream_below(stream, SHAPES);
    plan[0].lines = network->lines;
    for (size_t i = 1; i < count; i++) {
        const struct plan *const up = &plan[plan[i].parent = plan_parent(stream, shape, i)];
        plan[i].separate = up->separate || one_in(stream, 5);
        plan[i].lines = one_in(stream, 6) ? fewer_lines(stream, up->lines) : up->lines;
        /* Sections come in any order. */
        const size_t swap = 1 + stream_below(stream, i);
        order[i] = order[swap];
        order[swap] = i;
    }
    for (size_t k = 1; k < count; k++) {
        const size_t i = order[k];
        char name[32], from[32], to[32];
        snprintf(name, sizeof name, "section %zu", i);
        snprintf(from, sizeof from, "node %zu", plan[i].parent);
        snprintf(to, sizeof to, "node %zu", i);
        const struct pd_section section = {.name = name,
                                           .from = from,
                                           .to = to,
                                           .z_ohm = grow_impedance(stream, growth),
                                           .separate = plan[i].separate,
                                           .lines = plan[i].lines};
        assert_int_equal(pd_network_add_section(network, &section, NULL), PD_OK);
    }
    assert_int_equal(pd_network_close(network, NULL), PD_OK);
    free(plan);
    free(order);
}

/* The lines that a connection needs, bit 0 for L1. */
static const unsigned lines_of[PD_PHASES] = {
    [PD_ON_L1] = 1,  [PD_ON_L2] = 2,  [PD_ON_L3] = 4,   [PD_ON_L12] = 3,
    [PD_ON_L23] = 6, [PD_ON_L31] = 5, [PD_ON_L123] = 7,
};

static enum pd_phase grow_phase(struct stream *stream, unsigned lines)
{
    for (;;) {
        const enum pd_phase phase = (enum pd_phase)stream_below(stream, PD_PHASES);
        if ((lines_of[phase] & ~lines) == 0)
            return phase;
    }
}

static double grow_power_factor(struct stream *stream)
{
    switch (stream_below(stream, 4)) {
    case 0:
        return stream_uniform(stream, 0.1, 1);
    case 1:
        return -stream_uniform(stream, 0.5, 1);
    default:
        return 1;
    }
}

static void grow_loads(struct stream *stream, const struct growth *growth, struct grown *grown)
{
    struct pd_network *const network = grown->network;
    const size_t count = stream_below(stream, 2 * network->node_count + 1);
    grown->load_a = room(count + 1, sizeof *grown->load_a);
    for (size_t i = 0; i < count; i++) {
        const struct pd_node *const node =
            &network->node[stream_below(stream, network->node_count)];
        char name[32];
        snprintf(name, sizeof name, "load %zu", i);
        const struct pd_load load = {
            .name = name,
            .phase = grow_phase(stream, node->lines),
            .behaviour = pd_behaviours[0],
            .power_factor = growth->resistive ? 1 : grow_power_factor(stream),
        };
        assert_int_equal(pd_network_add_load(network, &load, node->name, NULL), PD_OK);
        grown->load_a[i] = one_in(stream, 6) ? 0 : log_uniform(stream, 0.05, 100);
    }
}

static void grow_ties(struct stream *stream, struct grown *grown)
{
    const size_t count = stream_below(stream, 2 + grown->network->node_count / 8);
    grown->tie = room(count + 1, sizeof *grown->tie);
    grown->operating.tie_count = count;
    for (size_t i = 0; i < count; i++)
        grown->tie[i] = (struct pd_earth_tie){
            .node = stream_below(stream, grown->network->node_count),
            .resistance_ohm = one_in(stream, 6) ? INFINITY : log_uniform(stream, 0.3, 2000)};
}

void grow(struct stream *stream, const struct growth *growth, struct grown *grown)
{
    const double nominal_v = growth->system == PD_SPLIT_PHASE ? 120 : 230;
    *grown = (struct grown){0};
    assert_int_equal(pd_network_new(growth->system, nominal_v, &grown->network), PD_OK);
    struct pd_source *const source = &grown->network->source;
    if (!one_in(stream, 4))
        source->z_ohm = log_uniform(stream, 1e-3, 0.1) * (growth->resistive ? 1 : 0.3 + I);
    if (!one_in(stream, 4))
        source->electrode_ohm = log_uniform(stream, 0.1, 50);
    grow_sections(stream, growth, grown->network);
    grow_loads(stream, growth, grown);
    grow_ties(stream, grown);
    if (one_in(stream, 8))
        pd_network_isolate_pe(grown->network, stream_below(stream, grown->network->node_count));
    grown->operating.supply_v = nominal_v * stream_uniform(stream, 0.9, 1.1);
    grown->operating.load_a = grown->load_a;
    grown->operating.tie = grown->tie;
}

void grow_ground(struct stream *stream, struct grown *grown)
{
    const size_t count = grown->operating.tie_count;
    double *const x = calloc(count + 1, sizeof *x);
    grown->mutual_ohm = calloc(count * count + 1, sizeof *grown->mutual_ohm);
    assert_true(x != NULL && grown->mutual_ohm != NULL);
    for (size_t i = 0; i < count; i++)
        x[i] = stream_uniform(stream, 0, 3);
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j < count; j++) {
            const double product = grown->tie[i].resistance_ohm * grown->tie[j].resistance_ohm;
            grown->mutual_ohm[i * count + j] =
                isfinite(product) ? 0.8 * sqrt(product) * exp(-fabs(x[i] - x[j])) : 0;
        }
    free(x);
    grown->operating.mutual_ohm = grown->mutual_ohm;
}

void grown_free(struct grown *grown)
{
    pd_network_free(&grown->network);
    free(grown->load_a);
    free(grown->tie);
    free(grown->mutual_ohm);
    *grown = (struct grown){0};
}

size_t grow_size(struct stream *stream, size_t most)
{
    return (size_t)log_uniform(stream, 1, (double)most + 0.999);
}

struct pd_cut grow_cut(struct stream *stream, const struct pd_network *network,
                       enum pd_cut_kind kind)
{
    return (struct pd_cut){.kind = kind,
                           .section = 1 + stream_below(stream, network->node_count - 1),
                           .joint_ohm = one_in(stream, 8) ? 0 : log_uniform(stream, 1e-3, 1e9)};
}

struct pd_network *one_house(enum pd_system system, double nominal_v, double complex line_ohm,
                             double complex pen_ohm)
{
    struct pd_network *network;
    assert_int_equal(pd_network_new(system, nominal_v, &network), PD_OK);
    const struct pd_section service = {.name = "service",
                                       .from = "substation",
                                       .to = "house",
                                       .z_ohm = pd_matrix_diagonal(line_ohm, pen_ohm)};
    assert_int_equal(pd_network_add_section(network, &service, NULL), PD_OK);
    assert_int_equal(pd_network_close(network, NULL), PD_OK);
    return network;
}

void put_load(struct pd_network *network, const char *node, enum pd_phase phase,
              double power_factor)
{
    char name[32];
    snprintf(name, sizeof name, "load %zu", network->load_count);
    const struct pd_load load = {
        .name = name, .phase = phase, .behaviour = pd_behaviours[0], .power_factor = power_factor};
    assert_int_equal(pd_network_add_load(network, &load, node, NULL), PD_OK);
}

struct bench bench_new(const struct pd_network *network, const struct pd_operating *operating)
{
    struct bench bench;
    assert_int_equal(pd_tree_new(network, &bench.tree), PD_OK);
    assert_int_equal(pd_solution_new(network, &bench.solution), PD_OK);
    assert_int_equal(pd_tree_factor(bench.tree, operating), PD_OK);
    return bench;
}

void bench_free(struct bench *bench)
{
    pd_tree_free(&bench->tree);
    pd_solution_free(&bench->solution);
}
