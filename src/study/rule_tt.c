/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/rule_tt.h"

#include <math.h>

#include "study/rule.h"

static const double stable_ohm = 200, fault_touch_v = 50;

const double pd_tt_reach_m = 2.5;

double pd_tt_touch_ohm(double rcd_a)
{
    return fault_touch_v / rcd_a;
}

double pd_tt_stable_ohm(void)
{
    return stable_ohm;
}

static double electrode_max(const struct pd_case *c)
{
    return fmin(pd_tt_touch_ohm(c->rcd_a), stable_ohm); /* the rating is known */
}

static enum pd_result result_of(enum pd_judgement judgement)
{
    return judgement == PD_WITHIN ? PD_MEETS
           : judgement == PD_OVER ? PD_DOES_NOT_MEET
                                  : PD_RESULT_UNKNOWN;
}

enum pd_result pd_tt_electrode(const struct pd_case *c)
{
    const double has_ohm = pd_case_electrode(c, c->charging_point);
    return isfinite(c->rcd_a) ? result_of(pd_judge(has_ohm, electrode_max(c))) : PD_RESULT_UNKNOWN;
}

bool pd_tt_beside_pme(const struct pd_case *c)
{
    return c->earthing == PD_TT && c->charging_point != c->installation && pd_case_on_pen(c);
}

/* After R_A has been found good: nobody may touch the vehicle and PME metalwork at once. */
static void read_reach(const struct pd_case *c, struct pd_route_answer *route)
{
    if (!pd_tt_beside_pme(c))
        return;
    route->result = result_of(pd_judge(pd_tt_reach_m, c->reach_m));
    if (route->result != PD_MEETS)
        route->reason =
            route->result == PD_DOES_NOT_MEET ? PD_RULE_REACH_NEAR : PD_RULE_REACH_UNKNOWN;
}

void pd_tt_route(const struct pd_case *c, struct pd_route_answer *route)
{
    const double has_ohm = pd_case_electrode(c, c->charging_point);
    route->unit = "ohm";
    route->result = PD_RESULT_UNKNOWN;
    route->reason = PD_RULE_TT_NO_ELECTRODE;
    if (isinf(has_ohm))
        return;
    route->value = has_ohm;
    route->reason = PD_RULE_TT_NO_RCD;
    if (!isfinite(c->rcd_a))
        return;
    route->limit = electrode_max(c);
    route->margin = route->limit - has_ohm;
    route->result = pd_tt_electrode(c);
    route->reason = PD_RULE_TT;
    if (route->result == PD_MEETS)
        read_reach(c, route);
}

/* Source and line conductors from the substation to the charging point: those of the line that has
 * most. */
static double complex line_impedance(const struct pd_case *c)
{
    double complex most_ohm = 0;
    for (int line = PD_L1; line < PD_LINES; line++) {
        double complex ohm = c->network->source.z_ohm;
        if ((c->network->node[c->charging_point].lines & 1u << line) == 0)
            continue;
        for (size_t i = c->charging_point; i > 0; i = c->network->node[i].parent)
            ohm += c->network->node[i].z_ohm.at[line][line];
        if (cabs(ohm) > cabs(most_ohm))
            most_ohm = ohm;
    }
    return most_ohm;
}

/* A line to the chassis, the supply healthy. The current at its least decides whether the RCD acts,
 * the voltage at its most is what the chassis has until then. */
static void read_fault(const struct pd_case *c, struct pd_tt *tt)
{
    const double has_ohm = pd_case_electrode(c, c->charging_point);
    const double complex z_ohm = line_impedance(c);
    const double low_v = fmin(c->supply_v, c->limits.supply_low_v);
    const double high_v = fmax(c->supply_v, c->limits.supply_high_v);
    if (!isfinite(has_ohm))
        return;
    tt->fault_a = low_v / cabs(has_ohm + c->network->source.electrode_ohm + z_ohm);
    tt->fault_v = high_v * has_ohm / cabs(has_ohm + z_ohm);
    tt->no_trip = pd_judge(tt->fault_a, nextafter(c->rcd_a, 0)); /* at the rating it trips */
}

/* Chooses between scenarios by what is between the chassis and PME metalwork. */
static bool further(const struct pd_assessment *a, size_t i, size_t than)
{
    return isfinite(a->scenario[i].reach_v) &&
           (than == PD_NONE || pd_exceeds(a->scenario[i].reach_v, a->scenario[than].reach_v));
}

void pd_tt_read(struct pd_assessment *a)
{
    struct pd_tt *const tt = &a->tt;
    *tt = (struct pd_tt){.applies = a->study_case->earthing == PD_TT,
                         .fault_a = NAN,
                         .fault_v = NAN,
                         .no_trip = PD_UNKNOWN,
                         .worst_reach = PD_NONE};
    for (int kind = 0; kind < PD_FAULTS; kind++)
        tt->worst[kind] = PD_NONE;
    if (!tt->applies || a->study_case->missing.count > 0)
        return;
    read_fault(a->study_case, tt);
    for (size_t i = 0; i < a->scenario_count; i++) {
        const enum pd_fault_kind kind = a->scenario[i].fault;
        if (further(a, i, tt->worst[kind]))
            tt->worst[kind] = i;
        if (pd_fault_judged(kind) && pd_tt_beside_pme(a->study_case) &&
            further(a, i, tt->worst_reach))
            tt->worst_reach = i;
    }
}
