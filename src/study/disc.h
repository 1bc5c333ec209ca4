/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_DISC_H
#define PENDRIFT_STUDY_DISC_H

#include <math.h>

#include "network/phasor.h"

/* Discs of the complex plane: every phasor that a quantity can be. The result of an operation holds
 * every result of members of its arguments (circular arithmetic, textbook). Rounding is covered
 * where a bound is used, by a margin far above it. The room's own. */
struct pd_disc {
    double complex c;
    double r;
};

/* |z| without cabs's care for overflow: volts and amperes are of ordinary size. */
static inline double pd_size(double complex z)
{
    return sqrt(creal(z) * creal(z) + cimag(z) * cimag(z));
}

static inline struct pd_disc pd_disc_at(double complex c, double r)
{
    return (struct pd_disc){c, r};
}

static inline struct pd_disc pd_disc_add(struct pd_disc a, struct pd_disc b)
{
    return (struct pd_disc){a.c + b.c, a.r + b.r};
}

static inline struct pd_disc pd_disc_sub(struct pd_disc a, struct pd_disc b)
{
    return (struct pd_disc){a.c - b.c, a.r + b.r};
}

/* By a number whose size is given, so that it need not be found again. */
static inline struct pd_disc pd_disc_by(struct pd_disc a, double complex z, double size)
{
    return (struct pd_disc){a.c * z, a.r * size};
}

static inline struct pd_disc pd_disc_mul(struct pd_disc a, struct pd_disc b)
{
    const double p = pd_size(a.c), q = pd_size(b.c);
    return (struct pd_disc){a.c * b.c, p * b.r + q * a.r + a.r * b.r};
}

/* By every number from low to high: |t x - mid c| <= |t - mid| |c| + |t| r. */
static inline struct pd_disc pd_disc_range(struct pd_disc a, double low, double high)
{
    const double middle = (low + high) / 2;
    const double spread = high > low ? (high - low) / 2 * pd_size(a.c) : 0;
    return (struct pd_disc){middle * a.c, fmax(fabs(low), fabs(high)) * a.r + spread};
}

/* The largest size of a member, and the least. */
static inline double pd_disc_most(struct pd_disc a)
{
    return pd_size(a.c) + a.r;
}

static inline double pd_disc_least(struct pd_disc a)
{
    return fmax(0, pd_size(a.c) - a.r);
}

/* Half the angle under which the origin sees the disc; pi where it lies inside. */
static inline double pd_disc_half_angle(struct pd_disc a)
{
    const double size = pd_size(a.c);
    return a.r < size ? asin(a.r / size) : M_PI;
}

#endif
