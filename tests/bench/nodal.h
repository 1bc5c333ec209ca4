/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_BENCH_NODAL_H
#define PENDRIFT_BENCH_NODAL_H

#include <stdbool.h>
#include <stddef.h>

#include "network/network.h"
#include "solve/tree.h"

/* The street as Y V = J, for peers that solve linear systems: the nodal admittance matrix by
 * compressed columns. Unknown PD_CONDUCTORS * node + conductor is that conductor's voltage to
 * remote earth. Nothing of src/solve is called, and of src/network only structs are read. For
 * sections without mutual terms and of some impedance, loads of constant impedance from one line to
 * neutral, and a source of some impedance: what street.h builds.
 *
 * What it costs a peer to go to the next state or break is held as low as it can be: a load is four
 * entries, an open PEN is four entries.
 *
 * Source: nodal analysis, any circuits textbook. */
struct nodal {
    const struct pd_network *network;
    int count;                     /* unknowns */
    int *start, *row;              /* [count + 1], [entries] */
    double complex *value;         /* [entries] of the state and cut that were set */
    double complex *without_loads; /* [entries] */
    double complex *right;         /* [count] */
    int (*load_place)[4];          /* [load_count] entries: line, neutral, and the two between */
    int (*pen_place)[4];           /* [node_count] entries: near end, far end, the two between */
    size_t open;                   /* section whose PEN is out, 0 for none */
    double complex shut[4];        /* its entries when it is in */
};

/* Fills it in, or ends the benchmark. The caller frees it. */
void nodal_new(const struct pd_network *network, const struct pd_operating *operating,
               struct nodal *nodal);
void nodal_free(struct nodal *nodal);

/* Puts in the loads of another state, all PENs whole. Electrodes are those of nodal_new. */
void nodal_set_state(struct nodal *nodal, const struct pd_operating *operating);

/* Takes out the PEN of `section`, after putting back the one that was out; 0: all whole. */
void nodal_open(struct nodal *nodal, size_t section);

/* An open PEN from the answer `whole` of the street with all PENs whole, by a change of rank one
 * (Sherman and Morrison): nodal_mark puts u = 1 at the PEN's near end and -1 at its far end into a
 * column of zeros; the peer makes Y^-1 u of it; nodal_take_out makes the answer of that. False
 * where the matrix without that PEN is singular. */
void nodal_mark(const struct nodal *nodal, size_t section, double complex *column);
bool nodal_take_out(const struct nodal *nodal, size_t section, const double complex *whole,
                    double complex *column);

#endif
