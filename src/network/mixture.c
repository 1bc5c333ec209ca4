/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "network/mixture.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "table/grow.h"
#include "table/reference.h"
#include "table/table.h"

enum column { MIXTURE, IMPEDANCE, CURRENT, POWER, DEVICES, SOURCE, COLUMNS };

static const struct pd_column columns[COLUMNS] = {
    [MIXTURE] = {"mixture", true},      [IMPEDANCE] = {"impedance_part", true},
    [CURRENT] = {"current_part", true}, [POWER] = {"power_part", true},
    [DEVICES] = {"devices", true},      [SOURCE] = {"source", true},
};

static enum pd_status append(struct pd_mixtures *mixtures, const struct pd_mixture *mixture)
{
    struct pd_mixture *const larger = pd_grow(mixtures->mixture, mixtures->count, sizeof *larger);
    if (larger == NULL)
        return PD_ERR_MEMORY;
    mixtures->mixture = larger;
    mixtures->mixture[mixtures->count++] = *mixture;
    return PD_OK;
}

static enum pd_status read_mixture(const struct pd_row *row, void *context,
                                   struct pd_errors *errors)
{
    struct pd_mixtures *const mixtures = context;
    const struct pd_range share = {0, 1, NULL};
    struct pd_mixture mixture = {.part = {NAN, NAN, NAN}};
    for (size_t i = 0; i < 3; i++)
        pd_row_number(row, IMPEDANCE + i, share, &mixture.part[i], errors);
    if (!(fabs(mixture.part[0] + mixture.part[1] + mixture.part[2] - 1) <= 1e-6))
        return pd_row_error(row, POWER, errors, "the three shares do not add up to 1");
    snprintf(mixture.devices, sizeof mixture.devices, "%s", pd_row_text(row, DEVICES));
    snprintf(mixture.source, sizeof mixture.source, "%s", pd_row_text(row, SOURCE));
    size_t index;
    int added;
    const enum pd_status status =
        pd_names_add(mixtures->names, pd_row_text(row, MIXTURE), &index, &added);
    if (status != PD_OK)
        return status;
    if (!added)
        return pd_row_error(row, MIXTURE, errors, "is there twice");
    return append(mixtures, &mixture);
}

enum pd_status pd_mixtures_add_reference(struct pd_mixtures *mixtures, struct pd_errors *errors)
{
    if (mixtures->names == NULL) {
        const enum pd_status status = pd_names_new(&mixtures->names);
        if (status != PD_OK)
            return status;
    }
    return pd_table_read_text(pd_reference_mixtures, pd_reference_mixtures_length,
                              "reference/mixtures.csv", columns, COLUMNS, read_mixture, mixtures,
                              errors);
}

void pd_mixtures_free(struct pd_mixtures *mixtures)
{
    pd_names_free(&mixtures->names);
    free(mixtures->mixture);
    *mixtures = (struct pd_mixtures){0};
}
