/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>

#include "report/street.h"

/* Room from house to house: as much as there is, and never less than a mark needs. The first joint
 * of a row stands where a transformer, or the word where the lane comes from, has room before it.
 */
static const double slot_most = 150, slot_named = 64, slot_figured = 46, slot_least = 11;
static const double lane_indent = 64, lane_gap = 60, lane_shortest = 150;
enum { NAMED = 26, FIGURED = 64 };

struct laying {
    const struct pd_case *c;
    struct pd_street_lay *lay;
    double width;
    size_t *shown_children, *height; /* [count] */
    size_t *end;    /* [count] the house at the end of a line of sections without a branch or a load
                       on the way; PD_NONE where it branches */
    bool *loaded;   /* [count] a load hangs on it or within it */
    bool *upstream; /* [count] it is on the way from the substation to the installation */
    double x;       /* where the next thing of this row goes */
    size_t row;
};

/* What belongs to an installation is not drawn apart: its metalwork is all one. */
static bool is_shown(const struct laying *l, size_t node)
{
    const struct pd_node *const n = &l->c->network->node[node];
    return node == 0 || ((!n->separate || n->pe_node == 0 || l->upstream[node]) &&
                         l->lay->place[n->parent].shown);
}

/* From the last node to the first a child comes before its parent. */
static void look(struct laying *l)
{
    const struct pd_network *const network = l->c->network;
    for (size_t i = 0; i < network->load_count; i++)
        l->loaded[network->load[i].node] = true;
    for (size_t i = l->c->installation; i != PD_NONE; i = network->node[i].parent)
        l->upstream[i] = true;
    for (size_t i = 0; i < l->lay->count; i++) {
        l->lay->place[i].shown = is_shown(l, i);
        l->lay->place[i].joint = PD_NONE;
    }
    for (size_t i = l->lay->count; i-- > 0;) {
        const size_t parent = network->node[i].parent;
        if (l->shown_children[i] == 0)
            l->end[i] = i;
        else if (l->shown_children[i] > 1 || l->loaded[i])
            l->end[i] = PD_NONE;
        if (parent == PD_NONE)
            continue;
        if (!l->lay->place[i].shown) {
            l->loaded[parent] |= l->loaded[i];
            continue;
        }
        l->shown_children[parent]++;
        l->end[parent] = l->end[i]; /* stands where this stays the only one */
        l->height[parent] =
            l->height[i] + 1 > l->height[parent] ? l->height[i] + 1 : l->height[parent];
    }
}

/* The joint that a lane goes on to: of those that branch, the one with the longest way to go. */
static size_t next_joint(const struct laying *l, size_t joint)
{
    const struct pd_node *const n = &l->c->network->node[joint];
    size_t next = PD_NONE;
    for (size_t i = n->first_child; i < n->first_child + n->child_count; i++)
        if (l->lay->place[i].shown && l->end[i] == PD_NONE &&
            (next == PD_NONE || l->height[i] > l->height[next]))
            next = i;
    return next;
}

static size_t stubs_of(const struct laying *l, size_t joint)
{
    const struct pd_node *const n = &l->c->network->node[joint];
    size_t stubs = joint != 0 && l->loaded[joint];
    for (size_t i = n->first_child; i < n->first_child + n->child_count; i++)
        stubs += l->lay->place[i].shown && l->end[i] != PD_NONE;
    return stubs;
}

static void new_row(struct laying *l)
{
    l->row++;
    l->x = lane_indent;
}

/* The nodes on the way of a stub stand where its house does. */
static void place_stub(struct laying *l, size_t joint, size_t node)
{
    const size_t end = l->end[node];
    for (size_t i = end; i != joint; i = l->c->network->node[i].parent)
        l->lay->place[i] = (struct pd_street_place){
            .shown = true, .house = i == end, .joint = joint, .row = l->row, .x = l->x};
    l->x += l->lay->slot;
    l->lay->houses++;
}

