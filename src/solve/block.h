/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_SOLVE_BLOCK_H
#define PENDRIFT_SOLVE_BLOCK_H

#include <stdbool.h>

#include "network/network.h"

/* Dense 4x4 steps of the tree engine. */

/* What a section makes of the admittance Y at its far end. */
struct pd_branch {
    struct pd_matrix transfer; /* far voltage = transfer * near voltage */
    struct pd_matrix up;       /* admittance seen at the near end */
};

/* transfer = (1 + Z Y)^-1, up = Y * transfer. `diagonal` says that Z has no mutual terms. False
 * where 1 + Z Y is singular (then nothing is filled): a resonance of cable and load. */
bool pd_branch_closed(const struct pd_matrix *z_ohm, bool diagonal, const struct pd_matrix *y_s,
                      struct pd_branch *branch);

/* The limit Z_NN -> infinity. With no current in the far neutral, row N of Y gives
 * V_N = -sum(Y_Nk V_k) / Y_NN over the lines k; put into the other rows, the lines see
 * Y_kl - Y_kN Y_Nl / Y_NN. `tied` false says that nothing ties the far neutral (Y_NN = 0 and its
 * row too): then its voltage is left at 0 for the caller to mark. */
bool pd_branch_open(const struct pd_matrix *z_ohm, bool tied, const struct pd_matrix *y_s,
                    struct pd_branch *branch);

/* out = (1 + Z Y)^-1. False where singular. */
bool pd_block_inverse(const struct pd_matrix *z_ohm, bool diagonal, const struct pd_matrix *y_s,
                      struct pd_matrix *out);

/* out = m v. */
void pd_block_apply(const struct pd_matrix *m, const double complex v[PD_CONDUCTORS],
                    double complex out[PD_CONDUCTORS]);

/* sum += m. */
void pd_block_add(struct pd_matrix *sum, const struct pd_matrix *m);

#endif
