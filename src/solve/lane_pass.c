/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "solve/vector.h"

/* The passes over the tree: plan.h derives them. This file is compiled once for each width of
 * vector, with the name of its one function in PD_PASS (src/meson.build). */

/* Below this the admittances at a cut neutral cancel: solve/tree.h, PD_RESONANT. */
#define CANCELLATION_MIN 1e-6

enum { N = PD_N, SIZE = PD_CONDUCTORS };

PD_INLINE struct pd_lanes element_s(const struct pd_lane_worker *w,
                                    const struct pd_plan_element *element)
{
    const pd_reals amps = w->load_a[element->load];
    return (struct pd_lanes){amps * element->re, amps * element->im};
}

/* To the root. */

/* A section's impedances in series with the conductors k and k + 1, of y in blocks
 *
 *     A B      of which A, their own, becomes G A,  B becomes G B,  D becomes D - (z B)^t G B,
 *     B^t D    G = (1 + A z)^-1, 2 by 2.
 *
 * Two at a time: half the divisions of one at a time, and less waiting for each other. */
PD_INLINE void in_series(struct pd_symmetric *y, int k, const struct pd_lanes z[2])
{
    const struct pd_lanes one = pd_same(1, 0);
    const int other = 2 - k;
    const struct pd_lanes own = y->at[pd_pair(k, k)], mutual = y->at[pd_pair(k, k + 1)],
                          next = y->at[pd_pair(k + 1, k + 1)];
    const struct pd_lanes p = pd_add_product(one, own, z[0]), q = pd_times(mutual, z[1]),
                          r = pd_times(mutual, z[0]), s = pd_add_product(one, next, z[1]);
    const struct pd_lanes scale = pd_inverse(pd_sub_product(pd_times(p, s), q, r));
    const struct pd_lanes g[2][2] = {{pd_times(s, scale), pd_negative(pd_times(q, scale))},
                                     {pd_negative(pd_times(r, scale)), pd_times(p, scale)}};
    struct pd_lanes after[2][2], drop[2][2];
#pragma GCC unroll 2
    for (int j = 0; j < 2; j++) {
        const struct pd_lanes first = y->at[pd_pair(k, other + j)],
                              second = y->at[pd_pair(k + 1, other + j)];
        drop[0][j] = pd_times(z[0], first);
        drop[1][j] = pd_times(z[1], second);
        after[0][j] = pd_add_product(pd_times(g[0][0], first), g[0][1], second);
        after[1][j] = pd_add_product(pd_times(g[1][0], first), g[1][1], second);
        y->at[pd_pair(k, other + j)] = after[0][j];
        y->at[pd_pair(k + 1, other + j)] = after[1][j];
    }
#pragma GCC unroll 2
    for (int i = 0; i < 2; i++)
#pragma GCC unroll 2
        for (int j = i; j < 2; j++) {
            struct pd_lanes *const entry = &y->at[pd_pair(other + i, other + j)];
            *entry = pd_sub_product(*entry, drop[0][i], after[0][j]);
            *entry = pd_sub_product(*entry, drop[1][i], after[1][j]);
        }
    y->at[pd_pair(k, k)] = pd_add_product(pd_times(g[0][0], own), g[0][1], mutual);
    y->at[pd_pair(k, k + 1)] = pd_add_product(pd_times(g[0][0], mutual), g[0][1], next);
    y->at[pd_pair(k + 1, k + 1)] = pd_add_product(pd_times(g[1][0], mutual), g[1][1], next);
}

PD_INLINE pd_reals gather_shunts(const struct pd_lane_worker *w,
                                 const struct pd_plan_range *elements,
                                 const struct pd_plan_range *ties, struct pd_symmetric *y)
{
    pd_reals tied = {0};
    for (size_t k = elements->first; k < elements->first + elements->count; k++) {
        const struct pd_plan_element *const e = &w->plan->element[k];
        const struct pd_lanes y_s = element_s(w, e);
        struct pd_lanes *const from = &y->at[pd_pair(e->from, e->from)];
        struct pd_lanes *const to = &y->at[pd_pair(e->to, e->to)];
        struct pd_lanes *const between = &y->at[pd_pair(e->from, e->to)];
        *from = pd_plus(*from, y_s);
        *to = pd_plus(*to, y_s);
        *between = pd_minus(*between, y_s);
        tied += w->load_a[e->load] * e->size;
    }
    for (size_t k = ties->first; k < ties->first + ties->count; k++) {
        y->at[pd_pair(N, N)].re += w->tie_s[w->plan->tie[k]];
        tied += w->tie_s[w->plan->tie[k]];
    }
    return tied;
}

