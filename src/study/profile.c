/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/profile.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "table/table.h"
#include "table/words.h"

/* The columns of times come first, then one for each load. */
enum column { TIME, TIME_S, TIME_MIN, TIME_H, TIMES };

static const char *const time_names[TIMES] = {"time", "time_s", "time_min", "time_h"};
static const char *const units[TIMES] = {"", " s", " min", " h"};
static const double unit_ms[TIMES] = {[TIME_S] = 1e3, [TIME_MIN] = 60e3, [TIME_H] = 3600e3};

struct reading {
    const struct pd_network *network;
    pd_profile_function *function;
    void *context;
    struct pd_profile_load *load;
    double *load_a;
    enum column time; /* the column of times; TIMES until the first row */
    bool broken;      /* the header is of no use: rows are passed over */
    bool dated;       /* times have a date */
    size_t rows, last_line;
    int64_t last_ms;
};

/* What a plain number of times may be: milliseconds have to be whole numbers. */
static const struct pd_range times = {-1e9, 1e9, NULL};
static const struct pd_range sizes = {
    0, PD_LOAD_MOST, "what feeds into the network is an inverter, a load of its own in loads.csv"};

static enum pd_status take_header(struct reading *r, const struct pd_row *row,
                                  struct pd_errors *errors)
{
    size_t given = 0, loads = 0;
    for (size_t i = 0; i < TIMES; i++) {
        given += pd_row_given(row, i);
        if (pd_row_given(row, i))
            r->time = (enum column)i;
    }
    for (size_t i = 0; i < r->network->load_count; i++) {
        r->load[i].given = pd_row_given(row, TIMES + i);
        loads += r->load[i].given;
    }
    r->broken = given != 1 || loads == 0;
    if (given != 1)
        return pd_errors_add(
            errors, PD_ERR_INPUT, row->table, 0, "",
            "needs one column of times: time (2026-01-31T17:30 or 17:30), or plain "
            "numbers in time_s, time_min or time_h");
    if (loads == 0)
        return pd_errors_add(errors, PD_ERR_INPUT, row->table, 0, "",
                             "has no column for any load of loads.csv");
    return PD_OK;
}

static enum pd_status refuse_time(const struct reading *r, const struct pd_row *row,
                                  struct pd_errors *errors)
{
    const char *const cell = pd_row_text(row, r->time);
    double unused;
    if (cell[0] == '\0')
        return pd_row_error(row, r->time, errors, "is empty; every moment needs its time");
    if (pd_parse_number(cell, &unused))
        return pd_row_error(row, r->time, errors,
                            "'%s' is a plain number; name the column time_s, time_min or time_h",
                            pd_show(cell).text);
    return pd_row_error(row, r->time, errors,
                        "'%s' is not a time; write 2026-01-31T17:30 or 17:30, with seconds or "
                        "without",
                        pd_show(cell).text);
}

static enum pd_status refuse_order(const struct reading *r, const struct pd_row *row,
                                   struct pd_errors *errors)
{
    const char *const hint = r->time != TIME ? ""
                             : r->dated
                                 ? "; where clocks go back, write times in UTC or with their offset"
                                 : "; past midnight, write the date too: 2026-01-31T17:30";
    return pd_row_error(row, r->time, errors, "'%s' is not later than the time on line %zu%s",
                        pd_show(pd_row_text(row, r->time)).text, r->last_line, hint);
}

static enum pd_status take_time(struct reading *r, const struct pd_row *row, int64_t *at_ms,
                                struct pd_errors *errors)
{
    const char *const cell = pd_row_text(row, r->time);
    double number = 0;
    bool dated = r->dated;
    if (strlen(cell) > PD_TIME_MAX)
        return refuse_time(r, row, errors);
    if (r->time == TIME && !pd_profile_time(cell, at_ms, &dated))
        return refuse_time(r, row, errors);
    if (r->time != TIME) {
        if (!pd_row_number(row, r->time, times, &number, errors))
            return PD_ERR_INPUT;
        *at_ms = llround(number * unit_ms[r->time]);
    }
    if (r->last_line > 0 && dated != r->dated)
        return pd_row_error(row, r->time, errors,
                            "has %s, the times before have %s; write all of them alike",
                            dated ? "a date" : "no date", dated ? "none" : "one");
    if (r->last_line > 0 && *at_ms <= r->last_ms)
        return refuse_order(r, row, errors);
    r->dated = dated;
    r->last_ms = *at_ms;
    r->last_line = row->line;
    return PD_OK;
}

