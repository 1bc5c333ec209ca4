/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "detect/boundary.h"

#include <math.h>
#include <stdlib.h>

#include "detect/locus.h"

/* Two circles for each centre, and the limit. A circle cuts each other one and each edge in at most
 * two places; places where there is none have the number NOWHERE, which no mask holds. */
enum {
    CIRCLES = 2 * PD_LINES + 1,
    CUTS = 2 * (CIRCLES - 1) + 2 * PD_REGION_CORNERS + 2,
    NOWHERE = 31
};

struct field {
    struct pd_locus circle[CIRCLES];
    size_t circles;
    size_t inner[PD_LINES], outer[PD_LINES], limit;
    size_t centres;
    bool any;
    struct pd_region *region;
};

/* The number of a circle; the same again where it is there already. */
static size_t circle_number(struct field *f, double complex centre, double radius)
{
    if (!(radius > 0))
        return NOWHERE;
    const double slack = 1e-9 * f->region->supply_v;
    for (size_t i = 0; i < f->circles; i++)
        if (cabs(f->circle[i].at - centre) <= slack && fabs(f->circle[i].radius - radius) <= slack)
            return i;
    f->circle[f->circles] = pd_locus_circle(centre, radius);
    return f->circles++;
}

static void make_field(const struct pd_sensing *sensing, double beyond_v, struct field *f)
{
    for (size_t k = 0; k < sensing->count; k++) {
        const double complex centre = f->region->supply_v * sensing->unit[k];
        f->outer[k] = circle_number(f, centre, sensing->window.high_v);
        f->inner[k] = circle_number(f, centre, sensing->window.low_v);
    }
    f->centres = sensing->count;
    f->any = sensing->any;
    f->limit = circle_number(f, 0, beyond_v);
}

/* Whether what lies within the circles of the mask, and outside the others, is in the set. */
static bool is_blind(const struct field *f, unsigned inside)
{
    size_t blind = 0;
    if ((inside & 1u << f->limit) != 0)
        return false;
    for (size_t k = 0; k < f->centres; k++)
        blind += (inside & 1u << f->outer[k]) != 0 && (inside & 1u << f->inner[k]) == 0;
    return f->any ? blind > 0 : blind == f->centres;
}

static unsigned circles_round(const struct field *f, double complex point)
{
    unsigned inside = 0;
    for (size_t i = 0; i < f->circles; i++)
        if (cabs(point - f->circle[i].at) < f->circle[i].radius)
            inside |= 1u << i;
    return inside;
}

static int ascending(const void *left, const void *right)
{
    const double a = *(const double *)left, b = *(const double *)right;
    return (a > b) - (a < b);
}

static void add_piece(struct field *f, struct pd_piece piece)
{
    struct pd_region *const region = f->region;
    if (region->piece_count < PD_REGION_PIECES)
        region->piece[region->piece_count++] = piece;
}

static double complex corner(const struct field *f, size_t i)
{
    return f->region->corner[i % f->region->corner_count];
}

/* Edges of the hull; a segment has but one. */
static size_t edges(const struct field *f)
{
    return f->region->corner_count == 2 ? 1 : f->region->corner_count;
}

/* The hull lies to the left of its edges, and what is outside it is not in the set. */
static void add_edge(struct field *f, size_t edge)
{
    const double complex a = corner(f, edge), b = corner(f, edge + 1), way = b - a;
    const struct pd_locus line = pd_locus_through(a, b);
    double cut[CUTS] = {0, 1}, begin = NAN;
    size_t cuts = 2;
    for (size_t i = 0; i < f->circles; i++) {
        double complex point[2];
        const size_t count = pd_locus_meet(&line, &f->circle[i], point);
        for (size_t k = 0; k < count; k++) {
            const double share = creal(conj(way) * (point[k] - a)) / creal(conj(way) * way);
            if (share > 0 && share < 1)
                cut[cuts++] = share;
        }
    }
    qsort(cut, cuts, sizeof *cut, ascending);
    for (size_t i = 0; i < cuts; i++) {
        const bool goes_on =
            i + 1 < cuts && is_blind(f, circles_round(f, a + (cut[i] + cut[i + 1]) / 2 * way));
        if (goes_on && isnan(begin))
            begin = cut[i];
        if (goes_on || isnan(begin))
            continue;
        if (cut[i] - begin > 1e-12)
            add_piece(f, (struct pd_piece){.from = a + begin * way, .to = a + cut[i] * way});
        begin = NAN;
    }
}

