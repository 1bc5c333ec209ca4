/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_NETWORK_TRANSFORMER_H
#define PENDRIFT_NETWORK_TRANSFORMER_H

#include <stdbool.h>
#include <stddef.h>

#include "network/phasor.h"
#include "table/status.h"

/* A distribution transformer by its rating plate, from reference/transformers.csv. */
struct pd_transformer {
    char name[48];
    int phases;                /* 3, or 1 for a single winding */
    double rating_kva;         /* of all its phases together */
    double secondary_v;        /* at no load; between lines, or across the single winding */
    double impedance_percent;  /* of secondary_v^2 / rating */
    double resistance_percent; /* the same; at most impedance_percent */
    char source[160];
};

/* Called for each transformer. Return false to stop. */
typedef bool pd_transformer_function(const struct pd_transformer *transformer, void *context);

/* Walks the table in its order. PD_OK, PD_ERR_MEMORY, PD_ERR_INPUT (a fault of the program's own
 * table). */
enum pd_status pd_transformers_each(pd_transformer_function *function, void *context,
                                    struct pd_errors *errors);

/* Its impedance in ohm, of each line to the star point (or of the single winding), referred to low
 * voltage: |Z| = z/100 V^2/S, R = r/100 V^2/S, X = sqrt(|Z|^2 - R^2). The high-voltage network
 * behind it is not in it. NaN where the resistance is more than the impedance. Source: definition
 * of percent impedance, IEC 60076-1. */
double complex pd_transformer_ohm(const struct pd_transformer *transformer);

#endif
