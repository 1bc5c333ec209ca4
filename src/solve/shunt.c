/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/shunt.h"

#include <math.h>
#include <stdlib.h>

struct pd_shunts {
    size_t node_count;
    size_t *start;              /* [node_count + 1] where a node's elements start */
    size_t *slot;               /* [load_count] where a load's elements start */
    struct pd_element *element; /* ordered by node */
    double *earth_s;            /* [node_count] from the PEN to earth */
};

static size_t element_count(const struct pd_network *network, const struct pd_load *load)
{
    struct pd_element element[3];
    return pd_load_elements(load, network->system, network->nominal_v, 0, element);
}

/* Sorts by counting: start[node + 1] counts, is summed, then moves back as the slots are given out.
 */
static void lay_out(struct pd_shunts *shunts, const struct pd_network *network)
{
    for (size_t i = 0; i < network->load_count; i++)
        shunts->start[network->load[i].node] += element_count(network, &network->load[i]);
    for (size_t i = 0; i < shunts->node_count; i++)
        shunts->start[i + 1] += shunts->start[i];
    for (size_t i = network->load_count; i-- > 0;) {
        size_t *const start = &shunts->start[network->load[i].node];
        *start -= element_count(network, &network->load[i]);
        shunts->slot[i] = *start;
    }
}

enum pd_status pd_shunts_new(const struct pd_network *network, struct pd_shunts **out)
{
    struct pd_shunts *const shunts = *out = calloc(1, sizeof *shunts);
    if (shunts == NULL)
        return PD_ERR_MEMORY;
    shunts->node_count = network->node_count;
    shunts->start = calloc(network->node_count + 1, sizeof *shunts->start);
    shunts->slot = calloc(network->load_count + 1, sizeof *shunts->slot);
    shunts->element = calloc(3 * network->load_count + 1, sizeof *shunts->element);
    shunts->earth_s = calloc(network->node_count, sizeof *shunts->earth_s);
    if (shunts->start == NULL || shunts->slot == NULL || shunts->element == NULL ||
        shunts->earth_s == NULL) {
        pd_shunts_free(out);
        return PD_ERR_MEMORY;
    }
    lay_out(shunts, network);
    return PD_OK;
}

void pd_shunts_free(struct pd_shunts **shunts)
{
    if (shunts == NULL || *shunts == NULL)
        return;
    free((*shunts)->start);
    free((*shunts)->slot);
    free((*shunts)->element);
    free((*shunts)->earth_s);
    free(*shunts);
    *shunts = NULL;
}

static enum pd_status set_ties(struct pd_shunts *shunts, const struct pd_network *network,
                               const struct pd_operating *operating)
{
    for (size_t i = 0; i < shunts->node_count; i++)
        shunts->earth_s[i] = 0;
    for (size_t i = 0; i < operating->tie_count; i++) {
        const struct pd_earth_tie *const tie = &operating->tie[i];
        if (!(tie->resistance_ohm > 0) || tie->node >= shunts->node_count)
            return PD_ERR_ARGUMENT;
        const size_t pe_node = network->node[tie->node].pe_node;
        if (pe_node != PD_NONE)
            shunts->earth_s[pe_node] += 1 / tie->resistance_ohm;
    }
    return PD_OK;
}

enum pd_status pd_shunts_set(struct pd_shunts *shunts, const struct pd_network *network,
                             const struct pd_operating *operating)
{
    const enum pd_status status = set_ties(shunts, network, operating);
    if (status != PD_OK)
        return status;
    for (size_t i = 0; i < network->load_count; i++) {
        if (!(operating->load_a[i] >= 0) || !isfinite(operating->load_a[i]))
            return PD_ERR_ARGUMENT;
        const double power_factor = fabs(network->load[i].power_factor);
        if (!(power_factor > 0) || !(power_factor <= 1))
            return PD_ERR_ARGUMENT;
        pd_load_elements(&network->load[i], network->system, network->nominal_v,
                         operating->load_a[i], &shunts->element[shunts->slot[i]]);
    }
    return PD_OK;
}

double pd_shunts_add(const struct pd_shunts *shunts, size_t node, struct pd_matrix *y)
{
    double neutral_s = shunts->earth_s[node];
    y->at[PD_N][PD_N] += shunts->earth_s[node];
    for (size_t i = shunts->start[node]; i < shunts->start[node + 1]; i++) {
        const struct pd_element *const e = &shunts->element[i];
        y->at[e->from][e->from] += e->y_s;
        y->at[e->to][e->to] += e->y_s;
        y->at[e->from][e->to] -= e->y_s;
        y->at[e->to][e->from] -= e->y_s;
        if (e->to == PD_N)
            neutral_s += cabs(e->y_s);
    }
    return neutral_s;
}

void pd_shunts_current(const struct pd_shunts *shunts, size_t node,
                       const double complex v[PD_CONDUCTORS], double complex current[PD_CONDUCTORS])
{
    current[PD_N] += shunts->earth_s[node] * v[PD_N];
    for (size_t i = shunts->start[node]; i < shunts->start[node + 1]; i++) {
        const struct pd_element *const e = &shunts->element[i];
        const double complex flow = e->y_s * (v[e->from] - v[e->to]);
        current[e->from] += flow;
        current[e->to] -= flow;
    }
}
