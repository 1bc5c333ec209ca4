/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "earthing/mutual.h"

#include <math.h>
#include <stdlib.h>

#include "earthing/ground.h"
#include "table/names.h"

static const double reach_m = 500;

/* An electrode as its neighbours see it. */
struct party {
    double dry_ohm;
    double x_m, y_m;
    bool placed;
    size_t shaped; /* its number in the ground; PD_NONE without a shape */
    double dry_ohm_m;
};

struct pd_mutual {
    struct party *party;
    size_t count;
    struct pd_ground *ground; /* of those with shape and place; NULL where there are none */
    gsl_matrix *resistance;
};

/* One with a shape goes into the ground. */
static enum pd_status lay(const struct pd_electrode *electrode, struct party *party,
                          struct pd_conductors *conductors)
{
    if (!electrode->shaped || !party->placed)
        return PD_OK;
    party->shaped = conductors->electrodes;
    return pd_conductors_add_shape(conductors, electrode->shape, &electrode->size, party->x_m,
                                   party->y_m, party->shaped);
}

static struct party party_of(const struct pd_electrode *electrode, const struct pd_soil *soil)
{
    double now_ohm_m = electrode->size.soil_ohm_m;
    if (!(now_ohm_m > 0))
        now_ohm_m = soil != NULL ? soil->upper_ohm_m : (double)NAN;
    return (struct party){.dry_ohm = pd_electrode_dry(electrode),
                          .x_m = electrode->x_m,
                          .y_m = electrode->y_m,
                          .placed = isfinite(electrode->x_m) && isfinite(electrode->y_m),
                          .shaped = PD_NONE,
                          .dry_ohm_m = now_ohm_m * electrode->season_factor};
}

static double share_at(const struct pd_mutual *mutual, size_t shaped, const struct pd_place *place)
{
    gsl_vector *const current_a = gsl_vector_calloc(pd_ground_electrodes(mutual->ground));
    if (current_a == NULL)
        return NAN;
    gsl_vector_set(current_a, shaped, 1);
    const double ohm = pd_ground_potential(mutual->ground, current_a, place);
    gsl_vector_free(current_a);
    return ohm / pd_ground_ohm(mutual->ground, shaped);
}

static double radius_m(const struct party *party)
{
    return party->dry_ohm_m / (2 * M_PI * party->dry_ohm);
}

/* One with a shape, and a half ball elsewhere. */
static double mixed(const struct pd_mutual *mutual, const struct party *shaped,
                    const struct party *ball)
{
    const struct pd_place place = {ball->x_m, ball->y_m, 0};
    return shaped->dry_ohm * share_at(mutual, shaped->shaped, &place);
}

static double between(const struct pd_mutual *mutual, const struct party *a, const struct party *b)
{
    if (!a->placed || !b->placed)
        return isfinite(a->dry_ohm) && isfinite(b->dry_ohm) ? 0 : (double)NAN;
    if (a->shaped != PD_NONE && b->shaped != PD_NONE) {
        const gsl_matrix *const r = pd_ground_resistance(mutual->ground);
        const double k =
            gsl_matrix_get(r, a->shaped, b->shaped) /
            sqrt(gsl_matrix_get(r, a->shaped, a->shaped) * gsl_matrix_get(r, b->shaped, b->shaped));
        return k * sqrt(a->dry_ohm * b->dry_ohm);
    }
    if (a->shaped != PD_NONE)
        return mixed(mutual, a, b);
    if (b->shaped != PD_NONE)
        return mixed(mutual, b, a);
    const double s = hypot(a->x_m - b->x_m, a->y_m - b->y_m);
    const double ohm = sqrt(a->dry_ohm_m * b->dry_ohm_m) / (2 * M_PI * s);
    return s > radius_m(a) + radius_m(b) ? ohm : (double)NAN; /* NaN compares false */
}

static enum pd_status fill(struct pd_mutual *mutual)
{
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < mutual->count; i++)
        for (size_t j = 0; j <= i; j++) {
            const struct party *const a = &mutual->party[i], *const b = &mutual->party[j];
            const double most = sqrt(a->dry_ohm * b->dry_ohm);
            double ohm = i == j ? a->dry_ohm : between(mutual, a, b);
            if (!(ohm <= most) || (i != j && !(ohm < most)))
                ohm = NAN; /* no two electrodes have more in common than themselves */
            gsl_matrix_set(mutual->resistance, i, j, ohm);
            gsl_matrix_set(mutual->resistance, j, i, ohm);
            status = isfinite(ohm) ? status : PD_DOUBTFUL;
        }
    return status;
}

