/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "network/network.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "network/build.h"
#include "table/grow.h"
#include "table/words.h"

struct pd_matrix pd_matrix_diagonal(double complex line_ohm, double complex pen_ohm)
{
    return (struct pd_matrix){.at = {[PD_L1][PD_L1] = line_ohm,
                                     [PD_L2][PD_L2] = line_ohm,
                                     [PD_L3][PD_L3] = line_ohm,
                                     [PD_N][PD_N] = pen_ohm}};
}

static void set_emfs(struct pd_network *network)
{
    double complex *const emf = network->source.unit_emf;
    emf[PD_L1] = 1;
    if (network->system == PD_SPLIT_PHASE)
        emf[PD_L2] = -1;
    if (network->system == PD_THREE_PHASE) {
        emf[PD_L2] = CMPLX(-0.5, -sqrt(0.75));
        emf[PD_L3] = CMPLX(-0.5, sqrt(0.75));
    }
    for (int line = PD_L1; line < PD_LINES; line++)
        if (emf[line] != 0)
            network->lines |= 1u << line;
}

enum pd_status pd_network_new(enum pd_system system, double nominal_v, struct pd_network **out)
{
    *out = NULL;
    if (!(nominal_v > 0) || !isfinite(nominal_v))
        return PD_ERR_ARGUMENT;
    struct pd_network *network = calloc(1, sizeof *network);
    if (network == NULL)
        return PD_ERR_MEMORY;
    network->system = system;
    network->nominal_v = nominal_v;
    set_emfs(network);
    const enum pd_status status = pd_network_build_new(&network->build);
    if (status != PD_OK) {
        free(network);
        return status;
    }
    *out = network;
    return PD_OK;
}

void pd_network_free(struct pd_network **network)
{
    if (network == NULL || *network == NULL)
        return;
    pd_network_build_free(&(*network)->build);
    free((*network)->node);
    free((*network)->load);
    free(*network);
    *network = NULL;
}

enum pd_status pd_network_no_node(const struct pd_network *network, const char *table, size_t line,
                                  const char *column, const char *name, struct pd_errors *errors)
{
    enum { LISTED = 20 };
    const char *names[LISTED];
    char list[240] = "";
    const size_t count = network->node_count < LISTED ? network->node_count : LISTED;
    /* The search is O(n): not for each of a hundred thousand errors that are only counted. */
    const bool kept = errors != NULL && errors->count < PD_ERRORS_KEPT;
    const char *const near = kept ? pd_network_nearest(network, name) : NULL;
    if (near != NULL)
        return pd_errors_add(errors, PD_ERR_INPUT, table, line, column,
                             "there is no node '%s'; did you mean '%s'?", name, near);
    for (size_t i = 0; i < count; i++)
        names[i] = network->node[i].name;
    pd_list_names(list, sizeof list, names, count);
    return pd_errors_add(errors, PD_ERR_INPUT, table, line, column,
                         "there is no node '%s'; the nodes are: %s%s", name, list,
                         count < network->node_count ? " ..." : "");
}

/* "L1, L3" */
static void list_lines(char *buffer, size_t size, unsigned lines)
{
    const char *names[PD_LINES];
    size_t count = 0;
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((lines & 1u << line) != 0)
            names[count++] = pd_phase_names[PD_ON_L1 + line];
    pd_list_names(buffer, size, names, count);
}

static enum pd_status check_load(const struct pd_network *network, const struct pd_load *load,
                                 const char *node_name, struct pd_errors *errors)
{
    const char *const table = "loads.csv";
    char lacks[16], has[16];
    if (load->node == PD_NONE)
        return pd_network_no_node(network, table, load->row, "node", node_name, errors);
    const unsigned there = network->node[load->node].lines;
    const unsigned missing = pd_phase_lines(load->phase) & ~there;
    if (missing == 0)
        return PD_OK;
    list_lines(lacks, sizeof lacks, missing);
    list_lines(has, sizeof has, there);
    return pd_errors_add(errors, PD_ERR_INPUT, table, load->row, "phase",
                         "'%s' needs %s, but node '%s' has %s only (%s system)",
                         pd_phase_names[load->phase], lacks, node_name, has,
                         pd_system_names[network->system]);
}

enum pd_status pd_network_add_load(struct pd_network *network, const struct pd_load *load,
                                   const char *node_name, struct pd_errors *errors)
{
    struct pd_load copy = *load;
    enum pd_status status = PD_OK;
    if (network->node_count > 0) {
        copy.node = pd_network_find(network, node_name);
        status = check_load(network, &copy, node_name, errors);
    }
    if (status != PD_OK)
        return status;
    status = pd_network_build_load_name(network->build, &copy, network->load, errors);
    if (status != PD_OK)
        return status;
    struct pd_load *const larger = pd_grow(network->load, network->load_count, sizeof *larger);
    if (larger == NULL)
        return PD_ERR_MEMORY;
    network->load = larger;
    network->load[network->load_count++] = copy;
    return PD_OK;
}

void pd_network_isolate_pe(struct pd_network *network, size_t node)
{
    network->node[node].pe_node = PD_NONE;
    for (size_t i = node + 1; i < network->node_count; i++) {
        struct pd_node *const below = &network->node[i];
        if (below->separate && pd_network_same_installation(network, node, i))
            below->pe_node = PD_NONE;
    }
}

bool pd_network_same_installation(const struct pd_network *network, size_t top, size_t node)
{
    while (node > top && network->node[node].separate)
        node = network->node[node].parent;
    return node == top;
}

bool pd_network_downstream(const struct pd_network *network, size_t section, size_t node)
{
    while (node > section)
        node = network->node[node].parent;
    return node == section;
}
