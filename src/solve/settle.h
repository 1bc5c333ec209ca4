/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_SOLVE_SETTLE_H
#define PENDRIFT_SOLVE_SETTLE_H

#include "solve/engine.h"
#include "solve/ports.h"

/* Loads that are not linear, iterated on the eliminated network. The room's own.
 *
 * A flexible element draws I(u) at the voltage u across it. The network has it as y u; what it
 * draws otherwise is injected, J = y u - I(u), and a pass over the tree gives the voltages that J
 * makes: u' = g(u). A fixed point of g is a solution. It is sought by Anderson's acceleration of
 * the plain iteration (textbook), with damping, and by Newton's method on g(u) - u with the exact
 * derivative and backtracking. Arrived is what moves by less than 1e-12 of the supply in a step, at
 * a voltage within bounds; Kirchhoff's residual is then measured with the true currents.
 *
 * Some solution exists wherever loads fall back to an impedance at low voltage (currents are then
 * bounded: Brouwer), but there may be several: constant power on a drifting neutral, or held up and
 * broken down behind a weak supply; an inverter alone with its load holds it up at any angle. The
 * search therefore starts from up to seven places. Different answers are PD_AMBIGUOUS, none is
 * PD_UNCONVERGED. A second solution that no start leads to is not found: this is a search, not a
 * proof; how rare that is, is measured in test_settle.c. */
struct pd_settle_room;
void pd_settle_room_free(struct pd_settle_room **room);

/* Settles the state factored with a cut (not applied). Fills v, iterations, residual and standing.
 * PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_settle(struct pd_tree *tree, const struct pd_cut *cut, double island_neutral_s,
                         struct pd_solution *solution);

/* The same search where the matrix of the ports is known: only the voltages across them are found,
 * and no residual is measured. */
struct pd_settled {
    enum pd_standing standing;
    const double complex *port_v; /* [ports] of the first answer, until the next call */
    bool lets_go;                 /* some element is outside its window: not the end of it */
};
enum pd_status pd_settle_matrix(struct pd_tree *tree, const struct pd_cut *cut,
                                const struct pd_port_matrix *matrix, struct pd_settled *settled);

/* Switches off the elements that are outside their window in every answer found, be there one or
 * several; how many. The tree is to be eliminated anew where any is. */
size_t pd_settle_let_go(struct pd_tree *tree);

#endif
