/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_SOLVE_PORTS_H
#define PENDRIFT_SOLVE_PORTS_H

#include "solve/engine.h"

/* The network as its flexible elements see it: the map from the voltages across them to the
 * voltages that the currents they then draw make. It is had by passes over the tree, or from the
 * matrix of the ports where that is known. The room's own. */
struct pd_port_matrix {
    const double complex *open_v;       /* [count] with nothing injected */
    const double complex *response_ohm; /* [count][count] symmetric */
};

struct pd_ports {
    struct pd_tree *tree; /* with the cut applied, where passes are made */
    const struct pd_cut *cut;
    size_t count;
    const struct pd_port_matrix *matrix; /* NULL: by passes */
    double complex *injected;            /* [count] room for the matrix's way, else NULL */
    double complex (*v)[PD_CONDUCTORS];  /* [node_count] of the last pass; NULL with a matrix */
    int *passes;
};

/* moved = g(u). False where the network is singular. */
bool pd_ports_move(struct pd_ports *ports, const double complex *u, double complex *moved);

/* The voltages with nothing injected: every element as it is at nominal voltage. */
bool pd_ports_without_injection(struct pd_ports *ports, double complex *u);

/* The voltages that one ampere injected at a port makes, with no EMF. */
bool pd_ports_response(struct pd_ports *ports, size_t port, double complex *u);

/* What a port injects at a voltage across it: y u - I(u), ampere. The second gives what the
 * element draws as well. */
double complex pd_port_injection(const struct pd_port *port, double complex voltage_v);
double complex pd_port_draw(const struct pd_port *port, double complex voltage_v,
                            struct pd_draw *draw);

/* The largest |a - b|. NaN where any is. */
double pd_ports_distance(size_t count, const double complex *a, const double complex *b);

#endif
