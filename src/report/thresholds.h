/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_THRESHOLDS_H
#define PENDRIFT_REPORT_THRESHOLDS_H

#include "detect/detector.h"

/* A device's figures in words, the same in every report. */
struct pd_phrase {
    char text[400];
};

/* "209.0 to 251.0 V", "0.500 A" */
struct pd_phrase pd_threshold_phrase(const struct pd_detector *detector);

/* "2.0 V" */
struct pd_phrase pd_tolerance_phrase(const struct pd_detector *detector);

/* A figure in the unit of what the device senses: "50.3 V", "0.500 A". */
struct pd_phrase pd_sensed_phrase(const struct pd_detector *detector, double value);

/* "line, neutral and PE": what it disconnects, or that nobody said. */
const char *pd_disconnects_phrase(const struct pd_detector *detector);

#endif
