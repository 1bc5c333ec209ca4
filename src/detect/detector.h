/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_DETECT_DETECTOR_H
#define PENDRIFT_DETECT_DETECTOR_H

#include <stdbool.h>
#include <stddef.h>

#include "network/load.h"
#include "network/phasor.h"
#include "table/status.h"
#include "table/table.h"

/* Devices that watch for an open PEN: what they sense, and what they see of a scenario. */

enum pd_sense {
    PD_SENSE_LINE,       /* one line to neutral, against a band */
    PD_SENSE_LINES,      /* three lines to neutral, each against a band */
    PD_SENSE_PE,         /* protective conductor to a reference electrode at remote earth */
    PD_SENSE_STAR_POINT, /* neutral to the mean of the three lines */
};
enum { PD_SENSES = 4 };
extern const char *const pd_sense_names[PD_SENSES];

enum pd_disconnects {
    PD_CUTS_LINES,      /* line conductors only: the chassis stays on the PEN */
    PD_CUTS_LIVE,       /* lines and neutral: the chassis stays on the PEN */
    PD_CUTS_LIVE_AND_PE /* live conductors and protective conductor: the chassis is let go */
};
enum { PD_DISCONNECTS = 3 };
extern const char *const pd_disconnects_names[PD_DISCONNECTS];

/* A figure not declared is NaN. */
struct pd_detector {
    char name[PD_NAME_MAX + 1];
    char node_name[PD_NAME_MAX + 1];
    enum pd_sense senses;
    double low_v, high_v; /* the band, for the line senses */
    double limit_v;       /* the threshold, for the others */
    double tolerance_v;   /* each threshold may be off by this much either way */
    double delay_s;
    enum pd_disconnects disconnects;
    bool disconnects_known;
    size_t row;
};

/* What there is to sense at the detector's node, volts to remote earth. */
struct pd_view {
    double complex v[PD_CONDUCTORS];
    double complex pe_v;
    unsigned lines; /* present there */
};

enum pd_sight_kind {
    PD_BLIND,
    PD_SEES,
    PD_SIGHT_UNKNOWN /* a figure is missing, or a voltage has no value */
};

/* The same view at another supply voltage, where all voltages are in proportion. */
struct pd_view pd_view_scaled(const struct pd_view *view, double scale);

/* What a detector makes of a view. */
struct pd_sight {
    enum pd_sight_kind kind;
    double time_s;    /* to disconnection where it sees; NaN otherwise or where not declared */
    double figure_v;  /* the voltage nearest to being seen, or seen the most */
    bool saves_touch; /* sees, and what it disconnects includes the protective conductor */
};

/* The sensed voltages that are not sure to be seen, ends included: each threshold at the worse end
 * of its tolerance. A device with one threshold has -INFINITY for the lower end. NaN for what is
 * not declared. */
struct pd_window {
    double low_v, high_v;
};
struct pd_window pd_detector_window(const struct pd_detector *detector);

/* Evaluates each threshold at the worse end of its tolerance: a voltage is seen only where every
 * device within tolerance would see it. A one-line device on a node with several lines is judged by
 * the line that it would see least of. A device whose lines are not there is PD_SIGHT_UNKNOWN. */
struct pd_sight pd_detector_look(const struct pd_detector *detector, const struct pd_view *view);

/* Whether a sight disconnects the chassis within time_s: sees, in time, protective conductor
 * included. False for anything unknown. */
bool pd_sight_in_time(const struct pd_sight *sight, double time_s);

/* A list of detectors that owns its array. Start it with {0}. */
struct pd_detectors {
    struct pd_detector *detector;
    size_t count;
};
void pd_detectors_free(struct pd_detectors *detectors);

/* Reads detectors.csv and appends to *detectors, which the caller frees. Thresholds, delay and what
 * is disconnected may be empty: not known, which no verdict takes for good. A name given twice is
 * an error. Returns as pd_table_read. */
enum pd_status pd_detectors_read(const char *path, struct pd_detectors *detectors,
                                 struct pd_errors *errors);

#endif
