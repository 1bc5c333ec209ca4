/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "earthing/conductors.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "table/grow.h"

enum { RING_SIDES = 32, PLATE_WIRES = 10, SIDE_WIRES = 6, SHEET_WIRES_MOST = 12 };

static bool is_place(const struct pd_place *place)
{
    return isfinite(place->x_m) && isfinite(place->y_m) && isfinite(place->z_m) && place->z_m >= 0;
}

static bool same(const struct pd_place *a, const struct pd_place *b)
{
    return fabs(a->x_m - b->x_m) + fabs(a->y_m - b->y_m) + fabs(a->z_m - b->z_m) < 1e-9;
}

enum pd_status pd_conductors_add(struct pd_conductors *conductors, const struct pd_wire *conductor)
{
    if (!is_place(&conductor->from) || !is_place(&conductor->to) ||
        !(conductor->radius_m > 0 && isfinite(conductor->radius_m)) ||
        same(&conductor->from, &conductor->to))
        return PD_ERR_ARGUMENT;
    struct pd_wire *const larger =
        pd_grow(conductors->conductor, conductors->count, sizeof *larger);
    if (larger == NULL)
        return PD_ERR_MEMORY;
    conductors->conductor = larger;
    larger[conductors->count++] = *conductor;
    if (conductor->electrode >= conductors->electrodes)
        conductors->electrodes = conductor->electrode + 1;
    return PD_OK;
}

void pd_conductors_free(struct pd_conductors *conductors)
{
    free(conductors->conductor);
    *conductors = (struct pd_conductors){0};
}

/* A shape being laid. The first failure stays. */
struct laying {
    struct pd_conductors *conductors;
    size_t first; /* of this shape's conductors */
    double x_m, y_m, radius_m;
    size_t electrode;
    enum pd_status status;
};

static void lay(struct laying *laying, struct pd_place from, struct pd_place to)
{
    const struct pd_wire conductor = {
        .from = {laying->x_m + from.x_m, laying->y_m + from.y_m, from.z_m},
        .to = {laying->x_m + to.x_m, laying->y_m + to.y_m, to.z_m},
        .radius_m = laying->radius_m,
        .electrode = laying->electrode};
    if (laying->status == PD_OK)
        laying->status = pd_conductors_add(laying->conductors, &conductor);
}

static struct pd_place along(struct pd_place corner, struct pd_place u, double s, struct pd_place v,
                             double t)
{
    return (struct pd_place){corner.x_m + s * u.x_m + t * v.x_m, corner.y_m + s * u.y_m + t * v.y_m,
                             corner.z_m + s * u.z_m + t * v.z_m};
}

static double length_of(struct pd_place v)
{
    return sqrt(v.x_m * v.x_m + v.y_m * v.y_m + v.z_m * v.z_m);
}

/* `wires` wires along u, side by side along v, each in the middle of the strip that it stands for,
 * from edge to edge, cut where `cuts` others cross. */
static void lay_wires(struct laying *laying, struct pd_place corner, struct pd_place u,
                      struct pd_place v, int wires, int cuts)
{
    laying->radius_m = length_of(v) / wires / (2 * M_PI);
    for (int i = 0; i < wires; i++)
        for (int j = 0; j <= cuts; j++) {
            const double across = (i + 0.5) / wires;
            const double from = fmax(j - 0.5, 0) / cuts, to = fmin(j + 0.5, cuts) / cuts;
            lay(laying, along(corner, u, from, v, across), along(corner, u, to, v, across));
        }
}

/* A sheet from a corner along u and v. One that is narrow is a strip: wires along it are enough. */
static void lay_sheet(struct laying *laying, struct pd_place corner, struct pd_place u,
                      struct pd_place v, double spacing_m)
{
    const int along_u = (int)fmin(fmax(round(length_of(v) / spacing_m), 1), SHEET_WIRES_MOST);
    const int along_v = (int)fmin(fmax(round(length_of(u) / spacing_m), 1), SHEET_WIRES_MOST);
    lay_wires(laying, corner, u, v, along_u, along_v);
    if (along_u > 1)
        lay_wires(laying, corner, v, u, along_v, along_u);
}

static void lay_rod(struct laying *laying, const struct pd_shape_size *size, double x_m, double y_m)
{
    const double top_m = size->depth_m > 0 ? size->depth_m : 0;
    lay(laying, (struct pd_place){x_m, y_m, top_m},
        (struct pd_place){x_m, y_m, top_m + size->length_m});
}

static void lay_line(struct laying *laying, const struct pd_shape_size *size)
{
    const double s = size->count > 1 ? size->spacing_m : 0, middle = ((double)size->count - 1) / 2;
    for (size_t i = 0; i < size->count; i++)
        lay_rod(laying, size, ((double)i - middle) * s, 0);
}

