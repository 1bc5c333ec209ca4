/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/assess.h"

#include <math.h>
#include <stdlib.h>

#include "study/rule.h"
#include "study/run.h"
#include "study/verdict.h"

static enum pd_status make_room(const struct pd_run *run, struct pd_assessment *a)
{
    const size_t room = run->break_count * run->states->main_count * run->supply_count +
                        PD_CORNERS_KEPT * run->path_count + PD_BETWEEN_KEPT;
    a->scenario = calloc(room, sizeof *a->scenario);
    a->sight = calloc(room * run->study_case->detectors.count + 1, sizeof *a->sight);
    return a->scenario != NULL && a->sight != NULL ? PD_OK : PD_ERR_MEMORY;
}

static enum pd_status assess_network(const struct pd_case *c, const struct pd_load_states *states,
                                     pd_progress_function *progress, void *context,
                                     struct pd_assessment *a)
{
    struct pd_run run;
    double electrode_max_ohm = NAN;
    enum pd_status status = pd_run_new(c, states, &run);
    if (status != PD_OK)
        return status;
    run.progress = progress;
    run.context = context;
    status = make_room(&run, a);
    if (status == PD_OK)
        status = pd_run_main(&run, a);
    if (status == PD_OK)
        status = pd_run_corners(&run, a);
    if (status == PD_OK)
        status = pd_run_between(&run, a);
    if (status == PD_OK)
        status = pd_run_electrode_max(&run, a, &electrode_max_ohm);
    pd_run_free(&run);
    if (status != PD_OK)
        return status;
    pd_tally(a);
    pd_read_network(a, electrode_max_ohm);
    return PD_OK;
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

enum pd_status pd_assess(const struct pd_case *c, pd_progress_function *progress, void *context,
                         struct pd_assessment **out)
{
    struct pd_assessment *a = *out = calloc(1, sizeof *a);
    if (a == NULL)
        return PD_ERR_MEMORY;
    a->study_case = c;
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
    free((*assessment)->scenario);
    free((*assessment)->sight);
    free(*assessment);
    *assessment = NULL;
}
