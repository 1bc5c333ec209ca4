/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_PROOF_ROOM_H
#define PENDRIFT_STUDY_PROOF_ROOM_H

#include "study/proof.h"

/* Working memory of a proof: of proof.c and proof_room.c only. */
enum { PD_CORNERS_SOLVED = 16 };

struct pd_proof_room {
    struct pd_enclosure whole, unit, cell, cell_unit; /* for the full box; for a cell's */
    struct pd_box box;                                /* a cell's */
    struct pd_slope *slope;
    double *corner_a;                  /* [load_count] */
    double *kept_a[PD_CORNERS_SOLVED]; /* corners solved last, each [load_count] */
    double kept_v[PD_CORNERS_SOLVED];  /* and their |u| */
    size_t kept;
    struct pd_cells cells;
    struct pd_drive drive;
    double reach_v; /* beyond it nothing is possible */
    double whole_v; /* `whole` holds for every |u| up to this */
    bool unit_good;
};

void pd_box_copy(size_t loads, const struct pd_box *from, struct pd_box *to);

#endif
