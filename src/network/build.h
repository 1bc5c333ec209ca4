/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_NETWORK_BUILD_H
#define PENDRIFT_NETWORK_BUILD_H

#include "network/network.h"

/* The room's own: names, and the sections as described until the network is closed. */
struct pd_network_build;

enum pd_status pd_network_build_new(struct pd_network_build **out);
void pd_network_build_free(struct pd_network_build **build);

/* Keeps the load's name (error at its row where another load has it) and points load->name at the
 * copy. `loads` are those added before, in order. */
enum pd_status pd_network_build_load_name(struct pd_network_build *build, struct pd_load *load,
                                          const struct pd_load *loads, struct pd_errors *errors);

#endif