/* A service: y from its line to the neutral, g from the neutral to earth, both behind impedances.
 */
PD_INLINE void eliminate_leaf(struct pd_lane_worker *w, size_t number)
{
    const struct pd_leaf *const leaf = &w->plan->leaf[number];
    struct pd_leaf_state *const s = &w->leaf[number];
    const struct pd_lanes one = pd_same(1, 0);
    struct pd_lanes y = pd_same(0, 0);
    pd_reals tied = {0}, earth_s = {0};
    for (size_t k = leaf->element.first; k < leaf->element.first + leaf->element.count; k++) {
        y = pd_plus(y, element_s(w, &w->plan->element[k]));
        tied += w->load_a[w->plan->element[k].load] * w->plan->element[k].size;
    }
    for (size_t k = leaf->tie.first; k < leaf->tie.first + leaf->tie.count; k++)
        earth_s += w->tie_s[w->plan->tie[k]];
    s->tied = tied + earth_s;
    s->far_neutral = (struct pd_lanes){y.re + earth_s, y.im};
    const struct pd_lanes line_z = pd_same(leaf->line_z.re, leaf->line_z.im);
    const struct pd_lanes neutral_z = pd_same(leaf->neutral_z.re, leaf->neutral_z.im);
    const struct pd_lanes line_share = pd_inverse(pd_add_product(one, line_z, y));
    const struct pd_lanes line = pd_times(y, line_share); /* and the mutual one, negative */
    const struct pd_lanes neutral = {line.re + earth_s, line.im};
    const struct pd_lanes neutral_share = pd_inverse(pd_add_product(one, neutral_z, neutral));
    const struct pd_lanes through = pd_times(neutral_z, neutral_share);
    s->neutral = pd_times(neutral, neutral_share);
    s->mutual = pd_negative(pd_times(line, neutral_share));
    s->line = pd_sub_product(line, through, pd_times(line, line));
}

PD_INLINE pd_reals gather_leaves(struct pd_lane_worker *w, const struct pd_place *place,
                                 struct pd_symmetric *y)
{
    pd_reals tied = {0};
    for (size_t k = place->leaf.first; k < place->leaf.first + place->leaf.count; k++) {
        eliminate_leaf(w, k);
        const struct pd_leaf_state *const s = &w->leaf[k];
        const int line = w->plan->leaf[k].line;
        struct pd_lanes *const own = &y->at[pd_pair(line, line)];
        struct pd_lanes *const mutual = &y->at[pd_pair(line, N)];
        *own = pd_plus(*own, s->line);
        *mutual = pd_plus(*mutual, s->mutual);
        y->at[pd_pair(N, N)] = pd_plus(y->at[pd_pair(N, N)], s->neutral);
        tied += s->tied;
    }
    return tied;
}

PD_INLINE void gather(struct pd_lane_worker *w, size_t i, struct pd_symmetric *y)
{
    const struct pd_place *const place = &w->plan->place[i];
    for (int k = 0; k < PD_PAIRS; k++)
        y->at[k] = pd_same(0, 0);
    w->tied[i] = gather_shunts(w, &place->element, &place->tie, y) + gather_leaves(w, place, y);
    for (size_t k = i + 1; k < place->end; k = w->plan->place[k].end) {
#pragma GCC unroll 10
        for (int e = 0; e < PD_PAIRS; e++)
            y->at[e] = pd_plus(y->at[e], w->u[k].at[e]);
        w->tied[i] += w->tied[k];
    }
    w->far_neutral[i] = y->at[pd_pair(N, N)];
}

PD_INLINE struct pd_lanes impedance_of(const struct pd_place *place, int k)
{
    return pd_same(place->z[k].re, place->z[k].im);
}

PD_INLINE void to_root(struct pd_lane_worker *w)
{
    for (size_t i = w->plan->places; i-- > 0;) {
        const struct pd_place *const place = &w->plan->place[i];
        struct pd_symmetric y;
        gather(w, i, &y);
#pragma GCC unroll 2
        for (int k = 0; k < SIZE && i > 0; k += 2) {
            const struct pd_lanes z[2] = {impedance_of(place, k), impedance_of(place, k + 1)};
            in_series(&y, k, z);
        }
#pragma GCC unroll 10
        for (int k = 0; k < PD_PAIRS; k++)
            w->u[i].at[k] = y.at[k];
    }
}

