/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/replay_setup.h"

#include <math.h>
#include <sched.h>
#include <stdlib.h>
#include <string.h>

/* The sections to open: every PEN, or the one asked for. */
static enum pd_status list_cuts(struct pd_replay_work *w, struct pd_errors *errors)
{
    const enum pd_status status = pd_fault_row(PD_OPEN_PEN)->list(w->study_case, &w->cuts);
    const size_t only = w->settings->section;
    size_t kept = 0;
    for (size_t i = 0; i < w->cuts.count && only != PD_NONE; i++)
        if (w->cuts.fault[i].section == only)
            w->cuts.fault[kept++] = w->cuts.fault[i];
    if (only != PD_NONE)
        w->cuts.count = kept;
    if (status == PD_OK && w->cuts.count == 0)
        return pd_errors_add(errors, PD_ERR_INPUT, "sections.csv", 0, "",
                             "has no section with a PEN: there is none to open");
    return status;
}

static void add_probe(struct pd_replay_work *w, size_t node, int conductor)
{
    for (size_t i = 0; i < w->probe_count; i++)
        if (w->probe[i].node == node && w->probe[i].conductor == conductor)
            return;
    w->probe[w->probe_count++] = (struct pd_probe){node, conductor};
}

/* The protective conductor at a node. One on an electrode of its own is at earth: the star point is
 * asked for in its place, for whether there is a solution. */
static void add_place(struct pd_replay_work *w, size_t node)
{
    const size_t pe_node = w->study_case->network->node[node].pe_node;
    const size_t before = w->probe_count;
    add_probe(w, pe_node != PD_NONE ? pe_node : 0, PD_N);
    if (w->probe_count > before)
        w->at[w->at_count++] = (struct pd_replay_at){node, pe_node != PD_NONE};
}

static void add_all_places(struct pd_replay_work *w)
{
    const struct pd_network *const network = w->study_case->network;
    for (size_t i = 0; i < network->load_count; i++) {
        const size_t pe_node = network->node[network->load[i].node].pe_node;
        if (pe_node != PD_NONE)
            add_place(w, pe_node);
    }
    if (w->at_count == 0)
        add_place(w, w->study_case->installation);
}

/* What the devices sense is read from these by pd_run_view. */
static void add_watched(struct pd_replay_work *w)
{
    const struct pd_case *const c = w->study_case;
    for (size_t i = 0; i < c->detectors.count && w->replay->watched; i++) {
        const size_t node = c->detector_node[i], pe_node = c->network->node[node].pe_node;
        for (int conductor = 0; conductor < PD_CONDUCTORS; conductor++)
            add_probe(w, node, conductor);
        if (pe_node != PD_NONE)
            add_probe(w, pe_node, PD_N);
    }
}

static enum pd_status list_probes(struct pd_replay_work *w)
{
    const struct pd_case *const c = w->study_case;
    const size_t places = c->network->load_count + 1;
    const size_t most = places + c->detectors.count * (PD_CONDUCTORS + 1);
    w->probe = calloc(most, sizeof *w->probe);
    w->at = calloc(places, sizeof *w->at);
    if (w->probe == NULL || w->at == NULL)
        return PD_ERR_MEMORY;
    if (w->settings->place == PD_REPLAY_ALL)
        add_all_places(w);
    else
        add_place(w, w->settings->place == PD_REPLAY_NODE ? w->settings->node : c->charging_point);
    add_watched(w);
    return PD_OK;
}

/* Whether voltages are in proportion to the supply's, whatever the loads come to. */
static bool is_linear(const struct pd_network *network)
{
    for (size_t i = 0; i < network->load_count; i++)
        if (!network->load[i].behaviour->linear)
            return false;
    return true;
}

