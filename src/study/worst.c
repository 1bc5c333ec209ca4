/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/worst.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "study/proof.h"
#include "study/worst_search.h"

const char *const pd_worst_method_names[PD_WORST_METHODS] = {
    [PD_WORST_ALONE] = "no range",
    [PD_WORST_CELLS] = "cells of the displacement plane",
    [PD_WORST_INTACT] = "drops along the PEN",
    [PD_WORST_NONE] = "no bound"};

struct finder {
    const struct pd_worst_settings *settings;
    struct pd_tree *tree;
    struct pd_solution solution;
    struct pd_island island;
    struct pd_proof proof;
    struct pd_cut cut;
    enum pd_status status; /* the first that is not PD_OK, from within the proof */
};

static double complex solve(struct finder *f, const double *load_a)
{
    const struct pd_worst_settings *const s = f->settings;
    const struct pd_operating operating = {
        .load_a = load_a, .tie = s->tie, .tie_count = s->tie_count, .supply_v = s->supply_high_v};
    enum pd_status status = pd_tree_factor(f->tree, &operating);
    if (status == PD_OK)
        status = pd_tree_solve(f->tree, &f->cut, &f->solution);
    if (status != PD_OK && f->status == PD_OK)
        f->status = status;
    if (status != PD_OK || f->solution.standing != PD_SOLVED)
        return CMPLX(NAN, NAN);
    return f->solution.v[s->target][PD_N];
}

static double complex solve_for_proof(const double *load_a, void *context)
{
    return solve(context, load_a);
}

/* What ties a protective conductor to earth, each electrode by itself, siemens. */
static double earthed_at(const struct pd_worst_settings *s, size_t pe_node)
{
    double earth_s = 0;
    for (size_t i = 0; i < s->tie_count && pe_node != PD_NONE; i++)
        if (s->network->node[s->tie[i].node].pe_node == pe_node)
            earth_s += 1 / s->tie[i].resistance_ohm;
    return earth_s;
}

/* How far off the middle of an enclosure what a device senses can be: a difference of voltages is
 * sure to its own radius, and a device's margin moves no faster than the voltage, or current, that
 * it senses. */
static double radius_sensed(const struct finder *f, const struct pd_enclosure *e, size_t d,
                            struct pd_view *view)
{
    const struct pd_worst_settings *const s = f->settings;
    const struct pd_detector *const detector = &s->detectors->detector[d];
    const size_t node = s->detector_node[d], pe_node = s->network->node[node].pe_node;
    double r = 0;
    view->lines = s->detector_lines & s->network->node[node].lines;
    view->v[PD_N] = 0;
    for (int line = PD_L1; line < PD_LINES; line++) {
        const struct pd_disc w = pd_enclosure_line(&f->island, e, node, line);
        view->v[line] = w.c;
        if ((view->lines & 1u << line) != 0)
            r = fmax(r, w.r);
    }
    const struct pd_disc pe =
        pe_node == PD_NONE ? pd_disc_at(0, 0) : pd_enclosure_voltage(&f->island, e, pe_node, PD_N);
    const double earth_s = earthed_at(s, pe_node);
    view->pe_v = pe.c;
    view->electrode_a = earth_s * pe.c;
    if (detector->senses == PD_SENSE_PE_CURRENT)
        return earth_s * pe.r;
    return detector->senses == PD_SENSE_PE ? pe.r : r;
}

/* Whether one device acts in time at every share of the supply from `low` to `high`. */
static bool acts(const struct finder *f, size_t d, const struct pd_view *view, double r, double low,
                 double high)
{
    const struct pd_worst_settings *const s = f->settings;
    const struct pd_detector *const detector = &s->detectors->detector[d];
    const struct pd_view middle = pd_view_scaled(view, (low + high) / 2);
    const struct pd_sight sight = pd_detector_look(detector, &middle);
    const bool lines = detector->senses != PD_SENSE_PE && detector->senses != PD_SENSE_PE_CURRENT;
    double most = cabs(detector->senses == PD_SENSE_PE_CURRENT ? view->electrode_a : view->pe_v);
    for (int line = PD_L1; line < PD_LINES && lines; line++)
        most = fmax(most, (view->lines & 1u << line) != 0 ? cabs(view->v[line]) : 0);
    const double off = high * r + (high - low) / 2 * most;
    return pd_sight_in_time(&sight, s->time_s) && pd_detector_beyond(detector, &middle) > off;
}

