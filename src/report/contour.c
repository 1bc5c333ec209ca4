/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/contour.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>

/* Edges of the grid: those along x first, then those along y. The sides of a cell in order. */
enum side { BELOW, RIGHT, ABOVE, LEFT, SIDES };

struct tracing {
    const struct pd_grid *grid;
    double level;
    bool *done;          /* by edge */
    struct pd_xy *point; /* of the line being traced */
    size_t count;
};

static size_t edges_along_x(const struct pd_grid *g)
{
    return (g->across - 1) * g->down;
}

static size_t edge_count(const struct pd_grid *g)
{
    return edges_along_x(g) + g->across * (g->down - 1);
}

static size_t edge_of(const struct pd_grid *g, size_t i, size_t j, enum side side)
{
    if (side == BELOW || side == ABOVE)
        return (j + (side == ABOVE)) * (g->across - 1) + i;
    return edges_along_x(g) + j * g->across + i + (side == RIGHT);
}

static double value_at(const struct pd_grid *g, size_t i, size_t j)
{
    return g->value[j * g->across + i];
}

/* The two grid points of an edge. */
static void ends_of(const struct pd_grid *g, size_t edge, size_t a[2], size_t b[2])
{
    const size_t along_x = edges_along_x(g);
    const bool lies = edge < along_x;
    const size_t rest = lies ? edge : edge - along_x, row = lies ? g->across - 1 : g->across;
    a[0] = rest % row;
    a[1] = rest / row;
    b[0] = a[0] + lies;
    b[1] = a[1] + !lies;
}

static bool above(const struct tracing *t, double value)
{
    return value >= t->level; /* false for NaN */
}

static bool crosses(const struct tracing *t, size_t edge)
{
    size_t a[2], b[2];
    ends_of(t->grid, edge, a, b);
    return above(t, value_at(t->grid, a[0], a[1])) != above(t, value_at(t->grid, b[0], b[1]));
}

static void add_point(struct tracing *t, size_t edge)
{
    const struct pd_grid *const g = t->grid;
    size_t a[2], b[2];
    ends_of(g, edge, a, b);
    const double from = value_at(g, a[0], a[1]), to = value_at(g, b[0], b[1]);
    const double share = isfinite(from) && isfinite(to) ? (t->level - from) / (to - from) : 0.5;
    t->point[t->count++] = (struct pd_xy){
        g->left + g->step * ((double)a[0] + share * ((double)b[0] - (double)a[0])),
        g->bottom + g->step * ((double)a[1] + share * ((double)b[1] - (double)a[1]))};
    t->done[edge] = true;
}

/* The edge by which a line that came in by `in` leaves the cell. */
static size_t way_out(const struct tracing *t, size_t i, size_t j, size_t in)
{
    /* a saddle: which sides go together, where the middle is with the corner left below, or not */
    static const enum side with[SIDES] = {RIGHT, BELOW, LEFT, ABOVE};
    static const enum side without[SIDES] = {LEFT, ABOVE, RIGHT, BELOW};
    const struct pd_grid *const g = t->grid;
    size_t crossed[SIDES], count = 0;
    enum side entered = BELOW;
    for (enum side side = BELOW; side < SIDES; side++) {
        const size_t edge = edge_of(g, i, j, side);
        if (crosses(t, edge))
            crossed[count++] = edge;
        if (edge == in)
            entered = side;
    }
    if (count == 2)
        return crossed[0] == in ? crossed[1] : crossed[0];
    const double middle = (value_at(g, i, j) + value_at(g, i + 1, j) + value_at(g, i, j + 1) +
                           value_at(g, i + 1, j + 1)) /
                          4;
    const bool together = above(t, middle) == above(t, value_at(g, i, j));
    return edge_of(g, i, j, together ? with[entered] : without[entered]);
}

/* The cells on the two sides of an edge: false where there is none on that one. */
static bool cell_beside(const struct pd_grid *g, size_t edge, bool further, size_t cell[2])
{
    size_t a[2], b[2];
    ends_of(g, edge, a, b);
    const bool lies = a[1] == b[1];
    const size_t across = lies ? 0 : 1, up = lies ? 1 : 0;
    if (!further && ((lies && a[1] == 0) || (!lies && a[0] == 0)))
        return false;
    cell[0] = a[0] - (further ? 0 : across);
    cell[1] = a[1] - (further ? 0 : up);
    return cell[0] + 1 < g->across && cell[1] + 1 < g->down;
}

/* Follows a line from an edge into a cell until it ends at the border or where it began. */
static void follow(struct tracing *t, size_t edge, size_t cell[2])
{
    const size_t first = edge;
    t->count = 0;
    add_point(t, edge);
    for (;;) {
        const size_t next = way_out(t, cell[0], cell[1], edge);
        if (next == first || t->done[next]) {
            t->point[t->count++] = t->point[0];
            return;
        }
        add_point(t, next);
        edge = next;
        size_t one[2], other[2];
        const bool has_one = cell_beside(t->grid, edge, false, one);
        const bool has_other = cell_beside(t->grid, edge, true, other);
        const bool from_one = has_one && one[0] == cell[0] && one[1] == cell[1];
        if (from_one ? !has_other : !has_one)
            return;
        cell[0] = from_one ? other[0] : one[0];
        cell[1] = from_one ? other[1] : one[1];
    }
}

/* Lines that end at the border first, then the loops. */
static void trace_all(struct tracing *t, pd_contour_function *function, void *context)
{
    for (int loops = 0; loops < 2; loops++)
        for (size_t edge = 0; edge < edge_count(t->grid); edge++) {
            size_t one[2], other[2];
            const bool has_one = cell_beside(t->grid, edge, false, one);
            const bool has_other = cell_beside(t->grid, edge, true, other);
            if (t->done[edge] || !crosses(t, edge) || (loops == 0 && has_one && has_other))
                continue;
            follow(t, edge, has_other ? other : one);
            function(t->point, t->count, context);
        }
}

enum pd_status pd_contour_trace(const struct pd_grid *grid, double level,
                                pd_contour_function *function, void *context)
{
    struct tracing t = {.grid = grid, .level = level};
    t.done = calloc(edge_count(grid), sizeof *t.done);
    t.point = malloc((edge_count(grid) + 1) * sizeof *t.point);
    const bool room = t.done != NULL && t.point != NULL;
    if (room)
        trace_all(&t, function, context);
    free(t.done);
    free(t.point);
    return room ? PD_OK : PD_ERR_MEMORY;
}