/* The rows by which the probes follow the places on their way. */

PD_INLINE void leaf_row(const struct pd_lane_worker *w, const struct pd_plan_probe *probe,
                        struct pd_lanes row[SIZE])
{
    const struct pd_leaf *const leaf = &w->plan->leaf[probe->leaf];
    const struct pd_leaf_state *const s = &w->leaf[probe->leaf];
    if (probe->conductor == leaf->line) {
        const struct pd_lanes z = pd_same(leaf->line_z.re, leaf->line_z.im);
        row[leaf->line] = pd_sub_product(row[leaf->line], z, s->line);
        row[N] = pd_sub_product(row[N], z, s->mutual);
    } else if (probe->conductor == N) {
        const struct pd_lanes z = pd_same(leaf->neutral_z.re, leaf->neutral_z.im);
        row[leaf->line] = pd_sub_product(row[leaf->line], z, s->mutual);
        row[N] = pd_sub_product(row[N], z, s->neutral);
    }
}

/* w (1 - z U). */
PD_INLINE void row_upstream(const struct pd_lane_worker *w, size_t i,
                            const struct pd_lanes far[SIZE], struct pd_lanes near[SIZE])
{
    const struct pd_place *const place = &w->plan->place[i];
    const struct pd_symmetric *const u = &w->u[i];
#pragma GCC unroll 4
    for (int k = 0; k < SIZE; k++)
        near[k] = far[k];
#pragma GCC unroll 4
    for (int j = 0; j < SIZE; j++) {
        const struct pd_lanes through = pd_times(far[j], impedance_of(place, j));
#pragma GCC unroll 4
        for (int k = 0; k < SIZE; k++)
            near[k] = pd_sub_product(near[k], through, u->at[pd_pair(j, k)]);
    }
}

PD_INLINE void rows_of_probe(struct pd_lane_worker *w, size_t number)
{
    const struct pd_plan_probe *const probe = &w->plan->probe[number];
    struct pd_lanes(*const row)[SIZE] = &w->row[probe->row];
    size_t i = probe->place;
    struct pd_lanes *const first = row[w->plan->place[i].depth];
    for (int k = 0; k < SIZE; k++)
        first[k] = pd_same(k == probe->conductor, 0);
    if (probe->leaf != PD_NONE)
        leaf_row(w, probe, first);
    for (; i > 0; i = w->plan->place[i].parent)
        row_upstream(w, i, row[w->plan->place[i].depth], row[w->plan->place[i].depth - 1]);
}

/* Outwards. */

PD_INLINE bool on_way(const struct pd_plan *plan, size_t i, const struct pd_plan_probe *probe)
{
    return i <= probe->place && probe->place < plan->place[i].end;
}

PD_INLINE void multiply(const struct pd_symmetric *m, const struct pd_lanes x[SIZE],
                        struct pd_lanes out[SIZE])
{
#pragma GCC unroll 4
    for (int i = 0; i < SIZE; i++) {
        out[i] = pd_times(m->at[pd_pair(i, 0)], x[0]);
#pragma GCC unroll 4
        for (int k = 1; k < SIZE; k++)
            out[i] = pd_add_product(out[i], m->at[pd_pair(i, k)], x[k]);
    }
}

PD_INLINE struct pd_lanes dot(const struct pd_lanes a[SIZE], const struct pd_lanes b[SIZE])
{
    struct pd_lanes sum = pd_times(a[0], b[0]);
#pragma GCC unroll 4
    for (int k = 1; k < SIZE; k++)
        sum = pd_add_product(sum, a[k], b[k]);
    return sum;
}

/* x - z (U x): a voltage, or a response to a current elsewhere, at the far end. */
PD_INLINE void follow(const struct pd_lane_worker *w, size_t i, const struct pd_lanes near[SIZE],
                      struct pd_lanes far[SIZE])
{
    const struct pd_place *const place = &w->plan->place[i];
    struct pd_lanes current[SIZE];
    multiply(&w->u[i], near, current);
#pragma GCC unroll 4
    for (int k = 0; k < SIZE; k++)
        far[k] = pd_sub_product(near[k], impedance_of(place, k), current[k]);
}