static void list_supplies(struct pd_replay_work *w)
{
    const struct pd_run *const run = &w->run;
    w->top_v =
        w->settings->supply == PD_REPLAY_DECLARED ? run->supply_v[0] : run->supply_v[run->top];
    w->judged_count = 1;
    w->judged_v[0] = w->top_v;
    if (w->settings->supply == PD_REPLAY_RANGE) {
        w->judged_count = run->supply_count;
        memcpy(w->judged_v, run->supply_v, sizeof w->judged_v);
    }
    w->replay->linear = is_linear(w->study_case->network);
    w->solved_count = w->replay->linear ? 1 : w->judged_count;
}

static enum pd_status make_batch(struct pd_replay_work *w)
{
    const struct pd_case *const c = w->study_case;
    struct pd_cut *const cut = calloc(w->cuts.count, sizeof *cut);
    if (cut == NULL)
        return PD_ERR_MEMORY;
    for (size_t i = 0; i < w->cuts.count; i++)
        cut[i] = w->cuts.fault[i].cut;
    const struct pd_batch_settings settings = {
        .network = c->network,
        .tie = c->tie,
        .tie_count = c->electrodes.count,
        .mutual_ohm = c->mutual_ohm,
        .cut = cut,
        .cut_count = w->cuts.count,
        .probe = w->probe,
        .probe_count = w->probe_count,
        .threads = w->settings->threads,
        .width = w->settings->width,
    };
    const enum pd_status status = pd_batch_new(&settings, &w->batch);
    free(cut);
    return status;
}

static enum pd_status make_columns(struct pd_replay_work *w)
{
    w->column_count = pd_batch_columns(w->batch);
    w->column = calloc(w->column_count + 1, sizeof *w->column);
    if (w->column == NULL)
        return PD_ERR_MEMORY;
    for (size_t i = w->cuts.count; i-- > 0;) {
        struct pd_replay_column *const column = &w->column[pd_batch_column(w->batch, i)];
        column->cut = i;
        column->shared++;
        column->kept[PD_REPLAY_TOUCH].uv = column->kept[PD_REPLAY_UNSEEN].uv = -1;
    }
    return PD_OK;
}

/* What the answers of one batch of rows may take, bytes: they should stay in the cache between the
 * engine and the sums. */
enum { ANSWERS_MOST = 8 << 20 };

static enum pd_status make_rows(struct pd_replay_work *w)
{
    struct pd_replay_rows *const rows = &w->rows;
    const size_t loads = w->study_case->network->load_count;
    const size_t each = w->solved_count * w->column_count * (16 * w->probe_count + 1);
    rows->room = PD_REPLAY_ROWS;
    while (rows->room > PD_LANES && rows->room * each > ANSWERS_MOST)
        rows->room /= 2;
    rows->load_a = calloc(rows->room * loads + 1, sizeof *rows->load_a);
    rows->at_ms = calloc(rows->room, sizeof *rows->at_ms);
    rows->last_ms = calloc(rows->room, sizeof *rows->last_ms);
    rows->time = calloc(rows->room, sizeof *rows->time);
    rows->known = calloc(rows->room, sizeof *rows->known);
    rows->slot = calloc(rows->room, sizeof *rows->slot);
    bool good = rows->load_a != NULL && rows->at_ms != NULL && rows->last_ms != NULL &&
                rows->time != NULL && rows->known != NULL && rows->slot != NULL;
    for (size_t level = 0; level < w->solved_count && good; level++) {
        rows->supply_v[level] = calloc(rows->room, sizeof *rows->supply_v[level]);
        good = rows->supply_v[level] != NULL &&
               pd_batch_output_new(w->batch, rows->room, &w->output[level]) == PD_OK;
        for (size_t i = 0; i < rows->room && good; i++)
            rows->supply_v[level][i] = w->judged_v[level];
    }
    return good ? PD_OK : PD_ERR_MEMORY;
}

/* Sharing out pays where there is something to share. */
enum { COLUMNS_EACH = 64 };

static size_t seats_wanted(const struct pd_replay_work *w)
{
    cpu_set_t set;
    const size_t here = sched_getaffinity(0, sizeof set, &set) == 0 ? (size_t)CPU_COUNT(&set) : 1;
    const size_t threads = w->settings->threads > 0 ? w->settings->threads : here;
    const size_t useful = 1 + w->column_count / COLUMNS_EACH;
    const size_t most = threads < useful ? threads : useful;
    return most < PD_REPLAY_SEATS ? most : PD_REPLAY_SEATS;
}

