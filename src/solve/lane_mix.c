/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "solve/lane_seek.h"
#include "solve/vector.h"

/* A step of the iteration in lanes: anderson.c says how. This file is compiled once for each width
 * of vector, with the names of its two functions in PD_MOVE and PD_MIX (src/meson.build). */

enum { MEMORY = PD_ANDERSON_MEMORY, BLOCK = 4 };

/* Rows p to p + rows - 1 of v + Z J + g e. */
PD_INLINE void move_rows(struct pd_lane_seek *s, size_t p, size_t rows, struct pd_lanes e)
{
    struct pd_lanes sum[BLOCK];
#pragma GCC unroll 4
    for (size_t i = 0; i < rows; i++)
        sum[i] = pd_add_product(s->intact[p + i], s->gain[p + i], e);
    for (size_t q = 0; q < s->count; q++) {
        const struct pd_lanes injected = s->injected[q];
#pragma GCC unroll 4
        for (size_t i = 0; i < rows; i++)
            sum[i] = pd_add_product(sum[i], s->between[(p + i) * s->count + q], injected);
    }
#pragma GCC unroll 4
    for (size_t i = 0; i < rows; i++) {
        const pd_reals far2 = pd_square(pd_minus(sum[i], s->u[p + i]));
        s->moved[p + i] = sum[i];
        s->far2 = pd_choose(pd_more(far2, s->far2), far2, s->far2);
        s->size2 += far2;
    }
}

void PD_MOVE(struct pd_lane_seek *s)
{
    struct pd_lanes through = pd_same(0, 0);
    size_t p = 0;
    for (size_t q = 0; q < s->count; q++)
        through = pd_add_product(through, s->gain[q], s->injected[q]);
    const struct pd_lanes e = pd_add_product(s->emf, s->per_ampere, through);
    s->far2 = s->size2 = (pd_reals){0};
    for (; p + BLOCK <= s->count; p += BLOCK)
        move_rows(s, p, BLOCK, e);
    for (; p < s->count; p++)
        move_rows(s, p, 1, e);
}

PD_INLINE pd_reals dot(const pd_reals *a, const pd_reals *b, size_t size)
{
    pd_reals even = {0}, odd = {0};
    for (size_t i = 0; i < size; i += 2) {
        even += a[i] * b[i];
        odd += a[i + 1] * b[i + 1];
    }
    return even + odd;
}

/* Keeps the differences to the last x and step, the newest in front; a lane without any keeps 0,
 * which counts for nothing. */
PD_INLINE void remember(struct pd_lane_seek *s, const pd_reals *x, size_t size)
{
    const struct pd_lane_past newest = s->past[MEMORY - 1];
    const pd_mask fresh = s->fresh;
    for (int k = MEMORY - 1; k > 0; k--)
        s->past[k] = s->past[k - 1];
    s->past[0] = newest;
    for (size_t i = 0; i < size; i++) {
        newest.dx[i] = pd_choose(fresh, (pd_reals){0}, x[i] - s->last_x[i]);
        newest.df[i] = pd_choose(fresh, (pd_reals){0}, s->f[i] - s->last_f[i]);
        s->last_x[i] = x[i];
        s->last_f[i] = s->f[i];
    }
    if (s->kept < MEMORY)
        s->kept++;
}

/* The k-th direction: the k-th difference less what the newer ones hold of it, not made a unit's
 * length, so that no root is taken; inverse[k]: of its squared length, 0 in lanes where next to
 * nothing is left and it counts for nothing. share: how much of the newer ones it held. Returns the
 * share of f that it holds. */
PD_INLINE pd_reals orthogonal(struct pd_lane_seek *s, size_t k, size_t size,
                              pd_reals inverse[MEMORY], pd_reals share[MEMORY])
{
    const double enough = PD_ANDERSON_LEFT * PD_ANDERSON_LEFT;
    pd_reals *const q = s->direction + k * size;
    const pd_reals *const df = s->past[k].df;
    const pd_reals before2 = dot(df, df, size);
    memcpy(q, df, size * sizeof *q);
    for (size_t j = 0; j < k; j++) {
        const pd_reals *const other = s->direction + j * size;
        share[j] = dot(other, q, size) * inverse[j];
        for (size_t i = 0; i < size; i++)
            q[i] -= share[j] * other[i];
    }
    const pd_reals left2 = k > 0 ? dot(q, q, size) : before2;
    const pd_mask counts =
        pd_more(left2, enough * before2) & pd_more(s->most, (double)k - (pd_reals){0});
    inverse[k] = pd_choose(counts, 1 / left2, (pd_reals){0});
    return dot(q, s->f, size) * inverse[k];
}

PD_INLINE void least_squares(struct pd_lane_seek *s, size_t size, pd_reals gamma[MEMORY])
{
    pd_reals share[MEMORY][MEMORY], inverse[MEMORY];
    for (size_t k = 0; k < s->kept; k++)
        gamma[k] = orthogonal(s, k, size, inverse, share[k]);
    for (size_t k = s->kept; k-- > 0;)
        for (size_t j = k + 1; j < s->kept; j++)
            gamma[k] -= share[j][k] * gamma[j];
}

void PD_MIX(struct pd_lane_seek *s)
{
    const size_t size = 2 * s->count;
    pd_reals *const x = (pd_reals *)s->u, gamma[MEMORY];
    const pd_reals *const g = (const pd_reals *)s->moved;
    const pd_reals damping = s->damping;
    for (size_t i = 0; i < size; i++)
        s->f[i] = g[i] - x[i];
    remember(s, x, size);
    least_squares(s, size, gamma);
    for (size_t i = 0; i < size; i++) {
        pd_reals next = x[i] + damping * s->f[i];
        for (size_t k = 0; k < s->kept; k++)
            next -= gamma[k] * (s->past[k].dx[i] + damping * s->past[k].df[i]);
        x[i] = pd_choose(s->moving, next, x[i]);
    }
}