/* Halves the supply range from the top until one device is sure to act on each part, and stops at
 * the first part that is too short to halve. Parts where the touch voltage is within the limit do
 * not count. */
static bool seen_over(const struct finder *f, const struct pd_view *view, const double *r,
                      double touch_v, double low, double high, double *share)
{
    const double shortest = 1.0 / 512;
    if (high * touch_v <= f->settings->limit_v)
        return true;
    for (size_t d = 0; d < f->settings->detectors->count; d++)
        if (acts(f, d, &view[d], r[d], low, high))
            return true;
    if (high - low < shortest) {
        *share = high;
        return false;
    }
    const double middle = (low + high) / 2;
    return seen_over(f, view, r, touch_v, middle, high, share) &&
           seen_over(f, view, r, touch_v, low, middle, share);
}

enum { DEVICES_MOST = 8 };

static bool seen_for_proof(const struct pd_enclosure *e, double *share, void *context)
{
    const struct finder *const f = context;
    const struct pd_worst_settings *const s = f->settings;
    struct pd_view view[DEVICES_MOST];
    double r[DEVICES_MOST];
    *share = 1;
    if (s->detectors == NULL || s->detectors->count == 0 || s->detectors->count > DEVICES_MOST)
        return false;
    for (size_t d = 0; d < s->detectors->count; d++)
        r[d] = radius_sensed(f, e, d, &view[d]);
    const double touch_v = pd_disc_most(pd_enclosure_voltage(&f->island, e, s->target, PD_N));
    const double low = f->island.linear ? s->supply_low_v / s->supply_high_v : 1;
    return seen_over(f, view, r, touch_v, low, 1, share);
}

/* Rounding of the solver and of the proof itself stays far below this. */
static const double rounding_v = 1e-6;

static double margin(const struct finder *f)
{
    const bool leaks = f->island.section != PD_NONE && !f->island.earthed;
    return rounding_v + (leaks ? PD_LEAK_V : 0);
}

/* What is proved of the rest is not walked for again: without a device nothing that passes the
 * limit is seen, and a bound within it leaves nothing to see. */
static enum pd_status find_unseen(struct finder *f, struct pd_worst_break *brk)
{
    const struct pd_worst_settings *const s = f->settings;
    const bool devices = s->detectors != NULL && s->detectors->count > 0;
    if (s->most_only || isnan(s->limit_v))
        return PD_OK;
    if (devices && brk->bound_v > s->limit_v)
        return pd_proof_unseen(&f->proof, s->limit_v, &brk->unseen_bound_v);
    brk->unseen_bound_v = brk->bound_v <= s->limit_v ? 0 : brk->bound_v;
    return PD_OK;
}

static enum pd_status find_beyond(struct finder *f, const double *start_a,
                                  struct pd_worst_break *brk)
{
    const double worth_v = 5; /* a least displacement found below this is as good as none */
    struct pd_proof *const p = &f->proof;
    pd_proof_try(p, start_a);
    enum pd_status status = pd_proof_most(p, &brk->bound_v);
    brk->bound_v += margin(f);
    if (status == PD_OK && !f->settings->most_only && brk->least_v > worth_v)
        status = pd_proof_least(p, &brk->least_bound_v);
    if (status == PD_OK)
        status = find_unseen(f, brk);
    brk->method = isfinite(brk->bound_v) ? PD_WORST_CELLS : PD_WORST_NONE;
    return status;
}

static struct pd_cut cut_of(size_t section)
{
    if (section == PD_NONE)
        return (struct pd_cut){.kind = PD_CUT_NONE};
    return (struct pd_cut){.kind = PD_CUT_OPEN, .section = section};
}

/* The corner that the proof came to may be worse than any that was tried. */
static enum pd_status keep_best(struct finder *f, double *load_a, struct pd_worst_break *brk)
{
    const struct pd_worst_settings *const s = f->settings;
    const size_t bytes = s->network->load_count * sizeof *load_a;
    double volts = f->proof.best_v;
    memcpy(f->proof.room_a, f->proof.best_a, bytes);
    if (s->manage != NULL) {
        const enum pd_status status = s->manage(f->proof.room_a, s->context);
        if (status != PD_OK)
            return status;
        volts = cabs(solve(f, f->proof.room_a));
    }
    if (volts > brk->attained_v) {
        brk->attained_v = volts;
        memcpy(load_a, f->proof.room_a, bytes);
    }
    return PD_OK;
}

