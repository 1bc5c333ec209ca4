/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_EXCURSIONS_H
#define PENDRIFT_STUDY_EXCURSIONS_H

#include "detect/detector.h"
#include "study/voltage_log.h"

/* How often a device would act on a recorded supply: samples one after the other on which some
 * device within its tolerance would act make an excursion; one that lasts as long as the delay, or
 * longer, makes it trip. */
struct pd_excursions {
    size_t samples, outside;    /* looked at; on which it may act */
    size_t trips, short_ones;   /* excursions that last as long as the delay; that do not */
    double tripped_s;           /* all trips together */
    double longest_s;           /* excursion, also where it does not trip */
    double first_s;             /* when the first trip's excursion began; NaN where none */
    double open_s, open_from_s; /* the excursion that goes on: so long, since then; -1: none */
};

/* Start with this. */
struct pd_excursions pd_excursions_new(void);

/* Looks at the next sample, whose figures are taken as line to neutral at the device. A delay not
 * declared counts as none. A three-line device on a log with fewer lines looks at those there are:
 * what comes out is then the least. */
void pd_excursions_add(struct pd_excursions *excursions, const struct pd_detector *detector,
                       const struct pd_log_sample *sample);

/* Whether the device can be looked at with these lines: it watches a band, all of which is
 * declared. */
bool pd_excursions_can(const struct pd_detector *detector, unsigned lines);

#endif
