/* SPDX-License-Identifier: GPL-3.0-or-later */

/* The blind region by geometry, against the detector itself on grids and random points (another
 * road: no circle is cut there), against closed forms worked in the comments, and against
 * invariances. */

#include "check.h"

#include <math.h>
#include <stdlib.h>

#include "detect/locus.h"
#include "detect/region.h"

static const unsigned three = 1u << PD_L1 | 1u << PD_L2 | 1u << PD_L3;
static const unsigned first = 1u << PD_L1;

static struct pd_detector device(enum pd_sense senses, double low_v, double high_v)
{
    const bool band = senses == PD_SENSE_LINE || senses == PD_SENSE_LINES;
    return (struct pd_detector){.senses = senses,
                                .low_v = band ? low_v : (double)NAN,
                                .high_v = band ? high_v : (double)NAN,
                                .limit_v = band ? (double)NAN : high_v};
}

static struct pd_reach star(unsigned watched)
{
    return (struct pd_reach){
        .unit_emf = {1, CMPLX(-0.5, -sqrt(0.75)), CMPLX(-0.5, sqrt(0.75))},
        .lines = three,
        .watched = watched,
    };
}

static struct pd_reach single(void)
{
    return (struct pd_reach){.unit_emf = {1}, .lines = first, .watched = first};
}

/* What a grid over the reachable set finds, by the detector alone. */
struct gridded {
    double worst_v, unseen_share, hazard_share;
};

static bool in_triangle(const struct pd_reach *reach, double supply_v, double complex p)
{
    /* p / U = sum w_k e_k with weights that are not negative: for a triangle of three EMFs about
     * earth, p lies on the inner side of each edge */
    for (int k = 0; k < 3; k++) {
        const double complex a = reach->unit_emf[k], b = reach->unit_emf[(k + 2) % 3];
        if (cimag(conj(b - a) * (p / supply_v - a)) < 0)
            return false;
    }
    return true;
}

static struct gridded by_grid(const struct pd_detector *d, const struct pd_reach *reach,
                              double supply_v, double touch_v, double step_v)
{
    struct gridded g = {0};
    size_t count = 0, unseen = 0, hazard = 0;
    for (double x = -1.05 * supply_v; x <= 1.05 * supply_v; x += step_v)
        for (double y = -1.05 * supply_v; y <= 1.05 * supply_v; y += step_v) {
            const double complex p = CMPLX(x, y);
            if (!in_triangle(reach, supply_v, p))
                continue;
            count++;
            if (pd_region_look(d, reach, supply_v, p) != PD_BLIND)
                continue;
            unseen++;
            hazard += cabs(p) > touch_v;
            g.worst_v = fmax(g.worst_v, cabs(p));
        }
    g.unseen_share = (double)unseen / (double)count;
    g.hazard_share = (double)hazard / (double)count;
    return g;
}

static void a_grid_finds_the_same(void **state)
{
    (void)state;
    const struct {
        enum pd_sense senses;
        unsigned watched;
        double supply_v, low_v, high_v;
    } row[] = {{PD_SENSE_LINE, first, 230, 207, 253},   {PD_SENSE_LINE, first, 216.2, 207, 253},
               {PD_SENSE_LINE, first, 253, 207, 253},   {PD_SENSE_LINE, three, 230, 207, 253},
               {PD_SENSE_LINES, three, 230, 207, 253},  {PD_SENSE_LINES, three, 240, 207, 253},
               {PD_SENSE_LINES, three, 230, 150, 300},  {PD_SENSE_LINE, first, 150, 207, 253},
               {PD_SENSE_LINE, three, 140, 207, 253},   {PD_SENSE_PE, first, 230, 0, 150},
               {PD_SENSE_STAR_POINT, three, 230, 0, 90}};
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        const struct pd_detector d = device(row[i].senses, row[i].low_v, row[i].high_v);
        const struct pd_reach reach = star(row[i].watched);
        const double step_v = 0.2;
        struct pd_region region;
        assert_int_equal(pd_region_find(&d, &reach, row[i].supply_v, 70, &region), PD_REGION_KNOWN);
        const struct gridded g = by_grid(&d, &reach, row[i].supply_v, 70, step_v);
        /* the furthest point of a thin corner is missed by no more than a few steps */
        assert_true(g.worst_v <= region.worst_v + 1e-9);
        assert_close(region.worst_v, g.worst_v, 0, 3 * step_v);
        assert_close(region.unseen_share, g.unseen_share, 0, 1e-3);
        assert_close(region.hazard_share, g.hazard_share, 0, 1e-3);
        assert_int_equal(pd_region_look(&d, &reach, row[i].supply_v, region.worst * (1 - 1e-12)),
                         PD_BLIND);
    }
}