/* Where a gap is left, what was found may be to blame: it is searched round, and solved again. */
static enum pd_status climb(struct finder *f, double *load_a, struct pd_worst_break *brk)
{
    enum { LOADS_MOST = 64 }; /* as many states are tried at each step */
    const struct pd_worst_settings *const s = f->settings;
    const double worth_v = 2 * s->tolerance_v + PD_LEAK_V;
    double volts = brk->attained_v;
    if (!(volts > 0) || !(brk->bound_v - volts > worth_v) || s->network->load_count > LOADS_MOST ||
        !f->island.beyond || !f->island.linear)
        return PD_OK;
    const enum pd_status status = pd_worst_climb(s, brk->section, load_a, &volts);
    if (status != PD_OK || !(volts > brk->attained_v))
        return status;
    brk->attained_v = cabs(solve(f, load_a));
    return PD_OK;
}

static enum pd_status find_break(struct finder *f, const double *start_a, double *load_a,
                                 struct pd_worst_break *brk)
{
    const struct pd_worst_settings *const s = f->settings;
    f->cut = cut_of(brk->section);
    pd_island_open(&f->island, brk->section, s->target);
    pd_proof_start(&f->proof);
    enum pd_status status = PD_OK;
    if (f->island.beyond) {
        status = find_beyond(f, start_a, brk);
    } else {
        status = pd_proof_intact(&f->proof, &brk->bound_v);
        brk->bound_v += margin(f);
        brk->method = isfinite(brk->bound_v) ? PD_WORST_INTACT : PD_WORST_NONE;
        brk->unseen_bound_v = isnan(s->limit_v)            ? NAN
                              : brk->bound_v <= s->limit_v ? 0
                                                           : brk->bound_v;
    }
    if (brk->unseen_bound_v > 0) /* nor is what is not seen above what there is */
        brk->unseen_bound_v = fmin(brk->unseen_bound_v + rounding_v, brk->bound_v);
    brk->cells = f->proof.cells_used;
    if (status == PD_OK && f->proof.best_v > brk->attained_v)
        status = keep_best(f, load_a, brk);
    if (status == PD_OK)
        status = climb(f, load_a, brk);
    return status == PD_OK ? f->status : status;
}

void pd_worst_effort(struct pd_worst_settings *settings)
{
    const size_t loads = settings->network->load_count, cells = 50000 / (loads + 1);
    settings->tolerance_v = 0.05 * fmax(1, (double)loads / 40);
    settings->cells_most = cells < 100 ? 100 : cells > 3000 ? 3000 : cells;
}

/* Every figure in its range, so that all that follows is finite. */
static bool is_sound(const struct pd_worst_settings *s)
{
    bool good = s->supply_low_v > 0 && s->supply_low_v <= s->supply_high_v &&
                isfinite(s->supply_high_v) && s->target < s->network->node_count &&
                s->tolerance_v > 0;
    for (size_t i = 0; i < s->network->load_count; i++)
        good &= s->low_a[i] >= 0 && s->low_a[i] <= s->high_a[i] && isfinite(s->high_a[i]);
    for (size_t i = 0; i < s->section_count; i++)
        good &= s->section[i] == PD_NONE ||
                (s->section[i] > 0 && s->section[i] < s->network->node_count);
    return good;
}

static enum pd_status open_finder(const struct pd_worst_settings *s, struct finder *f)
{
    const struct pd_box box = {(double *)s->low_a, (double *)s->high_a}; /* copied, not changed */
    *f = (struct finder){.settings = s};
    enum pd_status status = pd_tree_new(s->network, &f->tree);
    if (status == PD_OK)
        status = pd_solution_new(s->network, &f->solution);
    if (status == PD_OK)
        status = pd_island_new(s->network, s->tie, s->tie_count, &f->island);
    if (status == PD_OK)
        status = pd_proof_new(&f->island, &box, &f->proof);
    if (status != PD_OK)
        return status;
    f->proof.supply_low_v = s->supply_low_v;
    f->proof.supply_high_v = s->supply_high_v;
    f->proof.tolerance_v = s->tolerance_v;
    f->proof.cells_most = s->cells_most;
    f->proof.solve = solve_for_proof;
    f->proof.seen = seen_for_proof;
    f->proof.context = f;
    return PD_OK;
}

