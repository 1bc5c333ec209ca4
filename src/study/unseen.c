/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/unseen.h"

#include <math.h>

enum { SUPPLIES = 5, EDGES_MAX = 32 };

static bool any_acts(const struct pd_case *c, const struct pd_view *view, double scale)
{
    for (size_t i = 0; i < c->detectors.count; i++) {
        const struct pd_view at = pd_view_scaled(&view[i], scale);
        const struct pd_sight sight = pd_detector_look(&c->detectors.detector[i], &at);
        if (pd_sight_in_time(&sight, c->limits.time_s))
            return true;
    }
    return false;
}

/* Supply voltages to try: some steps of the range, and those that put a device's figure on the edge
 * of what it sees. */
struct supplies {
    double try_v[SUPPLIES + EDGES_MAX];
    size_t count;
};

static double lowest_supply(const struct pd_run *run)
{
    return fmin(run->study_case->limits.supply_low_v, run->supply_v[0]);
}

static void add_try(const struct pd_run *run, struct supplies *s, double supply_v)
{
    if (supply_v >= lowest_supply(run) && supply_v <= run->supply_v[run->top] &&
        s->count < sizeof s->try_v / sizeof s->try_v[0])
        s->try_v[s->count++] = supply_v;
}

static void list_supplies(const struct pd_run *run, const struct pd_view *view, struct supplies *s)
{
    const struct pd_case *const c = run->study_case;
    const double low_v = lowest_supply(run), high_v = run->supply_v[run->top];
    s->count = 0;
    if (!pd_tree_linear(run->tree)) {
        add_try(run, s, run->solved_v); /* nothing is in proportion */
        return;
    }
    for (int i = 0; i < SUPPLIES; i++)
        add_try(run, s, low_v + (high_v - low_v) * i / (SUPPLIES - 1));
    for (size_t i = 0; i < c->detectors.count; i++) {
        const struct pd_detector *const d = &c->detectors.detector[i];
        const double figure_v = pd_detector_look(d, &view[i]).figure_v;
        const double edge_v = pd_detector_window(d).high_v;
        /* A hair inside the edge, so that rounding does not put it outside. */
        add_try(run, s, run->solved_v * edge_v / figure_v * (1 - 1e-12));
    }
}

double pd_worst_unseen(const struct pd_run *run, double complex touch_v, const struct pd_view *view,
                       double *supply_v)
{
    const struct pd_case *const c = run->study_case;
    struct supplies s;
    double worst_v = 0;
    list_supplies(run, view, &s);
    for (size_t i = 0; i < s.count; i++) {
        const double scale = s.try_v[i] / run->solved_v;
        const double reached_v = scale * cabs(touch_v);
        if (pd_judge(reached_v, c->limits.touch_v) != PD_OVER || reached_v <= worst_v ||
            any_acts(c, view, scale))
            continue;
        worst_v = reached_v;
        *supply_v = s.try_v[i];
    }
    return worst_v;
}