/* One line, its ring r about E1 cuts the edge from E1 to E2, which leaves E1 at 30 degrees from the
 * way to earth: |U_N|^2 = U^2 + r^2 - sqrt(3) U r, at r = high. */
static void one_line_has_a_closed_form(void **state)
{
    (void)state;
    const struct pd_detector d = device(PD_SENSE_LINE, 207, 253);
    const struct pd_reach reach = star(first);
    const double supply_v[] = {216.2, 230, 253};
    for (size_t i = 0; i < 3; i++) {
        const double u = supply_v[i], r = 253;
        struct pd_region region;
        pd_region_find(&d, &reach, u, 70, &region);
        assert_close(region.worst_v, sqrt(u * u + r * r - sqrt(3) * u * r), 1e-12, 0);
    }
    /* the known points of the contract, "about" */
    struct pd_region_worst worst;
    assert_int_equal(pd_region_worst(&d, &reach, 230, 230, &worst), PD_REGION_KNOWN);
    assert_close(worst.worst_v, 127, 0, 0.2);
    pd_region_worst(&d, &reach, 207, 253, &worst);
    assert_close(worst.worst_v, 253 * sqrt(2 - sqrt(3)), 1e-12, 0); /* 130.97 at 253 V */
    assert_close(worst.supply_v, 253, 1e-12, 0);
}

/* Three lines: the corner where |E2 - U_N| = 207 and |E3 - U_N| = 253. On their radical line
 * x is free and y, along E3 - E2 = j sqrt(3) U, is -(253^2 - 207^2) / (2 sqrt(3) U); then
 * x = -U/2 + sqrt(207^2 - (y + sqrt(3)/2 U)^2). */
static void three_lines_have_a_closed_form(void **state)
{
    (void)state;
    const struct pd_detector d = device(PD_SENSE_LINES, 207, 253);
    const struct pd_reach reach = star(three);
    const double u = 230, y = -(253 * 253 - 207 * 207) / (2 * sqrt(3) * u);
    const double x = -u / 2 + sqrt(207 * 207 - (y + sqrt(0.75) * u) * (y + sqrt(0.75) * u));
    struct pd_region region;
    pd_region_find(&d, &reach, u, 70, &region);
    assert_close(region.worst_v, hypot(x, y), 1e-12, 0);
    assert_close(region.worst_v, 26.5, 0, 0.1);
    assert_true(region.hazard_share == 0);
    /* at the ends of the band itself hardly anything is left: it is worst in between */
    struct pd_region_worst worst;
    pd_region_worst(&d, &reach, 207, 253, &worst);
    assert_true(worst.supply_v > 215 && worst.supply_v < 245 && worst.worst_v >= region.worst_v);
}

/* Discs that lie wholly within the triangle (its incircle is U/2): pi r^2 over 3 sqrt(3)/4 U^2. */
static void discs_have_a_closed_form(void **state)
{
    (void)state;
    const double area = 0.75 * sqrt(3) * 230 * 230;
    struct pd_region region;
    for (int sense = PD_SENSE_PE; sense <= PD_SENSE_STAR_POINT; sense++) {
        struct pd_detector d = device((enum pd_sense)sense, 0, 70);
        const struct pd_reach reach = star(three);
        pd_region_find(&d, &reach, 230, 70, &region);
        assert_close(region.size, area, 1e-12, 0);
        assert_close(region.worst_v, 70, 1e-12, 0);
        assert_close(region.unseen_share, M_PI * 70 * 70 / area, 1e-12, 0);
        assert_close(region.hazard_share, 0, 0, 1e-12); /* the two circles are one */
        d.tolerance_v = 20;
        pd_region_find(&d, &reach, 230, 70, &region);
        assert_close(region.worst_v, 90, 1e-12, 0);
        assert_close(region.hazard_share, M_PI * (90 * 90 - 70 * 70) / area, 1e-12, 0);
    }
}

/* Along a segment the line-neutral voltage is |230 - x|: 207 to 253 leaves 0 to 23 of 0 to 230, and
 * on split phase -23 to 23 of -230 to 230. */
