/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/island.h"

/* A neutral that is still on its PEN: its potential is what drops along the PEN, and the lift of
 * the star point. The drop is a sum over the loads, each along the part of the PEN that it shares
 * with T; loads on different lines pull different ways, so it is bounded direction by direction. */

/* The PEN's impedance between the star point and where the way of a node parts from T's. */
static double complex shared_ohm(const struct pd_island *s, size_t node)
{
    const struct pd_node *const nodes = s->network->node;
    size_t a = node, b = s->target;
    while (a != b) {
        if (a > b)
            a = nodes[a].parent;
        else
            b = nodes[b].parent;
    }
    double complex sum = 0;
    for (; a != 0; a = nodes[a].parent)
        sum += nodes[a].z_ohm.at[PD_N][PD_N];
    return sum;
}

enum { DIRECTIONS = 48 };

struct supports {
    double complex against[DIRECTIONS]; /* the direction turned to the real axis */
    double sum[DIRECTIONS];
};

/* Adds the support of one contribution t g in each direction. */
static void add(struct supports *s, struct pd_disc g, struct pd_span t)
{
    for (size_t i = 0; i < DIRECTIONS; i++) {
        const double along = creal(g.c * s->against[i]);
        s->sum[i] += fmax(t.low * along + fabs(t.low) * g.r, t.high * along + fabs(t.high) * g.r);
    }
}

static bool any_mutual(const struct pd_island *s)
{
    bool found = false;
    for (size_t n = s->target; n != 0; n = s->network->node[n].parent)
        found |= s->mutual[n];
    return found;
}

double pd_island_intact(const struct pd_island *s, const struct pd_box *box,
                        const struct pd_enclosure *e)
{
    struct supports all = {0};
    double most = 0;
    const double whole = pd_disc_most(pd_enclosure_voltage(s, e, s->target, PD_N));
    if (any_mutual(s))
        return whole;
    for (size_t i = 0; i < DIRECTIONS; i++)
        all.against[i] = cexp(-2 * M_PI * I * (double)i / DIRECTIONS);
    for (size_t i = 0; i < s->network->load_count; i++) {
        struct pd_disc g = {0};
        struct pd_span t = {0, 0};
        for (size_t k = s->first[i]; k < s->first[i + 1]; k++) {
            const struct pd_island_element *const element = &s->element[k];
            if (s->out[element->node] || element->to != PD_N)
                continue;
            const double complex z = shared_ohm(s, element->node) * element->y_s;
            const struct pd_disc one = pd_disc_by(e->w[k], z, cabs(z));
            t = pd_element_range(element, box, e->w[k], e->unit_v);
            if (element->element.behaviour->linear)
                g = pd_disc_add(g, one); /* elements of one load share its t */
            else
                add(&all, one, t);
        }
        if (s->linear || g.r > 0 || g.c != 0)
            add(&all, g, (struct pd_span){box->low[i], box->high[i]});
    }
    for (size_t k = 0; k < s->tie_count; k++)
        if (s->tie_node[k] != PD_NONE && !s->out[s->tie_node[k]]) {
            const double complex z = shared_ohm(s, s->tie_node[k]);
            add(&all, pd_disc_by(e->i[k], -z, cabs(z)), (struct pd_span){1, 1});
        }
    for (size_t i = 0; i < DIRECTIONS; i++)
        most = fmax(most, all.sum[i]);
    return fmin(whole, most / cos(M_PI / DIRECTIONS) + pd_disc_most(e->star));
}