/* T (Z T^t + z), T = 1 - z U. */
PD_INLINE void impedance_beyond(const struct pd_lane_worker *w, size_t i,
                                const struct pd_symmetric *near, struct pd_symmetric *far)
{
    const struct pd_place *const place = &w->plan->place[i];
    const struct pd_symmetric *const u = &w->u[i];
    struct pd_lanes half[SIZE][SIZE];
#pragma GCC unroll 4
    for (int j = 0; j < SIZE; j++) {
        const struct pd_lanes z = impedance_of(place, j);
        const struct pd_lanes column[SIZE] = {u->at[pd_pair(0, j)], u->at[pd_pair(1, j)],
                                              u->at[pd_pair(2, j)], u->at[pd_pair(3, j)]};
        struct pd_lanes moved[SIZE];
        multiply(near, column, moved);
#pragma GCC unroll 4
        for (int k = 0; k < SIZE; k++)
            half[k][j] = pd_sub_product(near->at[pd_pair(k, j)], moved[k], z);
        half[j][j] = pd_plus(half[j][j], z);
    }
#pragma GCC unroll 4
    for (int k = 0; k < SIZE; k++) {
        const struct pd_lanes z = impedance_of(place, k);
#pragma GCC unroll 4
        for (int j = k; j < SIZE; j++) {
            struct pd_lanes sum = pd_times(u->at[pd_pair(k, 0)], half[0][j]);
#pragma GCC unroll 4
            for (int l = 1; l < SIZE; l++)
                sum = pd_add_product(sum, u->at[pd_pair(k, l)], half[l][j]);
            far->at[pd_pair(k, j)] = pd_sub_product(half[k][j], z, sum);
        }
    }
}

/* The terminals of the EMFs: all that moves them together is the current through the source's
 * electrode. */
PD_INLINE void start_at_source(struct pd_lane_worker *w)
{
    const struct pd_plan *const plan = w->plan;
    struct pd_place_state *const s = &w->state[0];
    struct pd_lanes emf[SIZE], current[SIZE], ones[SIZE];
    for (int k = 0; k < SIZE; k++) {
        const double complex e = k < PD_LINES ? plan->unit_emf[k] : 0;
        emf[k] = (struct pd_lanes){w->supply_v * creal(e), w->supply_v * cimag(e)};
        ones[k] = pd_same(1, 0);
    }
    multiply(&w->u[0], ones, current);
    const struct pd_lanes together =
        pd_plus(pd_plus(current[0], current[1]), pd_plus(current[2], current[3]));
    const struct pd_lanes ohms = pd_same(plan->electrode_ohm, 0);
    const struct pd_lanes rise =
        pd_times(ohms, pd_inverse(pd_add_product(pd_same(1, 0), ohms, together)));
    const struct pd_lanes lift = pd_times(rise, dot(current, emf));
    for (int k = 0; k < SIZE; k++)
        s->v[k] = pd_minus(emf[k], lift);
    for (int k = 0; k < PD_PAIRS; k++)
        s->z.at[k] = rise;
    for (size_t m = 0; m < plan->probes; m++) {
        const struct pd_lanes *const row = w->row[plan->probe[m].row];
        multiply(&s->z, row, w->response[m]);
        w->intact[m] = dot(row, s->v);
    }
}

PD_INLINE void go_beyond(struct pd_lane_worker *w, size_t i)
{
    const struct pd_plan *const plan = w->plan;
    const struct pd_place *const place = &plan->place[i];
    const struct pd_place_state *const near = &w->state[plan->place[place->parent].slot];
    struct pd_place_state *const far = &w->state[place->slot];
    struct pd_lanes(*const near_r)[SIZE] =
        &w->response[plan->place[place->parent].slot * plan->probes];
    struct pd_lanes(*const far_r)[SIZE] = &w->response[place->slot * plan->probes];
    struct pd_place_state next;
    impedance_beyond(w, i, &near->z, &next.z);
    follow(w, i, near->v, next.v);
    *far = next;
    for (size_t m = 0; m < plan->probes; m++) {
        struct pd_lanes r[SIZE];
        if (on_way(plan, i, &plan->probe[m]))
            multiply(&far->z, w->row[plan->probe[m].row + place->depth], r);
        else
            follow(w, i, near_r[m], r);
        for (int k = 0; k < SIZE; k++)
            far_r[m][k] = r[k];
    }
}

/* A cut. */

