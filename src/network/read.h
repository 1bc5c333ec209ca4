/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_NETWORK_READ_H
#define PENDRIFT_NETWORK_READ_H

#include "network/cable.h"
#include "network/network.h"
#include "table/override.h"

/* Reading a network's tables. All return as pd_table_read_set; every wrong row is an error of its
 * own.
 */

/* Adds the sections of sections.csv to a network that is not closed. A row has its impedance in ohm
 * (line_r_ohm and pen_r_ohm, reactances 0 where left out), or a cable type and a length. */
enum pd_status pd_sections_read(const char *path, const struct pd_overrides *overrides,
                                const struct pd_cables *cables, struct pd_network *network,
                                struct pd_errors *errors);

/* Adds the loads of loads.csv to a network. A row has current_a or power_kw, and its range in the
 * same quantity. The phase may be left out on a single-phase system; the power factor is 1 where
 * left out, the behaviour impedance, its voltages low_v and high_v NaN. A mixture has its name, or
 * three shares of 0 to 1 that add up to 1. share and least_a are NaN where left out. What the
 * behaviour does not use is an error. A table without a load is an error. Nodes are looked up where
 * the network is closed; in one that is not, because its sections are wrong, the rest of each row
 * is still checked. */
enum pd_status pd_loads_read(const char *path, const struct pd_overrides *overrides,
                             struct pd_network *network, struct pd_errors *errors);

#endif
