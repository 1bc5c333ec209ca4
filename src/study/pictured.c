/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/pictured.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* Enough for a curve of even proportions over five decades, and for a triangle whose cells are
 * smaller than the marks on it. */
static const double electrode_from_ohm = 0.1, electrode_to_ohm = 1000;
enum { ELECTRODE_POINTS = 41, SPLIT_STEPS = 24 };

struct making {
    const char *folder;
    const struct pd_assessment *a;
    pd_progress_function *progress;
    void *context;
    struct pd_pictured *pictured;
    struct pd_errors *errors;
};

static enum pd_status leave_out(struct making *m, enum pd_pictured_kind kind, const char *why)
{
    snprintf(m->pictured->why[kind], PD_PICTURED_WHY, "%s", why);
    return PD_OK;
}

static enum pd_status make_plane(struct making *m)
{
    const struct pd_case *const c = m->a->study_case;
    if (c->detectors.count == 0)
        return leave_out(m, PD_PICTURED_PLANE,
                         "No detection device is declared, so there is nothing that one could fail "
                         "to see.");
    return pd_blind_case(c, m->progress, m->context, &m->pictured->blind);
}

/* A sweep of the same case: of the same tables, since these may have changed meanwhile. */
static enum pd_status sweep(struct making *m, const struct pd_sweep_settings *settings,
                            struct pd_sweep **out)
{
    const enum pd_status status =
        pd_sweep_run(m->folder, settings, m->progress, m->context, out, m->errors);
    return status == PD_OK ? pd_inputs_compare(&m->a->study_case->inputs,
                                               &(*out)->study_case->inputs, m->errors)
                           : status;
}

static enum pd_status make_electrode(struct making *m)
{
    const struct pd_case *const c = m->a->study_case;
    if (c->earthing == PD_TT)
        return leave_out(m, PD_PICTURED_ELECTRODE,
                         "The charging point is on TT: an electrode on the main earthing terminal "
                         "does not hold its chassis.");
    if (!pd_case_on_pen(c))
        return leave_out(m, PD_PICTURED_ELECTRODE,
                         "No PEN lies between the installation and the substation, so no "
                         "electrode has to hold its main earthing terminal.");
    const struct pd_sweep_settings settings = {
        .vary = {pd_vary_met_electrode(electrode_from_ohm, electrode_to_ohm, ELECTRODE_POINTS)},
        .vary_count = 1,
        .met_electrode = true,
        .all_loads = true,
    };
    return sweep(m, &settings, &m->pictured->electrode);
}

/* What the installation takes at present on all lines, kW at nominal voltage. */
static double demand_kw(const struct pd_case *c)
{
    double kw = 0;
    for (size_t i = 0; i < c->network->load_count; i++) {
        const struct pd_load *const load = &c->network->load[i];
        const double each_a = pd_phase_current(load->phase, c->network->system,
                                               c->network->nominal_v, 1, load->power_factor);
        if (pd_case_own(c, load->node) && !load->behaviour->generates)
            kw += load->present_a / each_a;
    }
    return kw;
}

static enum pd_status make_split(struct making *m)
{
    const struct pd_case *const c = m->a->study_case;
    const unsigned three = 1u << PD_L1 | 1u << PD_L2 | 1u << PD_L3;
    const double kw = demand_kw(c);
    if (c->network->system != PD_THREE_PHASE ||
        (c->network->node[c->installation].lines & three) != three)
        return leave_out(m, PD_PICTURED_SPLIT,
                         "The installation does not have three lines over which its demand could "
                         "be split.");
    if (!(kw > 0))
        return leave_out(m, PD_PICTURED_SPLIT,
                         "The installation takes nothing at present, so there is no demand to be "
                         "split over its lines.");
    const struct pd_sweep_settings settings = {.total_kw = kw, .steps = SPLIT_STEPS};
    return sweep(m, &settings, &m->pictured->split);
}

/* The electrode whose ground is drawn: the charging point's own first, then the installation's, of
 * those whose shape and soil are known; PD_NONE. */
static size_t find_shaped(const struct pd_case *c)
{
    size_t found = PD_NONE;
    for (size_t i = 0; i < c->electrodes.count; i++) {
        const struct pd_electrode *const e = &c->electrodes.electrode[i];
        if (!e->shaped || !isfinite(e->size.soil_ohm_m) || !pd_case_own(c, c->tie[i].node))
            continue;
        if (c->tie[i].node == c->charging_point)
            return i;
        found = found == PD_NONE ? i : found;
    }
    return found;
}

static enum pd_status make_ground(struct making *m)
{
    const struct pd_case *const c = m->a->study_case;
    const size_t which = find_shaped(c);
    if (which == PD_NONE)
        return leave_out(m, PD_PICTURED_GROUND,
                         "No electrode of the installation has its shape and soil declared, so the "
                         "ground round it cannot be worked out.");
    const struct pd_electrode *const e = &c->electrodes.electrode[which];
    const struct pd_electrode_question question = {
        .soil = pd_soil_uniform(e->size.soil_ohm_m),
        .shape = e->shape,
        .size = e->size,
        .want_ohm = NAN,
        .season = {.factor = e->season_declared ? e->season_factor : (double)NAN},
        .separation_share = NAN,
    };
    snprintf(m->pictured->ground_of, sizeof m->pictured->ground_of, "%s", e->name);
    const enum pd_status status =
        pd_electrode_answer(&question, m->progress, m->context, &m->pictured->ground);
    if (status == PD_OK && m->pictured->ground->ground != NULL)
        return PD_OK;
    pd_electrode_answer_free(&m->pictured->ground);
    return status != PD_OK && status != PD_ERR_ARGUMENT
               ? status
               : leave_out(m, PD_PICTURED_GROUND,
                           "The ground round the electrode could not be solved.");
}

static enum pd_status make_all(struct making *m)
{
    static enum pd_status (*const makers[PD_PICTURED_KINDS])(struct making *) = {
        make_plane, make_electrode, make_split, make_ground};
    enum pd_status status = PD_OK;
    for (int i = 0; i < PD_PICTURED_KINDS && status == PD_OK; i++)
        status = m->a->study_case->missing.count > 0
                     ? leave_out(m, (enum pd_pictured_kind)i,
                                 "The case is incomplete, so nothing can be drawn.")
                     : makers[i](m);
    return status;
}

enum pd_status pd_pictured_new(const char *folder, const struct pd_assessment *a,
                               pd_progress_function *progress, void *context,
                               struct pd_pictured **out, struct pd_errors *errors)
{
    *out = calloc(1, sizeof **out);
    if (*out == NULL)
        return PD_ERR_MEMORY;
    struct making making = {folder, a, progress, context, *out, errors};
    const enum pd_status status = make_all(&making);
    if (status != PD_OK)
        pd_pictured_free(out);
    return status;
}

void pd_pictured_free(struct pd_pictured **pictured)
{
    if (pictured == NULL || *pictured == NULL)
        return;
    pd_blind_free(&(*pictured)->blind);
    pd_sweep_free(&(*pictured)->electrode);
    pd_sweep_free(&(*pictured)->split);
    pd_electrode_answer_free(&(*pictured)->ground);
    free(*pictured);
    *pictured = NULL;
}