/* What a cut moves: the EMF e that stands for it, and the current u e that it sends into the near
 * end. */
struct opened {
    struct pd_lanes emf;
    pd_mask floats, resonant;
};

PD_INLINE struct opened open_section(const struct pd_plan_cut *cut, struct pd_lanes current,
                                     struct pd_lanes stiffness, struct pd_lanes far_neutral,
                                     pd_reals tied)
{
    const double joint_s = 1 / cut->joint_ohm;
    const pd_reals least = {0};
    const double small = CANCELLATION_MIN * CANCELLATION_MIN;
    struct opened o;
    if (isinf(cut->joint_ohm)) {
        o.floats = tied == 0;
        o.resonant = (pd_square(far_neutral) < small * (tied * tied)) & ~o.floats;
    } else {
        const struct pd_lanes left = {1 + cut->joint_ohm * far_neutral.re,
                                      cut->joint_ohm * far_neutral.im};
        const pd_reals all = 1 + cut->joint_ohm * tied;
        o.floats = tied != tied;
        o.resonant = pd_square(left) < small * (all * all);
        stiffness.re += joint_s;
    }
    o.emf = pd_times(current, pd_inverse(stiffness));
    o.emf.re = pd_choose(o.floats, least, o.emf.re);
    o.emf.im = pd_choose(o.floats, least, o.emf.im);
    return o;
}

PD_INLINE void write_standing(const struct pd_group *group, size_t column, pd_mask resonant,
                              pd_mask broken)
{
    for (int lane = 0; lane < PD_LANES; lane++)
        group->standing[column * PD_LANES + (size_t)lane] = resonant[lane] ? PD_RESONANT
                                                            : broken[lane] ? PD_UNCONVERGED
                                                                           : PD_SOLVED;
}

PD_INLINE void write_voltage(const struct pd_group *group, size_t at, struct pd_lanes v,
                             pd_mask none)
{
    const pd_reals nan = NAN - (pd_reals){0};
    const pd_reals re = pd_choose(none, nan, v.re), im = pd_choose(none, nan, v.im);
    __builtin_memcpy(group->re + at * PD_LANES, &re, sizeof re);
    __builtin_memcpy(group->im + at * PD_LANES, &im, sizeof im);
}

PD_INLINE pd_mask not_finite(struct pd_lanes v)
{
    return (v.re - v.re != 0) | (v.im - v.im != 0);
}

PD_INLINE void write_intact(const struct pd_lane_worker *w, const struct pd_group *group,
                            size_t column)
{
    pd_mask broken = {0};
    for (size_t m = 0; m < w->plan->probes; m++) {
        const pd_mask none = not_finite(w->intact[m]);
        write_voltage(group, column * w->plan->probes + m, w->intact[m], none);
        broken |= none;
    }
    write_standing(group, column, broken & 0, broken);
}

/* Writes a probe moved by `gain` for each volt of the EMF; returns where that is no number. */
PD_INLINE pd_mask write_moved(const struct pd_lane_worker *w, const struct pd_group *group,
                              size_t column, size_t m, const struct opened *o, struct pd_lanes gain,
                              bool beyond)
{
    const struct pd_lanes v = pd_add_product(w->intact[m], o->emf, gain);
    const pd_mask bad = not_finite(v);
    const bool drifts = beyond && w->plan->probe[m].conductor == N;
    const pd_mask none = bad | o->resonant | (drifts ? o->floats : o->floats & 0);
    write_voltage(group, column * w->plan->probes + m, v, none);
    return bad;
}