static void close_finder(struct finder *f)
{
    pd_proof_free(&f->proof);
    pd_island_free(&f->island);
    pd_solution_free(&f->solution);
    pd_tree_free(&f->tree);
}

static enum pd_status make_room(const struct pd_worst_settings *s, struct pd_worst *out)
{
    const size_t loads = s->network->load_count;
    *out = (struct pd_worst){.count = s->section_count, .worst = PD_NONE};
    out->brk = calloc(out->count + 1, sizeof *out->brk);
    out->load_a = calloc(out->count * loads + 1, sizeof *out->load_a);
    if (out->brk == NULL || out->load_a == NULL)
        return PD_ERR_MEMORY;
    for (size_t k = 0; k < out->count; k++)
        out->brk[k] = (struct pd_worst_break){.section = s->section[k],
                                              .load_a = &out->load_a[k * loads],
                                              .least_v = NAN,
                                              .unseen_bound_v = NAN};
    return PD_OK;
}

/* What the search found, solved by the engine that is leant on. */
static enum pd_status note_found(struct finder *f, const struct pd_worst_search *found, size_t k,
                                 double *load_a, struct pd_worst_break *brk)
{
    const size_t loads = f->settings->network->load_count;
    if (found->most[k] == PD_NONE)
        return PD_OK;
    memcpy(load_a, &found->load_a[found->most[k] * loads], loads * sizeof *load_a);
    f->cut = cut_of(brk->section);
    const double volts = cabs(solve(f, load_a));
    brk->attained_v = volts > 0 ? volts : 0;
    brk->least_v = found->least_v[k];
    return f->status;
}

/* Of bounds alike the first counts: no compiler's rounding chooses. */
static const double alike_v = 1e-4;

static enum pd_status find_all(struct finder *f, const struct pd_worst_search *start,
                               const struct pd_worst_search *found, struct pd_worst *out)
{
    const struct pd_worst_settings *const s = f->settings;
    const size_t loads = s->network->load_count;
    enum pd_status status = PD_OK;
    for (size_t k = 0; k < out->count && status == PD_OK; k++) {
        struct pd_worst_break *const brk = &out->brk[k];
        double *const load_a = &out->load_a[k * loads];
        status = note_found(f, found, k, load_a, brk);
        const double *const start_a =
            start->most[k] == PD_NONE ? s->high_a : &start->load_a[start->most[k] * loads];
        if (status == PD_OK)
            status = find_break(f, start_a, load_a, brk);
        if (out->worst == PD_NONE || brk->bound_v > out->brk[out->worst].bound_v + alike_v)
            out->worst = k;
        if (status == PD_OK && s->progress != NULL && !s->progress(s->context))
            status = PD_ERR_INTERRUPTED;
    }
    return status;
}

enum pd_status pd_worst_find(const struct pd_worst_settings *s, struct pd_worst *out)
{
    struct finder f = {0};
    struct pd_worst_search start = {0}, found = {0};
    *out = (struct pd_worst){.worst = PD_NONE};
    if (!is_sound(s))
        return PD_ERR_ARGUMENT;
    enum pd_status status = make_room(s, out);
    if (status == PD_OK)
        status = open_finder(s, &f);
    if (status == PD_OK)
        status = pd_worst_search(s, false, &start);
    if (status == PD_OK && s->manage != NULL)
        status = pd_worst_search(s, true, &found);
    if (status == PD_OK)
        status = find_all(&f, &start, s->manage != NULL ? &found : &start, out);
    pd_worst_search_free(&start);
    pd_worst_search_free(&found);
    close_finder(&f);
    if (status != PD_OK)
        pd_worst_free(out);
    return status;
}

void pd_worst_free(struct pd_worst *worst)
{
    free(worst->brk);
    free(worst->load_a);
    *worst = (struct pd_worst){.worst = PD_NONE};
}
