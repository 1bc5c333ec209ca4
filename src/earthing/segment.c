/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "earthing/segment.h"

#include <math.h>

/* Gauss and Legendre's points and weights on 0 to 1 (Abramowitz and Stegun table 25.4). */
struct rule {
    int count;
    double at[8], weight[8];
};
static const struct rule two_points = {2, {0.21132486540518712, 0.78867513459481288}, {0.5, 0.5}};
static const struct rule four_points = {
    4,
    {0.069431844202973714, 0.33000947820757187, 0.66999052179242813, 0.93056815579702629},
    {0.17392742256872693, 0.32607257743127307, 0.32607257743127307, 0.17392742256872693}};

static struct pd_place minus(struct pd_place a, struct pd_place b)
{
    return (struct pd_place){a.x_m - b.x_m, a.y_m - b.y_m, a.z_m - b.z_m};
}

static double dot(struct pd_place a, struct pd_place b)
{
    return a.x_m * b.x_m + a.y_m * b.y_m + a.z_m * b.z_m;
}

static struct pd_place at(const struct pd_segment *s, double share)
{
    const struct pd_place span = minus(s->to, s->from);
    return (struct pd_place){s->from.x_m + share * span.x_m, s->from.y_m + share * span.y_m,
                             s->from.z_m + share * span.z_m};
}

static struct pd_place direction(const struct pd_segment *s)
{
    const struct pd_place span = minus(s->to, s->from);
    return (struct pd_place){span.x_m / s->length_m, span.y_m / s->length_m,
                             span.z_m / s->length_m};
}

/* Mean of 1/R from a place over a segment: (asinh((L - u)/d) + asinh(u/d))/L, u along it. */
static double mean_to_place(const struct pd_segment *s, struct pd_place place, double a_squared)
{
    const struct pd_place reach = minus(place, s->from);
    const double u = dot(reach, direction(s));
    const double d = sqrt(fmax(dot(reach, reach) - u * u, a_squared));
    return (asinh((s->length_m - u) / d) + asinh(u / d)) / s->length_m;
}

/* Twice the integral of 1/sqrt(x^2 + d^2). */
static double twice_integral(double x, double d)
{
    return x * asinh(x / d) - sqrt(x * x + d * d);
}

static double mean_parallel(const struct pd_segment *s, const struct pd_segment *f,
                            double a_squared)
{
    const struct pd_place t = direction(s), reach = minus(f->from, s->from);
    const double start = dot(reach, t), end = dot(minus(f->to, s->from), t);
    const double low = fmin(start, end), high = fmax(start, end);
    const double d = sqrt(fmax(dot(reach, reach) - start * start, a_squared));
    return (twice_integral(high, d) - twice_integral(low, d) -
            twice_integral(high - s->length_m, d) + twice_integral(low - s->length_m, d)) /
           (s->length_m * f->length_m);
}

static double mean_far(const struct pd_segment *s, const struct pd_segment *f)
{
    double sum = 0;
    for (int i = 0; i < 2; i++)
        for (int j = 0; j < 2; j++) {
            const struct pd_place apart = minus(at(s, two_points.at[i]), at(f, two_points.at[j]));
            sum += 0.25 / sqrt(dot(apart, apart));
        }
    return sum;
}

/* By points on the field, closer together where the source is near. */
static double mean_skew(const struct pd_segment *s, const struct pd_segment *f, double a_squared,
                        int parts)
{
    double sum = 0;
    for (int part = 0; part < parts; part++)
        for (int i = 0; i < four_points.count; i++) {
            const double share = (part + four_points.at[i]) / parts;
            sum += four_points.weight[i] / parts * mean_to_place(s, at(f, share), a_squared);
        }
    return sum;
}

