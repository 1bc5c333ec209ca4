/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_EARTHING_BODY_H
#define PENDRIFT_EARTHING_BODY_H

#include <stdbool.h>
#include <stddef.h>

#include "table/status.h"

/* What a voltage drives through a person: body impedance by the voltage across it, current path,
 * and what stands in series, as reference/body.csv and reference/body_paths.csv have it. Figures
 * are after IEC TS 60479-1:2005 and EN 50522:2010, from memory; each row says so. */

enum pd_skin { PD_SKIN_DRY, PD_SKIN_WATER_WET, PD_SKIN_SALTWATER_WET };
enum { PD_SKINS = 3 };
extern const char *const pd_skin_names[PD_SKINS]; /* "dry", "water-wet", "saltwater-wet" */

/* The share of people whose impedance is no higher: of 100 people, 5 have less than the first. */
enum pd_people { PD_PEOPLE_5, PD_PEOPLE_50, PD_PEOPLE_95 };
enum { PD_PEOPLE = 3 };

enum pd_path { PD_LEFT_HAND_TO_FEET, PD_RIGHT_HAND_TO_FEET, PD_HANDS_TO_FEET, PD_HAND_TO_HAND };
enum { PD_PATHS = 4 };
extern const char *const pd_path_names[PD_PATHS]; /* "left-hand-to-feet" ... */

enum { PD_BODY_POINTS_MAX = 32, PD_BODY_SOURCE_MAX = 128 };

/* Hand to hand, large contact, a.c. 50 Hz. Voltages rise, impedances do not rise with them. */
struct pd_body_curve {
    size_t count;
    double touch_v[PD_BODY_POINTS_MAX];
    double ohm[PD_BODY_POINTS_MAX][PD_PEOPLE];
    char status[40], source[PD_BODY_SOURCE_MAX];
};

struct pd_body_path {
    double body_part; /* impedance over that from hand to hand */
    double
        heart_factor; /* F: as dangerous to the heart as F times the current, left hand to feet */
    double share;     /* weight in the permissible touch voltage of EN 50522 */
    char status[40], source[PD_BODY_SOURCE_MAX];
};

/* The tables of the program. Owns nothing. */
struct pd_body {
    struct pd_body_curve curve[PD_SKINS];
    struct pd_body_path path[PD_PATHS];
};

/* Reads the tables that are compiled in. PD_OK, PD_ERR_MEMORY, PD_ERR_INPUT (a fault of the
 * program's own table, which is then not to be used). */
enum pd_status pd_body_read(struct pd_body *body, struct pd_errors *errors);

/* Impedance from hand to hand at a voltage across the body, ohm. Between two points of the table a
 * straight line (so EN 50522's permissible touch voltages come out of the 50 % dry column). Below
 * its first point, 25 V, the impedance of that point, which is less than the true one: it
 * overstates the current. Above its last, 1000 V, or for what is negative or NaN: NaN. */
double pd_body_impedance(const struct pd_body *body, enum pd_skin skin, enum pd_people people,
                         double body_v);

/* A person between two points with a voltage between them while nobody touches. */
struct pd_touch {
    double prospective_v; /* >= 0 */
    double series_ohm;    /* footing: shoes and the ground under them, >= 0 */
    enum pd_skin skin;
    enum pd_people people;
    enum pd_path path;
};

/* NaN throughout where there is no answer. */
struct pd_body_current {
    double body_v;   /* what is left of the prospective voltage across the body */
    double body_ohm; /* of the path, at that voltage */
    double body_a;
    double heart_a; /* times the path's heart-current factor: left hand to feet, same danger */
};

/* The current through a person. The impedance hangs on the voltage across the body, which hangs on
 * the current through what is in series: body_v (1 + series / body_part Z(body_v)) = prospective_v,
 * which rises with body_v and so has one root; bracketed and found by Brent's method (GSL), to 1e-9
 * of the prospective voltage.
 *
 * PD_OK; PD_DOUBTFUL where body_v is below the table's first voltage (the current is overstated);
 * PD_ERR_MEMORY. A good call without an answer, NaN in *current: a voltage or resistance that is
 * negative or not finite, or more than the table's last voltage across the body. */
enum pd_status pd_body_current(const struct pd_body *body, const struct pd_touch *touch,
                               struct pd_body_current *current);

/* The touch voltage at which a current flows along a path, without anything in series, volt: solves
 * u = current_a body_part Z(u), as above. NaN in *touch_v where it is above the table's last
 * voltage. PD_OK, PD_DOUBTFUL (below the table's first: the voltage is understated),
 * PD_ERR_MEMORY. */
enum pd_status pd_body_voltage(const struct pd_body *body, enum pd_skin skin, enum pd_people people,
                               enum pd_path path, double current_a, double *touch_v);

/* Tolerable touch and step voltage of a person of 50 kg, feet on uniform soil, volt:
 * (1000 + 1.5 rho) 0.116/sqrt(t) and (1000 + 6 rho) 0.116/sqrt(t) (IEEE Std 80, without its
 * correction for a surface layer; a comparison, no limit of ours). Soil in ohm-metre, >= 0; time
 * 0.03 to 3 s, the standard's range from memory; NaN outside. */
double pd_tolerable_touch(double soil_ohm_m, double time_s);
double pd_tolerable_step(double soil_ohm_m, double time_s);

#endif