static void a_segment_has_a_closed_form(void **state)
{
    (void)state;
    const struct pd_detector d = device(PD_SENSE_LINE, 207, 253);
    struct pd_reach reach = single();
    struct pd_region region;
    pd_region_find(&d, &reach, 230, 10, &region);
    assert_close(region.worst_v, 23, 1e-12, 0);
    assert_close(region.size, 230, 1e-12, 0);
    assert_close(region.unseen_share, 0.1, 1e-12, 0);
    assert_close(region.hazard_share, 13.0 / 230, 1e-12, 0);
    assert_int_equal(region.piece_count, 1);
    reach.unit_emf[PD_L2] = -1;
    reach.lines = first | 1u << PD_L2;
    pd_region_find(&d, &reach, 230, 10, &region);
    assert_close(region.size, 460, 1e-12, 0);
    assert_close(region.unseen_share, 0.1, 1e-12, 0);
    assert_close(region.hazard_share, 26.0 / 460, 1e-12, 0);
    struct pd_region_worst worst;
    pd_region_worst(&d, &reach, 207, 253, &worst);
    assert_close(worst.worst_v, 46, 1e-12, 0); /* at 253 V: 253 - 207 */
    /* two EMFs of three: the triangle E1, E2, earth */
    const struct pd_reach two = {
        .unit_emf = {1, CMPLX(-0.5, -sqrt(0.75))}, .lines = first | 1u << PD_L2, .watched = first};
    pd_region_find(&d, &two, 230, 10, &region);
    assert_int_equal(region.corner_count, 3);
    assert_close(region.size, sqrt(3) / 4 * 230 * 230, 1e-12, 0);
}

/* A random device, supply and EMFs of unequal sizes. */
struct setting {
    struct pd_detector d;
    struct pd_reach reach;
    double supply_v;
};

static struct setting random_setting(struct stream *stream)
{
    static const enum pd_sense senses[] = {PD_SENSE_LINE, PD_SENSE_LINES, PD_SENSE_LINES,
                                           PD_SENSE_PE, PD_SENSE_STAR_POINT};
    struct setting s = {.reach = star(three), .supply_v = stream_uniform(stream, 150, 320)};
    const double low_v = stream_uniform(stream, 0, 250);
    s.d = device(senses[stream_below(stream, 5)], low_v, low_v + stream_uniform(stream, 5, 200));
    s.d.tolerance_v = stream_uniform(stream, 0, 5);
    if (s.d.senses == PD_SENSE_LINE)
        s.reach.watched = 1 + (unsigned)stream_below(stream, 7);
    for (int k = 0; k < 3; k++)
        s.reach.unit_emf[k] *= stream_below(stream, 2) == 0 ? 1 : stream_uniform(stream, 0.8, 1.2);
    return s;
}

/* How often the way from p to the right crosses the boundary: an odd number from inside. */
static size_t crossings(const struct pd_region *region, double complex p)
{
    size_t count = 0;
    for (size_t i = 0; i < region->piece_count; i++) {
        const struct pd_piece *const piece = &region->piece[i];
        const double up = cimag(piece->to - piece->from);
        if (!piece->arc) {
            const double t = cimag(p - piece->from) / up;
            count += (cimag(piece->from) > cimag(p)) != (cimag(piece->to) > cimag(p)) &&
                     creal(piece->from + t * (piece->to - piece->from)) > creal(p);
            continue;
        }
        const double sine = cimag(p - piece->centre) / piece->radius;
        const double low = fmin(piece->from_rad, piece->to_rad);
        const double high = fmax(piece->from_rad, piece->to_rad);
        for (int half = 0; half < 2 && fabs(sine) < 1; half++) {
            const double angle = half == 0 ? asin(sine) : M_PI - asin(sine);
            const double turned = angle + 2 * M_PI * ceil((low - angle) / (2 * M_PI));
            count += turned < high && creal(piece->centre) + piece->radius * cos(angle) > creal(p);
        }
    }
    return count;
}

