/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/proof.h"

#include "study/proof_room.h"

enum { ANGLES = 12, SLICES = 8 };

/* The enclosures that hold for every cell, and the reach: beyond it, where u is taken for 1 and the
 * EMFs are so much smaller, Kirchhoff's current law cannot hold. */
static bool prepare_within(struct pd_proof *p, double supply_low_v, double supply_high_v,
                           double reach_v)
{
    struct pd_proof_room *const room = p->room;
    const struct pd_island *const s = p->island;
    const struct pd_drive far = {
        .supply_r = supply_high_v / reach_v, .u = pd_disc_at(1, 0), .unit_v = reach_v};
    const struct pd_drive unit = {.u = pd_disc_at(1, 0), .injected = true};
    room->reach_v = room->whole_v = reach_v;
    room->drive = (struct pd_drive){.supply_v = (supply_low_v + supply_high_v) / 2,
                                    .supply_r = (supply_high_v - supply_low_v) / 2,
                                    .u = pd_disc_at(0, reach_v)};
    room->unit_good = s->linear && pd_island_bound(s, &p->box, &unit, &room->unit);
    for (int i = 0; i < 4 && room->unit_good; i++)
        pd_island_pass(s, &p->box, &unit, &room->unit);
    if (!pd_island_bound(s, &p->box, &far, &room->whole))
        return false;
    for (int i = 0; i < 4; i++)
        pd_island_pass(s, &p->box, &far, &room->whole);
    pd_box_copy(s->network->load_count, &p->box, &room->box);
    if (s->section != PD_NONE && pd_island_possible(s, &room->box, &room->whole))
        return false;
    return pd_island_bound(s, &p->box, &room->drive, &room->whole);
}

/* The nearer the reach the fewer the cells; from 3 times the supply on every window is passed. */
static bool prepare(struct pd_proof *p, double supply_low_v, double supply_high_v)
{
    return (p->island->linear &&
            prepare_within(p, supply_low_v, supply_high_v, 2 * supply_high_v)) ||
           prepare_within(p, supply_low_v, supply_high_v, 3 * supply_high_v) ||
           prepare_within(p, supply_low_v, supply_high_v, 6 * supply_high_v);
}

/* Passes until they no longer help; false where the cell turns out impossible. */
static bool tighten(struct pd_proof *p, const struct pd_drive *drive, int passes)
{
    struct pd_proof_room *const room = p->room;
    for (int i = 0; i < passes; i++) {
        pd_island_pass(p->island, &room->box, drive, &room->cell);
        if (!pd_island_possible(p->island, &room->box, &room->cell))
            return false;
    }
    return true;
}

/* Settles the loads whose sign is sure: each at the end of its full range, so that where the box
 * has been narrowed to less the cell holds no maximum. False then. *left: not settled. */
static bool settle_loads(struct pd_proof *p, size_t *left)
{
    const struct pd_slope *const slope = p->room->slope;
    const struct pd_box *const box = &p->room->box, *const full = &p->box;
    *left = 0;
    for (size_t i = 0; i < p->island->network->load_count; i++) {
        if (full->low[i] == full->high[i])
            continue;
        if ((slope[i].low > 0 && box->high[i] < full->high[i]) ||
            (slope[i].high < 0 && box->low[i] > full->low[i]))
            return false;
        if (slope[i].low > 0)
            box->low[i] = box->high[i];
        else if (slope[i].high < 0)
            box->high[i] = box->low[i];
        *left += box->low[i] != box->high[i];
    }
    return true;
}

/* 5 of island.h, where u may go off the cell by off_v: a bound on |u|, INFINITY where the loads in
 * doubt may move it further than that, by *moved_v. Each stands at the end that its likelier sign
 * points to. */
static double bound_within(struct pd_proof *p, const struct pd_drive *drive, double off_v,
                           double *moved_v)
{
    struct pd_proof_room *const room = p->room;
    const struct pd_island *const s = p->island;
    struct pd_drive wider = *drive;
    double added_v = 0;
    *moved_v = INFINITY;
    wider.u.r += off_v;
    pd_enclosure_copy(s, &room->whole, &room->cell);
    for (int i = 0; i < 3; i++)
        pd_island_pass(s, &room->box, &wider, &room->cell);
    if (pd_disc_most(wider.u) > room->whole_v ||
        !pd_island_slopes(s, &room->box, &room->cell, &room->cell_unit, room->slope))
        return INFINITY;
    *moved_v = 0;
    for (size_t i = 0; i < s->network->load_count; i++) {
        const double range_a = room->box.high[i] - room->box.low[i];
        const struct pd_slope *const slope = &room->slope[i];
        const bool up = slope->high > -slope->low;
        room->corner_a[i] = up ? room->box.high[i] : room->box.low[i];
        if (range_a == 0)
            continue;
        *moved_v += range_a * slope->size;
        added_v += range_a * fmax(0, up ? -slope->low : slope->high);
    }
    if (!(*moved_v <= off_v))
        return INFINITY;
    const double corner_v = pd_proof_try(p, room->corner_a);
    return isnan(corner_v) ? INFINITY : corner_v + added_v;
}

