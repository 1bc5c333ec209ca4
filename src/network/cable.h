/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_NETWORK_CABLE_H
#define PENDRIFT_NETWORK_CABLE_H

#include <stdbool.h>
#include <stddef.h>

#include "network/phasor.h"
#include "table/names.h"
#include "table/override.h"
#include "table/status.h"

/* Cable types: impedance by length, from reference/cables.csv and from the case's own cables.csv.
 */

struct pd_cable {
    double complex line_ohm_per_km;
    double complex pen_ohm_per_km;
    size_t row; /* line in cables.csv; 0: of the reference table */
};

/* Owns its memory. Start it with {0}. */
struct pd_cables {
    struct pd_names *names;
    struct pd_cable *cable; /* by number of the name */
    size_t count;
    bool damaged; /* cables.csv has errors: a name not found may be one that could not be read */
};
void pd_cables_free(struct pd_cables *cables);

/* Adds the cables compiled into the program. PD_OK, PD_ERR_MEMORY. */
enum pd_status pd_cables_add_reference(struct pd_cables *cables, struct pd_errors *errors);

/* Adds the cables of a cables.csv. A name that is there already is an error. As pd_table_read. */
enum pd_status pd_cables_read(const char *path, const struct pd_overrides *overrides,
                              struct pd_cables *cables, struct pd_errors *errors);

/* The cable of that name, NULL where there is none. */
const struct pd_cable *pd_cables_find(const struct pd_cables *cables, const char *name);

#endif
