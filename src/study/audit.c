/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/audit.h"

#include <math.h>
#include <stdlib.h>

#include "study/audit_blind.h"
#include "study/audit_case.h"
#include "study/audit_look.h"
#include "study/audit_street.h"
#include "study/rule.h"

struct pd_auditor {
    const struct pd_audit *audit;
    struct pd_site_case *site_case[PD_SYSTEMS][PD_PHASES][PD_SITE_EARTHS];
    bool tried[PD_SYSTEMS][PD_PHASES][PD_SITE_EARTHS];
    enum pd_loads kind[PD_LOAD_STATES_MOST];
    double load_a[PD_LOAD_STATES_MOST * (PD_LINES + 1)];
    struct pd_blinds *blinds;
    struct pd_street *street; /* NULL: none */
};

enum pd_status pd_auditor_new(const struct pd_audit *audit, struct pd_auditor **out)
{
    struct pd_auditor *a = *out = calloc(1, sizeof *a);
    if (a == NULL)
        return PD_ERR_MEMORY;
    a->audit = audit;
    enum pd_status status = pd_blinds_new(&audit->limits, &a->blinds);
    if (status == PD_OK && audit->street != NULL)
        status = pd_street_new(audit->street, &audit->limits, &a->street, NULL);
    if (status != PD_OK)
        pd_auditor_free(out);
    return status;
}

void pd_auditor_free(struct pd_auditor **auditor)
{
    if (*auditor == NULL)
        return;
    for (int i = 0; i < PD_SYSTEMS; i++)
        for (int k = 0; k < PD_PHASES; k++)
            for (int e = 0; e < PD_SITE_EARTHS; e++)
                pd_site_case_free(&(*auditor)->site_case[i][k][e]);
    pd_blinds_free(&(*auditor)->blinds);
    pd_street_free(&(*auditor)->street);
    free(*auditor);
    *auditor = NULL;
}

/* What is known of a site before anything is decided. */
struct question {
    const struct pd_site *site;
    struct pd_look look;
    bool supply, loads;
    enum pd_system system;
    enum pd_phase charger;
    enum pd_site_earth earth;
    struct pd_audit_result *result;
};

static void say(const struct question *q, enum pd_audit_reason reason)
{
    pd_reasons_add(&q->result->reasons, reason);
}

/* Where the vehicle is earthed. */
static bool find_earth(struct question *q)
{
    const int earthing = q->site->choice[PD_S_EARTHING], used = q->site->choice[PD_S_PME_USED];
    if (earthing < 0 || q->site->choice[PD_S_SYSTEM] < 0) {
        say(q, PD_A_NO_SUPPLY);
        return false;
    }
    q->system = (enum pd_system)q->site->choice[PD_S_SYSTEM];
    if (earthing == PD_TN_C_S && used < 0) {
        say(q, PD_A_NO_PME_ANSWER);
        return false;
    }
    q->earth = earthing == PD_TN_S ? PD_EARTH_TN_S
               : earthing == PD_TT ? PD_EARTH_TT_ALL
               : used == 1         ? PD_EARTH_ON_PEN
                                   : PD_EARTH_TT_BESIDE;
    return true;
}

static void find_charger(struct question *q)
{
    const int phase = q->site->choice[PD_S_CHARGER_PHASE];
    q->charger = phase >= 0 ? (enum pd_phase)phase : PD_ON_L1;
    q->loads = !isnan(q->site->number[PD_S_CHARGER]) && pd_site_has_demands(q->site, q->system);
    if (phase < 0 && q->system == PD_SINGLE_PHASE)
        say(q, PD_A_ON_L1);
    else if (phase < 0)
        q->loads = false;
}

static enum pd_status get_case(struct pd_auditor *a, struct question *q, struct pd_site_case **out)
{
    bool *const tried = &a->tried[q->system][q->charger][q->earth];
    struct pd_site_case **const there = &a->site_case[q->system][q->charger][q->earth];
    enum pd_status status = PD_OK;
    if (!*tried)
        status = pd_site_case_new(&a->audit->limits, q->system, q->charger, q->earth, there);
    *tried = status == PD_OK;
    *out = *there;
    if (status != PD_OK || *out != NULL)
        return status;
    /* The supply does not have the charger's line. */
    q->loads = false;
    q->charger = PD_ON_L1;
    return get_case(a, q, out);
}

