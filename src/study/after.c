/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/after.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "study/contacts.h"

static bool acts_before(const struct pd_case *c, const struct pd_sight *sight,
                        const struct pd_sight *than)
{
    const bool in_time = pd_sight_in_time(sight, c->limits.time_s);
    if (in_time != pd_sight_in_time(than, c->limits.time_s))
        return in_time;
    return sight->time_s < than->time_s || (isnan(than->time_s) && !isnan(sight->time_s));
}

/* The device that acts first, PD_NONE where none sees it. */
static size_t first_to_act(const struct pd_case *c, const struct pd_scenario *s)
{
    size_t first = PD_NONE;
    for (size_t i = 0; i < c->detectors.count; i++)
        if (s->sight[i].kind == PD_SEES &&
            (first == PD_NONE || acts_before(c, &s->sight[i], &s->sight[first])))
            first = i;
    return first;
}

static void set_loads(const struct pd_run *run, const struct pd_scenario *s,
                      const struct pd_after *after, double *load_a)
{
    const double *const from_a = pd_load_state(run->states, s->place.from);
    const double *const to_a = pd_load_state(run->states, s->place.to);
    for (size_t i = 0; i < run->states->load_count; i++) {
        const size_t node = run->study_case->network->load[i].node;
        const bool off =
            after->loads_off && pd_contacts_before(run->study_case, after->detector, node);
        load_a[i] = off ? 0 : (1 - s->place.share) * from_a[i] + s->place.share * to_a[i];
    }
}

struct pd_fault pd_after_fault(const struct pd_scenario *s)
{
    return s->fault == PD_PEN_JOINT ? pd_pen_joint(s->section, s->joint_ohm)
                                    : pd_open_pen(s->section);
}

static void read_solution(const struct pd_run *run, struct pd_after *after)
{
    const struct pd_case *const c = run->study_case;
    const double complex *const v = run->solution.v[c->installation];
    if (run->solution.standing != PD_SOLVED)
        return;
    after->rest_v = after->rest_on_pen ? cabs(pd_run_pe(run, c->installation)) : 0;
    after->chassis_v = after->chassis_let_go ? 0 : cabs(pd_run_pe(run, c->charging_point));
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((c->installation_lines & 1u << line) != 0 && !after->whole)
            after->line_neutral_v[line] = cabs(v[line] - v[PD_N]);
    if (after->detector == PD_NONE)
        return;
    after->held_open = pd_contacts_held(run, after->detector);
}

static enum pd_status solve_again(struct pd_run *run, const struct pd_scenario *s,
                                  struct pd_after *after)
{
    const size_t ties = run->study_case->electrodes.count + 1;
    const struct pd_fault fault = pd_after_fault(s);
    double *const load_a = calloc(run->states->load_count + 1, sizeof *load_a);
    struct pd_earth_tie *const kept = calloc(ties, sizeof *kept);
    enum pd_status status = load_a != NULL && kept != NULL ? PD_OK : PD_ERR_MEMORY;
    if (status == PD_OK) {
        memcpy(kept, run->tie, ties * sizeof *kept);
        set_loads(run, s, after, load_a);
        if (after->detector != PD_NONE)
            pd_contacts_untie(run, after->detector);
        status = pd_run_factor(run, load_a, s->supply_v, NULL);
        if (status == PD_OK)
            status = pd_run_solve(run, &fault);
        if (status == PD_OK)
            read_solution(run, after);
        memcpy(run->tie, kept, ties * sizeof *kept);
    }
    free(load_a);
    free(kept);
    return status;
}

static void set_device(const struct pd_case *c, const struct pd_scenario *s, struct pd_after *after)
{
    const struct pd_contacts contacts = pd_contacts_of(c, after->detector);
    after->time_s = s->sight[after->detector].time_s;
    after->whole = contacts.whole;
    after->loads_off = contacts.loads_off;
    after->chassis_let_go = contacts.chassis_let_go;
    after->rest_on_pen = contacts.rest_on_pen;
}

enum pd_status pd_run_after(struct pd_run *run, const struct pd_assessment *a, size_t index,
                            struct pd_after *after)
{
    const struct pd_case *const c = run->study_case;
    *after = (struct pd_after){.scenario = index,
                               .detector = PD_NONE,
                               .time_s = NAN,
                               .rest_on_pen = true,
                               .chassis_v = NAN,
                               .rest_v = NAN,
                               .line_neutral_v = {NAN, NAN, NAN}};
    if (index == PD_NONE)
        return PD_OK;
    const struct pd_scenario *const s = &a->scenario[index];
    after->detector = first_to_act(c, s);
    if (after->detector != PD_NONE) {
        set_device(c, s, after);
        if (!c->detectors.detector[after->detector].disconnects_known)
            return PD_OK; /* nobody said what it lets go of */
    }
    if (s->place.from == PD_NONE || (s->fault != PD_OPEN_PEN && s->fault != PD_PEN_JOINT))
        return PD_OK;
    return solve_again(run, s, after);
}