static enum pd_status take_loads(struct reading *r, const struct pd_row *row, bool *known,
                                 struct pd_errors *errors)
{
    const struct pd_network *const network = r->network;
    enum pd_status status = PD_OK;
    *known = true;
    for (size_t i = 0; i < network->load_count; i++) {
        struct pd_profile_load *const load = &r->load[i];
        double size = 0;
        if (!load->given)
            continue;
        r->load_a[i] = 0;
        if (!pd_row_has(row, TIMES + i)) {
            *known = false;
            continue;
        }
        if (!pd_row_number(row, TIMES + i, sizes, &size, errors)) {
            status = PD_ERR_INPUT;
            continue;
        }
        r->load_a[i] = size * network->load[i].unit_a;
        load->least_a = fmin(load->least_a, r->load_a[i]);
        load->most_a = fmax(load->most_a, r->load_a[i]);
    }
    return status;
}

static enum pd_status take_row(const struct pd_row *row, void *context, struct pd_errors *errors)
{
    struct reading *const r = context;
    struct pd_profile_moment moment = {.load_a = r->load_a, .bytes = row->bytes};
    if (r->rows++ == 0)
        take_header(r, row, errors);
    if (r->broken)
        return PD_OK; /* told once */
    const enum pd_status time = take_time(r, row, &moment.at_ms, errors);
    const enum pd_status loads = take_loads(r, row, &moment.known, errors);
    if (time != PD_OK || loads != PD_OK || errors->count > 0)
        return PD_OK; /* each fault has its line */
    moment.time = pd_row_text(row, r->time);
    moment.unit = units[r->time];
    return r->function(&moment, r->context);
}

/* A load named like a column of times could not be told from it. */
static enum pd_status check_names(const struct pd_network *network, struct pd_errors *errors)
{
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < network->load_count; i++)
        for (size_t k = 0; k < TIMES; k++)
            if (strcmp(network->load[i].name, time_names[k]) == 0)
                status =
                    pd_errors_add(errors, PD_ERR_INPUT, "loads.csv", network->load[i].row, "load",
                                  "'%s' is the name of a profile's column of times; give the "
                                  "load another",
                                  time_names[k]);
    return status;
}

static enum pd_status read_rows(struct reading *r, const char *path, const char *name,
                                struct pd_column *columns, struct pd_errors *errors)
{
    const size_t loads = r->network->load_count;
    for (size_t i = 0; i < TIMES; i++)
        columns[i] = (struct pd_column){time_names[i], false};
    for (size_t i = 0; i < loads; i++) {
        columns[TIMES + i] = (struct pd_column){r->network->load[i].name, false};
        r->load[i] = (struct pd_profile_load){false, NAN, NAN};
        r->load_a[i] = r->network->load[i].present_a;
    }
    const char *const file = strcmp(path, "-") == 0 ? "/dev/stdin" : path;
    const enum pd_status status =
        pd_table_read(file, name, columns, TIMES + loads, take_row, r, errors);
    if (status == PD_OK && r->rows == 0)
        return pd_errors_add(errors, PD_ERR_INPUT, name, 0, "", "has no moments, only a header");
    return status;
}

enum pd_status pd_profile_read(const char *path, const char *name, const struct pd_network *network,
                               pd_profile_function *function, void *context,
                               struct pd_profile_load *load, struct pd_errors *errors)
{
    struct reading r = {
        .network = network, .function = function, .context = context, .load = load, .time = TIMES};
    enum pd_status status = check_names(network, errors);
    if (status != PD_OK)
        return status;
    struct pd_column *const columns = calloc(TIMES + network->load_count, sizeof *columns);
    r.load_a = calloc(network->load_count + 1, sizeof *r.load_a);
    status = PD_ERR_MEMORY;
    if (columns != NULL && r.load_a != NULL)
        status = read_rows(&r, path, name, columns, errors);
    free(columns);
    free(r.load_a);
    return status;
}