static void the_boundary_parts_seen_from_unseen(void **state)
{
    (void)state;
    struct stream stream = {0xb11d};
    size_t unseen = 0;
    for (size_t i = 0; i < 500 * soak(); i++) {
        const struct setting s = random_setting(&stream);
        struct pd_region region;
        assert_int_equal(pd_region_find(&s.d, &s.reach, s.supply_v, 70, &region), PD_REGION_KNOWN);
        for (size_t k = 0; k < 200; k++) {
            const double complex p = CMPLX(stream_uniform(&stream, -1.2, 1.2) * s.supply_v,
                                           stream_uniform(&stream, -1.2, 1.2) * s.supply_v);
            const bool inside = crossings(&region, p) % 2 == 1;
            const bool want = in_triangle(&s.reach, s.supply_v, p) &&
                              pd_region_look(&s.d, &s.reach, s.supply_v, p) == PD_BLIND;
            assert_int_equal(inside, want);
            assert_true(!want || cabs(p) <= region.worst_v);
            unseen += want;
        }
    }
    assert_true(unseen > 5000);
}

static void every_loop_is_closed_and_goes_on(void **state)
{
    (void)state;
    struct stream stream = {0xc105ed};
    for (size_t i = 0; i < 5000 * soak(); i++) {
        const struct setting s = random_setting(&stream);
        struct pd_region region;
        pd_region_find(&s.d, &s.reach, s.supply_v, 70, &region);
        for (size_t k = 0, start = 0; k < region.piece_count; k++) {
            const bool last =
                k + 1 == region.piece_count || region.piece[k + 1].loop != region.piece[k].loop;
            const double complex next = region.piece[last ? start : k + 1].from;
            assert_true(cabs(region.piece[k].to - next) < 1e-6 * s.supply_v);
            if (last)
                start = k + 1;
        }
    }
}

/* The area by summing strips: where a level line is within the boundary, from the crossings. A road
 * that shares nothing with Green's theorem but the pieces. */
static void the_share_is_what_random_points_say(void **state)
{
    (void)state;
    struct stream stream = {0x5a5a};
    for (size_t i = 0; i < 40; i++) {
        const struct setting s = random_setting(&stream);
        struct pd_region region;
        size_t count = 0, unseen = 0, hazard = 0;
        pd_region_find(&s.d, &s.reach, s.supply_v, 70, &region);
        for (size_t k = 0; k < 60000; k++) {
            const double complex p = CMPLX(stream_uniform(&stream, -1.2, 1.2) * s.supply_v,
                                           stream_uniform(&stream, -1.2, 1.2) * s.supply_v);
            if (!in_triangle(&s.reach, s.supply_v, p))
                continue;
            const bool blind = pd_region_look(&s.d, &s.reach, s.supply_v, p) == PD_BLIND;
            count++;
            unseen += blind;
            hazard += blind && cabs(p) > 70;
        }
        /* five standard deviations of a share of about 13 000 points: at most 0.022 */
        assert_close(region.unseen_share, (double)unseen / (double)count, 0, 0.022);
        assert_close(region.hazard_share, (double)hazard / (double)count, 0, 0.022);
    }
}

static void turning_the_phases_changes_nothing(void **state)
{
    (void)state;
    struct stream stream = {0x70710};
    for (size_t i = 0; i < 2000 * soak(); i++) {
        struct setting s = random_setting(&stream);
        struct pd_region region, turned;
        struct pd_region_worst worst, worst_turned;
        pd_region_find(&s.d, &s.reach, s.supply_v, 70, &region);
        pd_region_worst(&s.d, &s.reach, 0.8 * s.supply_v, s.supply_v, &worst);
        const double complex turn = cexp(I * stream_uniform(&stream, 0, 7));
        for (int k = 0; k < 3; k++)
            s.reach.unit_emf[k] *= turn;
        pd_region_find(&s.d, &s.reach, s.supply_v, 70, &turned);
        pd_region_worst(&s.d, &s.reach, 0.8 * s.supply_v, s.supply_v, &worst_turned);
        assert_close(turned.worst_v, region.worst_v, 1e-6, 1e-6);
        assert_close(turned.unseen_share, region.unseen_share, 1e-8, 1e-9);
        assert_close(turned.hazard_share, region.hazard_share, 1e-8, 1e-9);
        assert_close(worst_turned.worst_v, worst.worst_v, 1e-6, 1e-6);
    }
}