/* What is missing leaves without an answer what would rest on it. */
static void note_missing(struct question *q)
{
    const struct pd_site *const site = q->site;
    if (!q->loads) {
        q->look.distrusted |= PD_REST_LOADS;
        if (q->system != PD_SINGLE_PHASE) /* how many lines it uses is not known */
            q->look.distrusted |= 1u << PD_ROUTE_BAND_DEVICE;
        return;
    }
    say(q, PD_A_UNITY);
    const int lines = q->system == PD_SPLIT_PHASE ? 2 : 3;
    for (int line = 0; line < lines && q->system != PD_SINGLE_PHASE; line++)
        if (isnan(site->number[PD_S_LEAST_L1 + line]))
            say(q, PD_A_NO_LEAST);
}

static double rcd_a(struct question *q, const struct pd_limits *limits)
{
    const double given_ma = q->site->number[PD_S_RCD];
    if (!isnan(given_ma) || (q->earth != PD_EARTH_TT_ALL && q->earth != PD_EARTH_TT_BESIDE))
        return given_ma / 1000;
    if (isfinite(limits->rcd_a))
        say(q, PD_A_RCD_OF_SET);
    return limits->rcd_a;
}

/* As it counts: read in the dry season, or with its factor; else as read. */
static double electrode_ohm(const struct pd_site *site)
{
    const double factor = site->number[PD_S_SEASON_FACTOR];
    return site->number[PD_S_ELECTRODE] * (isnan(factor) ? 1 : factor);
}

/* The audit's word for why the rule has no, or not this, answer. */
static enum pd_audit_reason reason_of(enum pd_rule_reason reason)
{
    static const enum pd_audit_reason reasons[PD_RULE_REASONS] = {
        [PD_RULE_NO_PEN] = PD_A_NO_PEN,
        [PD_RULE_NOT_LISTED] = PD_A_NOT_LISTED,
        [PD_RULE_NOT_ON_PME] = PD_A_NOT_ON_PME,
        [PD_RULE_ON_PME] = PD_A_ON_PME,
        [PD_RULE_NOT_THREE_PHASE] = PD_A_NOT_THREE_PHASE,
        [PD_RULE_ONLY_POINT] = PD_A_ONLY_POINT,
        [PD_RULE_NOTHING_TIES] = PD_A_NOTHING_TIES,
        [PD_RULE_BALANCED] = PD_AUDIT_REASONS,
        [PD_RULE_UNBALANCED] = PD_A_UNBALANCED,
        [PD_RULE_NONE_NEEDED] = PD_A_NO_ELECTRODE,
        [PD_RULE_NO_ELECTRODE] = PD_A_NO_ELECTRODE,
        [PD_RULE_ANY_ELECTRODE] = PD_AUDIT_REASONS,
        [PD_RULE_ELECTRODE] = PD_A_ELECTRODE_HIGH,
        [PD_RULE_NO_DEVICE] = PD_A_NO_SUCH_DEVICE,
        [PD_RULE_NOT_SINGLE_PHASE] = PD_A_NOT_SINGLE_PHASE,
        [PD_RULE_NO_THRESHOLDS] = PD_A_NO_THRESHOLDS,
        [PD_RULE_NO_INPUT] = PD_A_NO_THRESHOLDS,
        [PD_RULE_NO_BAND] = PD_A_NO_BAND,
        [PD_RULE_BAND_WIDE] = PD_A_BAND_WIDE,
        [PD_RULE_THRESHOLD_HIGH] = PD_A_THRESHOLD_HIGH,
        [PD_RULE_NEVER_ACTS] = PD_A_THRESHOLD_HIGH,
        [PD_RULE_NO_DELAY] = PD_A_NO_DELAY,
        [PD_RULE_LEAVES_PE] = PD_A_LEAVES_PE,
        [PD_RULE_IN_TIME] = PD_AUDIT_REASONS,
        [PD_RULE_CLOSES_ITSELF] = PD_A_CLOSES_ITSELF,
        [PD_RULE_TOO_LATE] = PD_A_TOO_LATE,
        [PD_RULE_EVIDENCE] = PD_A_EVIDENCE,
        [PD_RULE_TT_NO_ELECTRODE] = PD_A_NO_ELECTRODE,
        [PD_RULE_TT_NO_RCD] = PD_A_NO_RCD,
        [PD_RULE_TT] = PD_A_TT_HIGH,
        [PD_RULE_REACH_UNKNOWN] = PD_A_NO_REACH,
        [PD_RULE_REACH_NEAR] = PD_A_REACH_NEAR,
    };
    return reasons[reason];
}

/* What a route comes to when doubts are counted. A figure that is not there is a doubt, also where
 * the rule, which knows no silence, finds that nothing was done. */
