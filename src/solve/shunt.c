/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/shunt.h"

#include <math.h>
#include <stdlib.h>

struct shunt {
    struct pd_element element;
    double complex y_s; /* as eliminated */
    bool on;
};

struct pd_shunts {
    size_t node_count;
    size_t *start;       /* [node_count + 1] where a node's elements start */
    size_t *slot;        /* [load_count] where a load's elements start */
    size_t *node;        /* [elements] where an element stands */
    size_t *load;        /* [elements] which load's it is */
    struct shunt *shunt; /* [elements] ordered by node */
    double *earth_s;     /* [node_count] from the PEN to earth */
    struct pd_bridge bridge;
    bool hold_windows;
    size_t *port; /* [port_count] flexible elements that are on */
    size_t port_count;
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
        const size_t count = element_count(network, &network->load[i]);
        *start -= count;
        shunts->slot[i] = *start;
        for (size_t k = 0; k < count; k++)
            shunts->load[*start + k] = i;
    }
    for (size_t node = 0; node < shunts->node_count; node++)
        for (size_t i = shunts->start[node]; i < shunts->start[node + 1]; i++)
            shunts->node[i] = node;
}

enum pd_status pd_shunts_new(const struct pd_network *network, struct pd_shunts **out)
{
    const size_t most = 3 * network->load_count + 1;
    struct pd_shunts *const shunts = *out = calloc(1, sizeof *shunts);
    if (shunts == NULL)
        return PD_ERR_MEMORY;
    shunts->node_count = network->node_count;
    shunts->start = calloc(network->node_count + 1, sizeof *shunts->start);
    shunts->slot = calloc(network->load_count + 1, sizeof *shunts->slot);
    shunts->node = calloc(most, sizeof *shunts->node);
    shunts->load = calloc(most, sizeof *shunts->load);
    shunts->shunt = calloc(most, sizeof *shunts->shunt);
    shunts->port = calloc(most, sizeof *shunts->port);
    shunts->earth_s = calloc(network->node_count, sizeof *shunts->earth_s);
    if (shunts->start == NULL || shunts->slot == NULL || shunts->node == NULL ||
        shunts->load == NULL || shunts->shunt == NULL || shunts->port == NULL ||
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
    free((*shunts)->node);
    free((*shunts)->load);
    free((*shunts)->shunt);
    free((*shunts)->port);
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

static enum pd_status set_bridge(struct pd_shunts *shunts, const struct pd_network *network,
                                 const struct pd_bridge *bridge)
{
    shunts->bridge = *bridge;
    if (bridge->admittance_s == 0)
        return PD_OK;
    return bridge->admittance_s > 0 && isfinite(bridge->admittance_s) &&
                   bridge->node < shunts->node_count && bridge->line >= PD_L1 &&
                   bridge->line < PD_LINES &&
                   (network->node[bridge->node].lines >> bridge->line & 1u) != 0
               ? PD_OK
               : PD_ERR_ARGUMENT;
}

double complex pd_element_eliminated(const struct pd_element *element)
{
    const double complex y_s = pd_element_admittance(element);
    return element->behaviour->generates ? -y_s : y_s;
}

static enum pd_status set_load(struct pd_shunts *shunts, const struct pd_network *network,
                               size_t load, double current_a)
{
    const double power_factor = fabs(network->load[load].power_factor);
    if (!(current_a >= 0) || !isfinite(current_a) || !(power_factor > 0) || !(power_factor <= 1))
        return PD_ERR_ARGUMENT;
    struct pd_element element[3];
    const size_t count = pd_load_elements(&network->load[load], network->system, network->nominal_v,
                                          current_a, element);
    struct shunt *const shunt = &shunts->shunt[shunts->slot[load]];
    for (size_t i = 0; i < count; i++)
        shunt[i] = (struct shunt){element[i], pd_element_eliminated(&element[i]), true};
    return PD_OK;
}

static void number_ports(struct pd_shunts *shunts)
{
    shunts->port_count = 0;
    for (size_t i = 0; i < shunts->start[shunts->node_count]; i++) {
        const struct shunt *const shunt = &shunts->shunt[i];
        if (shunt->on && !shunt->element.behaviour->linear && shunt->element.point.current_a > 0)
            shunts->port[shunts->port_count++] = i;
    }
}

enum pd_status pd_shunts_set(struct pd_shunts *shunts, const struct pd_network *network,
                             const struct pd_operating *operating)
{
    enum pd_status status = set_ties(shunts, network, operating);
    shunts->hold_windows = operating->hold_windows;
    if (status == PD_OK)
        status = set_bridge(shunts, network, &operating->bridge);
    for (size_t i = 0; i < network->load_count && status == PD_OK; i++)
        status = set_load(shunts, network, i, operating->load_a[i]);
    if (status == PD_OK)
        number_ports(shunts);
    return status;
}

static void add_between(struct pd_matrix *y, int from, int to, double complex y_s)
{
    y->at[from][from] += y_s;
    y->at[to][to] += y_s;
    y->at[from][to] -= y_s;
    y->at[to][from] -= y_s;
}

double pd_shunts_add(const struct pd_shunts *shunts, size_t node, struct pd_matrix *y)
{
    const struct pd_bridge *const bridge = &shunts->bridge;
    double neutral_s = shunts->earth_s[node];
    y->at[PD_N][PD_N] += shunts->earth_s[node];
    for (size_t i = shunts->start[node]; i < shunts->start[node + 1]; i++) {
        const struct shunt *const shunt = &shunts->shunt[i];
        if (!shunt->on)
            continue;
        add_between(y, shunt->element.from, shunt->element.to, shunt->y_s);
        if (shunt->element.to == PD_N)
            neutral_s += cabs(shunt->y_s);
    }
    if (bridge->admittance_s > 0 && bridge->node == node) {
        add_between(y, bridge->line, PD_N, bridge->admittance_s);
        neutral_s += bridge->admittance_s;
    }
    return neutral_s;
}

static double complex drawn(const struct shunt *shunt, double complex voltage_v)
{
    if (shunt->element.behaviour->linear)
        return shunt->y_s * voltage_v;
    struct pd_draw draw;
    shunt->element.behaviour->draw(&shunt->element.point, voltage_v, &draw);
    return draw.current_a;
}

void pd_shunts_current(const struct pd_shunts *shunts, size_t node,
                       const double complex v[PD_CONDUCTORS], double complex current[PD_CONDUCTORS])
{
    const struct pd_bridge *const bridge = &shunts->bridge;
    current[PD_N] += shunts->earth_s[node] * v[PD_N];
    for (size_t i = shunts->start[node]; i < shunts->start[node + 1]; i++) {
        const struct shunt *const shunt = &shunts->shunt[i];
        if (!shunt->on || shunt->element.point.current_a == 0)
            continue;
        const int from = shunt->element.from, to = shunt->element.to;
        const double complex flow = drawn(shunt, v[from] - v[to]);
        current[from] += flow;
        current[to] -= flow;
    }
    if (bridge->admittance_s > 0 && bridge->node == node) {
        const double complex flow = bridge->admittance_s * (v[bridge->line] - v[PD_N]);
        current[bridge->line] += flow;
        current[PD_N] -= flow;
    }
}

size_t pd_shunts_slot(const struct pd_shunts *shunts, size_t load)
{
    return shunts->slot[load];
}

size_t pd_shunts_port_count(const struct pd_shunts *shunts)
{
    return shunts->port_count;
}

struct pd_port pd_shunts_port(const struct pd_shunts *shunts, size_t i)
{
    const size_t slot = shunts->port[i];
    return (struct pd_port){shunts->node[slot], &shunts->shunt[slot].element,
                            shunts->shunt[slot].y_s, slot};
}

bool pd_element_outside(const struct pd_element *element, double complex voltage_v)
{
    const double volts = cabs(voltage_v);
    return element->behaviour->window &&
           !(volts >= element->point.low_v && volts <= element->point.high_v);
}

bool pd_port_outside(const struct pd_shunts *shunts, size_t i, double complex voltage_v)
{
    return !shunts->hold_windows &&
           pd_element_outside(&shunts->shunt[shunts->port[i]].element, voltage_v);
}

size_t pd_shunts_let_go(struct pd_shunts *shunts, const bool *chosen)
{
    size_t gone = 0;
    for (size_t i = 0; i < shunts->port_count; i++) {
        if (!chosen[i])
            continue;
        const size_t load = shunts->load[shunts->port[i]];
        const size_t first = shunts->slot[load];
        const size_t end = shunts->start[shunts->node_count];
        for (size_t k = first; k < end && shunts->load[k] == load; k++) {
            gone += shunts->shunt[k].on;
            shunts->shunt[k].on = false;
        }
    }
    if (gone > 0)
        number_ports(shunts);
    return gone;
}

void pd_shunts_reset(struct pd_shunts *shunts)
{
    for (size_t i = 0; i < shunts->start[shunts->node_count]; i++)
        shunts->shunt[i].on = true;
    number_ports(shunts);
}
