/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/assess.h"

#include <math.h>
#include <stdlib.h>

#include "study/after.h"
#include "study/rule.h"
#include "study/rule_tt.h"
#include "study/run.h"
#include "study/verdict.h"

static enum pd_status make_room(const struct pd_run *run, struct pd_assessment *a)
{
    const size_t room = run->main.count * run->states->main_count * run->supply_count +
                        PD_CORNERS_KEPT * run->path_count + PD_BETWEEN_KEPT + run->main.count +
                        pd_run_joints_room(run) + pd_run_shown_room(run);
    a->scenario = calloc(room, sizeof *a->scenario);
    a->sight = calloc(room * run->study_case->detectors.count + 1, sizeof *a->sight);
    return a->scenario != NULL && a->sight != NULL ? PD_OK : PD_ERR_MEMORY;
}

static enum pd_status run_all(struct pd_run *run, struct pd_assessment *a,
                              double *electrode_max_ohm)
{
    static enum pd_status (*const parts[])(struct pd_run *, struct pd_assessment *) = {
        pd_run_main,    pd_run_corners, pd_run_between, pd_run_certify,
        pd_run_answers, pd_run_joints,  pd_run_shown};
    enum pd_status status = make_room(run, a);
    for (size_t i = 0; i < sizeof parts / sizeof parts[0] && status == PD_OK; i++)
        status = parts[i](run, a);
    if (status == PD_OK && (run->faults & 1u << PD_OPEN_PEN) != 0)
        status = pd_run_electrode_max(run, a, electrode_max_ohm);
    return status;
}

static enum pd_status assess_network(const struct pd_case *c, const struct pd_load_states *states,
                                     pd_progress_function *progress, void *context,
                                     struct pd_assessment *a)
{
    struct pd_run run;
    double electrode_max_ohm = NAN;
    enum pd_status status = pd_run_new(c, states, a->faults, &run);
    if (status != PD_OK)
        return status;
    run.progress = progress;
    run.context = context;
    status = run_all(&run, a, &electrode_max_ohm);
    if (status == PD_OK) {
        pd_tally(a);
        status = pd_run_after(&run, a, a->worst_seen, &a->after_seen);
    }
    if (status == PD_OK)
        status = pd_run_after(&run, a, a->worst_unseen, &a->after_unseen);
    if (status == PD_OK)
        status = pd_run_along(&run, a);
    pd_run_free(&run);
    if (status != PD_OK)
        return status;
    pd_tally(a);
    pd_tt_read(a);
    pd_read_network(a, electrode_max_ohm);
    return pd_person_read(a);
}

static enum pd_status assess_case(const struct pd_case *c, pd_progress_function *progress,
                                  void *context, struct pd_assessment *a)
{
    if (c->missing.count > 0)
        return pd_decide_missing(a);
    struct pd_load_states states = {0};
    enum pd_status status = pd_load_states_new(c, &states);
    if (status == PD_OK)
        status = pd_rule_read(c, &states, a);
    if (status == PD_OK)
        status = assess_network(c, &states, progress, context, a);
    if (status == PD_OK)
        status = pd_decide(a);
    pd_load_states_free(&states);
    return status;
}

enum pd_status pd_assess(const struct pd_case *c, const struct pd_assess_settings *settings,
                         pd_progress_function *progress, void *context, struct pd_assessment **out)
{
    const unsigned all = (1u << PD_FAULTS) - 1;
    struct pd_assessment *a = *out = calloc(1, sizeof *a);
    if (a == NULL)
        return PD_ERR_MEMORY;
    a->study_case = c;
    a->along.scenario = PD_NONE;
    a->faults = settings != NULL && (settings->faults & all) != 0 ? settings->faults & all : all;
    const enum pd_status status = assess_case(c, progress, context, a);
    if (status != PD_OK)
        pd_assessment_free(out);
    return status;
}

void pd_assessment_free(struct pd_assessment **assessment)
{
    if (assessment == NULL || *assessment == NULL)
        return;
    pd_notes_free(&(*assessment)->because);
    pd_worst_free(&(*assessment)->certified);
    pd_along_free(&(*assessment)->along);
    free((*assessment)->scenario);
    free((*assessment)->sight);
    free(*assessment);
    *assessment = NULL;
}
