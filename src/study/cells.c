/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/cells.h"

#include <stdlib.h>

/* Of equal caps the cell that starts at the lower angle, then nearer the origin, comes first: the
 * order never hangs on anything but the cells. */
static bool before(const struct pd_cell *a, const struct pd_cell *b)
{
    if (a->cap != b->cap)
        return a->cap > b->cap;
    if (a->from != b->from)
        return a->from < b->from;
    return a->inner_v < b->inner_v;
}

static void swap(struct pd_cell *a, struct pd_cell *b)
{
    const struct pd_cell kept = *a;
    *a = *b;
    *b = kept;
}

enum pd_status pd_cells_push(struct pd_cells *cells, const struct pd_cell *cell)
{
    if (cells->count == cells->room) {
        const size_t room = cells->room > 0 ? 2 * cells->room : 64;
        struct pd_cell *const larger = realloc(cells->cell, room * sizeof *larger);
        if (larger == NULL)
            return PD_ERR_MEMORY;
        cells->cell = larger;
        cells->room = room;
    }
    size_t i = cells->count++;
    cells->cell[i] = *cell;
    for (; i > 0 && before(&cells->cell[i], &cells->cell[(i - 1) / 2]); i = (i - 1) / 2)
        swap(&cells->cell[i], &cells->cell[(i - 1) / 2]);
    return PD_OK;
}

struct pd_cell pd_cells_pop(struct pd_cells *cells)
{
    const struct pd_cell first = cells->cell[0];
    cells->cell[0] = cells->cell[--cells->count];
    for (size_t i = 0;;) {
        size_t best = i;
        for (size_t child = 2 * i + 1; child <= 2 * i + 2 && child < cells->count; child++)
            if (before(&cells->cell[child], &cells->cell[best]))
                best = child;
        if (best == i)
            return first;
        swap(&cells->cell[i], &cells->cell[best]);
        i = best;
    }
}

void pd_cells_free(struct pd_cells *cells)
{
    free(cells->cell);
    *cells = (struct pd_cells){0};
}

struct pd_disc pd_cell_disc(const struct pd_cell *cell)
{
    const double middle = (cell->inner_v + cell->outer_v) / 2, half = (cell->to - cell->from) / 2;
    const double complex corner = cexp(I * half);
    const double far =
        fmax(cabs(cell->outer_v * corner - middle), cabs(cell->inner_v * corner - middle));
    return pd_disc_at(middle * cexp(I * (cell->from + half)),
                      fmax(far, (cell->outer_v - cell->inner_v) / 2));
}

void pd_cell_split(const struct pd_cell *cell, struct pd_cell half[2])
{
    const double across = cell->outer_v - cell->inner_v;
    const double along = (cell->inner_v + cell->outer_v) / 2 * (cell->to - cell->from);
    half[0] = half[1] = *cell;
    if (across > along)
        half[0].outer_v = half[1].inner_v = (cell->inner_v + cell->outer_v) / 2;
    else
        half[0].to = half[1].from = (cell->from + cell->to) / 2;
}
