/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_SOLVE_NEWTON_H
#define PENDRIFT_SOLVE_NEWTON_H

#include "solve/ports.h"

/* Newton's method on g(u) - u = 0 with the exact derivative, dense (GSL's LU), each step halved
 * until it helps. It takes a pass over the tree for each port, once for all starts, and a cube of
 * their number for each step. The room's own. */
struct pd_newton;

/* More ports than this are not tried; so many are few, and cost less than iterating does. */
enum { PD_NEWTON_PORTS = 250, PD_NEWTON_FEW = 32 };

/* Makes room for so many ports. PD_OK or PD_ERR_MEMORY. The caller frees *out. */
enum pd_status pd_newton_new(size_t room, struct pd_newton **out);
void pd_newton_free(struct pd_newton **newton);

/* Takes up ports, which must stay until the last seek. False where there is no room for them. */
bool pd_newton_start(struct pd_newton *newton, struct pd_ports *ports);

/* Steps from a start, and how often one is halved; a pivot of the derivative that is no more than
 * this of the largest leaves a direction in which the answer is free. */
enum { PD_NEWTON_STEPS = 40, PD_NEWTON_HALVINGS = 12 };
#define PD_NEWTON_SINGULAR 1e-11

/* Seeks from u, where it also ends. Whether it arrived, within enough_v. */
bool pd_newton_seek(struct pd_newton *newton, double complex *u, double enough_v);

#endif
