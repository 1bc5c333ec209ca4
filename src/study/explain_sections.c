/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/explain_sections.h"

#include <math.h>
#include <stdio.h>

#include "solve/millman.h"
#include "study/describe.h"

static const char *node_name(const struct pd_explaining *x, size_t node)
{
    return x->a->study_case->network->node[node].name;
}

void pd_explain_pen(struct pd_explaining *x)
{
    struct pd_working *const w = &x->e->working;
    const struct pd_case *const c = x->a->study_case;
    pd_working_begin(w, "What the PEN does");
    pd_working_say(
        w,
        "On a TN-C-S (PME) supply one conductor, the PEN, does two jobs: it is the "
        "neutral, which takes the load current home, and the protective earth, to which "
        "every piece of metalwork is bonded at the main earthing terminal of '%.60s'. So "
        "long as it is whole it holds both near earth: load current makes no more than a "
        "few volts in it.",
        node_name(x, c->installation));
    if (c->earthing == PD_TT)
        pd_working_say(
            w, "Here the charging point is not on that terminal: its chassis is on an "
               "electrode of its own (TT), and stays at earth whatever the PEN does. What is "
               "worked out below is the house's terminal and its metalwork, which stand "
               "beside it.");
    if (c->earthing == PD_TN_S && pd_case_on_pen(c))
        pd_working_say(w, "Here the supply looks like TN-S at the cut-out, but there is a PEN "
                          "further up: what happens to that happens to this earth too.");
}

/* Houses that the broken section feeds, without the one under study. */
static size_t houses_beyond(const struct pd_case *c, size_t section)
{
    size_t houses = 0;
    for (size_t i = 1; i < c->network->node_count; i++) {
        bool loaded = false;
        for (size_t k = 0; k < c->network->load_count && !loaded; k++)
            loaded = c->network->load[k].node == i;
        houses += loaded && !pd_case_own(c, i) && pd_network_downstream(c->network, section, i);
    }
    return houses;
}

void pd_explain_break(struct pd_explaining *x)
{
    struct pd_working *const w = &x->e->working;
    const struct pd_case *const c = x->a->study_case;
    pd_working_begin(w, "What opens");
    if (x->decides == NULL) {
        pd_working_say(w, "Not determined: no open PEN of this case has a solution that can be "
                          "shown. Look at the scenarios of 'pendrift assess --format json'.");
    } else {
        char place[160];
        const struct pd_node *const node = &c->network->node[x->decides->section];
        const size_t houses = houses_beyond(c, x->decides->section);
        pd_describe_place(x->a, x->decides, place, sizeof place);
        pd_working_say(w,
                       "Of all the breaks that were solved the one that decides is between '%.50s' "
                       "and '%.50s': %s.",
                       node_name(x, node->parent), node->name, place);
        if (houses > 0)
            pd_working_say(w, "On the drifting neutral beyond it: %zu other node%s with loads.",
                           houses, houses == 1 ? "" : "s");
        else
            pd_working_say(w, "Beyond it this installation is alone.");
    }
    pd_working_say(w,
                   "It is not rare. Reports of broken PEN conductors in Great Britain rose from 57 "
                   "in 2003 to 474 in 2021, with up to about 50 properties on one broken conductor "
                   "(source: Engineering & Technology magazine, November 2022). Joints corrode, "
                   "cables are dug up, overhead neutrals come down.");
    pd_working_say(
        w, "With the PEN open the load current of everything beyond it has no way home but "
           "through other loads, on other lines, and through whatever earth there is beyond "
           "the break. The neutral moves until what flows in equals what flows out, and "
           "takes all the bonded metalwork with it. Where it settles is Millman's theorem: "
           "the EMFs of the lines, weighed by the admittances of the loads on them, with "
           "earth as one more load at 0 V.");
}

/* The load state in which the installation alone is at its worst with its own electrodes. */
static size_t worst_state(const struct pd_explaining *x)
{
    const struct pd_case *const c = x->a->study_case;
    const double own_s = 1 / pd_case_electrode(c, c->installation);
    size_t worst = PD_NONE;
    double worst_v = NAN;
    for (size_t i = 0; i < x->states->count; i++) {
        const struct pd_star star =
            pd_star_of(c->network, c->installation, pd_load_state(x->states, i), x->top_v);
        const double volts = cabs(pd_star_displacement(&star, own_s));
        if (isfinite(volts) && (worst == PD_NONE || pd_exceeds(volts, worst_v))) {
            worst = i;
            worst_v = volts;
        }
    }
    return worst;
}

