/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/island.h"

/* 3 of island.h: whether Kirchhoff's current law can hold for the neutral beyond the break. */

struct generator {
    double complex c;
    double r, low, high;
    size_t load; /* whose t it is; PD_NONE where its range is not a load's alone */
};

/* Its support in a direction: convex in t, so at one of the ends. */
static double support(const struct generator *g, double complex direction)
{
    const double along = creal(g->c * conj(direction));
    return fmax(g->low * along + fabs(g->low) * g->r, g->high * along + fabs(g->high) * g->r);
}

/* Elements of one linear load share its t and count together. */
static size_t list_generators(const struct pd_island *s, const struct pd_box *box,
                              const struct pd_enclosure *e, struct generator *list)
{
    size_t count = 0, load = PD_NONE;
    for (size_t k = 0; k < s->element_count; k++) {
        const struct pd_island_element *const element = &s->element[k];
        if (!s->out[element->node] || element->to != PD_N)
            continue;
        const struct pd_disc g = pd_disc_by(e->w[k], element->y_s, element->size_s);
        const bool linear = element->element.behaviour->linear;
        if (linear && element->load == load) {
            list[count - 1].c += g.c;
            list[count - 1].r += g.r;
            continue;
        }
        const struct pd_span t = pd_element_range(element, box, e->w[k], e->unit_v);
        load = linear ? element->load : PD_NONE;
        list[count++] = (struct generator){g.c, g.r, t.low, t.high, load};
    }
    for (size_t k = 0; k < s->tie_count; k++)
        if (s->tie_node[k] != PD_NONE && s->out[s->tie_node[k]])
            list[count++] = (struct generator){-e->i[k].c, e->i[k].r, 1, 1, PD_NONE};
    const struct pd_disc u = e->v[s->reference][PD_N];
    list[count++] = (struct generator){-u.c, u.r, s->leak_s, s->leak_s, PD_NONE};
    return count;
}

/* Sums below rounding do not count as below 0. */
static double support_of_all(const struct generator *list, size_t count, double complex direction)
{
    double sum = 0, size = 0;
    for (size_t i = 0; i < count; i++) {
        const double one = support(&list[i], direction);
        sum += one;
        size += fabs(one);
    }
    return sum + 1e-13 * size;
}

/* A load can be only as far from the end that helps most in a direction as all together have to
 * spare there. A hair is left to rounding. */
static void narrow(const struct generator *list, size_t count, double complex direction, double sum,
                   const struct pd_box *box)
{
    for (size_t i = 0; i < count; i++) {
        const double each = creal(list[i].c * conj(direction)) + list[i].r;
        if (list[i].load == PD_NONE || sum >= fabs(each) * (list[i].high - list[i].low))
            continue;
        const double spare = sum / fabs(each) * (1 + 1e-9) + 1e-9;
        double *const low = &box->low[list[i].load], *const high = &box->high[list[i].load];
        if (each > 0)
            *low = fmax(*low, fmin(*high, list[i].high - spare));
        else
            *high = fmin(*high, fmax(*low, list[i].low + spare));
    }
}

struct trial {
    double angle, sum;
};

/* False where the support is negative. */
static bool try_angle(const struct generator *list, size_t count, double angle, struct trial *best)
{
    const double sum = support_of_all(list, count, cexp(I * angle));
    if (sum < 0)
        return false;
    if (sum < best->sum)
        *best = (struct trial){angle, sum};
    return true;
}

bool pd_island_possible(const struct pd_island *s, const struct pd_box *box,
                        const struct pd_enclosure *e)
{
    enum { DIRECTIONS = 12, HALVINGS = 7 };
    struct generator *const list = e->scratch;
    const size_t count = list_generators(s, box, e, list);
    const double start = carg(e->v[s->reference][PD_N].c);
    struct trial best = {start, INFINITY};
    for (int i = 0; i < DIRECTIONS; i++)
        if (!try_angle(list, count, start + 2 * M_PI * i / DIRECTIONS, &best))
            return false;
    double step = M_PI / DIRECTIONS;
    for (int i = 0; i < HALVINGS; i++, step /= 2) {
        const double middle = best.angle;
        if (!try_angle(list, count, middle - step, &best) ||
            !try_angle(list, count, middle + step, &best))
            return false;
    }
    narrow(list, count, cexp(I * best.angle), best.sum, box);
    for (int i = 0; i < DIRECTIONS; i++) {
        const double complex direction = cexp(I * (start + 2 * M_PI * i / DIRECTIONS));
        narrow(list, count, direction, support_of_all(list, count, direction), box);
    }
    return true;
}

size_t pd_island_scratch(const struct pd_island *s)
{
    return (s->element_count + s->tie_count + 2) * sizeof(struct generator);
}
