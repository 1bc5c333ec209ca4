/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/proof_room.h"

#include <stdlib.h>
#include <string.h>

static bool make_box(size_t loads, struct pd_box *box)
{
    box->low = calloc(loads + 1, sizeof *box->low);
    box->high = calloc(loads + 1, sizeof *box->high);
    return box->low != NULL && box->high != NULL;
}

void pd_box_copy(size_t loads, const struct pd_box *from, struct pd_box *to)
{
    memcpy(to->low, from->low, loads * sizeof *to->low);
    memcpy(to->high, from->high, loads * sizeof *to->high);
}

enum pd_status pd_proof_new(const struct pd_island *s, const struct pd_box *box, struct pd_proof *p)
{
    const size_t loads = s->network->load_count;
    struct pd_proof_room *const room = calloc(1, sizeof *room);
    *p = (struct pd_proof){.island = s, .room = room};
    if (room == NULL)
        return PD_ERR_MEMORY;
    p->best_a = calloc(loads + 1, sizeof *p->best_a);
    p->room_a = calloc(loads + 1, sizeof *p->room_a);
    room->slope = calloc(loads + 1, sizeof *room->slope);
    room->corner_a = calloc(loads + 1, sizeof *room->corner_a);
    bool good =
        p->best_a != NULL && p->room_a != NULL && room->slope != NULL && room->corner_a != NULL &&
        make_box(loads, &p->box) && make_box(loads, &room->box) &&
        pd_enclosure_new(s, &room->whole) == PD_OK && pd_enclosure_new(s, &room->unit) == PD_OK &&
        pd_enclosure_new(s, &room->cell) == PD_OK && pd_enclosure_new(s, &room->cell_unit) == PD_OK;
    for (size_t i = 0; i < PD_CORNERS_SOLVED && good; i++)
        good = (room->kept_a[i] = calloc(loads + 1, sizeof **room->kept_a)) != NULL;
    if (!good) {
        pd_proof_free(p);
        return PD_ERR_MEMORY;
    }
    pd_box_copy(loads, box, &p->box);
    return PD_OK;
}

void pd_proof_free(struct pd_proof *p)
{
    struct pd_proof_room *const room = p->room;
    if (room != NULL) {
        pd_enclosure_free(&room->whole);
        pd_enclosure_free(&room->unit);
        pd_enclosure_free(&room->cell);
        pd_enclosure_free(&room->cell_unit);
        free(room->box.low);
        free(room->box.high);
        free(room->slope);
        free(room->corner_a);
        for (size_t i = 0; i < PD_CORNERS_SOLVED; i++)
            free(room->kept_a[i]);
        pd_cells_free(&room->cells);
        free(room);
    }
    free(p->best_a);
    free(p->room_a);
    free(p->box.low);
    free(p->box.high);
    *p = (struct pd_proof){0};
}

void pd_proof_start(struct pd_proof *p)
{
    p->best_v = 0;
    p->cells_used = 0;
    p->room->kept = 0;
    memcpy(p->best_a, p->box.high, p->island->network->load_count * sizeof *p->best_a);
}

/* |u| of a state. A proof turns to the same few corners again and again. */
static double size_at(struct pd_proof *p, const double *load_a)
{
    struct pd_proof_room *const room = p->room;
    const size_t bytes = p->island->network->load_count * sizeof *load_a;
    for (size_t i = 0; i < room->kept && i < PD_CORNERS_SOLVED; i++)
        if (memcmp(room->kept_a[i], load_a, bytes) == 0)
            return room->kept_v[i];
    const size_t at = room->kept++ % PD_CORNERS_SOLVED;
    memcpy(room->kept_a[at], load_a, bytes);
    return room->kept_v[at] = cabs(p->solve(load_a, p->context));
}

double pd_proof_try(struct pd_proof *p, const double *load_a)
{
    const double volts = size_at(p, load_a);
    if (volts > p->best_v) {
        p->best_v = volts;
        memcpy(p->best_a, load_a, p->island->network->load_count * sizeof *load_a);
    }
    return volts;
}