static enum pd_result doubted(const struct question *q, const struct pd_route_answer *route)
{
    const unsigned bit = 1u << route->kind;
    const bool no_device = route->reason == PD_RULE_NO_DEVICE && q->site->choice[PD_S_SENSES] < 0;
    if (route->reason == PD_RULE_NO_ELECTRODE || route->reason == PD_RULE_NONE_NEEDED || no_device)
        return PD_RESULT_UNKNOWN;
    const bool fixed = route->reason == PD_RULE_NOT_LISTED || route->reason == PD_RULE_NOT_ON_PME ||
                       route->reason == PD_RULE_ON_PME || route->reason == PD_RULE_NO_PEN;
    if ((q->look.distrusted & bit) != 0 && !fixed)
        return PD_RESULT_UNKNOWN;
    if ((q->look.unproved & bit) != 0 && route->result == PD_MEETS)
        return PD_RESULT_UNKNOWN;
    return route->result == PD_NOT_APPLICABLE ? PD_DOES_NOT_MEET : route->result;
}

/* A route that nobody claims and for which nothing is declared does not hold: no need to ask. */
static bool nothing_declared(const struct question *q, const struct pd_route_answer *route)
{
    if (q->site->choice[PD_S_BASIS] == (int)route->kind)
        return false;
    return route->reason == PD_RULE_NO_ELECTRODE || route->reason == PD_RULE_NONE_NEEDED ||
           route->reason == PD_RULE_NO_DEVICE;
}

static void find_route(const struct question *q, const struct pd_route_answer *route)
{
    const enum pd_result result = doubted(q, route);
    enum pd_audit_reason reason = reason_of(route->reason);
    q->result->finding = result == PD_MEETS           ? PD_SUPPORTED
                         : result == PD_DOES_NOT_MEET ? PD_NOT_SUPPORTED
                                                      : PD_INSUFFICIENT_EVIDENCE;
    if (reason == PD_A_NO_SUCH_DEVICE && q->site->choice[PD_S_SENSES] < 0)
        reason = PD_A_NO_DEVICE;
    const unsigned bit = 1u << route->kind;
    const bool told = (q->look.distrusted & bit) != 0 && result == PD_RESULT_UNKNOWN;
    if (told && !q->loads && (reason == PD_A_NO_ELECTRODE || reason == PD_A_NO_DEVICE))
        say(q, reason);
    if (told && !q->loads)
        say(q, PD_A_NO_LOADS);
    else if (!told && route->result != PD_MEETS)
        say(q, reason);
    const double blind_v = q->result->figure[PD_F_BLIND_V];
    if (result == PD_MEETS && route->detector != NULL &&
        pd_judge(blind_v, q->result->figure[PD_F_TOUCH_LIMIT_V]) == PD_OVER)
        say(q, PD_A_BLIND);
}

static void find_no_pen(const struct question *q)
{
    const bool tn_s = q->earth == PD_EARTH_TN_S || q->earth == PD_EARTH_TT_ALL;
    if (!tn_s) {
        q->result->finding = PD_NOT_SUPPORTED;
        say(q, PD_A_PEN_UPSTREAM);
    } else if (q->site->choice[PD_S_CONFIRMED] != 1) {
        say(q, PD_A_UNCONFIRMED);
    } else if ((q->look.unproved & 1u) == 0) {
        q->result->finding = PD_SUPPORTED;
    }
}

static void note_figures(const struct question *q, const struct pd_rule_answer *answer,
                         const struct pd_audit *audit)
{
    double *const figure = q->result->figure;
    const struct pd_site *const site = q->site;
    figure[PD_F_DRY_OHM] = electrode_ohm(site);
    figure[PD_F_TOUCH_LIMIT_V] = audit->limits.touch_v;
    figure[PD_F_BAND_LOW_V] = audit->limits.band_low_v;
    figure[PD_F_BAND_HIGH_V] = audit->limits.band_high_v;
    figure[PD_F_TIME_S] = audit->limits.time_s;
    if (answer == NULL)
        return;
    const bool tt = q->earth == PD_EARTH_TT_ALL || q->earth == PD_EARTH_TT_BESIDE;
    if (tt || (q->loads && (q->look.distrusted & PD_REST_LOADS) == 0)) {
        figure[PD_F_MAX_OHM] = answer->reading.electrode_max_ohm;
        const bool doubted_electrode =
            ((q->look.unproved | q->look.distrusted) & PD_REST_TT) != 0 &&
            q->earth == PD_EARTH_ON_PEN && !isnan(site->number[PD_S_ELECTRODE]);
        if (q->loads && !doubted_electrode) /* it would flatter the voltage */
            figure[PD_F_ALONE_V] = answer->alone.own_v;
        figure[PD_F_BALANCE_V] = answer->route[PD_ROUTE_BALANCE - 1].value;
    }
}

/* The same site among the neighbours of the street. An electrode that is doubted flatters nothing
 * there either. */
