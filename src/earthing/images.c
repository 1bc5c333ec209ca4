/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "earthing/images.h"

#include <math.h>

#include <gsl/gsl_sf_expint.h>

static const double wanted_bound = 1e-8;

/* What the tail leaves after all its orders, over 1/reach, for four strings of images: q^M/(1 - q)
 * of each 1/(2nh), q = reach/(2nh) at most one half. */
static double tail_bound(double k, double reach, double count)
{
    const double q = reach / (count + 1), orders = PD_TAIL_ORDERS;
    if (count < 1 || q > 0.5)
        return INFINITY;
    return PD_IMAGE_STRINGS * pow(fabs(k), count + 1) * pow(reach / count, orders) * reach /
           orders / (1 - q);
}

/* sum over n > count of k^n / n^order for 0 < k < 1: one by one where that is soon over, else so
 * far only and the rest by Euler and Maclaurin's formula, whose integral is M^(1-p) E_p(alpha M).
 */
static double positive_sum(double k, size_t count, int order)
{
    const double alpha = -log(k), p = order;
    const bool soon = alpha > 0.05;
    const size_t last = count + (soon ? (size_t)(41 / alpha) + 1 : 100);
    double sum = 0, power = pow(k, (double)count);
    for (size_t n = count + 1; n <= last; n++) {
        power *= k;
        sum += power / pow((double)n, p);
    }
    const double m = (double)last;
    if (soon || alpha * m > 700)
        return sum;
    const double f = power / pow(m, p), l = alpha + p / m;
    const double third = l * l * l + 3 * l * p / (m * m) + 2 * p / (m * m * m);
    return sum + pow(m, 1 - p) * gsl_sf_expint_En(order, alpha * m) - f / 2 + f * l / 12 -
           f * third / 720;
}

/* The same for any K: where it alternates, twice the even terms less all of them. */
static double power_sum(double k, size_t count, int order)
{
    if (k > 0)
        return positive_sum(k, count, order);
    return 2 * pow(2, -order) * positive_sum(k * k, count / 2, order) -
           positive_sum(-k, count, order);
}

/* The fewest images that keep the bound, or the most that there may be. */
static size_t images_needed(double k, double reach)
{
    size_t low = 0, high = 1;
    while (high < PD_IMAGES_MOST && tail_bound(k, reach, (double)high) > wanted_bound) {
        low = high;
        high *= 2;
    }
    while (high - low > 1) {
        const size_t half = (low + high) / 2;
        if (tail_bound(k, reach, (double)half) > wanted_bound)
            low = half;
        else
            high = half;
    }
    return high < PD_IMAGES_MOST ? high : PD_IMAGES_MOST;
}

enum pd_status pd_images_prepare(const struct pd_soil *soil, double reach_m,
                                 struct pd_images *images)
{
    *images = (struct pd_images){
        .soil = *soil, .reflection = pd_soil_reflection(soil), .reach_m = reach_m};
    if (!pd_soil_good(soil) || !(reach_m > 0) || !isfinite(reach_m))
        return PD_ERR_ARGUMENT;
    if (!pd_soil_layered(soil))
        return PD_OK;
    const double k = images->reflection, step_m = 2 * soil->upper_m;
    images->count = images_needed(k, reach_m / step_m);
    images->bound = tail_bound(k, reach_m / step_m, (double)images->count);
    for (int order = 0; order < PD_TAIL_ORDERS; order++)
        images->tail[order] = power_sum(k, images->count, order + 1) / pow(step_m, order + 1);
    return images->bound <= wanted_bound ? PD_OK : PD_DOUBTFUL;
}

static size_t within_upper(const struct pd_images *images, struct pd_image_string *string)
{
    const double weight = images->soil.upper_ohm_m / (4 * M_PI);
    string[0] = (struct pd_image_string){1, 0, 1, weight, 0};
    string[1] = (struct pd_image_string){-1, 0, -1, weight, 0};
    string[2] = (struct pd_image_string){1, 0, -1, weight, 1};
    string[3] = (struct pd_image_string){-1, 0, 1, weight, 1};
    return 4;
}

static size_t within_lower(const struct pd_images *images, struct pd_image_string *string)
{
    const double k = images->reflection, weight = images->soil.lower_ohm_m / (4 * M_PI);
    string[0] = (struct pd_image_string){1, 0, 0, weight, 0};
    string[1] = (struct pd_image_string){-1, 2 * images->soil.upper_m, 0, -k * weight, 0};
    string[2] = (struct pd_image_string){-1, 0, -1, (1 - k * k) * weight, 0};
    return 3;
}

/* Both ways through the boundary: rho1 (1 + K) = rho2 (1 - K), as reciprocity wants. */
static size_t across(const struct pd_images *images, double direction,
                     struct pd_image_string *string)
{
    const double weight = images->soil.upper_ohm_m * (1 + images->reflection) / (4 * M_PI);
    string[0] = (struct pd_image_string){1, 0, direction, weight, 0};
    string[1] = (struct pd_image_string){-1, 0, -1, weight, 0};
    return 2;
}

size_t pd_images_strings(const struct pd_images *images, int source, int field,
                         struct pd_image_string *string)
{
    if (images->reflection == 0) {
        const double weight = images->soil.upper_ohm_m / (4 * M_PI);
        string[0] = (struct pd_image_string){1, 0, 0, weight, 0};
        string[1] = (struct pd_image_string){-1, 0, 0, weight, 0};
        return 2;
    }
    if (source == 0 && field == 0)
        return within_upper(images, string);
    if (source == 1 && field == 1)
        return within_lower(images, string);
    return across(images, source == 0 ? -1 : 1, string);
}

/* Solid harmonics s^k P_k by their recurrence: (k+1) p_{k+1} = (2k+1) Z p_k - k s^2 p_{k-1}. */
double pd_images_tail(const struct pd_images *images, double r_squared, double z_m)
{
    const double s_squared = r_squared + z_m * z_m;
    double before = 0, present = 1, sum = 0;
    for (int k = 0; k < PD_TAIL_ORDERS; k++) {
        sum += (k % 2 == 0 ? present : -present) * images->tail[k];
        const double next = ((2 * k + 1) * z_m * present - k * s_squared * before) / (k + 1);
        before = present;
        present = next;
    }
    return sum;
}
