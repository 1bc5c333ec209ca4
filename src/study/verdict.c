/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/verdict.h"

#include <math.h>
#include <stdio.h>

#include "study/describe.h"
#include "study/rule.h"
#include "study/rule_tt.h"
#include "study/run.h"
#include "table/figure.h"

const char *const pd_answer_names[PD_ANSWERS] = {[PD_NOT_NEEDED] = "not needed",
                                                 [PD_NEEDED] = "needed",
                                                 [PD_SUFFICIENT] = "present and sufficient",
                                                 [PD_INSUFFICIENT] = "present but insufficient",
                                                 [PD_ANSWER_UNKNOWN] = "not determined"};

const char *const pd_overall_names[PD_OVERALLS] = {[PD_ACCEPTABLE] = "acceptable",
                                                   [PD_RESIDUAL_HAZARD] = "residual hazard",
                                                   [PD_NOT_ACCEPTABLE] = "not acceptable",
                                                   [PD_OVERALL_UNKNOWN] = "not determined"};

/* With every load at zero and no electrode nothing ties the neutral and it has no potential.
 * Without an electrode the potential does not depend on the size of the loads, only on their
 * proportions, so such a state is covered by the others of the same break that have a figure. */
static bool covered(const struct pd_assessment *a, const struct pd_scenario *s)
{
    for (size_t i = 0; i < a->scenario_count; i++) {
        const struct pd_scenario *const other = &a->scenario[i];
        if (other->fault == s->fault && other->section == s->section &&
            other->supply_v == s->supply_v && other->standing == PD_SOLVED && !other->floating)
            return true;
    }
    return false;
}

static bool larger(const struct pd_assessment *a, size_t i, size_t than)
{
    return than == PD_NONE || pd_exceeds(a->scenario[i].touch_v, a->scenario[than].touch_v);
}

static void tally_judged(struct pd_assessment *a, size_t i)
{
    const struct pd_scenario *const s = &a->scenario[i];
    a->judged++;
    if (s->touch == PD_UNKNOWN) {
        a->unsolved += !(s->floating && covered(a, s));
        return;
    }
    if (larger(a, i, a->worst))
        a->worst = i;
    if (s->touch == PD_WITHIN)
        return;
    a->over++;
    if (s->disconnected) {
        if (larger(a, i, a->worst_seen))
            a->worst_seen = i;
        return;
    }
    a->unseen++;
    a->reclosed += s->recloses;
    if (larger(a, i, a->worst_unseen))
        a->worst_unseen = i;
}

void pd_tally(struct pd_assessment *a)
{
    a->worst = a->worst_unseen = a->worst_seen = a->hottest = PD_NONE;
    a->judged = a->unsolved = a->over = a->unseen = a->reclosed = 0;
    for (int kind = 0; kind < PD_FAULTS; kind++)
        a->shown[kind] = PD_NONE;
    for (size_t i = 0; i < a->scenario_count; i++) {
        const struct pd_scenario *const s = &a->scenario[i];
        size_t *const shown = &a->shown[s->fault];
        if (isfinite(s->touch_v) && (*shown == PD_NONE || pd_is_worse(s, &a->scenario[*shown])))
            *shown = i;
        if (isfinite(s->joint_w) &&
            (a->hottest == PD_NONE || pd_exceeds(s->joint_w, a->scenario[a->hottest].joint_w)))
            a->hottest = i;
        if (pd_fault_judged(s->fault))
            tally_judged(a, i);
    }
}

/* Whether every fault that is judged was run. */
static bool all_judged(const struct pd_assessment *a)
{
    for (int kind = 0; kind < PD_FAULTS; kind++)
        if (pd_fault_judged((enum pd_fault_kind)kind) && (a->faults & 1u << kind) == 0)
            return false;
    return true;
}

static bool has_own_electrode(const struct pd_case *c)
{
    const size_t node = c->earthing == PD_TT ? c->charging_point : c->installation;
    return isfinite(pd_case_electrode(c, node));
}

/* On TT, whether who touches the vehicle may have PME metalwork in the other hand, and with it more
 * than the limit. Neither an electrode at the point nor a device there takes that away. */
