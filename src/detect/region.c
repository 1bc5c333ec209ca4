/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "detect/region.h"

#include <math.h>
#include <string.h>

#include "detect/boundary.h"
#include "detect/sensing.h"

enum pd_sight_kind pd_region_look(const struct pd_detector *detector, const struct pd_reach *reach,
                                  double supply_v, double complex displacement_v)
{
    struct pd_view view = {.pe_v = displacement_v, .lines = reach->watched};
    for (int line = PD_L1; line < PD_LINES; line++)
        view.v[line] = supply_v * reach->unit_emf[line];
    view.v[PD_N] = displacement_v;
    return pd_detector_look(detector, &view).kind;
}

/* Twice the area of a triangle fan from 0: Green's theorem, area = 1/2 integral of x dy - y dx
 * anticlockwise. Over a segment from a to b that is 1/2 Im(conj(a) b); over an arc about c with
 * radius r from angle s to t, 1/2 (r^2 (t - s) + r Re c (sin t - sin s) - r Im c (cos t - cos s)).
 */
static double swept(const struct pd_piece *piece)
{
    if (!piece->arc)
        return cimag(conj(piece->from) * piece->to) / 2;
    const double s = piece->from_rad, t = piece->to_rad, r = piece->radius;
    return (r * r * (t - s) + r * creal(piece->centre) * (sin(t) - sin(s)) -
            r * cimag(piece->centre) * (cos(t) - cos(s))) /
           2;
}

static double size_of(const struct pd_piece *piece, size_t count, bool flat)
{
    double size = 0;
    for (size_t i = 0; i < count; i++)
        size += flat ? cabs(piece[i].to - piece[i].from) : swept(&piece[i]);
    return size;
}

static double hull_size(const struct pd_region *region)
{
    const double complex *const corner = region->corner;
    double size = 0;
    if (region->corner_count == 2)
        return cabs(corner[1] - corner[0]);
    for (size_t i = 0; i < region->corner_count; i++)
        size += cimag(conj(corner[i]) * corner[(i + 1) % region->corner_count]) / 2;
    return size;
}

static void consider(struct pd_region *region, double complex point)
{
    if (!pd_further_off(point, region->worst))
        return;
    region->worst_v = cabs(point);
    region->worst = point;
}

/* |U_N| is convex: over a closed set it is largest on the edge, at the end of a piece or where an
 * arc is furthest from 0, straight beyond its centre. */
static void find_worst(struct pd_region *region)
{
    for (size_t i = 0; i < region->piece_count; i++) {
        const struct pd_piece *const piece = &region->piece[i];
        consider(region, piece->from);
        consider(region, piece->to);
        if (!piece->arc || piece->centre == 0)
            continue;
        const double low = fmin(piece->from_rad, piece->to_rad);
        const double high = fmax(piece->from_rad, piece->to_rad);
        const double beyond = carg(piece->centre);
        const double turned = beyond + 2 * M_PI * ceil((low - beyond) / (2 * M_PI));
        if (turned <= high)
            consider(region, piece->centre + piece->radius * cexp(I * beyond));
    }
}

void pd_region_keep_hazard(const struct pd_detector *detector, const struct pd_reach *reach,
                           double touch_v, struct pd_region *region)
{
    struct pd_sensing sensing;
    region->piece_count = 0;
    if (region->kind == PD_REGION_KNOWN && isfinite(touch_v) &&
        pd_sensing_of(detector, reach, &sensing) == PD_REGION_KNOWN)
        pd_boundary_find(&sensing, touch_v, region);
}

/* The share of the hull that is not seen and over the limit. */
static double hazard_share(const struct pd_detector *detector, const struct pd_reach *reach,
                           double touch_v, const struct pd_region *region)
{
    struct pd_region over = *region;
    if (!isfinite(touch_v))
        return NAN;
    pd_region_keep_hazard(detector, reach, touch_v, &over);
    return fmin(
        1, fmax(0, size_of(over.piece, over.piece_count, over.corner_count == 2) / region->size));
}

enum pd_region_kind pd_region_find(const struct pd_detector *detector, const struct pd_reach *reach,
                                   double supply_v, double touch_v, struct pd_region *region)
{
    struct pd_sensing sensing;
    *region = (struct pd_region){.supply_v = supply_v,
                                 .worst = CMPLX(NAN, NAN),
                                 .worst_v = NAN,
                                 .size = NAN,
                                 .unseen_share = NAN,
                                 .hazard_share = NAN};
    region->kind = pd_sensing_of(detector, reach, &sensing);
    region->corner_count = pd_hull_of(reach, region->corner);
    for (size_t i = 0; i < region->corner_count; i++)
        region->corner[i] *= supply_v;
    if (region->kind == PD_REGION_KNOWN && (region->corner_count < 2 || !(supply_v > 0)))
        region->kind = PD_REGION_UNKNOWN;
    if (region->kind != PD_REGION_KNOWN)
        return region->kind;
    pd_boundary_find(&sensing, NAN, region);
    region->sees_health = pd_region_look(detector, reach, supply_v, 0) == PD_SEES;
    region->size = hull_size(region);
    region->unseen_share =
        fmin(1, fmax(0, size_of(region->piece, region->piece_count, region->corner_count == 2) /
                            region->size));
    region->hazard_share = hazard_share(detector, reach, touch_v, region);
    region->worst = 0;
    region->worst_v = 0;
    find_worst(region);
    return region->kind;
}
