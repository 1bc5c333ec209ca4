/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "detect/sensing.h"

#include <math.h>

static void add_lines(const struct pd_reach *reach, struct pd_sensing *sensing)
{
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((reach->watched & 1u << line) != 0)
            sensing->unit[sensing->count++] = reach->unit_emf[line];
}

static void add_star_point(const struct pd_reach *reach, struct pd_sensing *sensing)
{
    const unsigned three = 1u << PD_L1 | 1u << PD_L2 | 1u << PD_L3;
    if (reach->watched == three)
        sensing->unit[sensing->count++] =
            (reach->unit_emf[PD_L1] + reach->unit_emf[PD_L2] + reach->unit_emf[PD_L3]) / 3;
}

enum pd_region_kind pd_sensing_of(const struct pd_detector *d, const struct pd_reach *reach,
                                  struct pd_sensing *sensing)
{
    *sensing =
        (struct pd_sensing){.any = d->senses == PD_SENSE_LINE, .window = pd_detector_window(d)};
    switch (d->senses) {
    case PD_SENSE_LINE:
    case PD_SENSE_LINES:
        add_lines(reach, sensing);
        break;
    case PD_SENSE_STAR_POINT:
        add_star_point(reach, sensing);
        break;
    case PD_SENSE_PE:
        sensing->unit[sensing->count++] = 0;
        break;
    default:
        return PD_REGION_ELSEWHERE;
    }
    const bool known = sensing->count > 0 && !isnan(sensing->window.low_v) &&
                       isfinite(sensing->window.high_v) &&
                       (d->senses != PD_SENSE_LINES || sensing->count == PD_LINES);
    if (!known)
        sensing->count = 0;
    return known ? PD_REGION_KNOWN : PD_REGION_UNKNOWN;
}

static double turn(double complex a, double complex b, double complex c)
{
    return cimag(conj(b - a) * (c - a));
}

/* Whether b is further round than a, seen from `from`: no point lies to the right of the way there,
 * and of two in one direction the further one. */
static bool further_round(double complex from, double complex a, double complex b)
{
    const double side = turn(from, a, b);
    if (fabs(side) > 1e-12)
        return side < 0;
    return cabs(b - from) > cabs(a - from);
}

static size_t lowest_left(const double complex *point, size_t count)
{
    size_t best = 0;
    for (size_t i = 1; i < count; i++)
        if (creal(point[i]) < creal(point[best]) ||
            (creal(point[i]) == creal(point[best]) && cimag(point[i]) < cimag(point[best])))
            best = i;
    return best;
}

/* Walks round the outside, from corner to corner. */
size_t pd_hull_of(const struct pd_reach *reach, double complex corner[PD_REGION_CORNERS])
{
    double complex point[PD_REGION_CORNERS] = {0};
    size_t points = 1, count = 0; /* earth is the first */
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((reach->lines & 1u << line) != 0 && cabs(reach->unit_emf[line]) > 1e-9)
            point[points++] = reach->unit_emf[line];
    const size_t start = lowest_left(point, points);
    size_t at = start;
    do {
        size_t next = at == 0 && points > 1 ? 1 : 0;
        for (size_t i = 0; i < points; i++)
            if (i != at && further_round(point[at], point[next], point[i]))
                next = i;
        corner[count++] = point[at];
        at = next;
    } while (at != start && count < points);
    return points > 1 ? count : 0;
}

static double distance_to_segment(double complex a, double complex b, double complex point)
{
    const double along = creal(conj(b - a) * (point - a)) / creal(conj(b - a) * (b - a));
    return cabs(point - (a + fmin(1, fmax(0, along)) * (b - a)));
}

bool pd_hull_holds(const double complex *corner, size_t count, double complex point, double slack)
{
    if (count == 2)
        return distance_to_segment(corner[0], corner[1], point) <= slack;
    for (size_t i = 0; i < count; i++) {
        const double complex a = corner[i], b = corner[(i + 1) % count];
        if (turn(a, b, point) < -slack * cabs(b - a))
            return false;
    }
    return count > 2;
}

/* 0 to 2 pi; a hair below 0 is 0. */
static double turned(double complex point)
{
    const double angle = carg(point);
    return angle < -1e-9 ? angle + 2 * M_PI : angle;
}

bool pd_further_off(double complex point, double complex than)
{
    const double own = cabs(point), other = cabs(than);
    if (fabs(own - other) > 1e-9 * fmax(own, other))
        return own > other;
    return own > 0 && turned(point) < turned(than) - 1e-9;
}
