/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_DETECT_DETECTOR_H
#define PENDRIFT_DETECT_DETECTOR_H

#include <stdbool.h>
#include <stddef.h>

#include "network/load.h"
#include "network/phasor.h"
#include "table/override.h"
#include "table/status.h"
#include "table/table.h"

/* Devices that watch for an open PEN: what they sense, and what they see of a scenario. */

enum pd_sense {
    PD_SENSE_LINE,       /* one line to neutral, against a band */
    PD_SENSE_LINES,      /* three lines to neutral, each against a band */
    PD_SENSE_PE,         /* protective conductor to a reference electrode */
    PD_SENSE_STAR_POINT, /* neutral to the mean of the three lines */
    PD_SENSE_PE_CURRENT, /* current from the protective conductor into the ground, through the
                            electrodes of the installation that are tied to it; none without one */
};
enum { PD_SENSES = 5 };
extern const char *const pd_sense_names[PD_SENSES];

/* "V" or "A", the unit of its thresholds and figure. */
const char *pd_sense_unit(enum pd_sense sense);

/* Whether it watches line to neutral against a band. */
bool pd_sense_has_band(enum pd_sense sense);

enum pd_disconnects {
    PD_CUTS_LINES,      /* line conductors only: the chassis stays on the PEN */
    PD_CUTS_LIVE,       /* lines and neutral: the chassis stays on the PEN */
    PD_CUTS_LIVE_AND_PE /* live conductors and protective conductor: the chassis is let go */
};
enum { PD_DISCONNECTS = 3 };
extern const char *const pd_disconnects_names[PD_DISCONNECTS];

/* What it takes to close it again once it has acted. */
enum pd_reset {
    PD_RESET_UNDECLARED, /* taken as by hand; the case says so */
    PD_RESET_MANUAL,
    PD_RESET_AUTOMATIC /* closes by itself after reset_s */
};
enum { PD_RESETS = 3 };
extern const char *const pd_reset_names[PD_RESETS]; /* [0] is empty: no word for it in a table */

/* A figure not declared is NaN. */
struct pd_detector {
    char name[PD_NAME_MAX + 1];
    char node_name[PD_NAME_MAX + 1];
    enum pd_sense senses;
    double low_v, high_v;        /* the band, for the line senses */
    double limit_v;              /* the threshold, for pe-earth and star-point */
    double tolerance_v;          /* each threshold may be off by this much either way */
    double limit_a, tolerance_a; /* the same of pe-current */
    double reference_ohm; /* of pe-earth: its reference electrode's own resistance to earth */
    double input_ohm;     /* of pe-earth: between its terminals */
    double coupling;      /* of pe-earth: the part of the protective conductor's potential that the
                             ground gives the reference electrode; 0 at remote earth, NaN: taken as 0 */
    double reference_x_m, reference_y_m; /* of pe-earth: where it stands; coupling is then worked
                                            out from the electrodes of the case */
    double delay_s;
    enum pd_reset reset;
    double reset_s; /* from disconnection to closing again by itself */
    enum pd_disconnects disconnects;
    bool disconnects_known;
    size_t row;
};

/* What there is to sense at the detector's node, volts to remote earth. */
struct pd_view {
    double complex v[PD_CONDUCTORS];
    double complex pe_v;
    double complex electrode_a; /* from the protective conductor there into the ground, ampere */
    unsigned lines;             /* present there */
};

enum pd_sight_kind {
    PD_BLIND,
    PD_SEES,
    PD_SIGHT_UNKNOWN /* a figure is missing, or a voltage has no value */
};

/* The same view at another supply voltage, where all voltages are in proportion. */
struct pd_view pd_view_scaled(const struct pd_view *view, double scale);

/* The view a share of the way from a to b: a + share (b - a), every voltage and current alike. */
struct pd_view pd_view_between(const struct pd_view *a, const struct pd_view *b,
                               double complex share);

/* What a detector makes of a view. */
struct pd_sight {
    enum pd_sight_kind kind;
    bool may_trip;    /* some device within tolerance would act; false where kind is unknown */
    double time_s;    /* to disconnection where it sees; NaN otherwise or where not declared */
    double figure;    /* what is nearest to being seen, or seen the most: V or A, as sensed */
    bool saves_touch; /* sees, and what it disconnects includes the protective conductor */
    bool recloses;    /* sees, and closes again by itself */
};

/* The sensed figures, V or A, that are not sure to be seen, ends included: each threshold at the
 * worse end of its tolerance. A device with one threshold has -INFINITY for the lower end. NaN for
 * what is not declared. */
struct pd_window {
    double low, high;
};
struct pd_window pd_detector_window(const struct pd_detector *detector);

/* Looks at both ends of each threshold's tolerance. Seen is only what every device within tolerance
 * would see; what one of them may act on is may_trip. A figure on the threshold is not beyond it. A
 * one-line device on a node with several lines is judged by the line that it would see least of,
 * and for may_trip by the one it would see most of. A device whose lines are not there is
 * PD_SIGHT_UNKNOWN. */
struct pd_sight pd_detector_look(const struct pd_detector *detector, const struct pd_view *view);

/* How far beyond its threshold, tolerance at the worse end, a detector finds a view, in its unit:
 * it sees above 0. It moves no faster than what it senses, V or A. NaN where the sight is not
 * known. */
double pd_detector_beyond(const struct pd_detector *detector, const struct pd_view *view);

/* The part of the protective conductor's potential that a pe-earth device has between its
 * terminals: (1 - coupling) input / (input + reference) (voltage divider; the reference electrode's
 * potential is coupling times the conductor's). 1 for an ideal voltmeter at remote earth: reference
 * 0, or neither reference nor input declared. NaN where one of the two is missing: then nothing is
 * known to be seen. 1 for other senses. */
double pd_detector_share(const struct pd_detector *detector);

/* Whether a sight disconnects the chassis within time_s for good: sees, in time, protective
 * conductor included, and does not close again by itself: behind an open PEN that would make the
 * chassis live again, over and over. False for anything unknown. */
bool pd_sight_in_time(const struct pd_sight *sight, double time_s);

/* Whether it would be, but for closing again by itself. */
bool pd_sight_in_time_until_reset(const struct pd_sight *sight, double time_s);

/* A list of detectors that owns its array. Start it with {0}. */
struct pd_detectors {
    struct pd_detector *detector;
    size_t count;
};
void pd_detectors_free(struct pd_detectors *detectors);

/* Reads detectors.csv and appends to *detectors, which the caller frees. Thresholds, delay and what
 * is disconnected may be empty: not known, which no verdict takes for good. A column that the
 * device's sense has no use for must be empty. A name given twice is an error. Returns as
 * pd_table_read_set. */
enum pd_status pd_detectors_read(const char *path, const struct pd_overrides *overrides,
                                 struct pd_detectors *detectors, struct pd_errors *errors);

#endif
