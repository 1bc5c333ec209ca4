/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_SOLVE_SHUNT_H
#define PENDRIFT_SOLVE_SHUNT_H

#include "solve/tree.h"

/* The admittances that hang on each node: its loads' elements, and the electrodes tied to its PEN.
 */
struct pd_shunts;

enum pd_status pd_shunts_new(const struct pd_network *network, struct pd_shunts **out);
void pd_shunts_free(struct pd_shunts **shunts);

/* Fills them for a state. PD_OK, PD_ERR_MEMORY, PD_ERR_ARGUMENT (a current below 0, a resistance
 * not above 0, a power factor of 0 or past 1, or NaN). */
enum pd_status pd_shunts_set(struct pd_shunts *shunts, const struct pd_network *network,
                             const struct pd_operating *operating);

/* Adds those of a node to y; returns the sum of |Y| tied to its neutral. */
double pd_shunts_add(const struct pd_shunts *shunts, size_t node, struct pd_matrix *y);

/* Adds the currents that they take from each conductor at voltages v. */
void pd_shunts_current(const struct pd_shunts *shunts, size_t node,
                       const double complex v[PD_CONDUCTORS],
                       double complex current[PD_CONDUCTORS]);

#endif
