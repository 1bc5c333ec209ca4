/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_SELFTEST_INPUTS_H
#define PENDRIFT_STUDY_SELFTEST_INPUTS_H

#include "table/table.h"

/* The inputs of a check, `name=value` between blanks. The room's own. */
enum pd_input {
    PD_I_PHASES,
    PD_I_PHASE_V,
    PD_I_BETWEEN_V,
    PD_I_AT_V,
    PD_I_P_W, /* and the next two */
    PD_I_Z_OHM = PD_I_P_W + 3,
    PD_I_Z_DEG = PD_I_Z_OHM + 3,
    PD_I_EARTH_OHM = PD_I_Z_DEG + 3,
    PD_I_LIMIT_V,
    PD_I_NOMINAL_V,
    PD_I_CURRENT_A,
    PD_I_FACTOR,
    PD_I_LENGTH_M,
    PD_I_DIAMETER_M,
    PD_I_DEPTH_M,
    PD_I_SPACING_M,
    PD_I_COUNT,
    PD_I_SOIL_OHM_M,
    PD_I_RESISTANCE_OHM,
    PD_I_AT_M,
    PD_I_TIME_S,
    PD_INPUTS
};

struct pd_inputs {
    double value[PD_INPUTS]; /* NaN where not given */
};

/* Reads the cell. False, with errors added, where anything in it is wrong. */
bool pd_inputs_read(const struct pd_row *row, size_t column, struct pd_inputs *inputs,
                    struct pd_errors *errors);

#endif
