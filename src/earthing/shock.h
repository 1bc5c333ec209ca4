/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_EARTHING_SHOCK_H
#define PENDRIFT_EARTHING_SHOCK_H

#include "earthing/body.h"

/* What a current does to a person in a time: the zones of IEC TS 60479-1 between the curves of
 * reference/shock_curves.csv, from memory. */

enum pd_curve { PD_CURVE_A, PD_CURVE_B, PD_CURVE_C1, PD_CURVE_C2, PD_CURVE_C3 };
enum { PD_CURVES = 5, PD_CURVE_POINTS_MAX = 16 };
extern const char *const pd_curve_names[PD_CURVES]; /* "a", "b", "c1" ... */

/* Each zone is above the curve of the same number less one: AC-2 above a. */
enum pd_zone_kind { PD_AC_1, PD_AC_2, PD_AC_3, PD_AC_4_1, PD_AC_4_2, PD_AC_4_3 };
enum { PD_ZONES = 6 };
extern const char *const pd_zone_names[PD_ZONES]; /* "AC-1", "AC-2", "AC-3", "AC-4.1" ... */

/* What the standard says of a zone, in short and in our words (from memory). Never NULL. */
const char *pd_zone_effect(enum pd_zone_kind kind);

/* Points by rising time; the currents do not rise. */
struct pd_shock_curve {
    size_t count;
    double time_s[PD_CURVE_POINTS_MAX], current_a[PD_CURVE_POINTS_MAX];
    char status[40], source[PD_BODY_SOURCE_MAX];
};

/* The table of the program. Owns nothing. */
struct pd_shock_curves {
    struct pd_shock_curve curve[PD_CURVES];
};

/* Reads the table that is compiled in. As pd_body_read. */
enum pd_status pd_shock_curves_read(struct pd_shock_curves *curves, struct pd_errors *errors);

/* The current of a curve at a duration, ampere: a straight line between two points on logarithmic
 * scales; from its last point on, at 10 s, what it is there. NaN before its first point, where the
 * curve is not stated (it is not lower there), and for what is negative or NaN. */
double pd_shock_curve_a(const struct pd_shock_curves *curves, enum pd_curve curve, double time_s);

/* Where a curve is not stated at a duration the zone may be one of several: from least to most. */
struct pd_zone {
    bool known; /* false: no current or no time to go by */
    enum pd_zone_kind least, most;
};

/* The zone of a current after time_s, both >= 0: perception and letting go (a, b) by the current
 * itself, the heart (c1, c2, c3) by heart_a, the current times its heart-current factor. On a curve
 * counts as above it. */
struct pd_zone pd_zone_of(const struct pd_shock_curves *curves, double body_a, double heart_a,
                          double time_s);

/* The touch voltage that EN 50522 permits for a duration, volt, from its parts: the current of c2
 * over the heart-current factor, through the body impedance of the 50 % of people, dry, for each
 * path, and the mean of the four, each times its share. NaN in *touch_v where c2 is not stated
 * (below 0.5 s: what EN 50522 prints for 0.1 and 0.2 s does not come out of the c2 remembered for
 * it, and is unconfirmed). No limit of ours. PD_OK, PD_DOUBTFUL, PD_ERR_MEMORY as
 * pd_body_voltage. */
enum pd_status pd_permissible_touch(const struct pd_body *body,
                                    const struct pd_shock_curves *curves, double time_s,
                                    double *touch_v);

#endif
