/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdlib.h>
#include <string.h>

#include "study/replay_work.h"
#include "table/grow.h"

/* The moments that lists and columns point to are kept with their loads, to be solved again at the
 * end: a record from standard input cannot be read twice. */

/* What the kept moments may take, bytes; beyond it one is only named, and so not solved again. */
enum { SLOTS_MOST = 24 << 20 };

static size_t slot_size(const struct pd_replay_work *w)
{
    return w->study_case->network->load_count * sizeof(double) + sizeof(struct pd_replay_slot);
}

static size_t free_slot(struct pd_replay_work *w)
{
    for (size_t i = 0; i < w->slot_count; i++)
        if (w->slot[i].refs == 0)
            return i;
    struct pd_replay_slot *const larger = pd_grow(w->slot, w->slot_count, sizeof *larger);
    if (larger == NULL)
        return PD_NONE;
    w->slot = larger;
    w->slot[w->slot_count] = (struct pd_replay_slot){.refs = 0};
    return w->slot_count++;
}

/* Points to the slot of a row, made where the row has none yet. */
static enum pd_status hold(struct pd_replay_work *w, size_t row, size_t *slot)
{
    const size_t loads = w->study_case->network->load_count;
    *slot = w->rows.slot[row];
    if (*slot == PD_NONE && w->slot_bytes + slot_size(w) > SLOTS_MOST)
        return PD_OK;
    if (*slot == PD_NONE) {
        const size_t i = free_slot(w);
        double *const load_a = calloc(loads + 1, sizeof *load_a);
        if (i == PD_NONE || load_a == NULL) {
            free(load_a);
            return PD_ERR_MEMORY;
        }
        w->slot[i] = (struct pd_replay_slot){.moment = w->replay->moments + row, .load_a = load_a};
        memcpy(load_a, &w->rows.load_a[row * loads], loads * sizeof *load_a);
        memcpy(w->slot[i].time, w->rows.time[row], sizeof w->slot[i].time);
        w->slot_bytes += slot_size(w);
        w->rows.slot[row] = *slot = i;
    }
    w->slot[*slot].refs++;
    return PD_OK;
}

static void let_go(struct pd_replay_work *w, size_t slot)
{
    if (slot == PD_NONE || --w->slot[slot].refs > 0)
        return;
    for (size_t row = 0; row < w->rows.count; row++)
        if (w->rows.slot[row] == slot)
            w->rows.slot[row] = PD_NONE;
    free(w->slot[slot].load_a);
    w->slot[slot].load_a = NULL;
    w->slot_bytes -= slot_size(w);
}

void pd_replay_slots_free(struct pd_replay_work *w)
{
    for (size_t i = 0; i < w->slot_count; i++)
        free(w->slot[i].load_a);
    free(w->slot);
}

static enum pd_status keep(struct pd_replay_work *w, enum pd_replay_kind kind, size_t row,
                           int64_t uv, size_t column, struct pd_replay_kept *kept)
{
    struct pd_replay_look look;
    pd_replay_look(w, &w->seat[0], row, column, &look);
    const bool touch = kind == PD_REPLAY_TOUCH;
    *kept = (struct pd_replay_kept){
        .uv = uv,
        .v = touch ? look.touch_v : look.unseen_v,
        .supply_v = touch ? look.supply_v : look.unseen_supply_v,
        .column = column,
        .node = touch ? look.node : w->study_case->charging_point,
    };
    return hold(w, row, &kept->slot);
}

enum pd_status pd_replay_keep_columns(struct pd_replay_work *w)
{
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < w->column_count && status == PD_OK; i++)
        for (int kind = 0; kind < PD_REPLAY_KINDS && status == PD_OK; kind++) {
            const struct pd_replay_mark *const mark = &w->column[i].mark[kind];
            struct pd_replay_kept *const kept = &w->column[i].kept[kind];
            if (mark->uv <= kept->uv)
                continue;
            const size_t before = kept->uv < 0 ? PD_NONE : kept->slot;
            status = keep(w, (enum pd_replay_kind)kind, mark->row, mark->uv, i, kept);
            let_go(w, before);
        }
    return status;
}

enum pd_status pd_replay_offer(struct pd_replay_work *w, enum pd_replay_kind kind, size_t row,
                               int64_t uv, size_t column)
{
    struct pd_replay_list *const list = &w->list[kind];
    size_t place = list->count;
    while (place > 0 && list->kept[place - 1].uv < uv)
        place--;
    if (place == list->room)
        return PD_OK;
    if (list->count == list->room)
        let_go(w, list->kept[--list->count].slot);
    memmove(&list->kept[place + 1], &list->kept[place], (list->count - place) * sizeof *list->kept);
    list->count++;
    return keep(w, kind, row, uv, column, &list->kept[place]);
}
