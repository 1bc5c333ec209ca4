/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "earthing/segments.h"

#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_blas.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>

#include "earthing/ground.h"
#include "table/grow.h"

static double distance(const struct pd_place *a, const struct pd_place *b)
{
    return sqrt((a->x_m - b->x_m) * (a->x_m - b->x_m) + (a->y_m - b->y_m) * (a->y_m - b->y_m) +
                (a->z_m - b->z_m) * (a->z_m - b->z_m));
}

static struct pd_place between(const struct pd_place *a, const struct pd_place *b, double share)
{
    return (struct pd_place){a->x_m + share * (b->x_m - a->x_m), a->y_m + share * (b->y_m - a->y_m),
                             a->z_m + share * (b->z_m - a->z_m)};
}

static enum pd_status append(struct pd_segments *segments, const struct pd_segment *segment)
{
    if (segments->count >= PD_SEGMENTS_MOST)
        return PD_ERR_ARGUMENT;
    struct pd_segment *const larger = pd_grow(segments->segment, segments->count, sizeof *larger);
    if (larger == NULL)
        return PD_ERR_MEMORY;
    segments->segment = larger;
    larger[segments->count++] = *segment;
    return PD_OK;
}

/* A stretch of one conductor that lies in one layer. */
static enum pd_status cut_stretch(struct pd_segments *segments, const struct pd_wire *whole,
                                  const struct pd_soil *soil, double target_m, size_t finer)
{
    const double length_m = distance(&whole->from, &whole->to);
    const double most = fmax(floor(length_m / (2 * whole->radius_m)), 1);
    const double parts =
        fmin(fmax(ceil(length_m / target_m - 1e-9), 1) * (double)finer, fmax(most, (double)finer));
    enum pd_status status = PD_OK;
    for (double i = 0; i < parts && status == PD_OK; i++) {
        struct pd_segment segment = {.from = between(&whole->from, &whole->to, i / parts),
                                     .to = between(&whole->from, &whole->to, (i + 1) / parts),
                                     .length_m = length_m / parts,
                                     .radius_m = whole->radius_m,
                                     .electrode = whole->electrode};
        segment.layer = pd_soil_layer(soil, (segment.from.z_m + segment.to.z_m) / 2);
        status = append(segments, &segment);
    }
    return status;
}

/* Where the conductor goes through the boundary, as a share of its length; 1 where it does not. */
static double crossing(const struct pd_wire *c, const struct pd_soil *soil)
{
    const double rise = c->to.z_m - c->from.z_m;
    if (!pd_soil_layered(soil) || rise == 0)
        return 1;
    const double share = (soil->upper_m - c->from.z_m) / rise;
    return share > 1e-6 && share < 1 - 1e-6 ? share : 1;
}

enum pd_status pd_segments_cut(struct pd_segments *segments, const struct pd_conductors *conductors,
                               const struct pd_soil *soil, size_t wanted, size_t finer)
{
    double total_m = 0;
    for (size_t i = 0; i < conductors->count; i++)
        total_m += distance(&conductors->conductor[i].from, &conductors->conductor[i].to);
    const double target_m = total_m / (double)wanted;
    enum pd_status status = PD_OK;
    segments->electrodes = conductors->electrodes;
    for (size_t i = 0; i < conductors->count && status == PD_OK; i++) {
        struct pd_wire first = conductors->conductor[i], second = first;
        const double share = crossing(&first, soil);
        if (share < 1) {
            first.to = second.from = between(&first.from, &first.to, share);
            status = cut_stretch(segments, &second, soil, target_m, finer);
        }
        if (status == PD_OK)
            status = cut_stretch(segments, &first, soil, target_m, finer);
    }
    return status;
}

static void fill(const struct pd_segments *segments, const struct pd_images *images,
                 gsl_matrix *mutual)
{
    for (size_t i = 0; i < segments->count; i++)
        for (size_t j = 0; j <= i; j++) {
            const double ohm =
                pd_segment_mutual(images, &segments->segment[j], &segments->segment[i]);
            gsl_matrix_set(mutual, i, j, ohm);
            gsl_matrix_set(mutual, j, i, ohm);
        }
}

/* Whether no two segments lie in one another: those have all in common that they have themselves,
 * and the matrix has no solution. GSL would say so too, through its error handler. */
static bool is_apart(const gsl_matrix *mutual)
{
    for (size_t i = 0; i < mutual->size1; i++)
        for (size_t j = 0; j < i; j++) {
            const double both = gsl_matrix_get(mutual, i, j);
            const double own = gsl_matrix_get(mutual, i, i) * gsl_matrix_get(mutual, j, j);
            if (!(both * both < own * (1 - 1e-9)))
                return false;
        }
    return true;
}

