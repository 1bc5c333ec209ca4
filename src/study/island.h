/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_ISLAND_H
#define PENDRIFT_STUDY_ISLAND_H

#include <stdbool.h>

#include "network/network.h"
#include "solve/tree.h"
#include "study/disc.h"

/* What the loads' ranges allow of a network whose PEN is open in one section: proofs, not samples.
 * The room's own.
 *
 * Let u be the neutral's potential at one place T beyond the break ("the island"), and let load k
 * draw t_k y_k w_k, t_k within its range, w_k the voltage across it. Kirchhoff's current law for
 * the island, with its electrodes' currents i_e, is
 *
 *     sum_k t_k y_k w_k - sum_e i_e = 0,   w_k = E_k - u - d_k,                              (1)
 *
 * d_k what the cables drop between the EMFs and T by way of the load. On a stiff star d_k = 0 and
 * (1) is Millman's theorem, U_N = sum(Y_k E_k) / (sum(Y_k) + Y_E).
 *
 * 1. A bound on every voltage. For u within a disc, the sizes m of all w_k and i_e obey m <= f + K
 * m with f, K >= 0 (EMFs and u; impedances times admittances at the range's high). Where some b > 0
 *    has (1 + eps)(f + K b) <= b, K's spectral radius is below 1 (Collatz and Wielandt) and so
 *    m <= (1 - K)^-1 f <= b. Where no such b is found there is no bound, and that is said.
 * 2. Enclosures. From any enclosure of w and i_e, one pass over the tree gives another: currents
 * are summed towards the root, drops from it. The neutral beyond the break is followed from T,
 * where it is u; a section between T and the break carries what the rest of the island puts in,
 * which (1) makes minus what its own end does.
 * 3. What is possible. u is possible only if 0 lies in the set of the left side of (1): a sum of
 *    segments and discs. If its support is negative in one direction, no load in range makes any u
 *    of the cell. On a stiff star the set is exact, a zonotope, for any power factors.
 * 4. What the largest |u| must be. By reciprocity
 *
 *     du/dt_k = -(y_k w_k w'_k) / J,                                                         (2)
 *
 *    w' the voltages with the EMFs at 0 and a current J from remote earth into T, such that T is 1
 * V above the star point. (Measured so, the star point's electrode does not enter w'; it is lifted
 *    by J less what the other electrodes carry, which is what the island's loads and the electrodes
 *    of the intact side make it.) At loads
 *    where |u| is the largest, d|u|/dt_k > 0 puts load k at its high and < 0 at its low (it is a
 *    maximum over a box). Where the enclosures leave no doubt of the sign, the load is settled, the
 *    enclosures shrink, and more are settled. All settled: the largest |u| of the cell can only be
 *    that of one corner, which is solved. This holds for any power factor: where a maximum lies
 *    inside a range the sign stays in doubt, and 5 bounds it.
 * 5. Loads in doubt. If with u in a disc of radius r + s round the cell's centre all loads in doubt
 *    together move u by no more than s, then u stays in that disc on the way from the maximum to
 * any corner q of them, and the largest |u| is at most |u(q)| + the sum of what each can still add
 * by (2).
 *
 * Loads whose admittance depends on voltage are taken as t_k m with m = I(v)/(y v) anywhere between
 * its least and largest over the voltages of the enclosure; one with a window may also be off. 4
 * and 5 are then not used. In 1 such a load adds the most that it draws at any voltage up to m,
 * which grows no faster than m (or, with a window, the most that it ever draws): F(m) in place of f
 * + K m then has F(c m) <= c F(m) for c >= 1, and (1 + eps) F(b) <= b bounds m by b all the same:
 * were c the largest m_k/b_k and above 1, m_k <= F_k(m) <= c F_k(b) <= c b_k/(1 + eps) for every k.
 *
 * Sources: Millman's theorem; compensation theorem and reciprocity (textbooks); support function of
 * a zonotope; first-order conditions of a maximum over a box; interval methods of global
 * optimization (textbook).
 */

/* An element of a load: which load, where, and its admittance for one ampere of the load. */
struct pd_island_element {
    size_t load, node;
    int from, to;
    double complex y_s;
    double size_s;
    struct pd_element element; /* at one ampere */
};

struct pd_island {
    const struct pd_network *network;
    const struct pd_earth_tie *tie;
    size_t tie_count;
    size_t section;   /* the one that is open; PD_NONE: none */
    size_t target;    /* T, a node */
    bool beyond;      /* T lies beyond the break */
    size_t reference; /* where the neutral beyond the break is u: T, or else the island's head */
    bool linear;
    bool *out;                                      /* [nodes] beyond the break */
    bool *on_path;                                  /* [nodes] from T to the head of the island */
    double (*z_size)[PD_CONDUCTORS][PD_CONDUCTORS]; /* [nodes] |z| */
    bool *mutual;                                   /* [nodes] */
    size_t *tie_node;                               /* [tie_count] or PD_NONE */
    struct pd_island_element *element;              /* ordered by load */
    size_t element_count;
    size_t *first;   /* [load_count + 1] a load's elements */
    double star_ohm; /* of the star point, its intact side's electrodes beside it */
    bool earthed;    /* an electrode is beyond the break */
    double leak_s;   /* else this ties it, see below */
};

