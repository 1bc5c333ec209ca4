/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/facets.h"

#include <math.h>
#include <stdlib.h>

#include "table/grow.h"

void pd_facets_free(struct pd_facets *contour)
{
    free(contour->corner);
    *contour = (struct pd_facets){0};
}

enum pd_status pd_facets_add(struct pd_facets *contour, const struct pd_facet_corner *a,
                             const struct pd_facet_corner *b, const struct pd_facet_corner *c)
{
    const struct pd_facet_corner corner[3] = {*a, *b, *c};
    if (!isfinite(a->value) || !isfinite(b->value) || !isfinite(c->value))
        return PD_OK;
    for (int i = 0; i < 3; i++) {
        struct pd_facet_corner *const larger =
            pd_grow(contour->corner, contour->count, sizeof *larger);
        if (larger == NULL)
            return PD_ERR_MEMORY;
        contour->corner = larger;
        contour->corner[contour->count++] = corner[i];
    }
    return PD_OK;
}

static struct pd_facet_corner between(const struct pd_facet_corner *a,
                                      const struct pd_facet_corner *b, double level)
{
    const double part = (level - a->value) / (b->value - a->value);
    return (struct pd_facet_corner){
        {a->at.x + part * (b->at.x - a->at.x), a->at.y + part * (b->at.y - a->at.y)}, level};
}

/* A triangle cut twice has at most five corners. */
enum { CORNERS_MOST = 8 };

/* Keeps what is at or above the level (sign 1), or below it (sign -1): Sutherland and Hodgman's
 * clipping against one edge. */
static size_t keep(const struct pd_facet_corner *in, size_t count, double level, double sign,
                   struct pd_facet_corner *out)
{
    size_t kept = 0;
    for (size_t i = 0; i < count; i++) {
        const struct pd_facet_corner *const a = &in[i], *const b = &in[(i + 1) % count];
        const bool a_in = sign * (a->value - level) >= 0, b_in = sign * (b->value - level) >= 0;
        if (a_in)
            out[kept++] = *a;
        if (a_in != b_in)
            out[kept++] = between(a, b, level);
    }
    return kept;
}

void pd_facets_fill(struct pd_svg *svg, enum pd_ink ink, const struct pd_facets *contour,
                    double low, double high)
{
    struct pd_facet_corner first[CORNERS_MOST], second[CORNERS_MOST];
    pd_svg_path(svg, ink);
    for (size_t i = 0; i + 2 < contour->count; i += 3) {
        const size_t above = keep(&contour->corner[i], 3, low, 1, first);
        const size_t count = keep(first, above, high, -1, second);
        if (count < 3)
            continue;
        pd_svg_move_to(svg, second[0].at.x, second[0].at.y);
        for (size_t k = 1; k < count; k++)
            pd_svg_line_to(svg, second[k].at.x, second[k].at.y);
        pd_svg_close(svg);
    }
    pd_svg_path_end(svg);
}

struct piece {
    struct pd_xy end[2];
    bool used;
};

static bool meets(struct pd_xy a, struct pd_xy b)
{
    return fabs(a.x - b.x) < 1e-6 && fabs(a.y - b.y) < 1e-6;
}

/* The piece of the line in a triangle. A corner on the level counts as above it, so that
 * neighbouring triangles agree. */
static bool piece_in(const struct pd_facet_corner *corner, double level, struct piece *piece)
{
    int found = 0;
    for (int i = 0; i < 3 && found < 2; i++) {
        const struct pd_facet_corner *a = &corner[i], *b = &corner[(i + 1) % 3];
        if ((a->value >= level) == (b->value >= level))
            continue;
        /* from the lower end, so that both triangles of an edge find the same point */
        piece->end[found++] =
            a->value < b->value ? between(a, b, level).at : between(b, a, level).at;
    }
    piece->used = false;
    return found == 2 && !meets(piece->end[0], piece->end[1]);
}

/* The place beyond `at`, along a piece not used yet; false where the line ends. */
static bool go_on(struct piece *piece, size_t count, struct pd_xy *at)
{
    for (size_t i = 0; i < count; i++)
        for (int end = 0; end < 2 && !piece[i].used; end++)
            if (meets(piece[i].end[end], *at)) {
                *at = piece[i].end[1 - end];
                piece[i].used = true;
                return true;
            }
    return false;
}

/* From a piece on: first back to where its line begins, then along the whole of it. */
static void draw_from(struct pd_svg *svg, struct piece *piece, size_t count, size_t first,
                      struct pd_xy *trail)
{
    struct pd_xy at = piece[first].end[0];
    size_t back = 0;
    piece[first].used = true;
    do
        trail[back++] = at;
    while (go_on(piece, count, &at));
    pd_svg_move_to(svg, trail[back - 1].x, trail[back - 1].y);
    while (back-- > 1)
        pd_svg_line_to(svg, trail[back - 1].x, trail[back - 1].y);
    at = piece[first].end[1];
    do
        pd_svg_line_to(svg, at.x, at.y);
    while (go_on(piece, count, &at));
}

enum pd_status pd_facets_line(struct pd_svg *svg, enum pd_ink ink, const struct pd_facets *contour,
                              double level)
{
    const size_t triangles = contour->count / 3;
    struct piece *const piece = calloc(triangles + 1, sizeof *piece);
    struct pd_xy *const trail = calloc(triangles + 2, sizeof *trail);
    size_t count = 0;
    if (piece != NULL && trail != NULL) {
        for (size_t i = 0; i < triangles; i++)
            count += piece_in(&contour->corner[3 * i], level, &piece[count]);
        pd_svg_path(svg, ink);
        for (size_t i = 0; i < count; i++)
            if (!piece[i].used)
                draw_from(svg, piece, count, i, trail);
        pd_svg_path_end(svg);
    }
    const bool good = piece != NULL && trail != NULL;
    free(piece);
    free(trail);
    return good ? PD_OK : PD_ERR_MEMORY;
}
