/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "detect/locus.h"
#include "detect/sensing.h"

/* The worst supply voltage.
 *
 * Write U_N = U q, U the supply voltage and q in the hull at 1 V, and d_k for q's distance from
 * centre k. Not seen is where low <= U d_k <= high at each centre. For one q, |U_N| = U |q| grows
 * with U, and of the conditions only U <= high / d_k stop it. So at the worst point either U is at
 * an end of its range, which pd_region_find solves, or U = high / d_k for the centre k furthest
 * off, and |U_N| = high |q| / d_k.
 *
 * |q| / d_k has no largest value within an area: its logarithm is harmonic. So q lies on the edge
 * of an area, which is a line or a circle: an edge of the hull; d_j = d_k, where another centre
 * takes over: the line between the two; low / d_j = high / d_k, where U falls out of the window of
 * centre j: a circle of Apollonius; and there either where two of these meet, or where |q| / d_k is
 * largest along one (pd_locus_farthest_ratio). All are tried, and those that keep every condition
 * compared. */

enum { LOCI = PD_REGION_CORNERS + 3 * PD_LINES };

struct range {
    const struct pd_sensing *sensing;
    const double complex *corner;
    size_t corners;
    double low_v, high_v;
    struct pd_region_worst *worst;
};

static void consider(const struct range *r, double supply_v, double complex at)
{
    const bool same_supply = fabs(supply_v - r->worst->supply_v) <= 1e-9 * supply_v;
    if (same_supply ? !pd_further_off(at, r->worst->at)
                    : !(cabs(at) > r->worst->worst_v * (1 + 1e-9)))
        return; /* of equals the first */
    r->worst->supply_v = supply_v;
    r->worst->at = at;
    r->worst->worst_v = cabs(at);
}

static void try_unit(const struct range *r, double complex q)
{
    const struct pd_window *const window = &r->sensing->window;
    const double slack = 1e-9;
    double supply_v = r->high_v;
    for (size_t k = 0; k < r->sensing->count; k++)
        supply_v = fmin(supply_v, window->high_v / cabs(q - r->sensing->unit[k]));
    if (!(supply_v >= r->low_v) || !pd_hull_holds(r->corner, r->corners, q, slack))
        return;
    for (size_t k = 0; k < r->sensing->count; k++)
        if (supply_v * cabs(q - r->sensing->unit[k]) < window->low_v - slack * supply_v)
            return;
    consider(r, supply_v, supply_v * q);
}

static size_t list_loci(const struct range *r, struct pd_locus locus[LOCI])
{
    const struct pd_sensing *const s = r->sensing;
    size_t count = 0;
    for (size_t i = 0; i < (r->corners == 2 ? 1 : r->corners); i++)
        locus[count++] = pd_locus_through(r->corner[i], r->corner[(i + 1) % r->corners]);
    for (size_t j = 0; j < s->count; j++)
        for (size_t k = 0; k < s->count; k++) {
            if (j < k)
                locus[count++] = pd_locus_ratio(s->unit[j], s->unit[k], 1);
            if (j != k && s->window.low_v > 0)
                locus[count++] =
                    pd_locus_ratio(s->unit[j], s->unit[k], s->window.low_v / s->window.high_v);
        }
    return count;
}

static void try_inside(const struct range *r)
{
    struct pd_locus locus[LOCI];
    const size_t count = list_loci(r, locus);
    for (size_t i = 0; i < r->corners; i++)
        try_unit(r, r->corner[i]);
    for (size_t i = 0; i < count; i++) {
        double complex q[2];
        for (size_t k = 0; k < r->sensing->count; k++)
            if (r->sensing->unit[k] != 0 &&
                pd_locus_farthest_ratio(&locus[i], r->sensing->unit[k], q))
                try_unit(r, q[0]);
        for (size_t other = i + 1; other < count; other++) {
            const size_t meet = pd_locus_meet(&locus[i], &locus[other], q);
            for (size_t k = 0; k < meet; k++)
                try_unit(r, q[k]);
        }
    }
}

static void try_end(const struct pd_detector *detector, const struct pd_reach *reach,
                    const struct range *r, double supply_v)
{
    struct pd_region region;
    if (pd_region_find(detector, reach, supply_v, NAN, &region) == PD_REGION_KNOWN)
        consider(r, supply_v, region.worst);
}

enum pd_region_kind pd_region_worst(const struct pd_detector *detector,
                                    const struct pd_reach *reach, double low_v, double high_v,
                                    struct pd_region_worst *worst)
{
    struct pd_sensing sensing;
    double complex corner[PD_REGION_CORNERS];
    const size_t corners = pd_hull_of(reach, corner);
    *worst = (struct pd_region_worst){.kind = pd_sensing_of(detector, reach, &sensing),
                                      .supply_v = NAN,
                                      .at = CMPLX(NAN, NAN),
                                      .worst_v = NAN};
    if (worst->kind == PD_REGION_KNOWN && (corners < 2 || !(low_v > 0) || !(high_v >= low_v)))
        worst->kind = PD_REGION_UNKNOWN;
    if (worst->kind != PD_REGION_KNOWN)
        return worst->kind;
    worst->supply_v = low_v;
    worst->at = 0;
    worst->worst_v = 0;
    struct pd_sensing part = sensing;
    const struct range r = {&part, corner, corners, low_v, high_v, worst};
    try_end(detector, reach, &r, low_v);
    try_end(detector, reach, &r, high_v);
    if (!sensing.any) {
        try_inside(&r);
        return worst->kind;
    }
    part.count = 1; /* blind where it is blind at any one centre: each for itself */
    for (size_t k = 0; k < sensing.count; k++) {
        part.unit[0] = sensing.unit[k];
        try_inside(&r);
    }
    return worst->kind;
}
