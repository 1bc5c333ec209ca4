/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/explain.h"

#include <math.h>
#include <stdlib.h>

#include "study/explain_sections.h"

void pd_explanation_free(struct pd_explanation **explanation)
{
    if (*explanation == NULL)
        return;
    pd_working_free(&(*explanation)->working);
    free(*explanation);
    *explanation = NULL;
}

/* The open PEN that decides: the worst that is solved and whose loads are kept. */
static size_t deciding(const struct pd_assessment *a)
{
    size_t worst = PD_NONE;
    for (size_t i = 0; i < a->scenario_count; i++) {
        const struct pd_scenario *const s = &a->scenario[i];
        if (s->fault == PD_OPEN_PEN && s->standing == PD_SOLVED && !s->floating &&
            s->place.from != PD_NONE && (worst == PD_NONE || pd_is_worse(s, &a->scenario[worst])))
            worst = i;
    }
    return worst;
}

static double *loads_of(const struct pd_load_states *states, const struct pd_loads_place *place)
{
    double *const load_a = calloc(states->load_count + 1, sizeof *load_a);
    for (size_t i = 0; load_a != NULL && i < states->load_count; i++)
        load_a[i] = (1 - place->share) * pd_load_state(states, place->from)[i] +
                    place->share * pd_load_state(states, place->to)[i];
    return load_a;
}

static void say_missing(struct pd_explanation *e)
{
    const struct pd_case *const c = e->assessment->study_case;
    pd_working_begin(&e->working, "What is missing");
    pd_working_say(&e->working, "Nothing can be worked out: something that must be known is "
                                "missing.");
    for (size_t i = 0; i < c->missing.count; i++)
        pd_working_say(&e->working, "%s", c->missing.text[i]);
}

static void write_sections(struct pd_explaining *x)
{
    pd_explain_pen(x);
    pd_explain_break(x);
    pd_explain_alone(x);
    pd_explain_network(x);
    pd_explain_fuse(x);
    pd_explain_routes(x);
    pd_explain_rest(x);
}

static enum pd_status work(const struct pd_assessment *a, struct pd_explanation *e)
{
    const struct pd_case *const c = a->study_case;
    struct pd_load_states states = {0};
    struct pd_explaining x = {.a = a, .e = e, .states = &states};
    const enum pd_status status = pd_load_states_new(c, &states);
    if (status != PD_OK)
        return status;
    double *load_a = NULL;
    e->scenario = deciding(a);
    x.top_v = fmax(c->supply_v, c->limits.supply_high_v);
    if (e->scenario != PD_NONE) {
        x.decides = &a->scenario[e->scenario];
        x.decides_a = load_a = loads_of(&states, &x.decides->place);
        e->working.failed |= load_a == NULL;
    }
    if (!e->working.failed)
        write_sections(&x);
    e->complete = a->overall != PD_OVERALL_UNKNOWN && e->scenario != PD_NONE;
    free(load_a);
    pd_load_states_free(&states);
    return PD_OK;
}

enum pd_status pd_explain(const struct pd_assessment *a, struct pd_explanation **out)
{
    struct pd_explanation *e = calloc(1, sizeof *e);
    *out = NULL;
    if (e == NULL)
        return PD_ERR_MEMORY;
    *e = (struct pd_explanation){
        .assessment = a, .scenario = PD_NONE, .alone_v = NAN, .closed_v = NAN};
    enum pd_status status = PD_OK;
    if (a->study_case->network == NULL || a->study_case->missing.count > 0)
        say_missing(e);
    else
        status = work(a, e);
    if (status == PD_OK && e->working.failed)
        status = PD_ERR_MEMORY;
    if (status != PD_OK)
        pd_explanation_free(&e);
    *out = e;
    return status;
}