static enum pd_judgement metalwork(const struct pd_assessment *a)
{
    const struct pd_case *const c = a->study_case;
    const enum pd_judgement near = pd_judge(pd_tt_reach_m, c->reach_m);
    if (!pd_tt_beside_pme(c) || near == PD_WITHIN)
        return PD_WITHIN;
    if (a->tt.worst_reach == PD_NONE)
        return PD_UNKNOWN;
    const double between_v = a->scenario[a->tt.worst_reach].reach_v;
    const enum pd_judgement between = pd_judge(between_v, c->limits.touch_v);
    return between == PD_OVER ? near : between;
}

static enum pd_answer electrode_answer(const struct pd_assessment *a, bool there)
{
    if (a->unseen > 0 || metalwork(a) == PD_OVER)
        return there ? PD_INSUFFICIENT : PD_NEEDED;
    if (!all_judged(a) || a->unsolved > 0 || a->worst == PD_NONE || !a->proved ||
        metalwork(a) == PD_UNKNOWN)
        return PD_ANSWER_UNKNOWN;
    return a->over == 0 && there ? PD_SUFFICIENT : PD_NOT_NEEDED;
}

static enum pd_answer detection_answer(const struct pd_assessment *a, bool there)
{
    if (a->unseen > 0 || metalwork(a) == PD_OVER)
        return there ? PD_INSUFFICIENT : PD_NEEDED;
    if (!all_judged(a) || a->unsolved > 0 || a->worst == PD_NONE || !a->proved ||
        metalwork(a) == PD_UNKNOWN)
        return PD_ANSWER_UNKNOWN;
    return a->over > 0 ? PD_SUFFICIENT : PD_NOT_NEEDED;
}

void pd_read_network(struct pd_assessment *a, double electrode_max_ohm)
{
    const struct pd_case *const c = a->study_case;
    a->network.electrode = electrode_answer(a, has_own_electrode(c));
    a->network.detection = detection_answer(a, c->detectors.count > 0);
    a->network.electrode_max_ohm = metalwork(a) == PD_WITHIN ? electrode_max_ohm : NAN;
    if (metalwork(a) == PD_OVER) /* on TT the chassis itself stays at earth */
        a->residual_v = a->scenario[a->tt.worst_reach].reach_v;
    else if (metalwork(a) == PD_UNKNOWN)
        a->residual_v = NAN;
    else if (a->worst_unseen != PD_NONE)
        a->residual_v = a->scenario[a->worst_unseen].touch_v;
    else
        a->residual_v =
            !all_judged(a) || a->unsolved > 0 || a->worst == PD_NONE || !a->proved ? NAN : 0;
}

static enum pd_overall overall_of(const struct pd_assessment *a)
{
    if (a->rule_result == PD_RESULT_UNKNOWN)
        return PD_OVERALL_UNKNOWN;
    if (a->rule_result != PD_MEETS)
        return PD_NOT_ACCEPTABLE;
    if (a->unseen > 0)
        return PD_RESIDUAL_HAZARD;
    if (!all_judged(a))
        return PD_OVERALL_UNKNOWN;
    return isfinite(a->residual_v) && a->unsolved == 0 ? PD_ACCEPTABLE : PD_OVERALL_UNKNOWN;
}

static enum pd_status say_hazard(struct pd_assessment *a, const char *lead)
{
    char sentence[PD_HAZARD_MAX];
    pd_describe_hazard(a, a->worst_unseen, lead, sentence, sizeof sentence);
    return pd_notes_add(&a->because, "%s", sentence);
}

static const char *plural(size_t count)
{
    return count == 1 ? "" : "s";
}

static enum pd_status say_met_routes(struct pd_assessment *a)
{
    enum pd_status status = PD_OK;
    for (int i = 0; i < PD_ROUTES && status == PD_OK; i++)
        if (a->route[i].result == PD_MEETS)
            status = pd_notes_add(&a->because, "Rule: met by route %d, %s. %.250s", i + 1,
                                  pd_route_names[i + 1], a->route[i].why);
    if (status == PD_OK && !pd_rule_applies(a->study_case) && a->study_case->earthing != PD_TT)
        status = pd_notes_add(&a->because, "Rule: no PEN between the installation and the "
                                           "substation, so a break of one cannot reach it. A "
                                           "supply that looks TN-S may be PME further up.");
    return status;
}

