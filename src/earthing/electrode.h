/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_EARTHING_ELECTRODE_H
#define PENDRIFT_EARTHING_ELECTRODE_H

#include <stdbool.h>
#include <stddef.h>

#include "earthing/shape.h"
#include "table/override.h"
#include "table/status.h"
#include "table/table.h"

/* Earth electrodes: resistance to remote earth, measured or from shape and soil. */

struct pd_electrode {
    char name[PD_NAME_MAX + 1];
    char node_name[PD_NAME_MAX + 1];
    double resistance_ohm; /* as measured or calculated; NaN: not known */
    double season_factor;  /* dry season over now, >= 1; 1 where none is declared */
    bool season_declared;
    bool calculated; /* from shape and soil */
    bool shaped;     /* shape and size are given; beside a reading too */
    enum pd_shape shape;
    struct pd_shape_size size; /* NaN where not given; soil_ohm_m also beside a measured one, and
                                  worked out from it where only its shape is given */
    double x_m, y_m;           /* on the surface; NaN where not given (earthing/mutual.h) */
    size_t row;
};

/* The dry-season resistance, ohm: the one that a decision rests on. NaN where not known. */
double pd_electrode_dry(const struct pd_electrode *electrode);

/* A list of electrodes that owns its array. Start it with {0}. */
struct pd_electrodes {
    struct pd_electrode *electrode;
    size_t count;
};
void pd_electrodes_free(struct pd_electrodes *electrodes);

/* Reads electrodes.csv and appends to *electrodes, which the caller frees. A row has
 * resistance_ohm, or a shape with its sizes and soil, or neither (then the resistance is not
 * known); or resistance_ohm and a shape, whose soil is then what the reading says. Node names are
 * not checked here; a name given twice is an error. Returns as pd_table_read_set. */
enum pd_status pd_electrodes_read(const char *path, const struct pd_overrides *overrides,
                                  struct pd_electrodes *electrodes, struct pd_errors *errors);

#endif
