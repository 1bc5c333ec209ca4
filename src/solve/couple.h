/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_SOLVE_COUPLE_H
#define PENDRIFT_SOLVE_COUPLE_H

#include "solve/tree.h"

/* Electrodes that lift each other's ground. The room's own.
 *
 * With R the matrix of resistances between electrodes through the ground, their currents are
 * G v, G = R^-1, v the potentials of the nodes they are tied to. That is no tree: elimination takes
 * each electrode as if it stood alone, D = 1 / R_kk, and E = D - G is injected: J = E v. With P the
 * response of the tied nodes to a current at each other, v = v_0 + P J has the one solution
 * v = (1 - P E)^-1 v_0. Exact, at one pass more for each coupled electrode and cut. */
struct pd_coupling;

enum pd_status pd_coupling_new(const struct pd_network *network, struct pd_coupling **out);
void pd_coupling_free(struct pd_coupling **coupling);

/* Takes the electrodes of a state. PD_OK; PD_ERR_ARGUMENT where the resistances are not those of
 * any ground (not symmetric, not positive definite); PD_ERR_MEMORY. */
enum pd_status pd_coupling_set(struct pd_coupling *coupling, const struct pd_network *network,
                               const struct pd_operating *operating);

/* How many are coupled; the node of each; its response, [node_count], to be filled with what one
 * ampere into its neutral makes, without EMFs. */
size_t pd_coupling_count(const struct pd_coupling *coupling);
size_t pd_coupling_node(const struct pd_coupling *coupling, size_t i);
double complex (*pd_coupling_response(struct pd_coupling *coupling, size_t i))[PD_CONDUCTORS];

/* Once all responses are filled: makes ready to correct. False where the answer is free. */
bool pd_coupling_ready(struct pd_coupling *coupling);

/* Corrects voltages found without coupling. */
void pd_coupling_correct(struct pd_coupling *coupling, double complex (*v)[PD_CONDUCTORS]);

/* Takes from `current` what coupling keeps from flowing into the ground at voltages v. */
void pd_coupling_current(struct pd_coupling *coupling, const double complex (*v)[PD_CONDUCTORS],
                         double complex (*current)[PD_CONDUCTORS]);

/* Room for all conductors of all nodes, for whoever needs one node's voltages only. */
double complex (*pd_coupling_scratch(struct pd_coupling *coupling))[PD_CONDUCTORS];

#endif
