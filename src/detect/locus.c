/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "detect/locus.h"

#include <math.h>

struct pd_locus pd_locus_through(double complex a, double complex b)
{
    return (struct pd_locus){.line = true, .at = a, .way = b - a};
}

struct pd_locus pd_locus_circle(double complex centre, double radius)
{
    return (struct pd_locus){.at = centre, .radius = radius};
}

/* |q - a|^2 = k^2 |q - b|^2 is, where k is not 1, |q - m|^2 = R^2 with m = (a - k^2 b) / (1 - k^2)
 * and R = k |a - b| / |1 - k^2|. */
struct pd_locus pd_locus_ratio(double complex a, double complex b, double ratio)
{
    const double square = ratio * ratio;
    if (fabs(1 - square) < 1e-12)
        return (struct pd_locus){.line = true, .at = (a + b) / 2, .way = (b - a) * I};
    return pd_locus_circle((a - square * b) / (1 - square), ratio * cabs(a - b) / fabs(1 - square));
}

static double cross(double complex a, double complex b)
{
    return creal(a) * cimag(b) - cimag(a) * creal(b);
}

static double dot(double complex a, double complex b)
{
    return creal(a) * creal(b) + cimag(a) * cimag(b);
}

static size_t meet_lines(const struct pd_locus *a, const struct pd_locus *b, double complex *point)
{
    const double sine = cross(a->way, b->way);
    if (fabs(sine) <= 1e-12 * cabs(a->way) * cabs(b->way))
        return 0;
    *point = a->at + a->way * (cross(b->at - a->at, b->way) / sine);
    return 1;
}

static size_t meet_circle(const struct pd_locus *line, const struct pd_locus *circle,
                          double complex point[2])
{
    const double complex unit = line->way / cabs(line->way);
    const double complex foot = line->at + unit * dot(circle->at - line->at, unit);
    const double away = cabs(foot - circle->at);
    if (away > circle->radius)
        return 0;
    const double half = sqrt((circle->radius - away) * (circle->radius + away));
    point[0] = foot - half * unit;
    point[1] = foot + half * unit;
    return half > 0 ? 2 : 1;
}

/* Both circles meet their radical line, on which |q - a|^2 - Ra^2 = |q - b|^2 - Rb^2. */
static size_t meet_circles(const struct pd_locus *a, const struct pd_locus *b,
                           double complex point[2])
{
    const double apart = cabs(b->at - a->at);
    if (apart <= 1e-12 * (a->radius + b->radius))
        return 0;
    const double along =
        (apart * apart + (a->radius - b->radius) * (a->radius + b->radius)) / (2 * apart);
    const double complex unit = (b->at - a->at) / apart;
    const struct pd_locus radical = {.line = true, .at = a->at + along * unit, .way = unit * I};
    return meet_circle(&radical, a, point);
}

size_t pd_locus_meet(const struct pd_locus *a, const struct pd_locus *b, double complex point[2])
{
    if (a->line && b->line)
        return meet_lines(a, b, point);
    if (a->line)
        return meet_circle(a, b, point);
    if (b->line)
        return meet_circle(b, a, point);
    return meet_circles(a, b, point);
}

/* The circle through three points; false where they lie in a line, or one is not finite. */
static bool circle_through(const double complex p[3], struct pd_locus *circle)
{
    const double complex b = p[1] - p[0], c = p[2] - p[0];
    const double twice = 2 * cross(b, c), size = cabs(b) * cabs(c);
    if (!isfinite(size) || !(fabs(twice) > 1e-9 * size))
        return false;
    const double complex off =
        I * (dot(c, c) * b - dot(b, b) * c) / twice; /* from p[0] to the centre */
    *circle = pd_locus_circle(p[0] + off, cabs(off));
    return true;
}

bool pd_locus_farthest_ratio(const struct pd_locus *locus, double complex c, double complex *point)
{
    double complex image[3];
    struct pd_locus circle;
    for (int i = 0; i < 3; i++) {
        const double complex q = locus->line
                                     ? locus->at + i * locus->way
                                     : locus->at + locus->radius * cexp(I * (2 * M_PI / 3 * i));
        image[i] =
            locus->line && i == 2 ? 1 : q / (q - c); /* a line goes through infinity: w = 1 */
    }
    if (!circle_through(image, &circle) || cabs(circle.at) <= 1e-9 * circle.radius)
        return false;
    const double complex w = circle.at * (1 + circle.radius / cabs(circle.at));
    *point = c * w / (w - 1);
    return isfinite(creal(*point)) && isfinite(cimag(*point));
}