static void a_wider_band_leaves_no_less(void **state)
{
    (void)state;
    struct stream stream = {0x31de};
    for (size_t i = 0; i < 2000 * soak(); i++) {
        struct setting s = random_setting(&stream);
        struct pd_region narrow, wide;
        pd_region_find(&s.d, &s.reach, s.supply_v, 70, &narrow);
        s.d.low_v -= stream_uniform(&stream, 0, 30);
        s.d.high_v += stream_uniform(&stream, 0, 30);
        s.d.limit_v += stream_uniform(&stream, 0, 30);
        pd_region_find(&s.d, &s.reach, s.supply_v, 70, &wide);
        assert_true(wide.unseen_share >= narrow.unseen_share - 1e-9);
        assert_true(wide.hazard_share >= narrow.hazard_share - 1e-9);
        assert_true(wide.worst_v >= narrow.worst_v - 1e-6);
    }
}

/* The best of a walk along the supply range in small steps, the region found at each, closing in on
 * the best step: nothing may be above the closed form. */
static double by_walking(const struct setting *s, double low_v, double high_v, double worst_v)
{
    enum { STEPS = 120, ROUNDS = 5 };
    double found_v = 0, middle_v = (low_v + high_v) / 2, reach_v = (high_v - low_v) / 2;
    for (int round = 0; round < ROUNDS; round++, reach_v /= STEPS / 4.0) {
        const double centre_v = middle_v;
        for (int k = 0; k <= STEPS; k++) {
            const double u = centre_v + reach_v * (2.0 * k / STEPS - 1);
            struct pd_region region;
            if (u < low_v || u > high_v)
                continue;
            pd_region_find(&s->d, &s->reach, u, 70, &region);
            assert_true(region.worst_v <= worst_v * (1 + 1e-9) + 1e-6);
            if (region.worst_v > found_v) {
                found_v = region.worst_v;
                middle_v = u;
            }
        }
    }
    return found_v;
}

static void the_worst_supply_is_what_walking_finds(void **state)
{
    (void)state;
    struct stream stream = {0x3a1c};
    size_t between = 0;
    for (size_t i = 0; i < 300 * soak(); i++) {
        const struct setting s = random_setting(&stream);
        const double low_v = stream_uniform(&stream, 100, 250);
        const double high_v = low_v + stream_uniform(&stream, 0, 150);
        struct pd_region_worst worst;
        assert_int_equal(pd_region_worst(&s.d, &s.reach, low_v, high_v, &worst), PD_REGION_KNOWN);
        assert_close(worst.worst_v, by_walking(&s, low_v, high_v, worst.worst_v), 0, 0.1);
        assert_true(worst.supply_v >= low_v && worst.supply_v <= high_v);
        between += worst.supply_v > low_v + 1e-6 && worst.supply_v < high_v - 1e-6;
    }
    assert_true(between > 20); /* it does lie between the ends */
}

/* The star point of an unbalanced supply stands off earth: then the worst may lie along an edge of
 * the hull, where two conditions do not meet, at a supply voltage between the ends. */
static void a_star_point_off_earth_is_worst_along_an_edge(void **state)
{
    (void)state;
    struct stream stream = {0x57a2};
    size_t between = 0;
    for (size_t i = 0; i < 200 * soak(); i++) {
        const double high_v = stream_uniform(&stream, 200, 400);
        struct setting s = {.reach = star(three)};
        s.d = device(PD_SENSE_STAR_POINT, 0, stream_uniform(&stream, 20, 250));
        s.reach.lines = 1 + (unsigned)stream_below(&stream, 7);
        for (int k = 0; k < 3; k++)
            s.reach.unit_emf[k] *=
                stream_uniform(&stream, 0.5, 1.5) * cexp(I * stream_uniform(&stream, -0.4, 0.4));
        struct pd_region_worst worst;
        pd_region_worst(&s.d, &s.reach, 120, high_v, &worst);
        assert_close(worst.worst_v, by_walking(&s, 120, high_v, worst.worst_v), 0, 0.01);
        between += worst.supply_v > 120 + 1e-6 && worst.supply_v < high_v - 1e-6;
    }
    assert_true(between > 10);
}

