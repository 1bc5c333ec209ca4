/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_NETWORK_MIXTURE_H
#define PENDRIFT_NETWORK_MIXTURE_H

#include <stddef.h>

#include "table/names.h"
#include "table/status.h"

/* Named load mixtures: shares of impedance, current and power, from reference/mixtures.csv. */

struct pd_mixture {
    double part[3];    /* impedance, current, power at nominal voltage; sum 1 */
    char devices[120]; /* of the measured set, that the shares stand for; one space between */
    char source[160];
};

/* Owns its memory. Start it with {0}. */
struct pd_mixtures {
    struct pd_names *names;
    struct pd_mixture *mixture; /* by number of the name */
    size_t count;
};
void pd_mixtures_free(struct pd_mixtures *mixtures);

/* Adds the mixtures compiled into the program. PD_OK, PD_ERR_MEMORY, PD_ERR_INPUT (a fault of the
 * program's own table). Whatever it returns, pd_mixtures_free frees what there is. */
enum pd_status pd_mixtures_add_reference(struct pd_mixtures *mixtures, struct pd_errors *errors);

#endif
