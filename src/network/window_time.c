/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "network/window_time.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "network/stage.h"
#include "table/reference.h"
#include "table/table.h"

enum column { DEVICE, TRIP, RECONNECT, STATUS, SOURCE, COLUMNS };

static const struct pd_column columns[COLUMNS] = {
    [DEVICE] = {"device", true}, [TRIP] = {"trip_s", true},   [RECONNECT] = {"reconnect_s", true},
    [STATUS] = {"status", true}, [SOURCE] = {"source", true},
};

/* The row of the table that is sought, and what it says. */
struct sought {
    const char *device;
    double trip_s;
    struct pd_window_times *times;
};

static enum pd_status read_row(const struct pd_row *row, void *context, struct pd_errors *errors)
{
    struct sought *const sought = context;
    const struct pd_range times = {0, 3600, NULL};
    double trip_s = NAN, reconnect_s = NAN;
    bool good = pd_row_number_or_keep(row, TRIP, times, &trip_s, errors);
    good &= pd_row_number(row, RECONNECT, times, &reconnect_s, errors);
    if (!good)
        return PD_ERR_INPUT;
    if (strcmp(pd_row_text(row, DEVICE), sought->device) != 0)
        return PD_OK;
    sought->trip_s = trip_s;
    sought->times->reconnect_s = reconnect_s;
    snprintf(sought->times->status, sizeof sought->times->status, "%s", pd_row_text(row, STATUS));
    snprintf(sought->times->source, sizeof sought->times->source, "%s", pd_row_text(row, SOURCE));
    return PD_OK;
}

struct staging {
    struct pd_window_times *times;
    const struct pd_behaviour *behaviour;
    double nominal_v;
};

static void add_stage(struct pd_window_times *times, const struct pd_window_stage *stage)
{
    if (times->count < PD_WINDOW_STAGES_MAX)
        times->stage[times->count++] = *stage;
}

/* The stage at the window's end takes the declared end; one further out is not passed before it. */
static bool take_stage(const struct pd_stage *stage, void *context)
{
    const struct staging *const staging = context;
    const struct pd_window_times *const times = staging->times;
    const double nominal_v = staging->nominal_v;
    struct pd_window_stage own = {.below_v = NAN, .above_v = NAN, .time_s = stage->time_s};
    snprintf(own.name, sizeof own.name, "%s", stage->name);
    if (stage->below_part == staging->behaviour->low_part)
        own.below_v = times->low_v;
    else if (isfinite(stage->below_part))
        own.below_v = fmin(stage->below_part * nominal_v, times->low_v);
    if (stage->above_part == staging->behaviour->high_part)
        own.above_v = times->high_v;
    else if (isfinite(stage->above_part))
        own.above_v = fmax(stage->above_part * nominal_v, times->high_v);
    add_stage(staging->times, &own);
    return true;
}

static enum pd_status stages_of(const struct pd_load *load, double nominal_v, double trip_s,
                                struct pd_window_times *times)
{
    struct staging staging = {times, load->behaviour, nominal_v};
    if (load->behaviour->generates)
        return pd_stages_each(take_stage, &staging, NULL);
    add_stage(times, &(struct pd_window_stage){"under-voltage", times->low_v, NAN, trip_s});
    add_stage(times, &(struct pd_window_stage){"over-voltage", NAN, times->high_v, trip_s});
    return PD_OK;
}

enum pd_status pd_window_times_of(const struct pd_load *load, enum pd_system system,
                                  double nominal_v, struct pd_window_times *times)
{
    struct pd_element element[3];
    *times = (struct pd_window_times){.reconnect_s = NAN};
    if (!load->behaviour->window)
        return PD_OK;
    pd_load_elements(load, system, nominal_v, 0, element);
    times->low_v = element[0].point.low_v;
    times->high_v = element[0].point.high_v;
    struct sought sought = {load->behaviour->generates ? "inverter" : "charger", NAN, times};
    enum pd_status status =
        pd_table_read_text(pd_reference_window_times, pd_reference_window_times_length,
                           "reference/window_times.csv", columns, COLUMNS, read_row, &sought, NULL);
    if (status == PD_OK)
        status = stages_of(load, element[0].point.nominal_v, sought.trip_s, times);
    for (size_t i = 0; i < times->count && isfinite(load->trip_s); i++)
        times->stage[i].time_s = load->trip_s;
    if (isfinite(load->reconnect_s))
        times->reconnect_s = load->reconnect_s;
    return status;
}

bool pd_window_stage_passed(const struct pd_window_stage *stage, double voltage_v)
{
    return isnan(voltage_v) || voltage_v < stage->below_v || voltage_v > stage->above_v;
}
