/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_PERSON_H
#define PENDRIFT_STUDY_PERSON_H

#include "earthing/shock.h"

/* What the deciding scenarios of an assessment do to a person. No verdict rests on it: the limit
 * set decides, and what is within its limit is not harmless. */

struct pd_assessment;

enum pd_shock_kind {
    PD_SHOCK_LARGEST,      /* the largest touch voltage */
    PD_SHOCK_UNSEEN,       /* the largest that nothing disconnects in time */
    PD_SHOCK_DISCONNECTED, /* the largest over the limit that is disconnected in time */
    PD_SHOCK_REACH         /* TT: the chassis in one hand, PME metalwork in the other */
};
enum { PD_SHOCKS = 4 };
extern const char *const pd_shock_names[PD_SHOCKS];

/* How long the current flows: until a device has disconnected the chassis, for the limit set's
 * time, until someone acts (10 s, which is where the curves end, and longer). */
enum pd_moment { PD_MOMENT_DEVICE, PD_MOMENT_LIMIT, PD_MOMENT_UNTIL };
enum { PD_MOMENTS = 3 };
extern const char
    *const pd_moment_names[PD_MOMENTS]; /* "device", "limit set", "until someone acts" */

struct pd_shock {
    size_t scenario; /* PD_NONE: there is no such scenario */
    struct pd_touch touch;
    struct pd_body_current current; /* NaN: not determined */
    bool overstated;                /* below the table: more than would flow */
    double time_s[PD_MOMENTS];      /* NaN: no device acts, the set has no time */
    struct pd_zone zone[PD_MOMENTS];
};

struct pd_person {
    struct pd_shock shock[PD_SHOCKS];
    char body_source[200], path_source[200],
        curve_source[200]; /* with how sure they are; "" where not read */
};

/* What is said wherever these figures are shown. */
extern const char pd_person_warning[];

/* Fills assessment->person after the scenarios have been counted: the case's skin and footing, the
 * 5 % of people with the least impedance, both hands to both feet (hand to hand for the metalwork
 * in reach), the most current that the tables give. PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_person_read(struct pd_assessment *assessment);

/* Leaves every figure undetermined. */
void pd_person_unknown(struct pd_person *person);

#endif
