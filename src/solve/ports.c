/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/ports.h"

#include <math.h>
#include <string.h>

static bool pass(struct pd_ports *ports, const double complex emf[PD_CONDUCTORS], double complex *u)
{
    const struct pd_shunts *const shunts = ports->tree->shunts;
    ++*ports->passes;
    if (!pd_spread(ports->tree, ports->cut, emf, true, ports->v))
        return false;
    for (size_t i = 0; i < ports->count; i++) {
        const struct pd_port port = pd_shunts_port(shunts, i);
        u[i] = ports->v[port.node][port.element->from] - ports->v[port.node][port.element->to];
    }
    return true;
}

static void clear(struct pd_tree *tree)
{
    memset(tree->inject, 0, tree->network->node_count * sizeof *tree->inject);
}

static void inject(struct pd_tree *tree, const struct pd_port *port, double complex current_a)
{
    tree->inject[port->node][port->element->from] += current_a;
    tree->inject[port->node][port->element->to] -= current_a;
}

double complex pd_port_draw(const struct pd_port *port, double complex voltage_v,
                            struct pd_draw *draw)
{
    port->element->behaviour->draw(&port->element->point, voltage_v, draw);
    return port->y_s * voltage_v - draw->current_a;
}

double complex pd_port_injection(const struct pd_port *port, double complex voltage_v)
{
    struct pd_draw draw;
    return pd_port_draw(port, voltage_v, &draw);
}

static bool move_by_matrix(struct pd_ports *ports, const double complex *u, double complex *moved)
{
    const size_t count = ports->count;
    ++*ports->passes;
    for (size_t i = 0; i < count; i++) {
        const struct pd_port port = pd_shunts_port(ports->tree->shunts, i);
        ports->injected[i] = pd_port_injection(&port, u[i]);
    }
    /* by columns, as the sums are then independent of each other */
    memcpy(moved, ports->matrix->open_v, count * sizeof *moved);
    for (size_t q = 0; q < count; q++) {
        const double complex *const column = ports->matrix->response_ohm + q * count;
        for (size_t p = 0; p < count; p++)
            moved[p] += column[p] * ports->injected[q];
    }
    return true;
}

bool pd_ports_move(struct pd_ports *ports, const double complex *u, double complex *moved)
{
    if (ports->matrix != NULL)
        return move_by_matrix(ports, u, moved);
    double complex emf[PD_CONDUCTORS];
    pd_emf(ports->tree, emf);
    clear(ports->tree);
    for (size_t i = 0; i < ports->count; i++) {
        const struct pd_port port = pd_shunts_port(ports->tree->shunts, i);
        inject(ports->tree, &port, pd_port_injection(&port, u[i]));
    }
    return pass(ports, emf, moved);
}

bool pd_ports_without_injection(struct pd_ports *ports, double complex *u)
{
    if (ports->matrix != NULL) {
        memcpy(u, ports->matrix->open_v, ports->count * sizeof *u);
        return true;
    }
    double complex emf[PD_CONDUCTORS];
    pd_emf(ports->tree, emf);
    clear(ports->tree);
    return pass(ports, emf, u);
}

bool pd_ports_response(struct pd_ports *ports, size_t port, double complex *u)
{
    if (ports->matrix != NULL) {
        memcpy(u, ports->matrix->response_ohm + port * ports->count, ports->count * sizeof *u);
        return true;
    }
    const double complex none[PD_CONDUCTORS] = {0};
    const struct pd_port at = pd_shunts_port(ports->tree->shunts, port);
    clear(ports->tree);
    inject(ports->tree, &at, 1);
    return pass(ports, none, u);
}

double pd_ports_distance(size_t count, const double complex *a, const double complex *b)
{
    double most = 0;
    for (size_t i = 0; i < count; i++) {
        const double distance = cabs(a[i] - b[i]);
        if (distance > most || isnan(distance))
            most = distance;
    }
    return most;
}
