/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "report/cells.h"
#include "report/making.h"
#include "report/report.h"

static json_t *range_object(const struct pd_healthy_range *range)
{
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "low", pd_json_number(range->low));
    pd_json_put(&object, "high", pd_json_number(range->high));
    return pd_json_made(&object);
}

static json_t *excursions_object(const struct pd_nuisance_device *device)
{
    const struct pd_excursions *const e = &device->excursions;
    struct pd_making object = pd_json_make_object();
    if (!device->logged) {
        json_decref(object.json);
        return json_null();
    }
    pd_json_put(&object, "samples", pd_json_count(e->samples));
    pd_json_put(&object, "samples_outside", pd_json_count(e->outside));
    pd_json_put(&object, "trips", pd_json_count(e->trips));
    pd_json_put(&object, "too_short_to_trip", pd_json_count(e->short_ones));
    pd_json_put(&object, "tripped_s", pd_json_number(e->tripped_s));
    pd_json_put(&object, "longest_s", pd_json_number(e->longest_s));
    pd_json_put(&object, "lines_missing", json_boolean(device->lines_missing));
    return pd_json_made(&object);
}

/* How the widest thresholds stand: a figure, or one of these. */
static const char *widest_word(double widest)
{
    return isnan(widest)   ? "not determined"
           : isinf(widest) ? "any"
           : widest == 0   ? "none"
                           : "found";
}

static json_t *device_object(const struct pd_nuisance *n, size_t i)
{
    const struct pd_detector *const d = &n->study_case->detectors.detector[i];
    const struct pd_nuisance_device *const device = &n->device[i];
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "detector", pd_json_text(d->name));
    pd_json_put(&object, "senses", pd_json_text(pd_sense_names[d->senses]));
    pd_json_put(&object, "unit", pd_json_text(pd_sense_unit(d->senses)));
    pd_json_put(&object, "determined", json_boolean(device->determined));
    pd_json_put(&object, "may_trip",
                device->determined ? json_boolean(device->may_trip) : json_null());
    pd_json_put(&object, "healthy", range_object(&device->sensed));
    pd_json_put(&object, "recorded", excursions_object(device));
    pd_json_put(&object, "never_trips_low", pd_json_number(device->never_low));
    pd_json_put(&object, "never_trips_high", pd_json_number(device->never_high));
    pd_json_put(&object, "never_trips_unseen_v", pd_json_number(device->left_v));
    pd_json_put(&object, "widest", pd_json_text(widest_word(device->widest)));
    pd_json_put(&object, "widest_reach",
                pd_json_number(device->widest == 0 ? (double)NAN : device->widest));
    pd_json_put(&object, "both",
                device->both == PD_UNKNOWN ? json_null() : json_boolean(device->both == PD_WITHIN));
    return pd_json_made(&object);
}

static json_t *gaps_array(const struct pd_log *log)
{
    struct pd_making array = pd_json_make_array();
    for (size_t i = 0; i < log->gaps && i < PD_GAPS_KEPT; i++) {
        struct pd_making object = pd_json_make_object();
        pd_json_put(&object, "line", pd_json_count(log->gap[i].line));
        pd_json_put(&object, "length_s", pd_json_number(log->gap[i].length_s));
        pd_json_append(&array, pd_json_made(&object));
    }
    return pd_json_made(&array);
}

static json_t *broken_array(const struct pd_errors *errors)
{
    struct pd_making array = pd_json_make_array();
    char line[sizeof(struct pd_error)];
    for (size_t i = 0; i < errors->count && i < PD_ERRORS_KEPT; i++) {
        pd_error_format(&errors->kept[i], line, sizeof line);
        pd_json_append(&array, pd_json_text(line));
    }
    return pd_json_made(&array);
}

static json_t *columns_array(const struct pd_log *log)
{
    struct pd_making array = pd_json_make_array();
    for (int line = PD_L1; line < PD_LINES; line++) {
        if ((log->lines & 1u << line) == 0)
            continue;
        struct pd_making object = pd_json_make_object();
        pd_json_put(&object, "column", pd_json_text(log->voltage_column[line]));
        pd_json_put(&object, "line", json_integer(line + 1));
        pd_json_put(&object, "low_v", pd_json_number(log->low_v[line]));
        pd_json_put(&object, "high_v", pd_json_number(log->high_v[line]));
        pd_json_append(&array, pd_json_made(&object));
    }
    return pd_json_made(&array);
}