static enum pd_status make_seat(struct pd_replay_work *w, struct pd_replay_seat *seat)
{
    const struct pd_case *const c = w->study_case;
    seat->run = w->run; /* all but the solution is only read */
    seat->run.solution = (struct pd_solution){0};
    seat->view = calloc(c->detectors.count + 1, sizeof *seat->view);
    seat->tally = calloc(w->rows.room, sizeof *seat->tally);
    if (seat->view == NULL || seat->tally == NULL ||
        pd_solution_new(c->network, &seat->run.solution) != PD_OK)
        return PD_ERR_MEMORY;
    for (size_t i = 0; i < c->network->node_count; i++)
        for (int k = 0; k < PD_CONDUCTORS; k++)
            seat->run.solution.v[i][k] = CMPLX(NAN, NAN);
    return PD_OK;
}

/* The plain engine with the present loads: pd_worst_unseen asks it whether all is in proportion. */
static enum pd_status factor_present(struct pd_replay_work *w)
{
    const struct pd_network *const network = w->study_case->network;
    double *const load_a = calloc(network->load_count + 1, sizeof *load_a);
    if (load_a == NULL)
        return PD_ERR_MEMORY;
    for (size_t i = 0; i < network->load_count; i++)
        load_a[i] = network->load[i].present_a;
    const enum pd_status status = pd_run_factor(&w->run, load_a, w->judged_v[0], NULL);
    free(load_a);
    return status;
}

static enum pd_status make_lists(struct pd_replay_work *w)
{
    for (int kind = 0; kind < PD_REPLAY_KINDS; kind++) {
        w->list[kind].room = w->settings->worst;
        w->list[kind].kept = calloc(w->settings->worst + 1, sizeof *w->list[kind].kept);
        if (w->list[kind].kept == NULL)
            return PD_ERR_MEMORY;
    }
    return PD_OK;
}

enum pd_status pd_replay_work_new(struct pd_replay_work *w, struct pd_errors *errors)
{
    static enum pd_status (*const steps[])(struct pd_replay_work *) = {
        list_probes, make_batch, make_columns, make_rows, make_lists, factor_present};
    enum pd_status status = list_cuts(w, errors);
    if (status != PD_OK)
        return status;
    status = pd_run_new(w->study_case, &w->no_states, 1u << PD_OPEN_PEN, &w->run);
    if (status != PD_OK)
        return status;
    list_supplies(w);
    for (size_t i = 0; i < sizeof steps / sizeof steps[0] && status == PD_OK; i++)
        status = steps[i](w);
    if (status != PD_OK)
        return status;
    w->seat_count = seats_wanted(w);
    for (size_t i = 0; i < w->seat_count && status == PD_OK; i++)
        status = make_seat(w, &w->seat[i]);
    return status;
}

void pd_replay_work_free(struct pd_replay_work *w)
{
    struct pd_replay_rows *const rows = &w->rows;
    for (size_t i = 0; i < PD_REPLAY_SEATS; i++) {
        pd_solution_free(&w->seat[i].run.solution);
        free(w->seat[i].view);
        free(w->seat[i].tally);
    }
    for (size_t i = 0; i < PD_REPLAY_SUPPLIES_MOST; i++) {
        free(rows->supply_v[i]);
        pd_batch_output_free(&w->output[i]);
    }
    for (int kind = 0; kind < PD_REPLAY_KINDS; kind++)
        free(w->list[kind].kept);
    pd_replay_slots_free(w);
    free(rows->load_a);
    free(rows->at_ms);
    free(rows->last_ms);
    free(rows->time);
    free(rows->known);
    free(rows->slot);
    free(w->column);
    free(w->probe);
    free(w->at);
    pd_batch_free(&w->batch);
    pd_fault_list_free(&w->cuts);
    pd_run_free(&w->run);
}
