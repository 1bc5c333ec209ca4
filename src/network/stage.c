/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "network/stage.h"

#include <math.h>
#include <stdio.h>

#include "table/reference.h"
#include "table/table.h"

enum column { STAGE, BELOW, ABOVE, TIME, STATUS, SOURCE, COLUMNS };

static const struct pd_column columns[COLUMNS] = {
    [STAGE] = {"stage", true}, [BELOW] = {"below_part", true}, [ABOVE] = {"above_part", true},
    [TIME] = {"time_s", true}, [STATUS] = {"status", true},    [SOURCE] = {"source", true},
};

struct walk {
    pd_stage_function *function;
    void *context;
    bool stopped;
};

static enum pd_status read_stage(const struct pd_row *row, void *context, struct pd_errors *errors)
{
    struct walk *const walk = context;
    struct pd_stage stage = {.below_part = NAN, .above_part = NAN};
    bool good =
        pd_row_number_or_keep(row, BELOW, (struct pd_range){0, 1, NULL}, &stage.below_part, errors);
    good &=
        pd_row_number_or_keep(row, ABOVE, (struct pd_range){1, 2, NULL}, &stage.above_part, errors);
    good &= pd_row_number(row, TIME, (struct pd_range){0, 60, NULL}, &stage.time_s, errors);
    if (!good)
        return PD_ERR_INPUT;
    snprintf(stage.name, sizeof stage.name, "%s", pd_row_text(row, STAGE));
    snprintf(stage.status, sizeof stage.status, "%s", pd_row_text(row, STATUS));
    snprintf(stage.source, sizeof stage.source, "%s", pd_row_text(row, SOURCE));
    if (!walk->stopped)
        walk->stopped = !walk->function(&stage, walk->context);
    return PD_OK;
}

enum pd_status pd_stages_each(pd_stage_function *function, void *context, struct pd_errors *errors)
{
    struct walk walk = {.function = function, .context = context};
    return pd_table_read_text(pd_reference_stages, pd_reference_stages_length,
                              "reference/stages.csv", columns, COLUMNS, read_stage, &walk, errors);
}