/* Mean of 1/R over both segments. */
static double mean_inverse(const struct pd_segment *s, const struct pd_segment *f, double a_squared)
{
    const struct pd_place apart = minus(at(s, 0.5), at(f, 0.5));
    const double distance = sqrt(dot(apart, apart)), size = fmax(s->length_m, f->length_m);
    if (distance > 10 * size)
        return mean_far(s, f);
    const double along = dot(direction(s), direction(f));
    if (1 - fabs(along) < 1e-12)
        return mean_parallel(s, f, a_squared);
    const int parts = distance > 1.5 * size ? 1 : 4;
    return (mean_skew(s, f, a_squared, parts) + mean_skew(f, s, a_squared, parts)) / 2;
}

/* The n-th image of a string. Uniform ground has no distance between images. */
static struct pd_segment image_of(const struct pd_images *images, const struct pd_segment *s,
                                  const struct pd_image_string *string, size_t n)
{
    double shift_m = string->shift_m;
    if (n > 0)
        shift_m += string->direction * 2 * (double)n * images->soil.upper_m;
    struct pd_segment image = *s;
    image.from.z_m = string->sign * s->from.z_m + shift_m;
    image.to.z_m = string->sign * s->to.z_m + shift_m;
    return image;
}

/* The images of a string from count + 1 on, between two places. */
static double tail_between(const struct pd_images *images, const struct pd_image_string *string,
                           struct pd_place source, struct pd_place field)
{
    const double x = field.x_m - source.x_m, y = field.y_m - source.y_m;
    const double z = field.z_m - string->sign * source.z_m - string->shift_m;
    return pd_images_tail(images, x * x + y * y, -string->direction * z);
}

static double string_mutual(const struct pd_images *images, const struct pd_image_string *string,
                            const struct pd_segment *source, const struct pd_segment *field)
{
    const double a_squared =
        (source->radius_m * source->radius_m + field->radius_m * field->radius_m) / 2;
    double sum = 0, power = string->first == 0 ? 1 : images->reflection;
    const size_t last = string->direction != 0 ? images->count : 0;
    for (size_t n = string->first; n <= last; n++, power *= images->reflection) {
        const struct pd_segment image = image_of(images, source, string, n);
        sum += power * mean_inverse(&image, field, a_squared);
        if (fabs(power) < 1e-14)
            return string->weight * sum; /* images further on are nothing */
    }
    if (string->direction == 0)
        return string->weight * sum;
    for (int i = 0; i < 2; i++)
        for (int j = 0; j < 2; j++)
            sum += 0.25 * tail_between(images, string, at(source, two_points.at[i]),
                                       at(field, two_points.at[j]));
    return string->weight * sum;
}

double pd_segment_mutual(const struct pd_images *images, const struct pd_segment *source,
                         const struct pd_segment *field)
{
    struct pd_image_string string[PD_IMAGE_STRINGS];
    const size_t count = pd_images_strings(images, source->layer, field->layer, string);
    double ohm = 0;
    for (size_t i = 0; i < count; i++)
        ohm += string_mutual(images, &string[i], source, field);
    return ohm;
}

static double string_potential(const struct pd_images *images, const struct pd_image_string *string,
                               const struct pd_segment *source, struct pd_place place)
{
    const double a_squared = source->radius_m * source->radius_m;
    double sum = 0, power = string->first == 0 ? 1 : images->reflection;
    const size_t last = string->direction != 0 ? images->count : 0;
    for (size_t n = string->first; n <= last; n++, power *= images->reflection) {
        const struct pd_segment image = image_of(images, source, string, n);
        sum += power * mean_to_place(&image, place, a_squared);
        if (fabs(power) < 1e-14)
            return string->weight * sum;
    }
    if (string->direction == 0)
        return string->weight * sum;
    for (int i = 0; i < 2; i++)
        sum += 0.5 * tail_between(images, string, at(source, two_points.at[i]), place);
    return string->weight * sum;
}

double pd_segment_potential(const struct pd_images *images, const struct pd_segment *source,
                            const struct pd_place *place)
{
    struct pd_image_string string[PD_IMAGE_STRINGS];
    const int layer = pd_soil_layer(&images->soil, place->z_m);
    const size_t count = pd_images_strings(images, source->layer, layer, string);
    double ohm = 0;
    for (size_t i = 0; i < count; i++)
        ohm += string_potential(images, &string[i], source, *place);
    return ohm;
}