static void place_joint(struct laying *l, size_t joint)
{
    const struct pd_node *const n = &l->c->network->node[joint];
    struct pd_street_place *const place = &l->lay->place[joint];
    const size_t stubs = stubs_of(l, joint);
    const double room = l->lay->slot * (double)(stubs > 0 ? stubs : 1);
    if (l->x + fmin(room, l->width - lane_indent) > l->width + l->lay->slot / 2)
        new_row(l);
    place->on_main = true;
    place->row = l->row;
    place->x = place->house_x = l->x;
    if (joint != 0 && l->loaded[joint]) {
        place->house = true;
        l->lay->houses++;
        l->x += l->lay->slot;
    }
    if (joint == 0 && stubs > 0)
        l->x += l->lay->slot; /* what hangs on the substation itself is still some way off */
    for (size_t i = n->first_child; i < n->first_child + n->child_count; i++)
        if (l->lay->place[i].shown && l->end[i] != PD_NONE) {
            if (l->x > l->width) /* more houses on one joint than a row has room for */
                new_row(l);
            place_stub(l, joint, i);
        }
    if (stubs == 0)
        l->x += l->lay->slot;
}

static double lane_room(const struct laying *l, size_t first)
{
    size_t slots = 0;
    for (size_t joint = first; joint != PD_NONE; joint = next_joint(l, joint)) {
        const size_t stubs = stubs_of(l, joint);
        slots += stubs > 0 ? stubs : 1;
    }
    return fmax(lane_shortest, l->lay->slot * (double)slots);
}

/* Branches of a lane's joints become lanes in turn. */
static void add_branches(struct laying *l, size_t joint)
{
    const struct pd_node *const n = &l->c->network->node[joint];
    const size_t next = next_joint(l, joint);
    for (size_t i = n->first_child; i < n->first_child + n->child_count; i++)
        if (l->lay->place[i].shown && i != next && l->end[i] == PD_NONE)
            l->lay->lane[l->lay->lanes++] = i;
}

static void place_lanes(struct laying *l)
{
    l->lay->lane[l->lay->lanes++] = 0;
    l->x = lane_indent;
    for (size_t i = 0; i < l->lay->lanes; i++) {
        const size_t first = l->lay->lane[i];
        const double from = l->x;
        if (i > 0 && (from + lane_gap + lane_room(l, first) > l->width))
            new_row(l);
        else if (i > 0)
            l->x += lane_gap;
        const double start = l->x;
        const size_t row = l->row;
        for (size_t joint = first; joint != PD_NONE; joint = next_joint(l, joint)) {
            add_branches(l, joint);
            place_joint(l, joint);
        }
        if (l->row == row)
            l->x = fmax(l->x, start + lane_shortest);
    }
    l->lay->rows = l->row + 1;
}

/* So many slots as joints and houses take, in as many rows as it needs. */
static void choose_slot(struct laying *l)
{
    size_t slots = 1;
    for (size_t i = 0; i < l->lay->count; i++) {
        const bool joint = l->lay->place[i].shown && (i == 0 || l->end[i] == PD_NONE);
        const size_t stubs = joint ? stubs_of(l, i) : 0;
        slots += joint ? (stubs > 0 ? stubs : 1) : 0;
    }
    const double room = l->width - lane_indent;
    const double least = slots <= NAMED ? slot_named
                         : slots <= FIGURED
                             ? slot_figured
                             : fmax(slot_least, fmin(22, 4.5 * room / (double)slots));
    l->lay->slot = fmax(least, fmin(slot_most, room / (double)(slots > 0 ? slots : 1)));
}

enum pd_status pd_street_lay(const struct pd_case *c, double width, struct pd_street_lay *out)
{
    const size_t count = c->network->node_count;
    *out = (struct pd_street_lay){.count = count,
                                  .place = calloc(count, sizeof *out->place),
                                  .lane = calloc(count, sizeof *out->lane)};
    struct laying l = {.c = c,
                       .lay = out,
                       .width = width,
                       .shown_children = calloc(count, sizeof *l.shown_children),
                       .height = calloc(count, sizeof *l.height),
                       .end = calloc(count, sizeof *l.end),
                       .loaded = calloc(count, sizeof *l.loaded),
                       .upstream = calloc(count, sizeof *l.upstream)};
    enum pd_status status = PD_ERR_MEMORY;
    if (out->place != NULL && out->lane != NULL && l.shown_children != NULL && l.height != NULL &&
        l.end != NULL && l.loaded != NULL && l.upstream != NULL) {
        look(&l);
        choose_slot(&l);
        place_lanes(&l);
        status = out->rows > PD_STREET_ROWS ? PD_ERR_ARGUMENT : PD_OK;
    }
    free(l.shown_children);
    free(l.height);
    free(l.end);
    free(l.loaded);
    free(l.upstream);
    if (status != PD_OK)
        pd_street_lay_free(out);
    return status;
}

void pd_street_lay_free(struct pd_street_lay *lay)
{
    free(lay->place);
    free(lay->lane);
    *lay = (struct pd_street_lay){0};
}
