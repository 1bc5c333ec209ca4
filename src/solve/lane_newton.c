/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "solve/lane_seek.h"
#include "solve/vector.h"

/* A step of Newton's method in lanes: newton.c says how. Elimination by rows with the largest entry
 * of a column as pivot, each lane its own. This file is compiled once for each width of vector,
 * with the name of its function in PD_NEWTON (src/meson.build). */

/* Columns 2 q and 2 q + 1: what u' - u answers to the voltage across port q. */
PD_INLINE void fill_port(struct pd_lane_seek *s, size_t q)
{
    const size_t size = 2 * s->count;
    const struct pd_lanes through = pd_times(s->per_ampere, s->gain[q]);
    for (size_t p = 0; p < s->count; p++) {
        pd_reals *const entry = s->jacobian + 2 * p * size + 2 * q;
        const struct pd_lanes z = pd_add_product(s->between[p * s->count + q], through, s->gain[p]);
        const struct pd_lanes a = pd_minus(pd_times(z, s->slope[q]), pd_same(p == q ? 1 : 0, 0));
        const struct pd_lanes b = pd_times(z, s->slope_conj[q]);
        entry[0] = a.re + b.re;
        entry[1] = b.im - a.im;
        entry[size] = a.im + b.im;
        entry[size + 1] = a.re - b.re;
    }
}

/* Which row from k on has the largest entry in column k, as numbers. */
PD_INLINE pd_reals pivot_row(const pd_reals *matrix, size_t size, size_t k, pd_reals *largest)
{
    pd_reals most = pd_size(matrix[k * size + k]);
    pd_reals at = (double)k - (pd_reals){0};
    for (size_t r = k + 1; r < size; r++) {
        const pd_reals entry = pd_size(matrix[r * size + k]);
        const pd_mask more = pd_more(entry, most);
        most = pd_choose(more, entry, most);
        at = pd_choose(more, (double)r - (pd_reals){0}, at);
    }
    *largest = most;
    return at;
}

/* Brings each lane's pivot to row k. */
PD_INLINE void change_rows(struct pd_lane_seek *s, size_t size, size_t k, const pd_reals *at)
{
    double *const right = (double *)s->step;
    for (size_t lane = 0; lane < PD_LANES; lane++) {
        const size_t row = (size_t)(*at)[lane];
        if (row == k)
            continue;
        double *const one = (double *)(s->jacobian + k * size) + lane;
        double *const other = (double *)(s->jacobian + row * size) + lane;
        for (size_t c = k; c < size; c++) {
            const double keep = one[c * PD_LANES];
            one[c * PD_LANES] = other[c * PD_LANES];
            other[c * PD_LANES] = keep;
        }
        const double keep = right[k * PD_LANES + lane];
        right[k * PD_LANES + lane] = right[row * PD_LANES + lane];
        right[row * PD_LANES + lane] = keep;
    }
}

/* Takes row k off the `rows` below from r on, in the columns behind k and on the right. */
PD_INLINE void eliminate(struct pd_lane_seek *s, size_t size, size_t k, size_t r, size_t rows,
                         pd_reals scale)
{
    enum { MOST = 4 };
    const pd_reals *const pivot = s->jacobian + k * size;
    pd_reals *const right = (pd_reals *)s->step, *const row = s->jacobian + r * size, f[MOST];
#pragma GCC unroll 4
    for (size_t i = 0; i < rows; i++) {
        f[i] = row[i * size + k] * scale;
        right[r + i] -= f[i] * right[k];
    }
    for (size_t c = k + 1; c < size; c++) {
        const pd_reals above = pivot[c];
#pragma GCC unroll 4
        for (size_t i = 0; i < rows; i++)
            row[i * size + c] -= f[i] * above;
    }
}

PD_INLINE void triangle(struct pd_lane_seek *s, size_t size)
{
    pd_reals least = INFINITY - (pd_reals){0}, most = {0};
    pd_mask bad = {0};
    for (size_t k = 0; k < size; k++) {
        pd_reals largest;
        const pd_reals at = pivot_row(s->jacobian, size, k, &largest);
        change_rows(s, size, k, &at);
        const pd_mask on = s->is_on[k / 2];
        least = pd_choose(on & pd_more(least, largest), largest, least);
        most = pd_choose(on & pd_more(largest, most), largest, most);
        bad |= ~pd_more(INFINITY - (pd_reals){0}, largest);
        const pd_reals scale = 1 / s->jacobian[k * size + k];
        size_t r = k + 1;
        for (; r + 4 <= size; r += 4)
            eliminate(s, size, k, r, 4, scale);
        for (; r < size; r++)
            eliminate(s, size, k, r, 1, scale);
        s->jacobian[k * size + k] = scale;
    }
    s->singular = bad | ~pd_more(least, PD_NEWTON_SINGULAR * most);
}

PD_INLINE void back(struct pd_lane_seek *s, size_t size)
{
    pd_reals *const x = (pd_reals *)s->step;
    for (size_t k = size; k-- > 0;) {
        const pd_reals *const row = s->jacobian + k * size;
        pd_reals even = x[k], odd = {0};
        size_t c = k + 1;
        for (; c + 2 <= size; c += 2) {
            even -= row[c] * x[c];
            odd -= row[c + 1] * x[c + 1];
        }
        if (c < size)
            even -= row[c] * x[c];
        x[k] = (even + odd) * row[k];
    }
}

void PD_NEWTON(struct pd_lane_seek *s)
{
    for (size_t q = 0; q < s->count; q++) {
        fill_port(s, q);
        s->step[q] = pd_minus(s->u[q], s->moved[q]);
    }
    triangle(s, 2 * s->count);
    back(s, 2 * s->count);
}
