/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_SOLVE_ANDERSON_H
#define PENDRIFT_SOLVE_ANDERSON_H

#include <stddef.h>

#include "network/phasor.h"
#include "table/status.h"

/* Anderson's acceleration of x' = g(x): the next x is the mix of the last few for which the step
 * g(x) - x would be least, were g linear. Source: H. Walker and P. Ni, Anderson acceleration for
 * fixed-point iterations, SIAM J. Numer. Anal. 49 (2011). The room's own. */
struct pd_anderson;

/* Differences kept, and what of one must be left beside the others, of its length, to count. */
enum { PD_ANDERSON_MEMORY = 5 };
#define PD_ANDERSON_LEFT 1e-9

enum pd_status pd_anderson_new(size_t room, struct pd_anderson **out);
void pd_anderson_free(struct pd_anderson **anderson);

/* Forgets what went before. count <= room; damping: how much of a step is taken, above 0 to 1. */
void pd_anderson_start(struct pd_anderson *anderson, size_t count, double damping);

/* Replaces x[count] by the next to try, given g(x). */
void pd_anderson_step(struct pd_anderson *anderson, double complex *x, const double complex *g);

#endif
