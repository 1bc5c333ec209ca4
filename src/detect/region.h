/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_DETECT_REGION_H
#define PENDRIFT_DETECT_REGION_H

#include "detect/detector.h"

/* The blind region of a detector: what it does not see, in the plane of neutral displacement.
 *
 * The plane is that of U_N, the drifting neutral's potential to remote earth, volts, L1's EMF at
 * angle 0. On a stiff source, with loads that are resistances and any electrode, Millman's theorem
 * makes U_N a mean of the EMFs present and of earth, 0 V, with weights that are not negative: it
 * lies in their convex hull, a triangle, or on a single-phase or split-phase supply a segment. Each
 * point of the hull is the answer to some such loads. Loads that are not resistances (motors,
 * inverters, chargers) can put U_N outside the hull.
 *
 * A detector senses the distance of U_N from one or more centres: from a line's EMF, from earth,
 * from the star point. What it does not see (pd_detector_window) is a ring or a disc about each.
 * Everything here is exact but for rounding: lines meet circles in closed form. */

/* What pulls at the neutral, and what is watched. */
struct pd_reach {
    double complex unit_emf[PD_LINES]; /* 1 at the supply voltage */
    unsigned lines;                    /* bit 1u << PD_L1 ...: those that pull */
    unsigned watched;                  /* those at the detector */
};

enum pd_region_kind {
    PD_REGION_KNOWN,
    PD_REGION_UNKNOWN,  /* a threshold is not declared, or what is to be sensed is not there */
    PD_REGION_ELSEWHERE /* what the detector senses has no place in this plane: the plane says
                           nothing about it, for good or ill */
};

/* A piece of a boundary, from `from` to `to`. */
struct pd_piece {
    bool arc;
    double complex from, to;
    double complex centre; /* of an arc, whose angle runs from from_rad to to_rad; to the left of */
    double radius, from_rad, to_rad; /* every piece of an area lies the area */
    size_t loop;                     /* pieces of one closed line follow each other */
};

enum { PD_REGION_CORNERS = 4, PD_REGION_PIECES = 256 };

/* The region at one supply voltage. Sizes are areas, V^2, where the hull is one, else lengths, V.
 * Not of kind PD_REGION_KNOWN: every figure is NaN and there are no pieces. */
struct pd_region {
    enum pd_region_kind kind;
    double supply_v;
    double complex corner[PD_REGION_CORNERS]; /* of the hull, anticlockwise; two: a segment */
    size_t corner_count;
    struct pd_piece piece[PD_REGION_PIECES]; /* the edge of what is not seen; of a segment its parts
                                              */
    size_t piece_count;
    double complex worst; /* where |U_N| is largest of all that is not seen; of equal points the
                             first anticlockwise from L1 */
    double worst_v;       /* how large; 0 where all is seen */
    bool sees_health;     /* U_N = 0 is seen: the device lets go of a healthy supply */
    double size;          /* of all that can be reached */
    double unseen_share;  /* of it, what is not seen */
    double hazard_share;  /* of it, what is not seen and over the touch limit; NaN without one */
};

/* Finds the region. supply_v > 0; touch_v NaN: no limit. The shares say how much of the plane,
 * not how likely. */
enum pd_region_kind pd_region_find(const struct pd_detector *detector, const struct pd_reach *reach,
                                   double supply_v, double touch_v, struct pd_region *region);

/* Puts in place of a region's pieces the edge of the part of it that is over the touch limit; the
 * figures stay. Nothing is left of one that is not known, or without a limit. */
void pd_region_keep_hazard(const struct pd_detector *detector, const struct pd_reach *reach,
                           double touch_v, struct pd_region *region);

/* What is not seen anywhere in a range of supply voltages. */
struct pd_region_worst {
    enum pd_region_kind kind;
    double supply_v; /* where it is worst: it may be between the ends */
    double complex at;
    double worst_v; /* 0 where all is seen */
};
/* 0 < low_v <= high_v. Of equally bad supply voltages the nearest to an end, the low one first. */
enum pd_region_kind pd_region_worst(const struct pd_detector *detector,
                                    const struct pd_reach *reach, double low_v, double high_v,
                                    struct pd_region_worst *worst);

/* Whether the detector does not see this displacement at this supply voltage: pd_detector_look at
 * the view that a stiff source gives. */
enum pd_sight_kind pd_region_look(const struct pd_detector *detector, const struct pd_reach *reach,
                                  double supply_v, double complex displacement_v);

#endif
