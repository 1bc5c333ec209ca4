/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "network/cable.h"

#include <stdlib.h>

#include "table/grow.h"
#include "table/reference.h"
#include "table/table.h"

enum column { CABLE, LINE_R, LINE_X, PEN_R, PEN_X, SOURCE, COLUMNS };

static const struct pd_column columns[COLUMNS] = {
    [CABLE] = {"cable", true},
    [LINE_R] = {"line_r_ohm_per_km", true},
    [LINE_X] = {"line_x_ohm_per_km", false},
    [PEN_R] = {"pen_r_ohm_per_km", true},
    [PEN_X] = {"pen_x_ohm_per_km", false},
    [SOURCE] = {"source", false},
};

static enum pd_status append(struct pd_cables *cables, const struct pd_cable *cable)
{
    struct pd_cable *const larger = pd_grow(cables->cable, cables->count, sizeof *larger);
    if (larger == NULL)
        return PD_ERR_MEMORY;
    cables->cable = larger;
    cables->cable[cables->count++] = *cable;
    return PD_OK;
}

struct reading {
    struct pd_cables *cables;
    bool reference; /* the table compiled into the program */
};

static enum pd_status read_cable(const struct pd_row *row, void *context, struct pd_errors *errors)
{
    const struct reading *const reading = context;
    struct pd_cables *const cables = reading->cables;
    const struct pd_range ohms = {0, 1e4, NULL};
    double line_r = 0, line_x = 0, pen_r = 0, pen_x = 0;
    const char *const name = pd_row_name(row, CABLE, errors);
    bool good = pd_row_number(row, LINE_R, ohms, &line_r, errors);
    good &= pd_row_number_or_keep(row, LINE_X, ohms, &line_x, errors);
    good &= pd_row_number(row, PEN_R, ohms, &pen_r, errors);
    good &= pd_row_number_or_keep(row, PEN_X, ohms, &pen_x, errors);
    if (name == NULL)
        return PD_ERR_INPUT;
    size_t index;
    int added;
    const enum pd_status status = pd_names_add(cables->names, name, &index, &added);
    if (status != PD_OK)
        return status;
    if (!added && cables->cable[index].row > 0)
        return pd_row_error(row, CABLE, errors,
                            "'%s' is already the cable of line %zu; each cable needs its own name",
                            name, cables->cable[index].row);
    if (!added)
        return pd_row_error(row, CABLE, errors,
                            "'%s' is a cable of the reference table; choose another name", name);
    const struct pd_cable cable = {.line_ohm_per_km = CMPLX(line_r, line_x),
                                   .pen_ohm_per_km = CMPLX(pen_r, pen_x),
                                   .row = reading->reference ? 0 : row->line};
    const enum pd_status appended = append(cables, &cable);
    return appended == PD_OK && !good ? PD_ERR_INPUT : appended;
}

static enum pd_status start(struct pd_cables *cables)
{
    return cables->names != NULL ? PD_OK : pd_names_new(&cables->names);
}

enum pd_status pd_cables_add_reference(struct pd_cables *cables, struct pd_errors *errors)
{
    const enum pd_status status = start(cables);
    if (status != PD_OK)
        return status;
    struct reading reading = {.cables = cables, .reference = true};
    return pd_table_read_text(pd_reference_cables, pd_reference_cables_length,
                              "reference/cables.csv", columns, COLUMNS, read_cable, &reading,
                              errors);
}

enum pd_status pd_cables_read(const char *path, const struct pd_overrides *overrides,
                              struct pd_cables *cables, struct pd_errors *errors)
{
    const enum pd_status status = start(cables);
    if (status != PD_OK)
        return status;
    struct reading reading = {.cables = cables};
    const enum pd_status read = pd_table_read_set(path, overrides, "cables.csv", columns, COLUMNS,
                                                  read_cable, &reading, errors);
    cables->damaged |= read != PD_OK;
    return read;
}

const struct pd_cable *pd_cables_find(const struct pd_cables *cables, const char *name)
{
    const size_t index = pd_names_find(cables->names, name);
    return index == PD_NONE ? NULL : &cables->cable[index];
}

void pd_cables_free(struct pd_cables *cables)
{
    pd_names_free(&cables->names);
    free(cables->cable);
    *cables = (struct pd_cables){0};
}