/* Places, shapes and the ground of those that have both. */
static enum pd_status prepare(struct pd_mutual *mutual, const struct pd_electrodes *electrodes,
                              const struct pd_soil *soil)
{
    struct pd_conductors conductors = {0};
    const struct pd_soil ground = soil != NULL ? *soil : pd_soil_uniform(100);
    const struct pd_ground_settings settings = {.reach_m = reach_m};
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < mutual->count && status == PD_OK; i++) {
        mutual->party[i] = party_of(&electrodes->electrode[i], soil);
        status = lay(&electrodes->electrode[i], &mutual->party[i], &conductors);
    }
    if (status == PD_OK && conductors.count > 0)
        status = pd_ground_solve(&conductors, &ground, &settings, &mutual->ground);
    pd_conductors_free(&conductors);
    return status;
}

enum pd_status pd_mutual_new(const struct pd_electrodes *electrodes, const struct pd_soil *soil,
                             struct pd_mutual **out)
{
    *out = NULL;
    if (electrodes->count == 0)
        return PD_ERR_ARGUMENT;
    struct pd_mutual *mutual = calloc(1, sizeof *mutual);
    if (mutual == NULL)
        return PD_ERR_MEMORY;
    mutual->count = electrodes->count;
    mutual->party = calloc(mutual->count, sizeof *mutual->party);
    mutual->resistance = gsl_matrix_alloc(mutual->count, mutual->count);
    const bool room = mutual->party != NULL && mutual->resistance != NULL;
    const enum pd_status status = room ? prepare(mutual, electrodes, soil) : PD_ERR_MEMORY;
    if (status < 0) {
        pd_mutual_free(&mutual);
        return status;
    }
    const enum pd_status filled = fill(mutual);
    *out = mutual;
    return status == PD_OK ? filled : status;
}

void pd_mutual_free(struct pd_mutual **mutual)
{
    if (*mutual == NULL)
        return;
    pd_ground_free(&(*mutual)->ground);
    gsl_matrix_free((*mutual)->resistance);
    free((*mutual)->party);
    free(*mutual);
    *mutual = NULL;
}

const gsl_matrix *pd_mutual_resistance(const struct pd_mutual *mutual)
{
    return mutual->resistance;
}

enum pd_status pd_electrodes_resistance_matrix(const struct pd_electrodes *electrodes,
                                               const struct pd_soil *soil, gsl_matrix **out)
{
    struct pd_mutual *mutual;
    *out = NULL;
    const enum pd_status status = pd_mutual_new(electrodes, soil, &mutual);
    if (mutual != NULL) {
        *out = mutual->resistance;
        mutual->resistance = NULL;
    }
    pd_mutual_free(&mutual);
    return status;
}

static double transfer(const struct pd_mutual *mutual, const struct party *party,
                       const struct pd_place *place)
{
    if (!party->placed)
        return isfinite(party->dry_ohm) ? 0 : (double)NAN;
    if (party->shaped != PD_NONE)
        return party->dry_ohm * share_at(mutual, party->shaped, place);
    const double s = sqrt(pow(place->x_m - party->x_m, 2) + pow(place->y_m - party->y_m, 2) +
                          place->z_m * place->z_m);
    const double ohm = party->dry_ohm_m / (2 * M_PI * s);
    return ohm > party->dry_ohm ? party->dry_ohm : ohm; /* within the ball it is the ball's own */
}

enum pd_status pd_mutual_transfer(const struct pd_mutual *mutual, const struct pd_place *place,
                                  gsl_vector *ohm)
{
    enum pd_status status = PD_OK;
    if (ohm->size != mutual->count)
        return PD_ERR_ARGUMENT;
    for (size_t i = 0; i < mutual->count; i++) {
        const double at = transfer(mutual, &mutual->party[i], place);
        gsl_vector_set(ohm, i, at);
        status = isfinite(at) ? status : PD_DOUBTFUL;
    }
    return status;
}