static void what_is_not_declared_is_not_known(void **state)
{
    (void)state;
    struct pd_region region;
    struct pd_region_worst worst;
    struct pd_detector d = device(PD_SENSE_LINES, 207, NAN);
    const struct pd_reach reach = star(three), one = star(first), none = {.watched = 0};
    assert_int_equal(pd_region_find(&d, &reach, 230, 70, &region), PD_REGION_UNKNOWN);
    assert_true(isnan(region.worst_v) && isnan(region.unseen_share) && region.piece_count == 0);
    assert_int_equal(pd_region_worst(&d, &reach, 207, 253, &worst), PD_REGION_UNKNOWN);
    assert_true(isnan(worst.worst_v));
    d = device(PD_SENSE_LINES, 207, 253);
    assert_int_equal(pd_region_find(&d, &one, 230, 70, &region), PD_REGION_UNKNOWN);
    assert_int_equal(pd_region_find(&d, &none, 230, 70, &region), PD_REGION_UNKNOWN);
    assert_int_equal(pd_region_find(&d, &reach, NAN, 70, &region), PD_REGION_UNKNOWN);
    assert_int_equal(pd_region_worst(&d, &reach, 253, 207, &worst), PD_REGION_UNKNOWN);
    assert_int_equal(pd_region_find(&d, &reach, 230, NAN, &region), PD_REGION_KNOWN);
    assert_true(isnan(region.hazard_share) && isfinite(region.unseen_share));
    d.senses = (enum pd_sense)99;
    assert_int_equal(pd_region_find(&d, &reach, 230, 70, &region), PD_REGION_ELSEWHERE);
    assert_true(isnan(region.worst_v));
}

static void a_device_that_sees_health_is_told(void **state)
{
    (void)state;
    const struct pd_detector d = device(PD_SENSE_LINES, 207, 253);
    const struct pd_reach reach = star(three);
    struct pd_region region;
    pd_region_find(&d, &reach, 230, 70, &region);
    assert_false(region.sees_health);
    pd_region_find(&d, &reach, 300, 70, &region);
    assert_true(region.sees_health && region.worst_v == 0 && region.unseen_share == 0);
}

static void loci_meet_where_both_say(void **state)
{
    (void)state;
    struct stream stream = {0x10c1};
    for (size_t i = 0; i < 20000 * soak(); i++) {
        double complex p[4], at[2];
        for (int k = 0; k < 4; k++)
            p[k] = CMPLX(stream_uniform(&stream, -3, 3), stream_uniform(&stream, -3, 3));
        const struct pd_locus ring = pd_locus_circle(p[0], stream_uniform(&stream, 0.1, 3));
        const struct pd_locus ratio = pd_locus_ratio(p[0], p[1], stream_uniform(&stream, 0.2, 5));
        const struct pd_locus line = pd_locus_through(p[2], p[3]);
        const size_t count = pd_locus_meet(&ring, &line, at);
        for (size_t k = 0; k < count; k++) {
            assert_close(cabs(at[k] - p[0]), ring.radius, 1e-9, 0);
            assert_close(cimag(conj(p[3] - p[2]) * (at[k] - p[2])), 0, 0, 1e-9);
        }
        const double complex on = ratio.at + ratio.radius * cexp(I * stream_uniform(&stream, 0, 7));
        const double complex off = ratio.at + ratio.radius;
        assert_close(cabs(on - p[0]) * cabs(off - p[1]), cabs(off - p[0]) * cabs(on - p[1]), 1e-7,
                     1e-9);
        double complex far;
        if (!pd_locus_farthest_ratio(&ring, p[1], &far))
            continue;
        const double best = cabs(far) / cabs(far - p[1]);
        assert_close(cabs(far - p[0]), ring.radius, 1e-6, 1e-6);
        for (int k = 0; k < 24; k++) {
            const double complex q = p[0] + ring.radius * cexp(I * 2 * M_PI * k / 24);
            assert_true(cabs(q) / cabs(q - p[1]) <= best * (1 + 1e-6));
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_grid_finds_the_same),
        cmocka_unit_test(one_line_has_a_closed_form),
        cmocka_unit_test(three_lines_have_a_closed_form),
        cmocka_unit_test(discs_have_a_closed_form),
        cmocka_unit_test(a_segment_has_a_closed_form),
        cmocka_unit_test(the_boundary_parts_seen_from_unseen),
        cmocka_unit_test(every_loop_is_closed_and_goes_on),
        cmocka_unit_test(the_share_is_what_random_points_say),
        cmocka_unit_test(turning_the_phases_changes_nothing),
        cmocka_unit_test(a_wider_band_leaves_no_less),
        cmocka_unit_test(the_worst_supply_is_what_walking_finds),
        cmocka_unit_test(a_star_point_off_earth_is_worst_along_an_edge),
        cmocka_unit_test(what_is_not_declared_is_not_known),
        cmocka_unit_test(a_device_that_sees_health_is_told),
        cmocka_unit_test(loci_meet_where_both_say),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
