/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_SOLVE_VECTOR_H
#define PENDRIFT_SOLVE_VECTOR_H

#include <string.h>

#include "solve/lane_room.h"

#ifdef __AVX512F__
#include <immintrin.h>
#endif

/* Arithmetic with complex numbers of PD_LANES states side by side. The room's own. Everything is
 * inlined, so that each caller compiles it for the instructions of its own. */

/* All of it is inlined: no vector is ever passed, in a register or otherwise. */
#pragma GCC diagnostic ignored "-Wpsabi"

#define PD_INLINE static inline __attribute__((always_inline, unused))

PD_INLINE struct pd_lanes pd_plus(struct pd_lanes a, struct pd_lanes b)
{
    return (struct pd_lanes){a.re + b.re, a.im + b.im};
}

PD_INLINE struct pd_lanes pd_minus(struct pd_lanes a, struct pd_lanes b)
{
    return (struct pd_lanes){a.re - b.re, a.im - b.im};
}

PD_INLINE struct pd_lanes pd_times(struct pd_lanes a, struct pd_lanes b)
{
    return (struct pd_lanes){a.re * b.re - a.im * b.im, a.re * b.im + a.im * b.re};
}

/* c + a b and c - a b, in as few fused steps as there are. */
PD_INLINE struct pd_lanes pd_add_product(struct pd_lanes c, struct pd_lanes a, struct pd_lanes b)
{
    return (struct pd_lanes){(c.re + a.re * b.re) - a.im * b.im,
                             (c.im + a.re * b.im) + a.im * b.re};
}

PD_INLINE struct pd_lanes pd_sub_product(struct pd_lanes c, struct pd_lanes a, struct pd_lanes b)
{
    return (struct pd_lanes){(c.re - a.re * b.re) + a.im * b.im,
                             (c.im - a.re * b.im) - a.im * b.re};
}

PD_INLINE pd_reals pd_square(struct pd_lanes a)
{
    return a.re * a.re + a.im * a.im;
}

PD_INLINE struct pd_lanes pd_negative(struct pd_lanes a)
{
    return (struct pd_lanes){-a.re, -a.im};
}

/* 1 / x. AVX-512 has a reciprocal of 14 bits, which two steps of Newton's method take to the last
 * bit or the one before, while a division would hold up the multiplications. 1 / 0 is then NaN. */
PD_INLINE pd_reals pd_reciprocal(pd_reals x)
{
#ifdef __AVX512F__
    const pd_reals rough = _mm512_rcp14_pd(x);
    const pd_reals better = rough + rough * (1 - x * rough);
    return better + better * (1 - x * better);
#else
    return 1 / x;
#endif
}

PD_INLINE struct pd_lanes pd_inverse(struct pd_lanes a)
{
    const pd_reals scale = pd_reciprocal(pd_square(a));
    return (struct pd_lanes){a.re * scale, -a.im * scale};
}

PD_INLINE struct pd_lanes pd_same(double re, double im)
{
    return (struct pd_lanes){re - (pd_reals){0}, im - (pd_reals){0}};
}

/* a where the mask is set, b elsewhere. */
PD_INLINE pd_reals pd_choose(pd_mask mask, pd_reals a, pd_reals b)
{
    return (pd_reals)((mask & (pd_mask)a) | (~mask & (pd_mask)b));
}

/* a > b. Where the instructions are narrower than a vector, gcc 12 compares it number by number; so
 * it is cut into parts that they hold. */
PD_INLINE pd_mask pd_more(pd_reals a, pd_reals b)
{
#ifdef __AVX512F__
    return a > b;
#else
#ifdef __AVX2__
    enum { PART = 32 };
#else
    enum { PART = 16 };
#endif
    typedef double part __attribute__((vector_size(PART)));
    typedef long long part_mask __attribute__((vector_size(PART)));
    enum { PARTS = sizeof(pd_reals) / PART };
    part of_a[PARTS], of_b[PARTS];
    part_mask more[PARTS];
    pd_mask whole;
    memcpy(of_a, &a, sizeof a);
    memcpy(of_b, &b, sizeof b);
#pragma GCC unroll 4
    for (int i = 0; i < PARTS; i++)
        more[i] = of_a[i] > of_b[i];
    memcpy(&whole, more, sizeof whole);
    return whole;
#endif
}

/* |a|: without its sign bit. */
PD_INLINE pd_reals pd_size(pd_reals a)
{
    return (pd_reals)((pd_mask)a & 0x7fffffffffffffff);
}

/* Where entry i, j of a symmetric matrix stands. */
PD_INLINE int pd_pair(int i, int j)
{
    const int low = i < j ? i : j, high = i < j ? j : i;
    return low * (7 - low) / 2 + high;
}

#endif