static json_t *log_object(const struct pd_nuisance *n, const struct pd_errors *errors)
{
    const struct pd_log *const log = &n->log;
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "columns", columns_array(log));
    pd_json_put(&object, "samples", pd_json_count(log->samples));
    pd_json_put(&object, "step_s", pd_json_number(log->step_s));
    pd_json_put(&object, "first_s", pd_json_number(log->first_s));
    pd_json_put(&object, "last_s", pd_json_number(log->last_s));
    pd_json_put(&object, "covered_s", pd_json_number(log->covered_s));
    pd_json_put(&object, "gap_count", pd_json_count(log->gaps));
    pd_json_put(&object, "gaps_s", pd_json_number(log->gaps_s));
    pd_json_put(&object, "gaps", gaps_array(log));
    pd_json_put(&object, "rows_passed_over", pd_json_count(log->broken));
    pd_json_put(&object, "passed_over", broken_array(errors));
    return pd_json_made(&object);
}

static json_t *healthy_object(const struct pd_nuisance *n)
{
    struct pd_making lines = pd_json_make_array(), object = pd_json_make_object();
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((n->study_case->installation_lines & 1u << line) != 0)
            pd_json_append(&lines, range_object(&n->line[line]));
    pd_json_put(&object, "line_neutral_v", pd_json_made(&lines));
    pd_json_put(&object, "drop_v", pd_json_number(n->drop_v));
    pd_json_put(&object, "supply_low_v", pd_json_number(n->supply_low_v));
    pd_json_put(&object, "supply_high_v", pd_json_number(n->supply_high_v));
    pd_json_put(&object, "states", pd_json_count(n->healthy_states));
    return pd_json_made(&object);
}

enum pd_status pd_nuisance_json(FILE *out, const struct pd_nuisance *n,
                                const struct pd_errors *errors)
{
    struct pd_making devices = pd_json_make_array(), object = pd_json_make_object();
    for (size_t i = 0; i < n->study_case->detectors.count; i++)
        pd_json_append(&devices, device_object(n, i));
    pd_json_put_head(&object, n->study_case->title);
    pd_json_put(&object, "missing", pd_json_notes(&n->study_case->missing));
    pd_json_put(&object, "touch_limit_v", pd_json_number(n->study_case->limits.touch_v));
    pd_json_put(&object, "healthy", healthy_object(n));
    pd_json_put(&object, "devices", pd_json_made(&devices));
    pd_json_put(&object, "log", n->has_log ? log_object(n, errors) : json_null());
    pd_json_put(&object, "assumptions", pd_json_notes(&n->study_case->assumptions));
    return pd_json_write(out, pd_json_made(&object));
}

static void write_row(FILE *out, const struct pd_nuisance *n, size_t i)
{
    const struct pd_detector *const d = &n->study_case->detectors.detector[i];
    const struct pd_nuisance_device *const device = &n->device[i];
    const struct pd_excursions *const e = &device->excursions;
    fputs(pd_sense_names[d->senses], out);
    pd_csv_text(out, d->name);
    fprintf(out, ",%s,%s", pd_sense_unit(d->senses),
            !device->determined ? "unknown"
            : device->may_trip  ? "yes"
                                : "no");
    pd_csv_number(out, pd_sense_has_band(d->senses) ? device->sensed.low : (double)NAN);
    pd_csv_number(out, device->sensed.high);
    if (device->logged)
        fprintf(out, ",%zu,%zu,%zu,%zu", e->samples, e->outside, e->trips, e->short_ones);
    else
        fputs(",,,,", out);
    pd_csv_number(out, device->logged ? e->tripped_s : (double)NAN);
    pd_csv_number(out, device->logged ? e->longest_s : (double)NAN);
    pd_csv_number(out, device->never_low);
    pd_csv_number(out, device->never_high);
    pd_csv_number(out, device->left_v);
    fprintf(out, ",%s", widest_word(device->widest));
    pd_csv_number(out, device->widest == 0 ? (double)NAN : device->widest);
    fprintf(out, ",%s\n",
            device->both == PD_UNKNOWN  ? "unknown"
            : device->both == PD_WITHIN ? "yes"
                                        : "no");
}

enum pd_status pd_nuisance_csv(FILE *out, const struct pd_nuisance *n,
                               const struct pd_errors *errors)
{
    char line[sizeof(struct pd_error)];
    pd_csv_head(out, n->study_case->title);
    for (size_t i = 0; i < n->study_case->missing.count; i++)
        pd_csv_comment(out, "missing", n->study_case->missing.text[i]);
    for (size_t i = 0; i < errors->count && i < PD_ERRORS_KEPT; i++) {
        pd_error_format(&errors->kept[i], line, sizeof line);
        pd_csv_comment(out, "row passed over", line);
    }
    fputs("senses,detector,unit,may_trip,healthy_low,healthy_high,samples,samples_outside,trips,"
          "too_short_to_trip,tripped_s,longest_s,never_trips_low,never_trips_high,"
          "never_trips_unseen_v,widest,widest_reach,both\n",
          out);
    for (size_t i = 0; i < n->study_case->detectors.count; i++)
        write_row(out, n, i);
    return ferror(out) ? PD_ERR_FILE : PD_OK;
}