PD_INLINE void cut_section(const struct pd_lane_worker *w, const struct pd_group *group, size_t i)
{
    const struct pd_plan *const plan = w->plan;
    const struct pd_place *const place = &plan->place[i], *const parent =
                                                              &plan->place[place->parent];
    const struct pd_place_state *const s = &w->state[parent->slot];
    struct pd_lanes(*const response)[SIZE] = &w->response[parent->slot * plan->probes];
    const struct pd_symmetric *const y = &w->u[i];
    const struct pd_lanes u[SIZE] = {y->at[pd_pair(0, N)], y->at[pd_pair(1, N)],
                                     y->at[pd_pair(2, N)], y->at[pd_pair(3, N)]};
    struct pd_lanes moved[SIZE];
    multiply(&s->z, u, moved);
    const struct pd_lanes stiffness = pd_minus(u[N], dot(u, moved)), current = dot(u, s->v);
    for (size_t k = place->cut.first; k < place->cut.first + place->cut.count; k++) {
        const struct pd_plan_cut *const cut = &plan->cut[k];
        if (cut->joint_ohm == 0) {
            write_intact(w, group, cut->column);
            continue;
        }
        const struct opened o =
            open_section(cut, current, stiffness, w->far_neutral[i], w->tied[i]);
        pd_mask broken = {0};
        for (size_t m = 0; m < plan->probes; m++) {
            const struct pd_plan_probe *const probe = &plan->probe[m];
            const bool beyond = on_way(plan, i, probe);
            struct pd_lanes gain = dot(response[m], u);
            if (beyond)
                gain = pd_minus(gain, w->row[probe->row + parent->depth][N]);
            broken |= write_moved(w, group, cut->column, m, &o, gain, beyond);
        }
        write_standing(group, cut->column, o.resonant, broken);
    }
}

PD_INLINE void cut_leaf(const struct pd_lane_worker *w, const struct pd_group *group, size_t i,
                        size_t number)
{
    const struct pd_plan *const plan = w->plan;
    const struct pd_leaf *const leaf = &plan->leaf[number];
    const struct pd_leaf_state *const own = &w->leaf[number];
    const struct pd_place *const parent = &plan->place[i];
    const struct pd_place_state *const s = &w->state[parent->slot];
    struct pd_lanes(*const response)[SIZE] = &w->response[parent->slot * plan->probes];
    const int l = leaf->line;
    const struct pd_lanes to_line = pd_add_product(pd_times(s->z.at[pd_pair(l, l)], own->mutual),
                                                   s->z.at[pd_pair(l, N)], own->neutral);
    const struct pd_lanes to_neutral = pd_add_product(pd_times(s->z.at[pd_pair(l, N)], own->mutual),
                                                      s->z.at[pd_pair(N, N)], own->neutral);
    const struct pd_lanes back =
        pd_add_product(pd_times(own->mutual, to_line), own->neutral, to_neutral);
    const struct pd_lanes stiffness = pd_minus(own->neutral, back);
    const struct pd_lanes current =
        pd_add_product(pd_times(own->mutual, s->v[l]), own->neutral, s->v[N]);
    for (size_t k = leaf->cut.first; k < leaf->cut.first + leaf->cut.count; k++) {
        const struct pd_plan_cut *const cut = &plan->cut[k];
        if (cut->joint_ohm == 0) {
            write_intact(w, group, cut->column);
            continue;
        }
        const struct opened o = open_section(cut, current, stiffness, own->far_neutral, own->tied);
        pd_mask broken = {0};
        for (size_t m = 0; m < plan->probes; m++) {
            const struct pd_plan_probe *const probe = &plan->probe[m];
            const bool beyond = probe->leaf == number;
            struct pd_lanes gain =
                pd_add_product(pd_times(response[m][l], own->mutual), response[m][N], own->neutral);
            if (beyond)
                gain = pd_minus(gain, w->row[probe->row + parent->depth][N]);
            broken |= write_moved(w, group, cut->column, m, &o, gain, beyond);
        }
        write_standing(group, cut->column, o.resonant, broken);
    }
}

PD_INLINE void outwards(struct pd_lane_worker *w, const struct pd_group *group)
{
    const struct pd_plan *const plan = w->plan;
    start_at_source(w);
    for (size_t k = 0; k < plan->intact_count; k++)
        write_intact(w, group, plan->intact[k]);
    for (size_t i = 0; i < plan->places; i++) {
        const struct pd_place *const place = &plan->place[i];
        if (i > 0 && place->cut.count > 0)
            cut_section(w, group, i);
        if (!place->wanted) {
            i = place->end - 1;
            continue;
        }
        if (i > 0)
            go_beyond(w, i);
        for (size_t k = place->leaf.first; k < place->leaf.first + place->leaf.count; k++)
            if (plan->leaf[k].cut.count > 0)
                cut_leaf(w, group, i, k);
    }
}

PD_INLINE void pass(struct pd_lane_worker *w, const struct pd_group *group)
{
    to_root(w);
    for (size_t m = 0; m < w->plan->probes; m++)
        rows_of_probe(w, m);
    outwards(w, group);
}

void PD_PASS(struct pd_lane_worker *w, const struct pd_group *group)
{
    pass(w, group);
}
