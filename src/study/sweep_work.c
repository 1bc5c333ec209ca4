/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/sweep_work.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The case with the point's numbers in place, NULL where they are wrong. */
static enum pd_status read_case(const struct pd_sweep_work *w, const double *value,
                                struct pd_case **out)
{
    const struct pd_sweep_settings *const s = &w->sweep->settings;
    struct pd_override item[2];
    for (size_t i = 0; i < s->vary_count; i++)
        item[i] = (struct pd_override){.at = s->vary[i].at, .value = value[i]};
    const struct pd_overrides overrides = {item, s->vary_count};
    const enum pd_status status = pd_case_read_set(w->folder, &overrides, out, w->errors);
    for (size_t i = 0; i < s->vary_count && status == PD_ERR_INPUT; i++)
        pd_errors_add(w->errors, status, s->vary[i].at.table, 0, "",
                      "'%s' %s was being varied, and was %.10g", s->vary[i].at.row,
                      s->vary[i].at.column, value[i]);
    return status;
}

static bool is_column(const struct pd_address *at, const char *table, const char *column)
{
    return strcmp(at->table, table) == 0 && strcmp(at->column, column) == 0;
}

static size_t find_load(const struct pd_case *c, const char *name)
{
    size_t i = 0;
    while (i < c->network->load_count && strcmp(c->network->load[i].name, name) != 0)
        i++;
    return i < c->network->load_count ? i : PD_NONE;
}

static size_t find_electrode(const struct pd_case *c, const char *name)
{
    size_t i = 0;
    while (i < c->electrodes.count && strcmp(c->electrodes.electrode[i].name, name) != 0)
        i++;
    return i < c->electrodes.count ? i : PD_NONE;
}

/* Whether each line's EMF is the supply voltage: then that alone is what a change of it changes. */
static bool is_even(const struct pd_network *network)
{
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((network->lines & 1u << line) != 0 &&
            fabs(cabs(network->source.unit_emf[line]) - 1) > 1e-12)
            return false;
    return true;
}

/* Whether a number only moves what each state may have of its own. A load's present value also
 * bounds its range, so only where nothing but present loads is looked at. */
static bool can_move(const struct pd_sweep_work *w, const struct pd_case *c,
                     const struct pd_address *at, struct pd_move *move)
{
    const bool amps = is_column(at, "loads.csv", "current_a");
    if ((amps || is_column(at, "loads.csv", "power_kw")) && !w->rules.all_loads) {
        const size_t i = find_load(c, at->row);
        if (i == PD_NONE)
            return false;
        const struct pd_load *const load = &c->network->load[i];
        const double each = pd_phase_current(load->phase, c->network->system, c->network->nominal_v,
                                             1, load->power_factor);
        *move = (struct pd_move){PD_MOVE_LOAD, i, amps ? 1 : each};
        return true;
    }
    if (is_column(at, "electrodes.csv", "resistance_ohm")) {
        const size_t i = find_electrode(c, at->row);
        if (i != PD_NONE)
            *move = (struct pd_move){PD_MOVE_TIE, i, c->electrodes.electrode[i].season_factor};
        return i != PD_NONE;
    }
    *move = (struct pd_move){.kind = PD_MOVE_SUPPLY, .factor = 1};
    return is_column(at, "case.csv", "value") && strcmp(at->row, "supply_voltage") == 0 &&
           is_even(c->network);
}

static void move_to(struct pd_sweep_work *w, const double *value, size_t count)
{
    struct pd_case *const c = w->moved;
    for (size_t i = 0; i < count; i++) {
        const struct pd_move *const move = &w->move[i];
        const double moved = move->factor * value[i];
        switch (move->kind) {
        case PD_MOVE_LOAD:
            c->network->load[move->which].present_a = moved;
            break;
        case PD_MOVE_TIE:
            c->tie[move->which].resistance_ohm = moved;
            break;
        case PD_MOVE_SUPPLY:
            c->supply_v = moved;
            break;
        }
    }
}

