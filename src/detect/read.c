/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "detect/detector.h"
#include "table/grow.h"
#include "table/names.h"
#include "table/words.h"

enum column {
    DETECTOR,
    NODE,
    SENSES,
    LOW,
    HIGH,
    LIMIT,
    TOLERANCE,
    LIMIT_A,
    TOLERANCE_A,
    REFERENCE,
    INPUT,
    COUPLING,
    REFERENCE_X,
    REFERENCE_Y,
    DELAY,
    DISCONNECTS,
    RESET,
    RESET_TIME,
    COLUMNS
};

static const struct pd_column columns[COLUMNS] = {
    [DETECTOR] = {"detector", true},
    [NODE] = {"node", true},
    [SENSES] = {"senses", true},
    [LOW] = {"low_v", false},
    [HIGH] = {"high_v", false},
    [LIMIT] = {"limit_v", false},
    [TOLERANCE] = {"tolerance_v", false},
    [LIMIT_A] = {"limit_a", false},
    [TOLERANCE_A] = {"tolerance_a", false},
    [REFERENCE] = {"reference_ohm", false},
    [INPUT] = {"input_ohm", false},
    [COUPLING] = {"coupling", false},
    [REFERENCE_X] = {"reference_x_m", false},
    [REFERENCE_Y] = {"reference_y_m", false},
    [DELAY] = {"delay_s", false},
    [DISCONNECTS] = {"disconnects", false},
    [RESET] = {"reset", false},
    [RESET_TIME] = {"reset_s", false},
};

static void read_thresholds(const struct pd_row *row, struct pd_detector *d,
                            struct pd_errors *errors)
{
    const struct pd_range volts = {0, 1000, NULL};
    pd_row_number_or_keep(row, LOW, volts, &d->low_v, errors);
    pd_row_number_or_keep(row, HIGH, volts, &d->high_v, errors);
    pd_row_number_or_keep(row, LIMIT,
                          (struct pd_range){1, 1000, "at 0 V a device would trip in health"},
                          &d->limit_v, errors);
    pd_row_number_or_keep(row, TOLERANCE, (struct pd_range){0, 100, NULL}, &d->tolerance_v, errors);
    if (d->low_v >= d->high_v)
        pd_row_error(row, LOW, errors, "%s is not below high_v %s",
                     pd_show(pd_row_text(row, LOW)).text, pd_show(pd_row_text(row, HIGH)).text);
}

static void read_current(const struct pd_row *row, struct pd_detector *d, struct pd_errors *errors)
{
    pd_row_number_or_keep(row, LIMIT_A,
                          (struct pd_range){1e-6, 1000, "at 0 A a device would trip in health"},
                          &d->limit_a, errors);
    pd_row_number_or_keep(row, TOLERANCE_A, (struct pd_range){0, 1000, NULL}, &d->tolerance_a,
                          errors);
}

static void read_reference(const struct pd_row *row, struct pd_detector *d,
                           struct pd_errors *errors)
{
    const struct pd_range site = {-1e5, 1e5, NULL};
    pd_row_number_or_keep(row, REFERENCE, (struct pd_range){0, 1e6, NULL}, &d->reference_ohm,
                          errors);
    pd_row_number_or_keep(row, INPUT, (struct pd_range){1, 1e12, NULL}, &d->input_ohm, errors);
    pd_row_number_or_keep(row, COUPLING, (struct pd_range){0, 1, NULL}, &d->coupling, errors);
    pd_row_number_or_keep(row, REFERENCE_X, site, &d->reference_x_m, errors);
    pd_row_number_or_keep(row, REFERENCE_Y, site, &d->reference_y_m, errors);
    if (pd_row_has(row, REFERENCE_X) != pd_row_has(row, REFERENCE_Y))
        pd_row_error(row, pd_row_has(row, REFERENCE_X) ? REFERENCE_Y : REFERENCE_X, errors,
                     "is empty: a place has reference_x_m and reference_y_m");
    if (pd_row_has(row, COUPLING) && pd_row_has(row, REFERENCE_X))
        pd_row_error(row, COUPLING, errors,
                     "is worked out where the reference electrode has a place: give one of them");
}

static void read_disconnection(const struct pd_row *row, struct pd_detector *d,
                               struct pd_errors *errors)
{
    size_t disconnects, reset;
    pd_row_number_or_keep(row, DELAY, (struct pd_range){0, 3600, NULL}, &d->delay_s, errors);
    if (pd_row_has(row, DISCONNECTS) && pd_row_choice(row, DISCONNECTS, pd_disconnects_names,
                                                      PD_DISCONNECTS, &disconnects, errors)) {
        d->disconnects = (enum pd_disconnects)disconnects;
        d->disconnects_known = true;
    }
    if (pd_row_has(row, RESET) && pd_row_choice(row, RESET, pd_reset_names + PD_RESET_MANUAL,
                                                PD_RESETS - PD_RESET_MANUAL, &reset, errors))
        d->reset = (enum pd_reset)(reset + PD_RESET_MANUAL);
    pd_row_number_or_keep(row, RESET_TIME, (struct pd_range){0, 86400, NULL}, &d->reset_s, errors);
    if (pd_row_has(row, RESET_TIME) && pd_row_has(row, RESET) && d->reset != PD_RESET_AUTOMATIC)
        pd_row_error(row, RESET_TIME, errors, "is for a device whose reset is automatic");
    if (pd_row_has(row, RESET_TIME) && !pd_row_has(row, RESET))
        pd_row_error(row, RESET, errors, "is empty beside reset_s; say automatic");
}

