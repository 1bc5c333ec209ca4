/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/lesson_stops.h"

#include <math.h>
#include <stdlib.h>

/* How finely loads and electrode are stepped: the first that fits is taken. A list ends where it
 * begins to hold no more. */
struct fineness {
    double share[8]; /* the last is 2 */
    double electrode_ohm[12];
};
static const struct fineness finenesses[] = {
    {{0, 0.25, 0.5, 0.75, 1, 1.5, 2}, {INFINITY, 200, 100, 50, 20, 10, 5, 3, 2, 1}},
    {{0, 0.5, 1, 1.5, 2}, {INFINITY, 200, 100, 50, 20, 10, 5, 3, 2, 1}},
    {{0, 0.5, 1, 2}, {INFINITY, 100, 20, 10, 5, 2, 1}},
    {{0, 1, 2}, {INFINITY, 100, 20, 5, 2}},
    {{0, 1, 2}, {INFINITY, 20, 2}},
};
enum { FINENESSES = sizeof finenesses / sizeof finenesses[0] };
static const double between_share[] = {0, 1, 2, 0};

/* Answers where loads are iterated: each takes as long as hundreds that are not. */
enum { ITERATED_MOST = 10000 };

static unsigned lines_of(const struct pd_load *load)
{
    return pd_phase_lines(load->phase);
}

bool pd_lesson_sets(const struct pd_lesson_axis *axis, const struct pd_load *load)
{
    const unsigned lines = lines_of(load);
    const bool one = (lines & (lines - 1)) == 0;
    if (axis->kind == PD_LESSON_BETWEEN)
        return !one;
    return axis->kind == PD_LESSON_LINE && one && lines == 1u << axis->line;
}

double pd_lesson_load_a(const struct pd_lesson_axis *axis, size_t stop, const struct pd_load *load)
{
    const double share = axis->value[stop];
    return share <= 1 ? share * load->present_a
                      : load->present_a + (share - 1) * (load->high_a - load->present_a);
}

bool pd_lesson_below(const struct pd_lesson *lesson, const struct pd_lesson_axis *axis, size_t stop)
{
    const struct pd_network *const n = lesson->study_case->network;
    bool below = false;
    for (size_t i = 0; i < n->load_count; i++)
        below |= pd_lesson_sets(axis, &n->load[i]) &&
                 pd_lesson_load_a(axis, stop, &n->load[i]) < n->load[i].low_a;
    return below;
}

bool pd_lesson_replaces(const struct pd_case *c, const struct pd_earth_tie *tie)
{
    const struct pd_node *const node = c->network->node;
    return pd_case_own(c, tie->node) && node[tie->node].pe_node != PD_NONE &&
           node[tie->node].pe_node == node[c->installation].pe_node;
}

static void add_stop(struct pd_lesson_axis *axis, double value)
{
    if (axis->count < PD_LESSON_STOPS)
        axis->value[axis->count++] = value;
}

static void add_axis(struct pd_lesson *lesson, const struct pd_lesson_axis *axis)
{
    if (axis->count > 0)
        lesson->axis[lesson->axis_count++] = *axis;
}

/* Stops that would be the same for every load of the axis are one. */
static void add_loads(struct pd_lesson *lesson, struct pd_lesson_axis axis, const double *share)
{
    const struct pd_network *const n = lesson->study_case->network;
    bool some = false, present = false, higher = false;
    for (size_t i = 0; i < n->load_count; i++) {
        if (!pd_lesson_sets(&axis, &n->load[i]))
            continue;
        some = true;
        present |= n->load[i].present_a > 0;
        higher |= n->load[i].high_a > n->load[i].present_a;
    }
    for (size_t i = 0; some && (i == 0 || share[i] > 0); i++)
        if (share[i] == 1 || (share[i] < 1 && present) || (share[i] > 1 && higher)) {
            if (share[i] == 1)
                axis.declared = axis.count;
            add_stop(&axis, share[i]);
        }
    add_axis(lesson, &axis);
}

