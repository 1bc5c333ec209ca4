/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "solve/vector.h"

/* The passes over the tree: plan.h derives them. This file is compiled once for each width of
 * vector, with the name of its one function in PD_PASS (src/meson.build). */

/* Below this the admittances at a cut neutral cancel: solve/tree.h, PD_RESONANT. */
#define CANCELLATION_MIN 1e-6

enum { N = PD_N, SIZE = PD_CONDUCTORS };

/* Voltages wanted, and those across ports. */
PD_INLINE size_t all_probes(const struct pd_plan *plan)
{
    return plan->probes + plan->ports;
}

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

/* Adds, or takes away, a conductor's voltage: of the place, or of a service on it. */
PD_INLINE void add_conductor(const struct pd_lane_worker *w, const struct pd_plan_probe *probe,
                             int conductor, double sign, struct pd_lanes row[SIZE])
{
    row[conductor].re += sign;
    if (probe->leaf == PD_NONE)
        return;
    const struct pd_leaf *const leaf = &w->plan->leaf[probe->leaf];
    const struct pd_leaf_state *const s = &w->leaf[probe->leaf];
    if (conductor == leaf->line) {
        const struct pd_lanes z = pd_same(sign * leaf->line_z.re, sign * leaf->line_z.im);
        row[leaf->line] = pd_sub_product(row[leaf->line], z, s->line);
        row[N] = pd_sub_product(row[N], z, s->mutual);
    } else if (conductor == N) {
        const struct pd_lanes z = pd_same(sign * leaf->neutral_z.re, sign * leaf->neutral_z.im);
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
        first[k] = pd_same(0, 0);
    add_conductor(w, probe, probe->conductor, 1, first);
    if (probe->against < SIZE)
        add_conductor(w, probe, probe->against, -1, first);
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
    for (size_t m = 0; m < all_probes(plan); m++) {
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
        &w->response[plan->place[place->parent].slot * all_probes(plan)];
    struct pd_lanes(*const far_r)[SIZE] = &w->response[place->slot * all_probes(plan)];
    struct pd_place_state next;
    impedance_beyond(w, i, &near->z, &next.z);
    follow(w, i, near->v, next.v);
    *far = next;
    for (size_t m = 0; m < all_probes(plan); m++) {
        struct pd_lanes r[SIZE];
        if (on_way(plan, i, &plan->probe[m]))
            multiply(&far->z, w->row[plan->probe[m].row + place->depth], r);
        else
            follow(w, i, near_r[m], r);
        for (int k = 0; k < SIZE; k++)
            far_r[m][k] = r[k];
    }
}

/* What a current at port `from` does to a voltage on the same service, its near end held. An
 * element of a service goes from its line to the neutral. */
PD_INLINE struct pd_lanes within_leaf(const struct pd_lane_worker *w, size_t number,
                                      const struct pd_plan_probe *at)
{
    const struct pd_leaf *const leaf = &w->plan->leaf[number];
    const struct pd_leaf_state *const s = &w->leaf[number];
    const struct pd_lanes line_z = pd_same(leaf->line_z.re, leaf->line_z.im);
    const struct pd_lanes neutral_z = pd_same(leaf->neutral_z.re, leaf->neutral_z.im);
    /* z - z U z, a column for the current into the line less one for that out of the neutral */
    const struct pd_lanes near_line =
        pd_minus(pd_times(s->line, line_z), pd_times(s->mutual, neutral_z));
    const struct pd_lanes near_neutral =
        pd_minus(pd_times(s->mutual, line_z), pd_times(s->neutral, neutral_z));
    const struct pd_lanes line_v = pd_sub_product(line_z, line_z, near_line);
    const struct pd_lanes neutral_v =
        pd_negative(pd_add_product(neutral_z, neutral_z, near_neutral));
    struct pd_lanes sum = pd_same(0, 0);
    if (at->conductor == leaf->line)
        sum = line_v;
    if (at->conductor == N)
        sum = neutral_v;
    return at->against == N ? pd_minus(sum, neutral_v) : sum;
}

/* The voltages wanted at a place, for each ampere at each port. */
PD_INLINE void couple(struct pd_lane_worker *w, size_t i)
{
    const struct pd_plan *const plan = w->plan;
    const struct pd_place *const place = &plan->place[i];
    const struct pd_lanes(*const response)[SIZE] =
        (const struct pd_lanes(*)[SIZE]) & w->response[place->slot * all_probes(plan)];
    for (size_t m = 0; m < all_probes(plan); m++) {
        const struct pd_plan_probe *const at = &plan->probe[m];
        if (at->place != i)
            continue;
        for (size_t k = 0; k < plan->ports; k++) {
            const struct pd_plan_probe *const port = &plan->probe[plan->probes + k];
            struct pd_lanes *const between = &w->between[m * plan->ports + k];
            *between = dot(w->row[at->row + place->depth], response[plan->probes + k]);
            if (at->leaf != PD_NONE && at->leaf == port->leaf)
                *between = pd_plus(*between, within_leaf(w, at->leaf, at));
        }
    }
}

/* A cut. */

/* The two sides of a section, as a cut of its PEN meets them. */
struct severed {
    struct pd_lanes stiffness, current; /* U_NN - u^t Z u; I of the intact network */
    struct pd_lanes far_neutral;
    pd_reals tied;
    size_t place, leaf; /* leaf: PD_NONE where it is a place's section */
};

/* The EMF e that stands for a cut. */
struct opened {
    struct pd_lanes emf, per_ampere;
    pd_mask floats, resonant;
};

PD_INLINE struct pd_lanes none_where(pd_mask mask, struct pd_lanes a)
{
    const pd_reals none = {0};
    return (struct pd_lanes){pd_choose(mask, none, a.re), pd_choose(mask, none, a.im)};
}

PD_INLINE struct opened open_section(const struct pd_plan_cut *cut, const struct severed *s)
{
    const double small = CANCELLATION_MIN * CANCELLATION_MIN;
    struct pd_lanes stiffness = s->stiffness;
    struct opened o;
    if (isinf(cut->joint_ohm)) {
        o.floats = s->tied == 0;
        o.resonant = (pd_square(s->far_neutral) < small * (s->tied * s->tied)) & ~o.floats;
    } else {
        const struct pd_lanes left = {1 + cut->joint_ohm * s->far_neutral.re,
                                      cut->joint_ohm * s->far_neutral.im};
        const pd_reals all = 1 + cut->joint_ohm * s->tied;
        o.floats = s->tied != s->tied;
        o.resonant = pd_square(left) < small * (all * all);
        stiffness.re += 1 / cut->joint_ohm;
    }
    o.per_ampere = none_where(o.floats, pd_inverse(stiffness));
    o.emf = none_where(o.floats, pd_times(s->current, o.per_ampere));
    return o;
}

PD_INLINE bool lies_beyond(const struct pd_plan *plan, const struct severed *s,
                           const struct pd_plan_probe *probe)
{
    return s->leaf != PD_NONE ? probe->leaf == s->leaf : on_way(plan, s->place, probe);
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

/* Writes the answers of a linear network; of another, keeps what its iteration needs. `severed`
 * NULL: no cut. */
PD_INLINE void answer(const struct pd_lane_worker *w, const struct pd_group *group, size_t column,
                      const struct severed *severed, const struct opened *o,
                      const struct pd_lanes *gain)
{
    const struct pd_plan *const plan = w->plan;
    pd_mask broken = {0};
    if (plan->ports > 0) {
        w->column[column] = (struct pd_column_state){o->emf, o->per_ampere, o->floats, o->resonant};
        return;
    }
    for (size_t m = 0; m < plan->probes; m++) {
        const struct pd_plan_probe *const probe = &plan->probe[m];
        const struct pd_lanes v = pd_add_product(w->intact[m], o->emf, gain[m]);
        const pd_mask bad = not_finite(v);
        pd_mask none = bad | o->resonant;
        if (severed != NULL && probe->conductor == N && lies_beyond(plan, severed, probe))
            none |= o->floats;
        broken |= bad;
        write_voltage(group, column * plan->probes + m, v, none);
    }
    write_standing(group, column, o->resonant, broken);
}

/* Where the gains of a column are kept; of a linear network, until the next. */
PD_INLINE struct pd_lanes *gains_of(const struct pd_lane_worker *w, size_t column)
{
    return &w->gain[w->plan->ports > 0 ? column * all_probes(w->plan) : 0];
}

PD_INLINE void answer_intact(const struct pd_lane_worker *w, const struct pd_group *group,
                             size_t column)
{
    struct pd_lanes *const gain = gains_of(w, column);
    const struct pd_lanes zero = pd_same(0, 0);
    const struct opened none = {zero, zero, {0}, {0}};
    for (size_t m = 0; m < all_probes(w->plan); m++)
        gain[m] = zero;
    answer(w, group, column, NULL, &none, gain);
}

/* r^t u - w_N: what a volt of the EMF does to each voltage wanted. */
PD_INLINE void find_gains(const struct pd_lane_worker *w, const struct severed *s,
                          const struct pd_lanes u[SIZE], size_t near, struct pd_lanes *gain)
{
    const struct pd_plan *const plan = w->plan;
    const struct pd_place *const place = &plan->place[near];
    struct pd_lanes(*const response)[SIZE] = &w->response[place->slot * all_probes(plan)];
    for (size_t m = 0; m < all_probes(plan); m++) {
        const struct pd_plan_probe *const probe = &plan->probe[m];
        if (s->leaf == PD_NONE) {
            gain[m] = dot(response[m], u);
        } else {
            const int line = plan->leaf[s->leaf].line;
            gain[m] = pd_add_product(pd_times(response[m][line], u[line]), response[m][N], u[N]);
        }
        if (lies_beyond(plan, s, probe))
            gain[m] = pd_minus(gain[m], w->row[probe->row + place->depth][N]);
    }
}

PD_INLINE void answer_cuts(const struct pd_lane_worker *w, const struct pd_group *group,
                           const struct pd_plan_range *cuts, const struct severed *s,
                           const struct pd_lanes u[SIZE], size_t near)
{
    for (size_t k = cuts->first; k < cuts->first + cuts->count; k++) {
        const struct pd_plan_cut *const cut = &w->plan->cut[k];
        if (cut->joint_ohm == 0) {
            answer_intact(w, group, cut->column);
            continue;
        }
        struct pd_lanes *const gain = gains_of(w, cut->column);
        const struct opened o = open_section(cut, s);
        find_gains(w, s, u, near, gain);
        answer(w, group, cut->column, s, &o, gain);
    }
}

PD_INLINE void cut_section(const struct pd_lane_worker *w, const struct pd_group *group, size_t i)
{
    const struct pd_place *const place = &w->plan->place[i];
    const struct pd_place_state *const state = &w->state[w->plan->place[place->parent].slot];
    const struct pd_symmetric *const y = &w->u[i];
    const struct pd_lanes u[SIZE] = {y->at[pd_pair(0, N)], y->at[pd_pair(1, N)],
                                     y->at[pd_pair(2, N)], y->at[pd_pair(3, N)]};
    struct pd_lanes moved[SIZE];
    multiply(&state->z, u, moved);
    const struct severed s = {
        .stiffness = pd_minus(u[N], dot(u, moved)),
        .current = dot(u, state->v),
        .far_neutral = w->far_neutral[i],
        .tied = w->tied[i],
        .place = i,
        .leaf = PD_NONE,
    };
    answer_cuts(w, group, &place->cut, &s, u, place->parent);
}

PD_INLINE void cut_leaf(const struct pd_lane_worker *w, const struct pd_group *group, size_t i,
                        size_t number)
{
    const struct pd_leaf *const leaf = &w->plan->leaf[number];
    const struct pd_leaf_state *const own = &w->leaf[number];
    const struct pd_place_state *const state = &w->state[w->plan->place[i].slot];
    const int l = leaf->line;
    struct pd_lanes u[SIZE];
    u[l] = own->mutual;
    u[N] = own->neutral;
    const struct pd_lanes *const z = state->z.at;
    const struct pd_lanes to_line =
        pd_add_product(pd_times(z[pd_pair(l, l)], u[l]), z[pd_pair(l, N)], u[N]);
    const struct pd_lanes to_neutral =
        pd_add_product(pd_times(z[pd_pair(l, N)], u[l]), z[pd_pair(N, N)], u[N]);
    const struct pd_lanes back = pd_add_product(pd_times(u[l], to_line), u[N], to_neutral);
    const struct severed s = {
        .stiffness = pd_minus(u[N], back),
        .current = pd_add_product(pd_times(u[l], state->v[l]), u[N], state->v[N]),
        .far_neutral = own->far_neutral,
        .tied = own->tied,
        .place = i,
        .leaf = number,
    };
    answer_cuts(w, group, &leaf->cut, &s, u, i);
}

PD_INLINE void outwards(struct pd_lane_worker *w, const struct pd_group *group)
{
    const struct pd_plan *const plan = w->plan;
    start_at_source(w);
    for (size_t k = 0; k < plan->intact_count; k++)
        answer_intact(w, group, plan->intact[k]);
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
        if (plan->ports > 0)
            couple(w, i);
        for (size_t k = place->leaf.first; k < place->leaf.first + place->leaf.count; k++)
            if (plan->leaf[k].cut.count > 0)
                cut_leaf(w, group, i, k);
    }
}

PD_INLINE void pass(struct pd_lane_worker *w, const struct pd_group *group)
{
    to_root(w);
    for (size_t m = 0; m < all_probes(w->plan); m++)
        rows_of_probe(w, m);
    outwards(w, group);
}

void PD_PASS(struct pd_lane_worker *w, const struct pd_group *group)
{
    pass(w, group);
}
