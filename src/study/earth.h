/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_EARTH_H
#define PENDRIFT_STUDY_EARTH_H

#include "earthing/season.h"
#include "study/assess.h"

/* What ground and season make of an electrode of the installation under study: a reading holds for
 * its day, and for its ground. */

enum { PD_EARTH_KINDS = 16 };

struct pd_earth {
    const struct pd_electrode *electrode;
    double dry_ohm;        /* the one that decides; NaN where not known */
    struct pd_season year; /* an electrode measured through a year (reference/seasons.csv) */
    double year_ohm;     /* where no season is declared: the present figure times that; else NaN */
    double most_ohm;     /* what the rule asks of it, dry season; INFINITY: none is needed; NaN: not
                            known, or it is not the one electrode that the rule asks of */
    double most_now_ohm; /* what must be read now for that; NaN where nothing is asked */
    /* The same shape in other ground, as it is there now: the ends of each published range. NaN
     * without a shape. */
    struct pd_earth_kind {
        struct pd_soil_kind soil;
        double low_ohm, high_ohm;
    } kind[PD_EARTH_KINDS];
    size_t kinds;
};

/* Whether electrode i of the case is the installation's own. */
bool pd_earth_own(const struct pd_case *study_case, size_t i);

/* Fills *earth for electrode i of the assessed case, which must outlive it. PD_OK; PD_ERR_MEMORY;
 * PD_ERR_INPUT (a fault of the program's own tables). */
enum pd_status pd_earth_find(const struct pd_assessment *assessment, size_t i,
                             struct pd_earth *earth);

#endif
