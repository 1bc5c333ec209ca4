/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_CELLS_H
#define PENDRIFT_STUDY_CELLS_H

#include <stdbool.h>
#include <stddef.h>

#include "study/disc.h"
#include "table/status.h"

/* The plane of the neutral's displacement in polar cells, and a heap of them, the one with the
 * largest `cap` first: branch and bound. The room's own. */
struct pd_cell {
    double inner_v, outer_v; /* distances from the origin */
    double from, to;         /* angles */
    double cap;              /* no answer in the cell is above it */
};

struct pd_cells {
    struct pd_cell *cell;
    size_t count, room;
};

/* PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_cells_push(struct pd_cells *cells, const struct pd_cell *cell);
/* Takes the first; there must be one. */
struct pd_cell pd_cells_pop(struct pd_cells *cells);
void pd_cells_free(struct pd_cells *cells);

/* The smallest disc round the cell's middle that holds it. */
struct pd_disc pd_cell_disc(const struct pd_cell *cell);

/* Cuts it in two across its longer side. */
void pd_cell_split(const struct pd_cell *cell, struct pd_cell half[2]);

#endif