static void hold_against_limit(struct pd_working *w, const struct pd_case *c, double volts)
{
    const enum pd_judgement judgement = pd_judge(volts, c->limits.touch_v);
    if (judgement == PD_UNKNOWN) {
        pd_working_say(w, "There is no limit to hold it against: not determined.");
        return;
    }
    pd_working_step(w, judgement == PD_OVER ? "Over the limit by" : "Within the limit by",
                    judgement == PD_OVER ? "U_N - limit" : "limit - U_N",
                    fabs(volts - c->limits.touch_v), 4, "V");
    if (judgement == PD_OVER)
        pd_working_sum(w, "%.6g - %.6g", volts, c->limits.touch_v);
    else
        pd_working_sum(w, "%.6g - %.6g", c->limits.touch_v, volts);
}

void pd_explain_alone(struct pd_explaining *x)
{
    struct pd_working *const w = &x->e->working;
    const struct pd_case *const c = x->a->study_case;
    const size_t state = worst_state(x);
    pd_working_begin(w, "Where the current goes: the installation alone");
    pd_working_say(w,
                   "This is the method of the rule: the break is taken to be in the service, and "
                   "nobody else is on the drifting neutral. The source is taken as stiff, at the "
                   "highest supply voltage, %.1f V, and each load as the impedance that it is at "
                   "nominal voltage, U0 = %g V. What generates, and what is connected between "
                   "lines, is left out.",
                   x->top_v, c->network->nominal_v);
    if (state == PD_NONE) {
        pd_working_say(w,
                       "Nothing of this installation ties its neutral: alone it has no potential "
                       "that could be worked out.");
        return;
    }
    pd_working_say(w, "The loads are at '%s', where the installation is at its worst.",
                   pd_loads_names[x->states->kind[state]]);
    x->alone = pd_explain_sum(w, &(struct pd_sum_of){.study_case = c,
                                                     .section = PD_NONE,
                                                     .load_a = pd_load_state(x->states, state),
                                                     .supply_v = x->top_v});
    x->e->alone_v = x->alone.volts;
    hold_against_limit(w, c, x->alone.volts);
}

static void compare_engine(struct pd_explaining *x)
{
    struct pd_working *const w = &x->e->working;
    const double engine_v = x->decides->met_v;
    const double apart_v = engine_v - x->closed.volts;
    if (fabs(apart_v) < 1e-6 * x->closed.volts) {
        pd_working_say(w,
                       "The network engine has the same, %.1f V: what the sum leaves out makes no "
                       "difference here.",
                       engine_v);
        return;
    }
    pd_working_step(w, "The network engine has, at this installation's terminal, more by",
                    "U_engine - U_N", apart_v, 4, "V");
    pd_working_sum(w, "%.8g - %.8g", engine_v, x->closed.volts);
    pd_working_say(
        w,
        "The two differ because the sum leaves out what the engine has: the impedance of "
        "the cables and of the source, the star point's own electrode (%g ohm), loads "
        "between lines, and how loads that are not impedances, chargers and inverters "
        "among them, answer to the voltages that come of it. The engine's figure is the "
        "one that is judged; the sum shows where it comes from.",
        x->a->study_case->network->source.electrode_ohm);
    if (x->decides->let_go > 0)
        pd_working_say(w,
                       "Here most of it comes from %zu elements of chargers or inverters that are "
                       "outside their window in the engine's answer and have let go; the sum has "
                       "them on.",
                       x->decides->let_go);
}

void pd_explain_network(struct pd_explaining *x)
{
    struct pd_working *const w = &x->e->working;
    const struct pd_case *const c = x->a->study_case;
    if (x->decides == NULL || x->decides_a == NULL)
        return;
    pd_working_begin(w, "Where the current goes: the break that decides");
    pd_working_say(w,
                   "The same sum for all that hangs on the drifting neutral beyond the break, at a "
                   "supply of %.1f V and with the loads of that scenario.",
                   x->decides->supply_v);
    x->closed = pd_explain_sum(w, &(struct pd_sum_of){.study_case = c,
                                                      .section = x->decides->section,
                                                      .load_a = x->decides_a,
                                                      .supply_v = x->decides->supply_v});
    x->e->closed_v = x->closed.volts;
    if (isfinite(x->closed.volts) &&
        pd_network_downstream(c->network, x->decides->section, c->installation))
        compare_engine(x);
    else
        pd_working_say(w,
                       "The installation is not beyond this break: what its own terminal has, %.1f "
                       "V, comes through the PEN that it still shares.",
                       x->decides->met_v);
    hold_against_limit(w, c, c->earthing == PD_TT ? x->decides->met_v : x->decides->touch_v);
}