static void lay_square(struct laying *laying, const struct pd_shape_size *size)
{
    const size_t side = size->count / 4;
    const double s = size->spacing_m, half = (double)side * s / 2;
    for (size_t i = 0; i < side; i++) {
        const double at = (double)i * s - half;
        lay_rod(laying, size, at, -half);
        lay_rod(laying, size, half, at);
        lay_rod(laying, size, -at, half);
        lay_rod(laying, size, -half, -at);
    }
}

static void lay_ring(struct laying *laying, const struct pd_shape_size *size)
{
    const double turn = 2 * M_PI / RING_SIDES, h = size->depth_m;
    const double r = M_PI * size->length_m / RING_SIDES / (2 * sin(turn / 2));
    for (int i = 0; i < RING_SIDES; i++)
        lay(laying, (struct pd_place){r * cos(i * turn), r * sin(i * turn), h},
            (struct pd_place){r * cos((i + 1) * turn), r * sin((i + 1) * turn), h});
}

static void lay_plate(struct laying *laying, const struct pd_shape_size *size)
{
    const double l = size->length_m, h = size->depth_m > 0 ? size->depth_m : 0;
    lay_sheet(laying, (struct pd_place){-l / 2, -l / 2, h}, (struct pd_place){l, 0, 0},
              (struct pd_place){0, l, 0}, l / PLATE_WIRES);
}

static void lay_foundation(struct laying *laying, const struct pd_shape_size *size)
{
    const double l = size->length_m, h = size->depth_m;
    const struct pd_place x = {l, 0, 0}, y = {0, l, 0}, up = {0, 0, -h};
    const struct pd_place corner = {-l / 2, -l / 2, h};
    const struct pd_place far_x = {l / 2, -l / 2, h}, far_y = {-l / 2, l / 2, h};
    lay_sheet(laying, corner, x, y, l / SIDE_WIRES);
    lay_sheet(laying, corner, x, up, l / SIDE_WIRES);
    lay_sheet(laying, corner, y, up, l / SIDE_WIRES);
    lay_sheet(laying, far_x, y, up, l / SIDE_WIRES);
    lay_sheet(laying, far_y, x, up, l / SIDE_WIRES);
}

/* Whether the sizes that the shape's wires are made from are there. */
static bool is_usable(enum pd_shape shape, const struct pd_shape_size *size)
{
    const bool solid = shape == PD_PLATE || shape == PD_FOUNDATION;
    const bool rods = shape == PD_ROD || shape == PD_SQUARE;
    if (!(size->length_m > 0) || (!solid && !(size->diameter_m > 0)))
        return false;
    if (!solid && size->diameter_m > size->length_m / 10)
        return false; /* no thin wire */
    if (!rods && shape != PD_PLATE && !(size->depth_m > 0))
        return false;
    if (rods && (size->count < 1 || (size->count > 1 && !(size->spacing_m > size->diameter_m))))
        return false;
    return shape != PD_SQUARE || (size->count >= 4 && size->count % 4 == 0);
}

static void lay_shape(struct laying *laying, enum pd_shape shape, const struct pd_shape_size *size)
{
    const double l = size->length_m, h = size->depth_m;
    switch (shape) {
    case PD_ROD:
        lay_line(laying, size);
        break;
    case PD_SQUARE:
        lay_square(laying, size);
        break;
    case PD_STRIP:
        laying->radius_m = size->diameter_m / 4;
        lay(laying, (struct pd_place){-l / 2, 0, h}, (struct pd_place){l / 2, 0, h});
        break;
    case PD_WIRE:
        lay(laying, (struct pd_place){-l / 2, 0, h}, (struct pd_place){l / 2, 0, h});
        break;
    case PD_RING:
        lay_ring(laying, size);
        break;
    case PD_PLATE:
        lay_plate(laying, size);
        break;
    case PD_FOUNDATION:
        lay_foundation(laying, size);
        break;
    }
}

enum pd_status pd_conductors_add_shape(struct pd_conductors *conductors, enum pd_shape shape,
                                       const struct pd_shape_size *size, double x_m, double y_m,
                                       size_t electrode)
{
    struct laying laying = {.conductors = conductors,
                            .first = conductors->count,
                            .x_m = x_m,
                            .y_m = y_m,
                            .radius_m = size->diameter_m / 2,
                            .electrode = electrode};
    if (!is_usable(shape, size))
        return PD_ERR_ARGUMENT;
    lay_shape(&laying, shape, size);
    if (laying.status != PD_OK)
        conductors->count = laying.first;
    return laying.status;
}