/* First with room as wide as the cell, then with as much as the loads turn out to need. */
static double bound_doubt(struct pd_proof *p, const struct pd_drive *drive)
{
    double moved_v;
    const double bound_v = bound_within(p, drive, drive->u.r + 0.1, &moved_v);
    if (isfinite(bound_v) || !(moved_v < cabs(drive->u.c) / 2))
        return bound_v;
    return bound_within(p, drive, 1.3 * moved_v, &moved_v);
}

/* Nothing ties the neutral: it is taken to be at 0. */
static bool is_off(const struct pd_proof *p, const double *load_a)
{
    bool off = !p->island->earthed;
    for (size_t k = 0; k < p->island->element_count; k++)
        if (p->island->out[p->island->element[k].node])
            off &= load_a[p->island->element[k].load] == 0;
    return off;
}

/* What a cell can hold: 0 where no answer, or only corners that have been solved. */
static double look_for_most(struct pd_proof *p, const struct pd_cell *cell)
{
    enum { ROUNDS = 6 };
    const double worth_v = 5; /* in a larger cell the loads in doubt are many */
    struct pd_proof_room *const room = p->room;
    const struct pd_island *const s = p->island;
    const struct pd_drive unit = {.u = pd_disc_at(1, 0), .injected = true};
    size_t left = s->network->load_count;
    if (!tighten(p, &room->drive, 2))
        return 0;
    if (!room->unit_good)
        return cell->cap;
    pd_enclosure_copy(s, &room->unit, &room->cell_unit);
    for (int round = 0; round < ROUNDS; round++) {
        const size_t before = left;
        for (int i = 0; i < 2; i++)
            pd_island_pass(s, &room->box, &unit, &room->cell_unit);
        if (!pd_island_slopes(s, &room->box, &room->cell, &room->cell_unit, room->slope))
            return cell->cap;
        if (!settle_loads(p, &left))
            return 0;
        if (left == 0 || (round > 1 && left == before))
            break;
        if (!tighten(p, &room->drive, 2))
            return 0;
    }
    if (left > 0 && room->drive.u.r > worth_v)
        return cell->cap;
    if (left > 0)
        return fmin(cell->cap, bound_doubt(p, &room->drive));
    return isnan(pd_proof_try(p, room->box.low)) && !is_off(p, room->box.high) ? cell->cap : 0;
}

static double look_for_unseen(struct pd_proof *p, const struct pd_cell *cell)
{
    double share = 1;
    if (!tighten(p, &p->room->drive, 2) || p->seen(&p->room->cell, &share, p->context))
        return 0;
    return fmin(cell->cap, cell->outer_v * share);
}

static double look_for_least(struct pd_proof *p, const struct pd_cell *cell)
{
    return tighten(p, &p->room->drive, 2) ? cell->cap : -INFINITY;
}

static double look_for_possible(struct pd_proof *p, const struct pd_cell *cell)
{
    return tighten(p, &p->room->drive, 2) ? cell->cap : 0;
}

/* An aim: what bounds a cell from above, and what is bounded of its own accord. */
struct aim {
    double (*look)(struct pd_proof *p, const struct pd_cell *cell);
    double (*cap)(const struct pd_cell *cell);
    double inner_v, floor; /* where to start; what is not looked at */
    bool rises;            /* the floor rises with the best found */
    double least_v;        /* cells this small are not cut again */
};

static double cap_outer(const struct pd_cell *cell)
{
    return cell->outer_v;
}

static double cap_inner(const struct pd_cell *cell)
{
    return -cell->inner_v;
}

static enum pd_status push_ring(struct pd_proof *p, const struct aim *aim)
{
    enum pd_status status = PD_OK;
    p->room->cells.count = 0;
    for (int i = 0; i < ANGLES && status == PD_OK; i++) {
        struct pd_cell cell = {.inner_v = aim->inner_v,
                               .outer_v = p->room->reach_v,
                               .from = 2 * M_PI * i / ANGLES,
                               .to = 2 * M_PI * (i + 1) / ANGLES};
        cell.cap = aim->cap(&cell);
        status = pd_cells_push(&p->room->cells, &cell);
    }
    return status;
}

static double floor_of(const struct pd_proof *p, const struct aim *aim)
{
    return aim->rises ? fmax(aim->floor, p->best_v + p->tolerance_v) : aim->floor;
}

/* Where all that is left to look at lies well within what the enclosures were made for, they are
 * made anew: the smaller u, the less the cables drop. A cell's answers above its cap do not count,
 * so those up to the largest cap are enough. */
static void tighten_whole(struct pd_proof *p, double most_v)
{
    struct pd_proof_room *const room = p->room;
    struct pd_drive drive = room->drive;
    if (1.25 * most_v > 0.8 * room->whole_v)
        return;
    drive.u = pd_disc_at(0, 1.25 * most_v); /* 5 of island.h looks a little beyond a cell */
    room->whole_v = 1.25 * most_v;
    if (!pd_island_bound(p->island, &p->box, &drive, &room->whole))
        return; /* cannot be: a larger u had a bound */
    for (int i = 0; i < 3; i++)
        pd_island_pass(p->island, &p->box, &drive, &room->whole);
}

