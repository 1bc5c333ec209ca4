/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_SOLVE_SHUNT_H
#define PENDRIFT_SOLVE_SHUNT_H

#include "solve/tree.h"

/* What hangs on each node: its loads' elements, electrodes tied to its PEN, bridges. The room's
 * own.
 *
 * Elimination works with admittances. An element that is not linear enters it with the admittance
 * that it has at nominal voltage; the rest of its current is injected, and an iteration finds it
 * (settle.h). Such elements are called flexible here. */
struct pd_shunts;

enum pd_status pd_shunts_new(const struct pd_network *network, struct pd_shunts **out);
void pd_shunts_free(struct pd_shunts **shunts);

/* Fills them for a state, every element on. PD_OK, PD_ERR_ARGUMENT (a current below 0, a resistance
 * not above 0, or NaN). */
enum pd_status pd_shunts_set(struct pd_shunts *shunts, const struct pd_network *network,
                             const struct pd_operating *operating);

/* The admittance with which an element is eliminated, siemens: as at nominal voltage, but a
 * generator's would be a negative conductance; it enters with the opposite one, which keeps the
 * elimination sound, and the injection makes up for it. */
double complex pd_element_eliminated(const struct pd_element *element);

/* Adds those of a node to y; returns the sum of |Y| tied to its neutral. */
double pd_shunts_add(const struct pd_shunts *shunts, size_t node, struct pd_matrix *y);

/* Adds the currents that they truly take from each conductor at voltages v. */
void pd_shunts_current(const struct pd_shunts *shunts, size_t node,
                       const double complex v[PD_CONDUCTORS],
                       double complex current[PD_CONDUCTORS]);

/* A flexible element that is on, and where. */
struct pd_port {
    size_t node;
    const struct pd_element *element;
    double complex y_s; /* as eliminated */
    size_t slot;        /* which element it is */
};

/* The slot of a load's first element; the others follow. */
size_t pd_shunts_slot(const struct pd_shunts *shunts, size_t load);

/* How many flexible elements are on; the i-th of them. */
size_t pd_shunts_port_count(const struct pd_shunts *shunts);
struct pd_port pd_shunts_port(const struct pd_shunts *shunts, size_t i);

/* Whether an element has a window, and this voltage across it is outside. */
bool pd_element_outside(const struct pd_element *element, double complex voltage_v);

/* The same of the i-th port. Never where windows are held (pd_operating.hold_windows). */
bool pd_port_outside(const struct pd_shunts *shunts, size_t i, double complex voltage_v);

/* Switches off the ports chosen, each with all elements of its load: a three-phase charger lets go
 * of all its lines. Returns how many elements. The rest are numbered anew. */
size_t pd_shunts_let_go(struct pd_shunts *shunts, const bool *chosen);

/* Switches all on again. */
void pd_shunts_reset(struct pd_shunts *shunts);

#endif