/* The columns that belong to each sense. */
static bool column_fits(enum pd_sense sense, enum column column)
{
    switch (column) {
    case LOW:
    case HIGH:
        return pd_sense_has_band(sense);
    case LIMIT:
        return sense == PD_SENSE_PE || sense == PD_SENSE_STAR_POINT;
    case TOLERANCE:
        return sense != PD_SENSE_PE_CURRENT;
    case LIMIT_A:
    case TOLERANCE_A:
        return sense == PD_SENSE_PE_CURRENT;
    case REFERENCE:
    case INPUT:
    case COUPLING:
    case REFERENCE_X:
    case REFERENCE_Y:
        return sense == PD_SENSE_PE;
    default:
        return true;
    }
}

static const char *thresholds_of(enum pd_sense sense)
{
    return pd_sense_has_band(sense)       ? "low_v and high_v"
           : sense == PD_SENSE_PE_CURRENT ? "limit_a"
                                          : "limit_v";
}

/* A figure that the device has no use for would be read past in silence. */
static void check_senses(const struct pd_row *row, const struct pd_detector *d,
                         struct pd_errors *errors)
{
    for (enum column column = LOW; column <= REFERENCE_Y; column++) {
        if (column_fits(d->senses, column) || !pd_row_has(row, column))
            continue;
        if (column <= LIMIT || column == LIMIT_A)
            pd_row_error(row, column, errors, "a %s device has %s, no %s",
                         pd_sense_names[d->senses], thresholds_of(d->senses),
                         column == LIMIT     ? "limit_v"
                         : column == LIMIT_A ? "limit_a"
                                             : "low_v or high_v");
        else
            pd_row_error(row, column, errors, "is not for a %s device", pd_sense_names[d->senses]);
        if (column == LOW)
            column = HIGH; /* one fault, one line */
    }
}

static enum pd_status append(struct pd_detectors *detectors, const struct pd_detector *detector)
{
    struct pd_detector *const larger =
        pd_grow(detectors->detector, detectors->count, sizeof *larger);
    if (larger == NULL)
        return PD_ERR_MEMORY;
    detectors->detector = larger;
    detectors->detector[detectors->count++] = *detector;
    return PD_OK;
}

/* Each name and its detector have the same number. */
struct reading {
    struct pd_detectors *detectors;
    struct pd_names *names;
};

/* Appends the detector unless another has its name. */
static enum pd_status keep(const struct pd_row *row, const struct reading *reading,
                           const struct pd_detector *detector, struct pd_errors *errors)
{
    size_t index;
    int added;
    const enum pd_status status = pd_names_add(reading->names, detector->name, &index, &added);
    if (status != PD_OK)
        return status;
    if (!added)
        return pd_row_error(row, DETECTOR, errors,
                            "'%s' is already the detector of line %zu; each detector needs its own "
                            "name",
                            detector->name, reading->detectors->detector[index].row);
    return append(reading->detectors, detector);
}

static enum pd_status read_detector(const struct pd_row *row, void *context,
                                    struct pd_errors *errors)
{
    struct pd_detector d = {.low_v = NAN,
                            .high_v = NAN,
                            .limit_v = NAN,
                            .limit_a = NAN,
                            .reference_ohm = NAN,
                            .input_ohm = NAN,
                            .coupling = NAN,
                            .reference_x_m = NAN,
                            .reference_y_m = NAN,
                            .delay_s = NAN,
                            .reset_s = NAN,
                            .row = row->line};
    size_t senses;
    const char *const name = pd_row_name(row, DETECTOR, errors);
    const char *const node = pd_row_name(row, NODE, errors);
    const bool known = pd_row_choice(row, SENSES, pd_sense_names, PD_SENSES, &senses, errors);
    read_thresholds(row, &d, errors);
    read_current(row, &d, errors);
    read_reference(row, &d, errors);
    read_disconnection(row, &d, errors);
    if (known) {
        d.senses = (enum pd_sense)senses;
        check_senses(row, &d, errors);
    }
    if (name == NULL || node == NULL)
        return PD_ERR_INPUT;
    snprintf(d.name, sizeof d.name, "%s", name);
    snprintf(d.node_name, sizeof d.node_name, "%s", node);
    return keep(row, context, &d, errors);
}

enum pd_status pd_detectors_read(const char *path, const struct pd_overrides *overrides,
                                 struct pd_detectors *detectors, struct pd_errors *errors)
{
    struct reading reading = {.detectors = detectors};
    enum pd_status status = pd_names_new(&reading.names);
    for (size_t i = 0, index; i < detectors->count && status == PD_OK; i++)
        status = pd_names_add(reading.names, detectors->detector[i].name, &index, NULL);
    if (status == PD_OK)
        status = pd_table_read_set(path, overrides, "detectors.csv", columns, COLUMNS,
                                   read_detector, &reading, errors);
    pd_names_free(&reading.names);
    return status;
}

void pd_detectors_free(struct pd_detectors *detectors)
{
    free(detectors->detector);
    *detectors = (struct pd_detectors){0};
}
