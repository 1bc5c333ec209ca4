/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_NETWORK_READ_BEHAVIOUR_H
#define PENDRIFT_NETWORK_READ_BEHAVIOUR_H

#include <stdbool.h>

#include "network/load.h"
#include "network/mixture.h"
#include "table/table.h"

/* Where the columns of a behaviour begin in the caller's description of loads.csv; they stand there
 * in this order. Within the room only. */
enum pd_behaviour_column {
    PD_BEHAVIOUR_NAME,
    PD_BEHAVIOUR_LOW,
    PD_BEHAVIOUR_HIGH,
    PD_BEHAVIOUR_MIXTURE,
    PD_BEHAVIOUR_IMPEDANCE,
    PD_BEHAVIOUR_CURRENT,
    PD_BEHAVIOUR_POWER,
    PD_BEHAVIOUR_TRIP,
    PD_BEHAVIOUR_RECONNECT,
    PD_BEHAVIOUR_COLUMNS
};

/* Reads a load's behaviour with its own voltages and shares: fills behaviour, low_v, high_v,
 * trip_s, reconnect_s (NaN where none is given) and part. nominal_v is the voltage across an
 * element of the load, NaN where that is not known: then the voltages' ranges are not checked.
 * False, with all errors added, where anything is wrong. */
bool pd_behaviour_read(const struct pd_row *row, size_t first_column,
                       const struct pd_mixtures *mixtures, double nominal_v, struct pd_load *load,
                       struct pd_errors *errors);

#endif
