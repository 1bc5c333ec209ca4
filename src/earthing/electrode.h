/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_EARTHING_ELECTRODE_H
#define PENDRIFT_EARTHING_ELECTRODE_H

#include <stdbool.h>
#include <stddef.h>

#include "table/override.h"
#include "table/status.h"
#include "table/table.h"

/* Earth electrodes: resistance to remote earth, measured or from shape and soil. */

enum pd_shape { PD_ROD, PD_WIRE, PD_PLATE, PD_RING };
enum { PD_SHAPES = 4 };
extern const char *const pd_shape_names[PD_SHAPES];

struct pd_electrode {
    char name[PD_NAME_MAX + 1];
    char node_name[PD_NAME_MAX + 1];
    double resistance_ohm; /* as measured or calculated; NaN: not known */
    double season_factor;  /* dry season over now, >= 1; 1 where none is declared */
    bool season_declared;
    bool calculated; /* from shape and soil */
    size_t row;
};

/* The dry-season resistance, ohm: the one that a decision rests on. NaN where not known. */
double pd_electrode_dry(const struct pd_electrode *electrode);

/* What a shape needs to be calculated. Lengths in metre, soil in ohm-metre, all above 0. */
struct pd_shape_size {
    double length_m;   /* rod, wire: length; plate: side of the square; ring: its diameter */
    double diameter_m; /* of the rod or wire; not used for a plate */
    double depth_m;    /* of wire or ring below the surface */
    double spacing_m;  /* between rods */
    double soil_ohm_m;
    size_t count; /* rods in a line, 1 to 10 */
};

/* Resistance to remote earth, ohm, in uniform soil:
 *   rod    rho/(2 pi L) (ln(8L/d) - 1), and n in line R (1 + lambda a)/n, a = rho/(2 pi R s)
 *          (BS 7430:2011 9.5.3 and 9.5.4; IEEE Std 142-1999 table 13)
 *   wire   rho/(pi L) (ln(2L/sqrt(2 a h)) - 1), a the wire's radius (textbook form after Sunde)
 *   plate  (rho/4) sqrt(pi/A) (BS 7430:2011 9.5.2, from memory)
 *   ring   rho/(2 pi^2 D) (ln(8D/w) + ln(2D/h)) (IEEE Std 142-1999 table 13)
 * NaN where a needed size is missing or the shape is outside the formula's range (a rod thicker
 * than a tenth of its length, rods closer than their length, more than 10 rods, a result not above
 * 0). */
double pd_shape_resistance(enum pd_shape shape, const struct pd_shape_size *size);

/* A list of electrodes that owns its array. Start it with {0}. */
struct pd_electrodes {
    struct pd_electrode *electrode;
    size_t count;
};
void pd_electrodes_free(struct pd_electrodes *electrodes);

/* Reads electrodes.csv and appends to *electrodes, which the caller frees. A row has
 * resistance_ohm, or a shape with its sizes, or neither (then the resistance is not known). Node
 * names are not checked here; a name given twice is an error. Returns as pd_table_read_set. */
enum pd_status pd_electrodes_read(const char *path, const struct pd_overrides *overrides,
                                  struct pd_electrodes *electrodes, struct pd_errors *errors);

#endif