static enum pd_status look_down_the_street(struct pd_auditor *a, const struct question *q,
                                           const struct pd_case *c)
{
    double *const figure = q->result->figure;
    struct pd_street_answer answer;
    if (a->street == NULL || q->earth != PD_EARTH_ON_PEN || isnan(figure[PD_F_ALONE_V]))
        return PD_OK;
    const enum pd_status status = pd_street_find(a->street, c, &answer);
    if (status != PD_OK)
        return status;
    if (!answer.fits)
        say(q, PD_A_STREET_UNFIT);
    figure[PD_F_STREET_V] = answer.touch_v;
    figure[PD_F_UNSEEN_V] = answer.unseen_v;
    figure[PD_F_NEIGHBOURS] = answer.neighbours;
    if (pd_judge(answer.unseen_v, a->audit->limits.touch_v) == PD_OVER)
        say(q, PD_A_STREET_HAZARD);
    return PD_OK;
}

static enum pd_status decide(struct pd_auditor *a, struct question *q)
{
    struct pd_site_case *site_case = NULL;
    struct pd_rule_answer answer;
    struct pd_load_states states = {.kind = a->kind, .load_a = a->load_a};
    struct pd_audit_result *const result = q->result;
    find_charger(q);
    enum pd_status status = get_case(a, q, &site_case);
    if (status != PD_OK)
        return status;
    note_missing(q);
    const double rcd = rcd_a(q, &a->audit->limits);
    pd_site_case_fill(site_case, q->site, q->loads, electrode_ohm(q->site), rcd);
    const struct pd_case *const c = pd_site_case_get(site_case);
    if (q->loads)
        status = pd_load_states_fill(c, &states);
    if (status != PD_OK)
        return status;
    pd_rule_decide(c, &states, &answer);
    note_figures(q, &answer, a->audit);
    result->figure[PD_F_RCD_MA] = 1000 * rcd;
    if (c->detectors.count > 0) {
        result->figure[PD_F_BLIND_V] = pd_blinds_find(a->blinds, c, q->system);
        if (isnan(q->site->number[PD_S_TOLERANCE]))
            say(q, PD_A_TOLERANCE);
        if (q->site->choice[PD_S_RESET] < 0)
            say(q, PD_A_BY_HAND);
    }
    result->rule_result = answer.result;
    result->detection = answer.reading.detection;
    result->route_known = true;
    for (int i = 0; i < PD_ROUTES; i++) {
        const enum pd_result one = doubted(q, &answer.route[i]);
        result->met |= one == PD_MEETS ? 1u << (i + 1) : 0;
        result->route_known &= one != PD_RESULT_UNKNOWN || nothing_declared(q, &answer.route[i]);
    }
    const int basis = q->site->choice[PD_S_BASIS];
    if (basis == PD_BASIS_NO_PEN)
        find_no_pen(q);
    else if (basis > 0)
        find_route(q, &answer.route[basis - 1]);
    if (result->finding != PD_SUPPORTED && result->met != 0)
        say(q, PD_A_OTHER_ROUTE);
    return look_down_the_street(a, q, c);
}

static struct pd_audit_result nothing(enum pd_finding finding)
{
    struct pd_audit_result result = {
        .finding = finding, .rule_result = PD_RESULT_UNKNOWN, .detection = PD_ANSWER_UNKNOWN};
    for (int i = 0; i < PD_AUDIT_FIGURES; i++)
        result.figure[i] = NAN;
    return result;
}

struct pd_audit_result pd_audit_not_read(void)
{
    struct pd_audit_result result = nothing(PD_NOT_READ);
    pd_reasons_add(&result.reasons, PD_A_ROW_NOT_READ);
    return result;
}

enum pd_status pd_audit_site(struct pd_auditor *a, const struct pd_site *site, unsigned copied,
                             struct pd_audit_result *result)
{
    *result = nothing(PD_INSUFFICIENT_EVIDENCE);
    struct question q = {.site = site, .result = result};
    result->figure[PD_F_READ_OHM] = site->number[PD_S_ELECTRODE];
    result->figure[PD_F_DELAY_S] = site->number[PD_S_DELAY];
    result->figure[PD_F_REACH_M] = site->number[PD_S_REACH];
    result->figure[PD_F_LOOP_OHM] = site->number[PD_S_LOOP];
    result->figure[PD_F_CHARGER_A] = site->number[PD_S_CHARGER];
    result->figure[PD_F_RCD_MA] = site->number[PD_S_RCD];
    q.look = pd_audit_look(a->audit, site, copied, result);
    if (site->choice[PD_S_BASIS] < 0)
        say(&q, PD_A_NO_BASIS);
    note_figures(&q, NULL, a->audit);
    return find_earth(&q) ? decide(a, &q) : PD_OK;
}
