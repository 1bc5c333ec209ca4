/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "earthing/ground.h"

#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_blas.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>

#include "earthing/segments.h"

static const size_t default_segments = 64;
static const double default_reach_m = 100;
static const double error_most = 0.05, residual_most = 1e-8;

struct pd_ground {
    struct pd_images images;
    struct pd_segments fine;
    double error;
    double reach_m; /* of the settings */
};

/* The corners of the box round all electrodes. */
struct box {
    struct pd_place low, high;
};

static struct box box_of(const struct pd_conductors *conductors)
{
    struct box box = {{INFINITY, INFINITY, INFINITY}, {-INFINITY, -INFINITY, 0}};
    for (size_t i = 0; i < 2 * conductors->count; i++) {
        const struct pd_wire *const c = &conductors->conductor[i / 2];
        const struct pd_place *const end = i % 2 == 0 ? &c->from : &c->to;
        box.low.x_m = fmin(box.low.x_m, end->x_m);
        box.low.y_m = fmin(box.low.y_m, end->y_m);
        box.high.x_m = fmax(box.high.x_m, end->x_m);
        box.high.y_m = fmax(box.high.y_m, end->y_m);
        box.high.z_m = fmax(box.high.z_m, end->z_m);
    }
    return box;
}

/* The farthest that two points with an image between them are, one of them `beyond` the box. */
static double reach_of(const struct pd_conductors *conductors, double beyond_m)
{
    const struct box box = box_of(conductors);
    const double across = hypot(box.high.x_m - box.low.x_m, box.high.y_m - box.low.y_m) + beyond_m;
    return hypot(across, 2 * box.high.z_m);
}

/* Solves with `finer` times as many segments as the settings ask for. */
static enum pd_status solve(struct pd_segments *segments, const struct pd_images *images,
                            const struct pd_conductors *conductors, size_t wanted, size_t finer)
{
    const enum pd_status status =
        pd_segments_cut(segments, conductors, &images->soil, wanted, finer);
    return status == PD_OK ? pd_segments_solve(segments, images) : status;
}

/* The largest change of an entry, over the diagonal. */
static double change(const gsl_matrix *coarse, const gsl_matrix *fine)
{
    double most = 0;
    for (size_t i = 0; i < fine->size1; i++)
        for (size_t j = 0; j < fine->size2; j++) {
            const double size = sqrt(gsl_matrix_get(fine, i, i) * gsl_matrix_get(fine, j, j));
            const double apart =
                fabs(gsl_matrix_get(coarse, i, j) - gsl_matrix_get(fine, i, j)) / size;
            most = apart > most || isnan(apart) ? apart : most;
        }
    return most;
}

static enum pd_status solve_twice(struct pd_ground *ground, const struct pd_conductors *conductors,
                                  size_t wanted)
{
    struct pd_segments coarse = {0};
    struct pd_images near;
    /* between segments fewer images will do than for far places */
    pd_images_prepare(&ground->images.soil, reach_of(conductors, 0), &near);
    enum pd_status status = solve(&coarse, &near, conductors, wanted, 1);
    if (status == PD_OK)
        status = solve(&ground->fine, &near, conductors, wanted, 2);
    if (status == PD_OK)
        ground->error = change(coarse.resistance, ground->fine.resistance);
    pd_segments_free(&coarse);
    return status;
}

static enum pd_status judge(const struct pd_ground *ground, enum pd_status images)
{
    const bool good = ground->error <= error_most && ground->fine.residual <= residual_most;
    return good ? images : PD_DOUBTFUL;
}

enum pd_status pd_ground_solve(const struct pd_conductors *conductors, const struct pd_soil *soil,
                               const struct pd_ground_settings *settings, struct pd_ground **out)
{
    const bool given = settings != NULL;
    const size_t wanted = given && settings->segments > 0 ? settings->segments : default_segments;
    *out = NULL;
    if (conductors->count == 0 || !pd_soil_good(soil))
        return PD_ERR_ARGUMENT;
    struct pd_ground *ground = calloc(1, sizeof *ground);
    if (ground == NULL)
        return PD_ERR_MEMORY;
    ground->reach_m = given && settings->reach_m > 0 ? settings->reach_m : default_reach_m;
    const enum pd_status images =
        pd_images_prepare(soil, reach_of(conductors, ground->reach_m), &ground->images);
    const enum pd_status status = images < 0 ? images : solve_twice(ground, conductors, wanted);
    if (status != PD_OK) {
        pd_ground_free(&ground);
        return status;
    }
    *out = ground;
    return judge(ground, images);
}

void pd_ground_free(struct pd_ground **ground)
{
    if (*ground != NULL)
        pd_segments_free(&(*ground)->fine);
    free(*ground);
    *ground = NULL;
}

size_t pd_ground_electrodes(const struct pd_ground *ground)
{
    return ground->fine.electrodes;
}

const gsl_matrix *pd_ground_resistance(const struct pd_ground *ground)
{
    return ground->fine.resistance;
}

double pd_ground_ohm(const struct pd_ground *ground, size_t electrode)
{
    return electrode < ground->fine.electrodes
               ? gsl_matrix_get(ground->fine.resistance, electrode, electrode)
               : (double)NAN;
}

double pd_ground_error(const struct pd_ground *ground)
{
    return ground->error;
}

double pd_ground_residual(const struct pd_ground *ground)
{
    return ground->fine.residual;
}

double pd_ground_image_bound(const struct pd_ground *ground)
{
    return ground->images.bound;
}