struct pd_span {
    double low, high;
};

/* What the loads can be: [load_count] each. */
struct pd_box {
    double *low, *high;
};

/* The enclosures: of the voltage across each element, of each tie's current, of every conductor. */
struct pd_enclosure {
    struct pd_disc *w;                     /* [element_count] */
    struct pd_disc *i;                     /* [tie_count] */
    struct pd_disc (*v)[PD_CONDUCTORS];    /* [nodes] to remote earth */
    struct pd_disc (*away)[PD_CONDUCTORS]; /* [nodes] currents of the section, working memory */
    struct pd_disc star;                   /* to remote earth */
    struct pd_disc loads; /* current that the island's loads put into its neutral */
    double unit_v;        /* of the drive */
    bool injected;        /* of the drive */
    void *scratch;
};

/* What drives the network: EMFs of supply_v +- supply_r and u. For (2) `injected`, supply_v 0, u 1:
 * a current J enters at T from remote earth, and u is T's potential to the star point. Where unit_v
 * > 0 all are in units of unit_v or any larger voltage: u of size 1 then stands for every |u| from
 * unit_v up. */
struct pd_drive {
    double supply_v, supply_r;
    struct pd_disc u;
    double unit_v;
    bool injected;
};

/* Makes the room; pd_island_open then sets the break. The caller frees. PD_OK, PD_ERR_MEMORY. */
enum pd_status pd_island_new(const struct pd_network *network, const struct pd_earth_tie *tie,
                             size_t tie_count, struct pd_island *island);
void pd_island_free(struct pd_island *island);
enum pd_status pd_enclosure_new(const struct pd_island *island, struct pd_enclosure *e);
void pd_enclosure_free(struct pd_enclosure *e);
void pd_enclosure_copy(const struct pd_island *island, const struct pd_enclosure *from,
                       struct pd_enclosure *to); /* w and i */

/* Of the last pass: a conductor's voltage to remote earth; a line's to neutral at a node. */
struct pd_disc pd_enclosure_voltage(const struct pd_island *island, const struct pd_enclosure *e,
                                    size_t node, int conductor);
struct pd_disc pd_enclosure_line(const struct pd_island *island, const struct pd_enclosure *e,
                                 size_t node, int line);

/* Opens a section, PD_NONE for none; potentials are followed from `target`, a node with a PEN. */
void pd_island_open(struct pd_island *island, size_t section, size_t target);

/* 1 above: fills *e with verified discs for every u of the drive. False where there is no bound. */
bool pd_island_bound(const struct pd_island *island, const struct pd_box *box,
                     const struct pd_drive *drive, struct pd_enclosure *e);

/* 2 above: one pass; e->w and e->i are replaced where the new disc is the smaller. */
void pd_island_pass(const struct pd_island *island, const struct pd_box *box,
                    const struct pd_drive *drive, struct pd_enclosure *e);

/* 3 above: false where no loads in the box make any u of the enclosure. Takes from the box what
 * cannot be: with h the support of all in a direction, load k is no further than h over its own
 * from the end of its range that gives its support.
 *
 * A neutral that nothing ties (no electrode, every load at 0) has no potential, and close to it the
 * largest |u| may only be approached. So such an island is taken with 1 gigaohm to earth, leak_s:
 * it is at 0 with every load off. A state that draws s siemens in all can be scaled to one of s =
 * sqrt(leak/2Z), some milliampere: its |u| is moved by the leak and by the cables, Z ohm, no more
 * than 2 E sqrt(2 leak Z), 0.05 V for 4 ohm: PD_LEAK_V, to be added to a bound. */
#define PD_LEAK_V 0.05
bool pd_island_possible(const struct pd_island *island, const struct pd_box *box,
                        const struct pd_enclosure *e);

/* 4 and 5 above: d|u|/dt_k lies between low and high or, where low > 0 or high < 0, has that sign
 * and no greater size; |du/dt_k| is at most size. V/A. */
struct pd_slope {
    double low, high, size;
};

/* The slopes of [load_count] loads that are in the box, u in the enclosure `e`; `unit` encloses the
 * same network with a current injected. False where nothing can be said: loads that are not
 * linear, angles of half a turn. */
bool pd_island_slopes(const struct pd_island *island, const struct pd_box *box,
                      const struct pd_enclosure *e, const struct pd_enclosure *unit,
                      struct pd_slope *slope);

/* Where T is on the intact side: a bound on the size of its neutral's potential to earth, over the
 * voltages of the enclosure. */
double pd_island_intact(const struct pd_island *island, const struct pd_box *box,
                        const struct pd_enclosure *e);

/* Bytes of an enclosure's scratch. */
size_t pd_island_scratch(const struct pd_island *island);

/* The currents of an element over a box, its voltage anywhere in a disc; unit_v as of a drive. */
struct pd_disc pd_element_current(const struct pd_island_element *element, const struct pd_box *box,
                                  struct pd_disc w, double unit_v);

/* The range of the factor t_k m of an element, signed: an inverter's is below 0. */
struct pd_span pd_element_range(const struct pd_island_element *element, const struct pd_box *box,
                                struct pd_disc w, double unit_v);

#endif
