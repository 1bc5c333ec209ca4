/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/island.h"

/* Loads whose admittance depends on voltage, as a range of admittances. Every behaviour draws
 * I = m(|V|) y V with m real; between the voltages where it changes its regime (its own, and those
 * of its fall-back at low voltage) m is monotone and |I| = z |V| + i + p / |V| convex, so both have
 * their extremes at those voltages and at the ends. */

enum { KNOTS = 6 };

static size_t list_voltages(const struct pd_island_element *element, double least_v, double most_v,
                            double volts[KNOTS + 2])
{
    const struct pd_point *const point = &element->element.point;
    const double u = point->nominal_v;
    const double knots[KNOTS] = {0.05 * u, 0.1 * u, 0.7 * u, point->low_v, point->high_v, u};
    size_t count = 0;
    volts[count++] = least_v;
    volts[count++] = most_v;
    for (size_t i = 0; i < KNOTS; i++)
        if (knots[i] > least_v && knots[i] < most_v)
            volts[count++] = knots[i];
    return count;
}

static double complex drawn(const struct pd_island_element *element, double volts)
{
    struct pd_draw draw;
    element->element.behaviour->draw(&element->element.point, volts, &draw);
    return draw.current_a;
}

/* The factor m for one ampere of the load, where it may be on. A hair above 0 V stands for 0 V. */
static struct pd_span factor(const struct pd_island_element *element, struct pd_disc w,
                             double unit_v)
{
    const struct pd_behaviour *const b = element->element.behaviour;
    const struct pd_point *const point = &element->element.point;
    const bool open_end = unit_v > 0; /* w stands for larger voltages too */
    const double scale = open_end ? unit_v : 1;
    double least_v = fmax(scale * pd_disc_least(w), 1e-9 * point->nominal_v);
    double most_v = open_end ? fmax(least_v, 1e3 * point->nominal_v) : pd_disc_most(w);
    struct pd_span range = {open_end ? 0 : INFINITY, open_end ? 0 : -INFINITY};
    if (b->window) {
        least_v = fmax(least_v, point->low_v);
        most_v = fmin(most_v, point->high_v);
        range = (struct pd_span){0, 0}; /* it may have let go */
    }
    if (!(least_v <= most_v))
        return b->window ? range : (struct pd_span){NAN, NAN};
    double volts[KNOTS + 2];
    const size_t count = list_voltages(element, least_v, most_v, volts);
    for (size_t i = 0; i < count; i++) {
        const double m = creal(drawn(element, volts[i]) / (element->y_s * volts[i]));
        range.low = fmin(range.low, m);
        range.high = fmax(range.high, m);
    }
    return range;
}

struct pd_span pd_element_range(const struct pd_island_element *element, const struct pd_box *box,
                                struct pd_disc w, double unit_v)
{
    const double low = box->low[element->load], high = box->high[element->load];
    if (element->element.behaviour->linear)
        return (struct pd_span){low, high};
    const struct pd_span m = factor(element, w, unit_v);
    return (struct pd_span){fmin(low * m.low, high * m.low), fmax(low * m.high, high * m.high)};
}

/* The most that it can draw at up to most_v: grows no faster than in proportion to most_v, as 1 of
 * island.h needs. With a window, or generating: the most at any voltage. */
static double ceiling(const struct pd_island_element *element, double most_v)
{
    const struct pd_behaviour *const b = element->element.behaviour;
    const double nominal_v = element->element.point.nominal_v;
    if (b->window || b->generates)
        most_v = fmax(most_v, 4 * nominal_v);
    double volts[KNOTS + 2], most_a = 0;
    const size_t count = list_voltages(element, fmin(most_v, 1e-9 * nominal_v), most_v, volts);
    for (size_t i = 0; i < count; i++)
        most_a = fmax(most_a, cabs(drawn(element, volts[i])));
    return most_a;
}

struct pd_disc pd_element_current(const struct pd_island_element *element, const struct pd_box *box,
                                  struct pd_disc w, double unit_v)
{
    const double scale = unit_v > 0 ? unit_v : 1;
    const struct pd_disc unit = pd_disc_by(w, element->y_s, element->size_s);
    if (element->element.behaviour->linear)
        return pd_disc_range(unit, box->low[element->load], box->high[element->load]);
    const struct pd_span t = pd_element_range(element, box, w, unit_v);
    const struct pd_disc disc = pd_disc_range(unit, t.low, t.high);
    const double most_a =
        box->high[element->load] * ceiling(element, scale * pd_disc_most(w)) / scale;
    return disc.r < most_a ? disc : pd_disc_at(0, most_a);
}
