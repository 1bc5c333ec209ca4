/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/island.h"

/* 4 of island.h: which way each load moves the largest displacement. */

/* What is known of a complex number: angles, and sizes. */
struct cone {
    double middle, half;
    double least; /* its size */
};

/* J, a sum of terms each within a cone of less than half a turn: it lies in the cone that spans
 * them. False where they span half a turn or more, or nothing is sure to be there. */
static bool enclose_admittance(const struct pd_island *s, const struct pd_box *box,
                               const struct pd_enclosure *unit, struct cone *cone)
{
    double low = s->leak_s > 0 ? 0 : INFINITY, high = s->leak_s > 0 ? 0 : -INFINITY;
    for (size_t k = 0; k < s->element_count; k++) {
        const struct pd_island_element *const element = &s->element[k];
        if (!s->out[element->node] || element->to != PD_N || box->high[element->load] <= 0)
            continue;
        const double complex g = -unit->w[k].c * element->y_s;
        const double half = pd_disc_half_angle(unit->w[k]);
        low = fmin(low, carg(g) - half);
        high = fmax(high, carg(g) + half);
    }
    for (size_t k = 0; k < s->tie_count; k++)
        if (s->tie_node[k] != PD_NONE && s->out[s->tie_node[k]]) {
            const double half = pd_disc_half_angle(unit->i[k]);
            low = fmin(low, carg(unit->i[k].c) - half);
            high = fmax(high, carg(unit->i[k].c) + half);
        }
    if (!(high - low < M_PI))
        return false;
    *cone = (struct cone){.middle = (low + high) / 2, .half = (high - low) / 2};
    const double complex along = cexp(-I * cone->middle);
    for (size_t k = 0; k < s->element_count; k++) {
        const struct pd_island_element *const element = &s->element[k];
        if (!s->out[element->node] || element->to != PD_N)
            continue;
        const double least =
            creal(-unit->w[k].c * element->y_s * along) - unit->w[k].r * element->size_s;
        cone->least += fmin(box->low[element->load] * least, box->high[element->load] * least);
    }
    for (size_t k = 0; k < s->tie_count; k++)
        if (s->tie_node[k] != PD_NONE && s->out[s->tie_node[k]])
            cone->least += creal(unit->i[k].c * along) - unit->i[k].r;
    cone->least = fmax(0, cone->least + s->leak_s * creal(along));
    return true;
}

/* The least and the largest cosine over an interval of angles. */
static struct pd_span cosines(double middle, double half)
{
    const double from_front = fabs(remainder(middle, 2 * M_PI));
    if (!(half < M_PI))
        return (struct pd_span){-1, 1};
    return (struct pd_span){from_front + half >= M_PI ? -1 : cos(from_front + half),
                            from_front <= half ? 1 : cos(from_front - half)};
}

bool pd_island_slopes(const struct pd_island *s, const struct pd_box *box,
                      const struct pd_enclosure *e, const struct pd_enclosure *unit,
                      struct pd_slope *slope)
{
    struct cone admittance;
    const struct pd_disc u = e->v[s->reference][PD_N];
    const double u_half = pd_disc_half_angle(u);
    if (!s->linear || !(u_half < M_PI / 2) || !enclose_admittance(s, box, unit, &admittance))
        return false;
    const double turned = carg(u.c) + admittance.middle, wide = u_half + admittance.half + 1e-12;
    for (size_t i = 0; i < s->network->load_count; i++) {
        struct pd_disc product = {0};
        for (size_t k = s->first[i]; k < s->first[i + 1]; k++) {
            const struct pd_disc both = pd_disc_mul(e->w[k], unit->w[k]);
            product =
                pd_disc_sub(product, pd_disc_by(both, s->element[k].y_s, s->element[k].size_s));
        }
        const double half = pd_disc_half_angle(product) + wide;
        const struct pd_span cosine = cosines(carg(product.c) - turned, half);
        const double most = pd_disc_most(product);
        const double size = most > 0 ? most / admittance.least : 0;
        slope[i] = (struct pd_slope){.low = cosine.low == 0 ? 0 : cosine.low * size,
                                     .high = cosine.high == 0 ? 0 : cosine.high * size,
                                     .size = size};
    }
    return true;
}