static enum pd_status say_not_met(struct pd_assessment *a)
{
    const struct pd_route *const electrode = &a->route[PD_ROUTE_ELECTRODE - 1];
    const bool network_clear = a->unseen == 0 && a->unsolved == 0 && a->worst != PD_NONE &&
                               a->proved && metalwork(a) == PD_WITHIN;
    enum pd_status status = PD_OK;
    if (network_clear)
        status = pd_notes_add(&a->because,
                              "Rule and network differ: the rule is not met, though in the network "
                              "as described no scenario leaves the chassis over %.1f V (largest "
                              "%.1f V). The rule decides.",
                              a->study_case->limits.touch_v, a->scenario[a->worst].touch_v);
    if (status == PD_OK)
        status = pd_notes_add(&a->because, "No route of the rule is met. %s%s",
                              electrode->result == PD_DOES_NOT_MEET ? electrode->why : "",
                              a->study_case->detectors.count == 0 &&
                                      electrode->result == PD_DOES_NOT_MEET
                                  ? " No device that would let go of live conductors and PE is "
                                    "declared."
                                  : "");
    for (int kind = PD_ROUTE_PE_DEVICE; kind <= PD_ROUTE_TT && status == PD_OK; kind++)
        if (a->route[kind - 1].result == PD_DOES_NOT_MEET)
            status = pd_notes_add(&a->because, "Route %d, %s: %.250s", kind, pd_route_names[kind],
                                  a->route[kind - 1].why);
    if (status == PD_OK && a->worst_unseen != PD_NONE)
        status = say_hazard(a, "In the network ");
    return status;
}

static enum pd_status say_unknown(struct pd_assessment *a)
{
    enum pd_status status = PD_OK;
    for (int i = 0; i < PD_ROUTES && status == PD_OK && a->rule_result == PD_RESULT_UNKNOWN; i++)
        if (a->route[i].result == PD_RESULT_UNKNOWN)
            status = pd_notes_add(&a->because, "Route %d, %s: %.250s", i + 1, pd_route_names[i + 1],
                                  a->route[i].why);
    if (status == PD_OK && a->worst_unseen != PD_NONE)
        status = say_hazard(a, "In the network ");
    for (size_t i = 0; i < a->scenario_count && status == PD_OK && a->unsolved > 0; i++) {
        const struct pd_scenario *const s = &a->scenario[i];
        if (!pd_fault_judged(s->fault) || s->touch != PD_UNKNOWN || (s->floating && covered(a, s)))
            continue;
        char where[200];
        pd_describe_place(a, s, where, sizeof where);
        return pd_notes_add(
            &a->because, "%zu scenario%s without an answer; the first: %s: %s.", a->unsolved,
            plural(a->unsolved), where,
            s->floating ? "no load and no electrode ties the neutral, so it has no potential"
            : s->standing == PD_AMBIGUOUS
                ? "loads that are not impedances leave more than one solution"
            : s->standing == PD_RESONANT
                ? "lagging and leading loads cancel, and the answer hangs on their last digits"
                : "no solution satisfies Kirchhoff's laws with these loads");
    }
    return status;
}

/* A case without sections.csv knows nothing of the neighbours. */
static enum pd_status say_alone(struct pd_assessment *a)
{
    if (a->study_case->network->node_count > 2)
        return PD_OK;
    return pd_notes_add(&a->because,
                        "The case describes no street: a break further up, with neighbours' loads "
                        "on the same neutral, is not in these figures.");
}

/* What becomes of the metalwork that no device at the charging point lets go. */
static void describe_rest(const struct pd_assessment *a, char *text, size_t size)
{
    const struct pd_after *const after = &a->after_seen;
    if (!after->rest_on_pen)
        snprintf(text, size, "The installation's metalwork is let go with it.");
    else if (isfinite(after->rest_v))
        snprintf(text, size,
                 "The rest of the installation's metalwork stays on the drifting PEN, after that "
                 "at %.1f V%s.",
                 after->rest_v, after->loads_off ? "" : " as before");
    else
        snprintf(text, size,
                 "The rest of the installation's metalwork stays on the drifting PEN, at what "
                 "voltage is not determined.");
}

/* What the verdict rests on where loads have ranges. */
static enum pd_status say_proved(struct pd_assessment *a)
{
    if (a->certified.count == 0)
        return PD_OK;
    const struct pd_worst_break *const brk = &a->certified.brk[a->certified.worst];
    if (pd_judge(brk->bound_v, a->study_case->limits.touch_v) == PD_WITHIN)
        return pd_notes_add(&a->because,
                            "Proved: whatever the loads within their ranges, no open PEN takes the "
                            "chassis above %.1f V (%.1f V was found).",
                            ceil(10 * brk->bound_v) / 10, brk->attained_v);
    return pd_notes_add(&a->because,
                        "Proved: whatever the loads within their ranges, each open PEN that takes "
                        "the chassis over %.1f V is disconnected in time.",
                        a->study_case->limits.touch_v);
}

