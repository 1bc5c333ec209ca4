/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_SOLVE_PORTS_H
#define PENDRIFT_SOLVE_PORTS_H

#include "solve/engine.h"

/* The network as its flexible elements see it: the map from the voltages across them to the
 * voltages that the currents they then draw make. The room's own. */
struct pd_ports {
    struct pd_tree *tree; /* with the cut applied */
    const struct pd_cut *cut;
    size_t count;
    double complex (*v)[PD_CONDUCTORS]; /* [node_count] of the last pass */
    int *passes;
};

/* moved = g(u). False where the network is singular. */
bool pd_ports_move(struct pd_ports *ports, const double complex *u, double complex *moved);

/* The voltages with nothing injected: every element as it is at nominal voltage. */
bool pd_ports_without_injection(struct pd_ports *ports, double complex *u);

/* The voltages that one ampere injected at a port makes, with no EMF. */
bool pd_ports_response(struct pd_ports *ports, size_t port, double complex *u);

/* The largest |a - b|. NaN where any is. */
double pd_ports_distance(size_t count, const double complex *a, const double complex *b);

#endif