/* The case's own among the others, in falling order. */
static void add_electrode(struct pd_lesson *lesson, const double *ohm)
{
    const struct pd_case *const c = lesson->study_case;
    struct pd_lesson_axis axis = {.kind = PD_LESSON_ELECTRODE};
    const double own_ohm = pd_case_electrode(c, c->installation);
    const bool fixed = c->network->node[c->installation].pe_node == PD_NONE;
    bool placed = false;
    for (size_t i = 0; !fixed && ohm[i] > 0; i++) {
        if (!placed && own_ohm >= ohm[i]) {
            axis.declared = axis.count;
            add_stop(&axis, own_ohm);
            placed = true;
        }
        if (ohm[i] != own_ohm)
            add_stop(&axis, ohm[i]);
    }
    if (!placed) {
        axis.declared = axis.count;
        add_stop(&axis, own_ohm);
    }
    add_axis(lesson, &axis);
}

static void add_supply(struct pd_lesson *lesson)
{
    const struct pd_case *const c = lesson->study_case;
    struct pd_lesson_axis axis = {.kind = PD_LESSON_SUPPLY};
    add_stop(&axis, c->supply_v);
    if (c->limits.supply_high_v > c->supply_v)
        add_stop(&axis, c->limits.supply_high_v);
    add_axis(lesson, &axis);
}

/* The sections from the source on, evenly thinned where there are too many; the first, the last and
 * the one to begin with stay. */
static enum pd_status add_breaks(struct pd_lesson *lesson, size_t section)
{
    const struct pd_case *const c = lesson->study_case;
    struct pd_lesson_axis axis = {.kind = PD_LESSON_BREAK, .count = 1, .section = {PD_NONE}};
    size_t *const path = calloc(c->network->node_count, sizeof *path);
    size_t count = 0;
    if (path == NULL)
        return PD_ERR_MEMORY;
    for (size_t i = c->installation; i > 0; i = c->network->node[i].parent)
        if (!c->network->node[i].separate)
            path[count++] = i;
    const size_t room = PD_LESSON_BREAKS - 1;
    for (size_t k = 0; k < (count < room ? count : room); k++) {
        const size_t from_source = count <= room ? k : k * (count - 1) / (room - 1);
        axis.section[axis.count++] = path[count - 1 - from_source];
    }
    axis.declared = axis.count - 1;
    for (size_t k = 1; k < axis.count; k++)
        if (axis.section[k] == section)
            axis.declared = k;
    lesson->path_count = count;
    free(path);
    add_axis(lesson, &axis);
    return PD_OK;
}

static enum pd_status fill_axes(struct pd_lesson *lesson, size_t section,
                                const struct fineness *fineness)
{
    lesson->axis_count = 0;
    for (int line = PD_L1; line < PD_LINES; line++)
        add_loads(lesson, (struct pd_lesson_axis){.kind = PD_LESSON_LINE, .line = line},
                  fineness->share);
    add_loads(lesson, (struct pd_lesson_axis){.kind = PD_LESSON_BETWEEN}, between_share);
    add_electrode(lesson, fineness->electrode_ohm);
    add_supply(lesson);
    const enum pd_status status = add_breaks(lesson, section);
    lesson->count = 1;
    for (size_t i = lesson->axis_count; i-- > 0;) {
        lesson->axis[i].stride = lesson->count;
        lesson->count *= lesson->axis[i].count;
    }
    return status;
}

enum pd_status pd_lesson_stops(struct pd_lesson *lesson, size_t section)
{
    const struct pd_network *const n = lesson->study_case->network;
    size_t most = PD_LESSON_MOST;
    for (size_t i = 0; i < n->load_count; i++)
        if (!n->load[i].behaviour->linear)
            most = ITERATED_MOST;
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < FINENESSES && status == PD_OK; i++) {
        status = fill_axes(lesson, section, &finenesses[i]);
        if (lesson->count <= most)
            break;
    }
    return status;
}