/* Currents of the segments that put electrode e at 1 V and the others at 0 V, into column e of
 * `share`. False where the equations are not solved. `residual` is room. */
static bool solve_column(struct pd_segments *segments, const gsl_matrix *mutual,
                         const gsl_matrix *factor, gsl_vector *residual, size_t e)
{
    gsl_vector_view column = gsl_matrix_column(segments->share, e);
    for (size_t i = 0; i < segments->count; i++)
        gsl_vector_set(&column.vector, i, segments->segment[i].electrode == e);
    gsl_vector_memcpy(residual, &column.vector);
    if (gsl_linalg_cholesky_svx(factor, &column.vector) != GSL_SUCCESS)
        return false;
    gsl_blas_dgemv(CblasNoTrans, -1, mutual, &column.vector, 1, residual);
    const double size = fabs(gsl_vector_get(residual, gsl_blas_idamax(residual)));
    segments->residual = fmax(segments->residual, size);
    return isfinite(size);
}

/* Conductances of the electrodes, turned into resistances in place. */
static bool find_resistance(struct pd_segments *segments)
{
    gsl_matrix *const r = segments->resistance;
    gsl_matrix_set_zero(r);
    for (size_t i = 0; i < segments->count; i++)
        for (size_t e = 0; e < segments->electrodes; e++)
            *gsl_matrix_ptr(r, segments->segment[i].electrode, e) +=
                gsl_matrix_get(segments->share, i, e);
    for (size_t i = 0; i < r->size1; i++) {
        if (!(gsl_matrix_get(r, i, i) > 0))
            return false; /* an electrode without metal */
        for (size_t j = 0; j < i; j++) {
            const double mean = (gsl_matrix_get(r, i, j) + gsl_matrix_get(r, j, i)) / 2;
            gsl_matrix_set(r, i, j, mean);
            gsl_matrix_set(r, j, i, mean);
        }
    }
    return gsl_linalg_cholesky_decomp1(r) == GSL_SUCCESS &&
           gsl_linalg_cholesky_invert(r) == GSL_SUCCESS;
}

/* From currents for a volt to currents for an ampere: share R, row by row. `row` is room. */
static void find_share(struct pd_segments *segments, gsl_vector *row)
{
    for (size_t i = 0; i < segments->count; i++) {
        gsl_vector_view own = gsl_matrix_row(segments->share, i);
        gsl_blas_dgemv(CblasTrans, 1, segments->resistance, &own.vector, 0, row);
        gsl_vector_memcpy(&own.vector, row);
    }
}

static bool solve_all(struct pd_segments *segments, const gsl_matrix *mutual, gsl_matrix *factor,
                      gsl_vector *room, gsl_vector *row)
{
    if (!is_apart(mutual))
        return false;
    gsl_matrix_memcpy(factor, mutual);
    bool solved = gsl_linalg_cholesky_decomp1(factor) == GSL_SUCCESS;
    for (size_t e = 0; e < segments->electrodes && solved; e++)
        solved = solve_column(segments, mutual, factor, room, e);
    if (!solved || !find_resistance(segments))
        return false;
    find_share(segments, row);
    return true;
}

enum pd_status pd_segments_solve(struct pd_segments *segments, const struct pd_images *images)
{
    const size_t n = segments->count, electrodes = segments->electrodes;
    if (n == 0 || electrodes == 0)
        return PD_ERR_ARGUMENT;
    segments->share = gsl_matrix_alloc(n, electrodes);
    segments->resistance = gsl_matrix_alloc(electrodes, electrodes);
    gsl_matrix *const mutual = gsl_matrix_alloc(n, n), *const factor = gsl_matrix_alloc(n, n);
    gsl_vector *const room = gsl_vector_alloc(n), *const row = gsl_vector_alloc(electrodes);
    enum pd_status status = PD_ERR_MEMORY;
    if (segments->share != NULL && segments->resistance != NULL && mutual != NULL &&
        factor != NULL && room != NULL && row != NULL) {
        fill(segments, images, mutual);
        status = solve_all(segments, mutual, factor, room, row) ? PD_OK : PD_ERR_ARGUMENT;
    }
    gsl_vector_free(row);
    gsl_vector_free(room);
    gsl_matrix_free(factor);
    gsl_matrix_free(mutual);
    return status;
}

void pd_segments_free(struct pd_segments *segments)
{
    gsl_matrix_free(segments->share);
    gsl_matrix_free(segments->resistance);
    free(segments->segment);
    *segments = (struct pd_segments){0};
}