/* Three loads that stand for all of the installation's own. */
static enum pd_status add_demand(struct pd_sweep_work *w)
{
    struct pd_case *const c = w->moved;
    struct pd_network *const network = c->network;
    const struct pd_node *const node = &network->node[c->installation];
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < network->load_count; i++)
        if (pd_case_own(c, network->load[i].node))
            network->load[i].present_a = network->load[i].low_a = network->load[i].high_a = 0;
    for (int line = PD_L1; line < PD_LINES && status == PD_OK; line++) {
        char name[64];
        snprintf(name, sizeof name, "demand of the installation on L%d", line + 1);
        const struct pd_load load = {.name = name,
                                     .phase = (enum pd_phase)line,
                                     .behaviour = pd_behaviours[0],
                                     .power_factor = 1,
                                     .low_v = NAN,
                                     .high_v = NAN,
                                     .share = NAN,
                                     .least_a = NAN};
        w->move[line] = (struct pd_move){
            PD_MOVE_LOAD, network->load_count,
            pd_phase_current(load.phase, network->system, network->nominal_v, 1, 1)};
        status = pd_network_add_load(network, &load, node->name, w->errors);
    }
    c->demand_limit_a = NAN; /* the split is what is asked about, not what is left of it */
    return status;
}

static enum pd_status start_lines(struct pd_sweep_work *w)
{
    const struct pd_case *const c = w->sweep->study_case;
    const unsigned three = 1u << PD_L1 | 1u << PD_L2 | 1u << PD_L3;
    if (c->network->system != PD_THREE_PHASE ||
        (c->network->node[c->installation].lines & three) != three)
        return pd_errors_add(w->errors, PD_ERR_INPUT, "--lines", 0, "",
                             "the installation '%s' does not have three lines; leave the option "
                             "out, or vary a load",
                             c->network->node[c->installation].name);
    enum pd_status status = pd_case_read(w->folder, &w->moved, w->errors);
    return status == PD_OK ? add_demand(w) : status;
}

/* The matrix of what electrodes do to each other, with one more that stands far from all. */
static enum pd_status uncouple_last(struct pd_case *c, size_t count)
{
    if (c->mutual_ohm == NULL)
        return PD_OK;
    double *const wider = calloc((count + 1) * (count + 1), sizeof *wider);
    if (wider == NULL)
        return PD_ERR_MEMORY;
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j < count; j++)
            wider[i * (count + 1) + j] = c->mutual_ohm[i * count + j];
    free(c->mutual_ohm);
    c->mutual_ohm = wider;
    return PD_OK;
}

/* One electrode on the main earthing terminal; what the installation has there is taken off. */
static enum pd_status start_electrode(struct pd_sweep_work *w)
{
    enum pd_status status = pd_case_read(w->folder, &w->moved, w->errors);
    if (status != PD_OK)
        return status;
    struct pd_case *const c = w->moved;
    const struct pd_node *const node = c->network->node;
    const size_t count = c->electrodes.count;
    struct pd_electrode *const electrode =
        realloc(c->electrodes.electrode, (count + 1) * sizeof *electrode);
    if (electrode == NULL)
        return PD_ERR_MEMORY;
    c->electrodes.electrode = electrode;
    struct pd_earth_tie *const tie = realloc(c->tie, (count + 2) * sizeof *tie);
    if (tie == NULL)
        return PD_ERR_MEMORY;
    c->tie = tie;
    for (size_t i = 0; i < count; i++)
        if (pd_case_own(c, tie[i].node) &&
            node[tie[i].node].pe_node == node[c->installation].pe_node)
            tie[i].resistance_ohm = INFINITY;
    electrode[count] =
        (struct pd_electrode){.season_factor = 1, .x_m = NAN, .y_m = NAN, .resistance_ohm = 1};
    tie[count] = (struct pd_earth_tie){.node = c->installation, .resistance_ohm = 1};
    status = uncouple_last(c, count);
    c->electrodes.count += status == PD_OK;
    w->move[0] = (struct pd_move){PD_MOVE_TIE, count, 1};
    return status;
}

/* The case at each end of each range: what is wrong there is wrong data. */
static enum pd_status try_ends(struct pd_sweep_work *w)
{
    const struct pd_sweep_settings *const s = &w->sweep->settings;
    enum pd_status status = PD_OK;
    for (size_t corner = 0; corner < (1u << s->vary_count) && status == PD_OK; corner++) {
        struct pd_case *c = NULL;
        double value[2];
        for (size_t i = 0; i < s->vary_count; i++)
            value[i] = (corner & 1u << i) != 0 ? s->vary[i].to : s->vary[i].from;
        status = read_case(w, value, &c);
        pd_case_free(&c);
    }
    return status;
}

