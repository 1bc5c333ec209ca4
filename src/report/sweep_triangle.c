/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "report/facets.h"
#include "report/sweep_draw.h"

/* A ternary diagram: the share of a line is the distance from the side opposite its corner. L1 is
 * at the top, L2 at the right, L3 at the left. */
struct triangle {
    struct pd_xy corner[3];
};

static struct triangle triangle_in(const struct pd_box *box)
{
    const double side = fmin(box->width, box->height / (sqrt(3) / 2));
    const double left = box->left + (box->width - side) / 2, top = box->top;
    return (struct triangle){{{left + side / 2, top},
                              {left + side, top + side * sqrt(3) / 2},
                              {left, top + side * sqrt(3) / 2}}};
}

/* The place of shares that add up to one. */
static struct pd_xy place_of(const struct triangle *t, const double share[3])
{
    struct pd_xy at = {0, 0};
    for (int i = 0; i < 3; i++) {
        at.x += share[i] * t->corner[i].x;
        at.y += share[i] * t->corner[i].y;
    }
    return at;
}

static size_t index_of(const struct pd_sweep *sweep, size_t i, size_t j)
{
    const size_t steps = sweep->settings.steps;
    return i * (steps + 1) - i * (i - 1) / 2 + j;
}

static struct pd_facet_corner corner_at(const struct pd_sweep *sweep, const struct triangle *t,
                                        size_t i, size_t j, bool edge)
{
    const struct pd_sweep_point *const point = &sweep->point[index_of(sweep, i, j)];
    double share[3];
    for (int k = 0; k < 3; k++)
        share[k] = point->value[k] / sweep->settings.total_kw;
    return (struct pd_facet_corner){place_of(t, share), edge ? pd_sweep_edge_value(point)
                                                        : point->touch == PD_UNKNOWN
                                                            ? (double)NAN
                                                            : point->touch_v};
}

static enum pd_status make_contour(const struct pd_sweep *sweep, const struct triangle *t,
                                   bool edge, struct pd_facets *contour)
{
    const size_t steps = sweep->settings.steps;
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < steps; i++)
        for (size_t j = 0; j < steps - i && status == PD_OK; j++) {
            const struct pd_facet_corner a = corner_at(sweep, t, i, j, edge),
                                         b = corner_at(sweep, t, i + 1, j, edge),
                                         c = corner_at(sweep, t, i, j + 1, edge);
            status = pd_facets_add(contour, &a, &b, &c);
            if (status != PD_OK || j + 1 >= steps - i)
                continue;
            const struct pd_facet_corner d = corner_at(sweep, t, i + 1, j + 1, edge);
            status = pd_facets_add(contour, &b, &d, &c);
        }
    return status;
}

/* Lines of equal share at every fifth, and their figures along the side that each begins at. */
static void draw_grid(struct pd_svg *svg, const struct triangle *t)
{
    static const struct {
        double x, y;
        enum pd_anchor anchor;
    } beside[3] = {{-12, 6, PD_ANCHOR_END}, {14, 4, PD_ANCHOR_START}, {0, 24, PD_ANCHOR_MIDDLE}};
    for (int line = 0; line < 3; line++)
        for (int fifth = 1; fifth < 5; fifth++) {
            const double own = fifth / 5.0;
            double from[3] = {0}, to[3] = {0};
            char figure[16];
            from[line] = to[line] = own;
            from[(line + 2) % 3] = to[(line + 1) % 3] = 1 - own;
            const struct pd_xy a = place_of(t, from), b = place_of(t, to);
            pd_svg_line(svg, PD_INK_GUIDE, a.x, a.y, b.x, b.y);
            snprintf(figure, sizeof figure, "%d %%", 20 * fifth);
            pd_svg_text(svg, PD_INK_NOTE, a.x + beside[line].x, a.y + beside[line].y,
                        beside[line].anchor, 0, figure);
        }
}

static void draw_frame(struct pd_svg *svg, const struct triangle *t)
{
    static const char *const names[3] = {"all on L1", "all on L2", "all on L3"};
    static const struct pd_xy off[3] = {{0, -14}, {0, 46}, {0, 46}};
    pd_svg_polygon(svg, PD_INK_FRAME, t->corner, 3);
    for (int i = 0; i < 3; i++)
        pd_svg_text(svg, PD_INK_STRONG, t->corner[i].x + off[i].x, t->corner[i].y + off[i].y,
                    PD_ANCHOR_MIDDLE, 0, names[i]);
}

/* The proportions that the tables have. */
static bool draw_present(struct pd_svg *svg, const struct pd_sweep *sweep, const struct triangle *t)
{
    const double *const kw = sweep->present.value;
    const double sum = kw[0] + kw[1] + kw[2];
    if (!(sum > 0))
        return false;
    const double share[3] = {kw[0] / sum, kw[1] / sum, kw[2] / sum};
    const struct pd_xy at = place_of(t, share);
    pd_svg_mark(svg, PD_INK_MARK_HOLLOW, PD_MARK_SQUARE, at.x, at.y, 15);
    return true;
}

enum pd_status pd_sweep_draw_triangle(struct pd_svg *svg, const struct pd_sweep *sweep,
                                      const struct pd_sweep_place *place, double *below)
{
    const struct triangle t = triangle_in(&place->box);
    struct pd_facets contour = {0}, unseen = {0};
    double edge[PD_SWEEP_BANDS + 1];
    size_t bands;
    enum pd_status status = make_contour(sweep, &t, false, &contour);
    pd_sweep_bands(sweep, edge, &bands);
    for (size_t i = 0; i < bands && status == PD_OK; i++)
        pd_facets_fill(svg, (enum pd_ink)(PD_INK_SHADE_0 + i), &contour, edge[i], edge[i + 1]);
    draw_grid(svg, &t);
    if (status == PD_OK)
        status = pd_facets_line(svg, PD_INK_LIMIT, &contour, sweep->study_case->limits.touch_v);
    if (status == PD_OK && pd_sweep_has_edge(sweep))
        status = make_contour(sweep, &t, true, &unseen);
    pd_facets_fill(svg, PD_INK_AREA_1, &unseen, 0.5, INFINITY);
    if (status == PD_OK)
        status = pd_facets_line(svg, PD_INK_EDGE, &unseen, 0.5);
    draw_frame(svg, &t);
    const bool marked = draw_present(svg, sweep, &t);
    *below = pd_sweep_map_legend(svg, sweep, place, marked);
    pd_facets_free(&contour);
    pd_facets_free(&unseen);
    return status;
}
