/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TESTS_MIX_H
#define PENDRIFT_TESTS_MIX_H

#include "grow.h"
#include "oracle.h"

/* Random loads that are not linear, faults, and what the engine's answer says of windows. */

/* Gives each load of a grown network a behaviour, half of the time with voltages of its own.
 * Without `windows` neither chargers nor inverters. */
void mix_behaviours(struct stream *stream, struct grown *grown, bool windows);

/* A bridge between a line and the neutral of a random node, 0.1 ohm to 1 kiloohm. */
void mix_bridge(struct stream *stream, struct grown *grown);

/* Any kind of cut, at a random section. */
struct pd_cut mix_cut(struct stream *stream, const struct pd_network *network);

/* As many loads as mix_find_off can do with: those of a tree of 12 nodes. */
enum { MIX_LOADS = 24 };

/* Finds which loads with a window have let go: with as many elements as the engine says, so that
 * Kirchhoff's laws hold in the oracle's equations and every other one is inside its window. Fills
 * off[load_count] and returns the oracle's residual, NaN where there is no such choice. */
double mix_find_off(const struct grown *grown, const struct pd_cut *cut,
                    const struct pd_solution *solution, bool *off);

#endif