/* Nothing bad was found, but it is not proved that nothing is there. */
static enum pd_status say_unproved(struct pd_assessment *a)
{
    const size_t worst = pd_worst_unseen_bound(a);
    if (!a->proved && a->unseen == 0 && a->study_case->mutual_ohm != NULL)
        return pd_notes_add(&a->because,
                            "No loads within their ranges were found to leave the chassis over "
                            "%.1f V undisconnected, but it is not proved that none do: the proof "
                            "does not cover electrodes that lift each other's ground (x_m, y_m).",
                            a->study_case->limits.touch_v);
    if (a->proved || a->unseen > 0 || worst == PD_NONE)
        return PD_OK;
    const struct pd_worst_break *const brk = &a->certified.brk[worst];
    const char *const section =
        brk->section == PD_NONE ? "no section" : a->study_case->network->node[brk->section].section;
    char most[80] = "no bound could be proved";
    if (isfinite(brk->unseen_bound_v))
        snprintf(most, sizeof most, "it is proved only that they stay below %.1f V",
                 ceil(10 * brk->unseen_bound_v) / 10);
    return pd_notes_add(&a->because,
                        "No loads within their ranges were found to leave the chassis over %.1f V "
                        "undisconnected, but it is not proved that none do: with the PEN open in "
                        "'%.60s' %s. Narrower declared ranges, or loads with an electrode or "
                        "device that is better placed, may close it.",
                        a->study_case->limits.touch_v, section, most);
}

static enum pd_status say_acceptable(struct pd_assessment *a)
{
    const struct pd_scenario *const s = &a->scenario[a->worst];
    char where[200], rest[160];
    enum pd_status status = say_met_routes(a);
    if (status != PD_OK)
        return status;
    pd_describe_place(a, s, where, sizeof where);
    describe_rest(a, rest, sizeof rest);
    if (a->over > 0)
        status = pd_notes_add(
            &a->because,
            "Network: %zu of %zu scenario%s pass %.1f V, and each is disconnected in time, PE "
            "included. The largest before that is %.1f V, %s. %s",
            a->over, a->judged, plural(a->judged), a->study_case->limits.touch_v, s->touch_v, where,
            rest);
    else
        status = pd_notes_add(&a->because,
                              "Network: all %zu scenarios stay within %.1f V. The largest is %.1f "
                              "V, %s.",
                              a->judged, a->study_case->limits.touch_v, s->touch_v, where);
    if (status == PD_OK)
        status = say_proved(a);
    return status == PD_OK ? say_alone(a) : status;
}

/* The fault that no route but a device sensing PE to earth stops is told beside every verdict. */
static enum pd_status say_crossed(struct pd_assessment *a)
{
    if (a->shown[PD_CROSSED] == PD_NONE)
        return PD_OK;
    const struct pd_scenario *const s = &a->scenario[a->shown[PD_CROSSED]];
    if (!pd_is_hazard(s))
        return PD_OK;
    char where[200], blindness[240];
    pd_describe_place(a, s, where, sizeof where);
    pd_describe_blindness(a, s, blindness, sizeof blindness);
    return pd_notes_add(
        &a->because,
        "Beside the verdict: %s, the chassis is at %.1f V, and %s. Only a "
        "polarity test against true earth, after any work on the supply, or a device "
        "that senses PE to earth, shows it.",
        where, s->touch_v, blindness);
}

/* On TT the chassis stays at earth while the house's metalwork drifts with the PEN. */
static enum pd_status say_reach(struct pd_assessment *a)
{
    const struct pd_case *const c = a->study_case;
    if (a->tt.worst_reach == PD_NONE ||
        pd_judge(a->scenario[a->tt.worst_reach].reach_v, c->limits.touch_v) == PD_WITHIN)
        return PD_OK;
    const struct pd_scenario *const s = &a->scenario[a->tt.worst_reach];
    char where[200], declared[60] = "How far off it is was not declared.";
    pd_describe_place(a, s, where, sizeof where);
    if (isfinite(c->reach_m))
        snprintf(declared, sizeof declared, "The nearest is declared to be %g m off.", c->reach_m);
    return pd_notes_add(&a->because,
                        "Between the vehicle and the house's own metalwork there are %.1f V %s: it "
                        "must be out of reach of anyone at the vehicle. %s",
                        s->reach_v, where, declared);
}

