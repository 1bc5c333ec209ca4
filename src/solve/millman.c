/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/millman.h"

#include <math.h>

struct pd_star pd_star_of(const struct pd_network *network, size_t top, const double *load_a,
                          double supply_v)
{
    struct pd_star star = {0};
    for (int line = PD_L1; line < PD_LINES; line++)
        star.emf_v[line] = supply_v * network->source.unit_emf[line];
    for (size_t i = 0; i < network->load_count; i++) {
        if (!pd_network_same_installation(network, top, network->load[i].node))
            continue;
        struct pd_element element[3];
        const size_t count = pd_load_elements(&network->load[i], network->system,
                                              network->nominal_v, load_a[i], element);
        for (size_t k = 0; k < count; k++)
            if (element[k].to == PD_N && !element[k].behaviour->generates)
                star.y_s[element[k].from] += pd_element_admittance(&element[k]);
    }
    return star;
}

static double complex driving_current(const struct pd_star *star)
{
    return star->y_s[PD_L1] * star->emf_v[PD_L1] + star->y_s[PD_L2] * star->emf_v[PD_L2] +
           star->y_s[PD_L3] * star->emf_v[PD_L3];
}

static double complex tied(const struct pd_star *star)
{
    return star->y_s[PD_L1] + star->y_s[PD_L2] + star->y_s[PD_L3];
}

double complex pd_star_displacement(const struct pd_star *star, double earth_s)
{
    const double complex y = tied(star) + earth_s;
    return y == 0 ? NAN : driving_current(star) / y;
}

double pd_star_electrode_max(const struct pd_star *star, double limit_v)
{
    if (!(limit_v > 0))
        return NAN;
    const double complex y = tied(star);
    const double wanted_s = cabs(driving_current(star)) / limit_v;
    if (!(wanted_s > cabs(y)))
        return isnan(wanted_s) ? NAN : INFINITY;
    /* sqrt(a^2 - b^2), without squares that underflow for a trickle of current. */
    const double across_s = fabs(cimag(y));
    const double earth_s = sqrt(wanted_s - across_s) * sqrt(wanted_s + across_s) - creal(y);
    return 1 / earth_s;
}