static enum pd_status start_moving(struct pd_sweep_work *w)
{
    const struct pd_sweep_settings *const s = &w->sweep->settings;
    const double value[2] = {s->vary[0].from, s->vary_count > 1 ? s->vary[1].from : 0};
    struct pd_case *c = NULL;
    enum pd_status status = read_case(w, value, &c);
    if (status != PD_OK)
        return status;
    bool can = !s->reread && c->missing.count == 0;
    for (size_t i = 0; i < s->vary_count; i++)
        can = can && can_move(w, c, &s->vary[i].at, &w->move[i]);
    if (can)
        w->moved = c;
    else
        pd_case_free(&c);
    return PD_OK;
}

enum pd_status pd_sweep_work_start(struct pd_sweep_work *w)
{
    const struct pd_sweep_settings *const s = &w->sweep->settings;
    const bool cells = s->vary_count > 0 && !s->met_electrode;
    enum pd_status status = cells              ? try_ends(w)
                            : s->met_electrode ? start_electrode(w)
                                               : start_lines(w);
    if (status == PD_OK && cells)
        status = start_moving(w);
    if (status == PD_OK && w->moved != NULL)
        status = pd_desk_open(w->moved, &w->rules, &w->desk);
    return status;
}

void pd_sweep_work_end(struct pd_sweep_work *w)
{
    pd_desk_close(&w->desk);
    pd_case_free(&w->moved);
}

/* By reading the case anew. A case that something is missing of is not determined. */
static enum pd_status point_by_reading(struct pd_sweep_work *w, struct pd_sweep_point *point)
{
    struct pd_case *c = NULL;
    struct pd_desk desk = {.room = 0};
    enum pd_status status = read_case(w, point->value, &c);
    if (status == PD_OK && c->missing.count > 0) {
        point->touch_v = point->unseen_v = point->supply_v = point->residual = NAN;
        point->touch = PD_UNKNOWN;
        point->section = point->unseen_section = PD_NONE;
    } else if (status == PD_OK) {
        status = pd_desk_open(c, &w->rules, &desk);
        if (status == PD_OK)
            status = pd_desk_point(&desk, &w->rules, point);
        pd_desk_close(&desk);
    }
    pd_case_free(&c);
    return status;
}

enum pd_status pd_sweep_work_point(struct pd_sweep_work *w, struct pd_sweep_point *point)
{
    const size_t count = w->sweep->settings.vary_count;
    if (w->moved == NULL)
        return point_by_reading(w, point);
    move_to(w, point->value, count > 0 ? count : PD_LINES);
    return pd_desk_point(&w->desk, &w->rules, point);
}

static double middle(const struct pd_vary *vary, double a, double b)
{
    return vary->log ? sqrt(a) * sqrt(b) : a + (b - a) / 2;
}

enum pd_status pd_sweep_work_cross(struct pd_sweep_work *w, const struct pd_sweep_point *from,
                                   const struct pd_sweep_point *to,
                                   struct pd_sweep_crossing *crossing)
{
    const struct pd_vary *const vary = &w->sweep->settings.vary[0];
    struct pd_sweep_point a = *from, b = *to;
    enum pd_status status = PD_OK;
    for (int i = 0; i < 200 && status == PD_OK; i++) {
        struct pd_sweep_point m = {.value = {middle(vary, a.value[0], b.value[0])}};
        const double apart = fabs(b.value[0] - a.value[0]);
        if (apart <= 1e-10 * fmax(fabs(a.value[0]), fabs(b.value[0])) || m.value[0] == a.value[0] ||
            m.value[0] == b.value[0])
            break;
        status = pd_sweep_work_point(w, &m);
        if (m.touch == a.touch)
            a = m;
        else
            b = m;
    }
    const bool upwards = a.value[0] < b.value[0];
    crossing->low = upwards ? a : b;
    crossing->high = upwards ? b : a;
    crossing->jumps = !(fabs(a.touch_v - b.touch_v) < 1e-4);
    return status;
}