enum pd_status pd_ground_currents(const struct pd_ground *ground, const gsl_vector *potential_v,
                                  gsl_vector *current_a)
{
    const size_t n = ground->fine.electrodes;
    if (potential_v->size != n || current_a->size != n)
        return PD_ERR_ARGUMENT;
    gsl_matrix *const factor = gsl_matrix_alloc(n, n);
    if (factor == NULL)
        return PD_ERR_MEMORY;
    gsl_matrix_memcpy(factor, ground->fine.resistance);
    const bool solved = gsl_linalg_cholesky_decomp1(factor) == GSL_SUCCESS &&
                        gsl_linalg_cholesky_solve(factor, potential_v, current_a) == GSL_SUCCESS;
    gsl_matrix_free(factor);
    if (!solved)
        gsl_vector_set_all(current_a, NAN);
    return solved ? PD_OK : PD_DOUBTFUL;
}

/* The current of a segment for these currents of the electrodes. */
static double segment_a(const struct pd_segments *segments, const gsl_vector *current_a, size_t i)
{
    double sum = 0;
    for (size_t e = 0; e < segments->electrodes; e++)
        sum += gsl_matrix_get(segments->share, i, e) * gsl_vector_get(current_a, e);
    return sum;
}

double pd_ground_potential(const struct pd_ground *ground, const gsl_vector *current_a,
                           const struct pd_place *place)
{
    const struct pd_segments *const fine = &ground->fine;
    if (!(place->z_m >= 0) || current_a->size != fine->electrodes)
        return NAN;
    const bool layered = ground->images.reflection != 0;
    double sum = 0;
    for (size_t i = 0; i < fine->count; i++) {
        const struct pd_segment *const s = &fine->segment[i];
        const double away = hypot(place->x_m - s->from.x_m, place->y_m - s->from.y_m);
        if (layered && hypot(away, place->z_m + s->from.z_m) > ground->images.reach_m)
            return NAN;
        sum += segment_a(fine, current_a, i) * pd_segment_potential(&ground->images, s, place);
    }
    return sum;
}

double pd_ground_touch_v(const struct pd_ground *ground, const gsl_vector *current_a,
                         size_t electrode, const struct pd_place *place)
{
    double own_v = 0;
    if (electrode >= ground->fine.electrodes || current_a->size != ground->fine.electrodes)
        return NAN;
    for (size_t e = 0; e < ground->fine.electrodes; e++)
        own_v +=
            gsl_matrix_get(ground->fine.resistance, electrode, e) * gsl_vector_get(current_a, e);
    return own_v - pd_ground_potential(ground, current_a, place);
}

double pd_ground_step_v(const struct pd_ground *ground, const gsl_vector *current_a,
                        const struct pd_place *place, double dx, double dy)
{
    const struct pd_place other = {place->x_m + dx, place->y_m + dy, place->z_m};
    return pd_ground_potential(ground, current_a, place) -
           pd_ground_potential(ground, current_a, &other);
}

size_t pd_ground_segments(const struct pd_ground *ground)
{
    return ground->fine.count;
}

struct pd_leak pd_ground_leak(const struct pd_ground *ground, const gsl_vector *current_a,
                              size_t segment)
{
    const struct pd_segment *const s = &ground->fine.segment[segment];
    struct pd_leak leak = {s->from, s->to, s->electrode, NAN};
    if (current_a != NULL && current_a->size == ground->fine.electrodes)
        leak.density_a_per_m = segment_a(&ground->fine, current_a, segment) / s->length_m;
    return leak;
}

/* Where the electrode's conductors begin along x: the search starts at its middle and goes out. */
static struct box electrode_box(const struct pd_segments *segments, size_t electrode)
{
    struct box box = {{INFINITY, INFINITY, 0}, {-INFINITY, -INFINITY, 0}};
    for (size_t i = 0; i < segments->count; i++) {
        const struct pd_segment *const s = &segments->segment[i];
        if (s->electrode != electrode)
            continue;
        box.low.x_m = fmin(box.low.x_m, fmin(s->from.x_m, s->to.x_m));
        box.low.y_m = fmin(box.low.y_m, fmin(s->from.y_m, s->to.y_m));
        box.high.x_m = fmax(box.high.x_m, fmax(s->from.x_m, s->to.x_m));
        box.high.y_m = fmax(box.high.y_m, fmax(s->from.y_m, s->to.y_m));
    }
    return box;
}

double pd_ground_separation_m(const struct pd_ground *ground, size_t electrode, double share)
{
    if (electrode >= ground->fine.electrodes || !(share > 0 && share < 1))
        return NAN;
    gsl_vector *const current_a = gsl_vector_calloc(ground->fine.electrodes);
    if (current_a == NULL)
        return NAN;
    gsl_vector_set(current_a, electrode, 1);
    const struct box box = electrode_box(&ground->fine, electrode);
    const double middle_m = (box.low.x_m + box.high.x_m) / 2, edge_m = box.high.x_m - middle_m;
    const double wanted_v = share * pd_ground_ohm(ground, electrode);
    struct pd_place place = {.y_m = (box.low.y_m + box.high.y_m) / 2};
    double near_m = edge_m, far_m = edge_m + ground->reach_m;
    place.x_m = middle_m + far_m;
    const bool found = pd_ground_potential(ground, current_a, &place) <= wanted_v;
    while (found && far_m - near_m > 1e-3) {
        const double half_m = (near_m + far_m) / 2;
        place.x_m = middle_m + half_m;
        if (pd_ground_potential(ground, current_a, &place) <= wanted_v)
            far_m = half_m;
        else
            near_m = half_m;
    }
    gsl_vector_free(current_a);
    return found ? far_m : (double)NAN;
}
