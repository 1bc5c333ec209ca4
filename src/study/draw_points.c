/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <gsl/gsl_qrng.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "study/draws.h"
#include "study/manage.h"

/* gsl_qrng_sobol has 30 binary digits. */
enum { DIGITS = 30 };

struct pd_draw_points {
    const struct pd_draws *draws;
    gsl_qrng *sobol; /* NULL where nothing is Sobol's */
    uint32_t *shift; /* [sobol] */
    double *point;   /* [count] */
    double *factor;  /* [load_count of the case] power factors, NaN where not drawn */
    double *ohm;     /* [electrodes] */
    double *season;
    uint64_t stream;
    uint64_t trial;
};

/* splitmix64's output function: a bijection that mixes well. */
static uint64_t mix(uint64_t z)
{
    z += 0x9e3779b97f4a7c15u;
    z = (z ^ z >> 30) * 0xbf58476d1ce4e5b9u;
    z = (z ^ z >> 27) * 0x94d049bb133111ebu;
    return z ^ z >> 31;
}

enum pd_status pd_draw_points_new(const struct pd_draws *draws, size_t replicate,
                                  struct pd_draw_points **out)
{
    const struct pd_case *const c = draws->study_case;
    struct pd_draw_points *const p = *out = calloc(1, sizeof *p);
    if (p == NULL)
        return PD_ERR_MEMORY;
    p->draws = draws;
    p->stream = mix(mix(draws->seed) + replicate);
    p->shift = calloc(draws->sobol + 1, sizeof *p->shift);
    p->point = calloc(draws->count + 1, sizeof *p->point);
    p->factor = calloc(c->network->load_count + 1, sizeof *p->factor);
    p->ohm = calloc(c->electrodes.count + 1, sizeof *p->ohm);
    p->season = calloc(c->electrodes.count + 1, sizeof *p->season);
    if (draws->sobol > 0)
        p->sobol = gsl_qrng_alloc(gsl_qrng_sobol, (unsigned)draws->sobol);
    if (p->shift == NULL || p->point == NULL || p->factor == NULL || p->ohm == NULL ||
        p->season == NULL || (draws->sobol > 0 && p->sobol == NULL)) {
        pd_draw_points_free(out);
        return PD_ERR_MEMORY;
    }
    for (size_t i = 0; i < draws->sobol; i++)
        p->shift[i] = (uint32_t)(mix(p->stream + i) >> (64 - DIGITS));
    return PD_OK;
}

void pd_draw_points_free(struct pd_draw_points **points)
{
    struct pd_draw_points *const p = *points;
    if (p == NULL)
        return;
    if (p->sobol != NULL)
        gsl_qrng_free(p->sobol);
    free(p->shift);
    free(p->point);
    free(p->factor);
    free(p->ohm);
    free(p->season);
    free(p);
    *points = NULL;
}

/* The coordinates of this trial, each above 0 and below 1. GSL leaves out the sequence's first
 * point, the origin, without which a net is none: it is put back. */
static void next_point(struct pd_draw_points *p)
{
    const struct pd_draws *const d = p->draws;
    const double unit = 1.0 / (1 << DIGITS);
    if (p->sobol != NULL && p->trial > 0)
        gsl_qrng_get(p->sobol, p->point);
    for (size_t i = 0; i < d->sobol; i++) {
        const uint32_t digits = p->trial > 0 ? (uint32_t)(p->point[i] * (1 << DIGITS)) : 0;
        p->point[i] = ((digits ^ p->shift[i]) + 0.5) * unit;
    }
    for (size_t i = d->sobol; i < d->spread; i++)
        p->point[i] = ((double)(mix(mix(p->stream ^ mix(p->trial)) + i) >> 12) + 0.5) * 0x1p-52;
    p->trial++;
}

/* Ampere of each of a load's elements for each kW, at its power factor of this trial. */
static double amps_per_kw(const struct pd_draw_points *p, size_t load)
{
    const struct pd_network *const network = p->draws->study_case->network;
    const struct pd_load *const l = &network->load[load];
    const double factor = isnan(p->factor[load]) ? l->power_factor : p->factor[load];
    return pd_phase_current(l->phase, network->system, network->nominal_v, 1, factor);
}

static void take_values(struct pd_draw_points *p, double *load_a, double *supply_v)
{
    const struct pd_draws *const d = p->draws;
    for (size_t i = 0; i < d->count; i++) {
        const struct pd_draw_one *const one = &d->one[i];
        const double value = pd_distribution_value(&one->distribution, p->point[i]);
        switch (one->kind) {
        case PD_DRAW_AMPS:
        case PD_DRAW_POWER: /* made ampere when the power factor is known */
            load_a[one->which] = value;
            break;
        case PD_DRAW_FACTOR:
            p->factor[one->which] = value;
            break;
        case PD_DRAW_OHM:
            p->ohm[one->which] = value;
            break;
        case PD_DRAW_SEASON:
            p->season[one->which] = value;
            break;
        case PD_DRAW_SUPPLY:
            *supply_v = value;
            break;
        }
    }
    for (size_t i = 0; i < d->count; i++)
        if (d->one[i].kind == PD_DRAW_POWER)
            load_a[d->one[i].which] *= amps_per_kw(p, d->one[i].which);
}

/* A load at a power factor, as its parts: with s = sin phi over that of the reactive part,
 * cos phi - j sin phi = (cos phi - 0.05 s) + s (0.05 - j sin phi'), and with +j for a leading one.
 */
static void split(const struct pd_draw_points *p, const struct pd_draw_parts *parts, double *load_a)
{
    const double least = p->draws->study_case->network->load[parts->lagging].power_factor;
    const double factor = p->factor[parts->load], cosine = fabs(factor);
    const double s = sqrt((1 - cosine) * (1 + cosine)) / sqrt((1 - least) * (1 + least));
    const double amps = load_a[parts->load];
    load_a[parts->load] = amps * fmax(0, cosine - least * s);
    load_a[parts->lagging] = factor > 0 ? amps * s : 0;
    load_a[parts->leading] = factor > 0 ? 0 : amps * s;
}

enum pd_status pd_draw_next(struct pd_draw_points *p, double *load_a, double *supply_v,
                            double *tie_ohm)
{
    const struct pd_draws *const d = p->draws;
    const struct pd_case *const c = d->study_case;
    for (size_t i = 0; i < c->network->load_count; i++) {
        p->factor[i] = NAN;
        load_a[i] = 0;
    }
    for (size_t i = 0; i < c->electrodes.count; i++) {
        p->ohm[i] = c->electrodes.electrode[i].resistance_ohm;
        p->season[i] = c->electrodes.electrode[i].season_factor;
    }
    next_point(p);
    take_values(p, load_a, supply_v);
    for (size_t i = 0; i < d->part_count; i++)
        split(p, &d->parts[i], load_a);
    for (size_t i = 0; i < c->electrodes.count; i++)
        tie_ohm[i] = p->ohm[i] * p->season[i];
    return pd_manage(c, load_a);
}