static size_t cut_circle(const struct field *f, size_t own, double cut[CUTS])
{
    const struct pd_locus *const circle = &f->circle[own];
    size_t cuts = 0;
    for (size_t i = 0; i < f->circles + edges(f); i++) {
        double complex point[2];
        const size_t edge = i - f->circles;
        const struct pd_locus other =
            i < f->circles ? f->circle[i] : pd_locus_through(corner(f, edge), corner(f, edge + 1));
        const size_t count = i == own ? 0 : pd_locus_meet(circle, &other, point);
        for (size_t k = 0; k < count; k++)
            cut[cuts++] = carg(point[k] - circle->at);
    }
    qsort(cut, cuts, sizeof *cut, ascending);
    return cuts;
}

/* 1 where the set lies within the circle at this angle, -1 outside, 0 on both sides or none. */
static int side(const struct field *f, size_t own, double angle)
{
    const struct pd_locus *const circle = &f->circle[own];
    const double complex point = circle->at + circle->radius * cexp(I * angle);
    if (!pd_hull_holds(f->region->corner, f->region->corner_count, point, 0))
        return 0;
    const unsigned others = circles_round(f, point) & ~(1u << own);
    return is_blind(f, others | 1u << own) - is_blind(f, others);
}

static void add_arc(struct field *f, size_t own, double from, double to, int which)
{
    const struct pd_locus *const circle = &f->circle[own];
    const double start = which > 0 ? from : to, stop = which > 0 ? to : from;
    if (to - from <= 1e-12)
        return;
    add_piece(f, (struct pd_piece){.arc = true,
                                   .from = circle->at + circle->radius * cexp(I * start),
                                   .to = circle->at + circle->radius * cexp(I * stop),
                                   .centre = circle->at,
                                   .radius = circle->radius,
                                   .from_rad = start,
                                   .to_rad = stop});
}

/* Neighbouring pieces of one side are one arc; the way round begins where the side changes. */
static void add_circle(struct field *f, size_t own)
{
    double cut[CUTS];
    int which[CUTS];
    const size_t cuts = cut_circle(f, own, cut);
    size_t first = 0;
    if (cuts == 0) {
        const int all = side(f, own, 0);
        if (all != 0)
            add_arc(f, own, 0, 2 * M_PI, all);
        return;
    }
    for (size_t i = 0; i < cuts; i++) {
        const double next = i + 1 < cuts ? cut[i + 1] : cut[0] + 2 * M_PI;
        which[i] = side(f, own, (cut[i] + next) / 2);
    }
    while (first < cuts && which[first] == which[(first + cuts - 1) % cuts])
        first++;
    if (first == cuts) {
        if (which[0] != 0)
            add_arc(f, own, cut[0], cut[0] + 2 * M_PI, which[0]);
        return;
    }
    double begin = cut[first];
    for (size_t step = 0; step < cuts; step++) {
        const size_t i = (first + step) % cuts, next = (i + 1) % cuts;
        if (which[next] == which[i] && step + 1 < cuts)
            continue;
        const double stop = cut[next] + (cut[next] <= begin ? 2 * M_PI : 0);
        if (which[i] != 0)
            add_arc(f, own, begin, stop, which[i]);
        begin = cut[next];
    }
}

/* Brings the pieces into the order in which they follow each other round each closed line. */
static void order_loops(struct pd_region *region)
{
    struct pd_piece *const piece = region->piece;
    const double slack = 1e-6 * region->supply_v;
    size_t loop = 0, start = 0;
    for (size_t i = 0; i < region->piece_count; i++) {
        size_t next = region->piece_count;
        if (i > start && cabs(piece[i - 1].to - piece[start].from) > slack)
            for (size_t k = i; k < region->piece_count; k++)
                if (next == region->piece_count || cabs(piece[k].from - piece[i - 1].to) <
                                                       cabs(piece[next].from - piece[i - 1].to))
                    next = k;
        if (next == region->piece_count) { /* the last is closed */
            loop += i > start;
            start = next = i;
        }
        const struct pd_piece taken = piece[next];
        piece[next] = piece[i];
        piece[i] = taken;
        piece[i].loop = loop;
    }
}

void pd_boundary_find(const struct pd_sensing *sensing, double beyond_v, struct pd_region *region)
{
    struct field f = {.region = region};
    region->piece_count = 0;
    make_field(sensing, beyond_v, &f);
    for (size_t edge = 0; edge < edges(&f); edge++)
        add_edge(&f, edge);
    if (region->corner_count == 2)
        return; /* no area, no arcs */
    for (size_t i = 0; i < f.circles; i++)
        add_circle(&f, i);
    order_loops(region);
}
