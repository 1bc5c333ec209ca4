/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "earthing/images.h"

#include <math.h>
#include <stdint.h>

#include <gsl/gsl_sf_dilog.h>

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

/* sum over n > count of K^n / n^order: the first two orders converge as K^n alone, but have closed
 * forms. */
static double power_sum(double k, size_t count, int order)
{
    const bool closed = order <= 2;
    const size_t first = closed ? 1 : count + 1, last = closed ? count : SIZE_MAX;
    double sum = 0, power = pow(k, (double)first);
    for (size_t n = first; n <= last; n++, power *= k) {
        const double term = power / pow((double)n, order);
        sum += term;
        if (!closed && !(fabs(term) * (double)n > 1e-16 * fabs(sum)))
            break;
    }
    if (order == 1)
        return -log1p(-k) - sum;
    return order == 2 ? gsl_sf_dilog(k) - sum : sum;
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
    images->bound = INFINITY;
    while (images->count < PD_IMAGES_MOST && images->bound > wanted_bound) {
        images->count++;
        images->bound = tail_bound(k, reach_m / step_m, (double)images->count);
    }
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
