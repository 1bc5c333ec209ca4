/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/distribution.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdlib.h>

const char *const pd_spread_names[PD_SPREADS] = {
    [PD_SPREAD_FIXED] = "fixed",       [PD_SPREAD_UNIFORM] = "uniform",
    [PD_SPREAD_NORMAL] = "normal",     [PD_SPREAD_LOGNORMAL] = "lognormal",
    [PD_SPREAD_DISCRETE] = "discrete", [PD_SPREAD_DATA] = "data",
};

void pd_distribution_free(struct pd_distribution *d)
{
    free(d->value);
    free(d->up_to);
    *d = (struct pd_distribution){.kind = PD_SPREAD_FIXED};
}

void pd_spread_rows_free(struct pd_spread_rows *rows)
{
    for (size_t i = 0; i < rows->count; i++)
        pd_distribution_free(&rows->row[i].distribution);
    free(rows->row);
    *rows = (struct pd_spread_rows){0};
}

/* Where a value stands on the standard normal curve. */
static double standard(const struct pd_distribution *d, double value)
{
    if (d->kind == PD_SPREAD_NORMAL)
        return (value - d->centre) / d->wide;
    return value > 0 ? log(value / d->centre) / log(d->wide) : -INFINITY;
}

bool pd_distribution_cut(struct pd_distribution *d)
{
    d->below = gsl_cdf_ugaussian_P(standard(d, d->low));
    d->above = gsl_cdf_ugaussian_P(standard(d, d->high));
    return d->above - d->below >= 1e-9;
}

static double curve_value(const struct pd_distribution *d, double u)
{
    const double z = gsl_cdf_ugaussian_Pinv(d->below + u * (d->above - d->below));
    const double value =
        d->kind == PD_SPREAD_NORMAL ? d->centre + d->wide * z : d->centre * exp(z * log(d->wide));
    return fmin(d->high, fmax(d->low, value)); /* rounding at the ends */
}

static double discrete_value(const struct pd_distribution *d, double u)
{
    size_t i = 0;
    while (i + 1 < d->count && u >= d->up_to[i])
        i++;
    return d->value[i];
}

double pd_distribution_value(const struct pd_distribution *d, double u)
{
    switch (d->kind) {
    case PD_SPREAD_FIXED:
        break;
    case PD_SPREAD_UNIFORM:
        return d->low + u * (d->high - d->low);
    case PD_SPREAD_NORMAL:
    case PD_SPREAD_LOGNORMAL:
        return curve_value(d, u);
    case PD_SPREAD_DISCRETE:
        return discrete_value(d, u);
    case PD_SPREAD_DATA:
        return d->value[(size_t)fmin(u * (double)d->count, (double)(d->count - 1))];
    }
    return d->low;
}
