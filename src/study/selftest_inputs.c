/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/selftest_inputs.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *const names[PD_INPUTS] = {
    [PD_I_PHASES] = "phases",
    [PD_I_PHASE_V] = "phase_v",
    [PD_I_BETWEEN_V] = "between_v",
    [PD_I_AT_V] = "at_v",
    [PD_I_P_W] = "p1_w",
    [PD_I_P_W + 1] = "p2_w",
    [PD_I_P_W + 2] = "p3_w",
    [PD_I_Z_OHM] = "z1_ohm",
    [PD_I_Z_OHM + 1] = "z2_ohm",
    [PD_I_Z_OHM + 2] = "z3_ohm",
    [PD_I_Z_DEG] = "z1_deg",
    [PD_I_Z_DEG + 1] = "z2_deg",
    [PD_I_Z_DEG + 2] = "z3_deg",
    [PD_I_EARTH_OHM] = "earth_ohm",
    [PD_I_LIMIT_V] = "limit_v",
    [PD_I_NOMINAL_V] = "nominal_v",
    [PD_I_CURRENT_A] = "current_a",
    [PD_I_FACTOR] = "factor",
    [PD_I_LENGTH_M] = "length_m",
    [PD_I_DIAMETER_M] = "diameter_m",
    [PD_I_DEPTH_M] = "depth_m",
    [PD_I_SPACING_M] = "spacing_m",
    [PD_I_COUNT] = "count",
    [PD_I_SOIL_OHM_M] = "soil_ohm_m",
    [PD_I_RESISTANCE_OHM] = "resistance_ohm",
    [PD_I_AT_M] = "at_m",
    [PD_I_TIME_S] = "time_s",
};

static bool read_pair(const struct pd_row *row, size_t column, const char *pair,
                      struct pd_inputs *inputs, struct pd_errors *errors)
{
    const size_t name_length = strcspn(pair, "=");
    for (size_t i = 0; i < PD_INPUTS; i++) {
        if (strlen(names[i]) != name_length || strncmp(names[i], pair, name_length) != 0)
            continue;
        if (!isnan(inputs->value[i])) {
            pd_row_error(row, column, errors, "%s is given twice", names[i]);
            return false;
        }
        if (pair[name_length] == '=' && pd_parse_number(pair + name_length + 1, &inputs->value[i]))
            return true;
        pd_row_error(row, column, errors, "'%s' is not a name, '=' and a number", pair);
        return false;
    }
    pd_row_error(row, column, errors, "'%s' is no input of a check", pair);
    return false;
}

bool pd_inputs_read(const struct pd_row *row, size_t column, struct pd_inputs *inputs,
                    struct pd_errors *errors)
{
    bool good = true;
    for (size_t i = 0; i < PD_INPUTS; i++)
        inputs->value[i] = NAN;
    const char *text = pd_row_text(row, column);
    for (size_t length; (length = strcspn(text, " ")) > 0;) {
        char pair[64];
        snprintf(pair, sizeof pair, "%.*s", (int)length, text);
        good &= read_pair(row, column, pair, inputs, errors);
        text += length;
        text += strspn(text, " ");
    }
    return good;
}
