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

bool pd_ports_move(struct pd_ports *ports, const double complex *u, double complex *moved)
{
    double complex emf[PD_CONDUCTORS];
    pd_emf(ports->tree, emf);
    clear(ports->tree);
    for (size_t i = 0; i < ports->count; i++) {
        const struct pd_port port = pd_shunts_port(ports->tree->shunts, i);
        struct pd_draw draw;
        port.element->behaviour->draw(&port.element->point, u[i], &draw);
        inject(ports->tree, &port, port.y_s * u[i] - draw.current_a);
    }
    return pass(ports, emf, moved);
}

bool pd_ports_without_injection(struct pd_ports *ports, double complex *u)
{
    double complex emf[PD_CONDUCTORS];
    pd_emf(ports->tree, emf);
    clear(ports->tree);
    return pass(ports, emf, u);
}

bool pd_ports_response(struct pd_ports *ports, size_t port, double complex *u)
{
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
