/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_SOLVE_NEWTON_H
#define PENDRIFT_SOLVE_NEWTON_H

#include "solve/ports.h"

/* Newton's method on g(u) - u = 0 with the exact derivative, dense (GSL's LU), each step halved
 * until it helps. Takes a pass over the tree for each port and a cube of their number: where there
 * are more than PD_NEWTON_PORTS, nothing is tried. u is where it starts and ends; *found tells
 * whether it arrived, within enough_v. PD_OK or PD_ERR_MEMORY. The room's own. */
enum { PD_NEWTON_PORTS = 250 };
enum pd_status pd_newton(struct pd_ports *ports, double complex *u, double enough_v, bool *found);

#endif