/* What an electrode made for island operation does for an open PEN on the supply. */
static enum pd_status say_backup(struct pd_assessment *a)
{
    const struct pd_case *const c = a->study_case;
    const double ohm = pd_case_electrode(c, c->installation);
    if (!c->backup || !isfinite(ohm) || !isfinite(a->alone_v))
        return PD_OK;
    return pd_notes_add(
        &a->because,
        "Backup electrode: in island operation its %s ohm are the only way to earth. On the "
        "supply, with the PEN open and nothing else to earth, they leave the main earthing "
        "terminal at %.1f V (installation alone), %s.",
        pd_figure_ohm(ohm).text, a->alone_v,
        pd_judge(a->alone_v, c->limits.touch_v) == PD_WITHIN
            ? "within the limit"
            : "so for an open PEN this electrode does not do");
}

/* A supply that looks TN-S and is not is news enough to come first. */
static enum pd_status say_looks_tn_s(struct pd_assessment *a)
{
    const struct pd_case *const c = a->study_case;
    if (c->earthing != PD_TN_S || !pd_case_on_pen(c))
        return PD_OK;
    size_t pen = c->installation;
    while (c->network->node[pen].separate)
        pen = c->network->node[pen].parent;
    return pd_notes_add(&a->because,
                        "Declared TN-S, but section '%.60s' further up has a PEN: this is a PME "
                        "supply, and the rule for one applies.",
                        c->network->node[pen].section);
}

enum pd_status pd_decide(struct pd_assessment *a)
{
    a->overall = overall_of(a);
    enum pd_status status = say_looks_tn_s(a);
    if (status != PD_OK)
        return status;
    switch (a->overall) {
    case PD_ACCEPTABLE:
        status = say_acceptable(a);
        break;
    case PD_RESIDUAL_HAZARD:
        status = say_hazard(a, "Rule and network differ: the rule is met, yet ");
        if (status == PD_OK)
            status = say_met_routes(a);
        break;
    case PD_NOT_ACCEPTABLE:
        status = say_not_met(a);
        break;
    case PD_OVERALL_UNKNOWN:
        status = say_unknown(a);
        if (status == PD_OK)
            status = say_unproved(a);
        break;
    }
    if (status == PD_OK && !all_judged(a))
        status =
            pd_notes_add(&a->because, "Only some faults were run (--fault): without the others "
                                      "nothing can be called acceptable.");
    if (status == PD_OK)
        status = say_crossed(a);
    if (status == PD_OK)
        status = say_reach(a);
    return status == PD_OK ? say_backup(a) : status;
}

enum pd_status pd_decide_missing(struct pd_assessment *a)
{
    const struct pd_notes *const missing = &a->study_case->missing;
    enum pd_status status = PD_OK;
    a->overall = PD_OVERALL_UNKNOWN;
    a->rule_result = PD_RESULT_UNKNOWN;
    a->rule = a->network = (struct pd_reading){PD_ANSWER_UNKNOWN, NAN, PD_ANSWER_UNKNOWN};
    a->residual_v = a->divider_ohm = a->annex_ohm = a->alone_v = NAN;
    pd_tt_read(a);
    pd_person_unknown(&a->person);
    a->worst = a->worst_unseen = a->worst_seen = a->hottest = PD_NONE;
    a->after_seen.scenario = a->after_unseen.scenario = PD_NONE;
    for (int kind = 0; kind < PD_FAULTS; kind++)
        a->shown[kind] = PD_NONE;
    for (int i = 0; i < PD_ROUTES; i++) {
        a->route[i] = (struct pd_route){.kind = (enum pd_route_kind)(i + 1),
                                        .result = PD_RESULT_UNKNOWN,
                                        .value = NAN,
                                        .limit = NAN,
                                        .margin = NAN,
                                        .unit = ""};
        snprintf(a->route[i].why, sizeof a->route[i].why, "The case is incomplete.");
    }
    for (size_t i = 0; i < missing->count && status == PD_OK; i++)
        status = pd_notes_add(&a->because, "%s", missing->text[i]);
    return status;
}