/* Branch and bound at the room's supply: *cap is the bound. */
static enum pd_status walk(struct pd_proof *p, const struct aim *aim, double *cap)
{
    struct pd_proof_room *const room = p->room;
    enum pd_status status = push_ring(p, aim);
    size_t used = 0;
    while (status == PD_OK && room->cells.count > 0) {
        const struct pd_cell cell = pd_cells_pop(&room->cells);
        if (cell.cap > 0) /* it bounds |u|, and not from below */
            tighten_whole(p, cell.cap);
        room->drive.u = pd_cell_disc(&cell);
        if (cell.cap <= floor_of(p, aim))
            break;
        if (room->drive.u.r < aim->least_v || used >= p->cells_most) {
            *cap = cell.cap;
            return PD_OK;
        }
        p->cells_used++;
        used++;
        pd_box_copy(p->island->network->load_count, &p->box, &room->box);
        pd_enclosure_copy(p->island, &room->whole, &room->cell);
        const double found = aim->look(p, &cell);
        if (found <= floor_of(p, aim))
            continue;
        struct pd_cell half[2];
        pd_cell_split(&cell, half);
        for (int i = 0; i < 2 && status == PD_OK; i++) {
            half[i].cap = fmin(found, aim->cap(&half[i]));
            status = pd_cells_push(&room->cells, &half[i]);
        }
    }
    *cap = floor_of(p, aim);
    return status;
}

/* Where answers are in proportion to the supply its highest stands for all; else its range is taken
 * in slices, each an interval of EMFs. */
static enum pd_status walk_supply(struct pd_proof *p, const struct aim *aim, double *cap)
{
    const bool one = p->island->linear;
    const int slices = one ? 1 : SLICES;
    const double step_v = (p->supply_high_v - p->supply_low_v) / slices;
    enum pd_status status = PD_OK;
    *cap = -INFINITY;
    for (int i = slices; i-- > 0 && status == PD_OK;) {
        const double low_v = one ? p->supply_high_v : p->supply_low_v + i * step_v;
        double slice_cap = INFINITY;
        if (prepare(p, low_v, low_v + (one ? 0 : step_v)))
            status = walk(p, aim, &slice_cap);
        *cap = fmax(*cap, slice_cap);
    }
    return status;
}

enum pd_status pd_proof_most(struct pd_proof *p, double *bound_v)
{
    const struct aim aim = {.look = look_for_most,
                            .cap = cap_outer,
                            .inner_v = p->best_v,
                            .rises = true,
                            .least_v = p->tolerance_v / 4};
    return walk_supply(p, &aim, bound_v);
}

enum pd_status pd_proof_unseen(struct pd_proof *p, double above_v, double *bound_v)
{
    const struct aim aim = {.look = look_for_unseen,
                            .cap = cap_outer,
                            .inner_v = above_v,
                            .floor = above_v,
                            .least_v = 0.25};
    const enum pd_status status = walk_supply(p, &aim, bound_v);
    if (*bound_v <= above_v)
        *bound_v = 0;
    return status;
}

enum pd_status pd_proof_least(struct pd_proof *p, double *bound_v)
{
    const struct aim aim = {
        .look = look_for_least, .cap = cap_inner, .floor = -INFINITY, .least_v = 0.25};
    const enum pd_status status = walk_supply(p, &aim, bound_v);
    *bound_v = isfinite(*bound_v) ? fmax(0, -*bound_v) : 0;
    return status;
}

/* Where the island has an electrode its own displacement lifts the star point: it is bounded first,
 * coarsely. */
enum pd_status pd_proof_intact(struct pd_proof *p, double *bound_v)
{
    const struct aim aim = {.look = look_for_possible, .cap = cap_outer, .least_v = 25};
    const struct pd_island *const s = p->island;
    struct pd_proof_room *const room = p->room;
    const double low_v = s->linear ? p->supply_high_v : p->supply_low_v;
    enum pd_status status = PD_OK;
    double reach_v = 0;
    *bound_v = INFINITY;
    if (s->section != PD_NONE && s->earthed && s->star_ohm > 0)
        status = walk_supply(p, &aim, &reach_v);
    else
        reach_v = INFINITY; /* nothing hangs on it */
    if (status != PD_OK || isnan(reach_v) || !prepare(p, low_v, p->supply_high_v))
        return status;
    room->drive.u = pd_disc_at(0, fmin(reach_v, room->reach_v));
    pd_box_copy(s->network->load_count, &p->box, &room->box);
    for (int i = 0; i < 4; i++)
        pd_island_pass(s, &room->box, &room->drive, &room->whole);
    *bound_v = pd_island_intact(s, &room->box, &room->whole);
    return PD_OK;
}
