/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/audit.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "detect/region.h"
#include "study/audit_case.h"
#include "study/audit_look.h"
#include "study/rule.h"

/* A device's blind voltage rests on nothing but these. */
struct blind_key {
    double low_v, high_v, limit_v, tolerance_v;
    unsigned senses, system, lines, used;
};
struct blind {
    struct blind_key key;
    double worst_v;
};
enum { BLINDS = 256 };

struct pd_auditor {
    const struct pd_audit *audit;
    struct pd_site_case *site_case[PD_SYSTEMS][PD_PHASES][PD_SITE_EARTHS];
    bool tried[PD_SYSTEMS][PD_PHASES][PD_SITE_EARTHS];
    enum pd_loads kind[PD_LOAD_STATES_MOST];
    double load_a[PD_LOAD_STATES_MOST * (PD_LINES + 1)];
    double complex unit_emf[PD_SYSTEMS][PD_LINES];
    struct blind blind[BLINDS];
};

enum pd_status pd_auditor_new(const struct pd_audit *audit, struct pd_auditor **out)
{
    struct pd_auditor *a = *out = calloc(1, sizeof *a);
    if (a == NULL)
        return PD_ERR_MEMORY;
    a->audit = audit;
    for (int system = 0; system < PD_SYSTEMS; system++) {
        struct pd_network *network;
        const enum pd_status status =
            pd_network_new((enum pd_system)system, audit->limits.nominal_v, &network);
        if (status != PD_OK) {
            pd_auditor_free(out);
            return status;
        }
        memcpy(a->unit_emf[system], network->source.unit_emf, sizeof a->unit_emf[system]);
        pd_network_free(&network);
    }
    return PD_OK;
}

void pd_auditor_free(struct pd_auditor **auditor)
{
    if (*auditor == NULL)
        return;
    for (int i = 0; i < PD_SYSTEMS; i++)
        for (int k = 0; k < PD_PHASES; k++)
            for (int e = 0; e < PD_SITE_EARTHS; e++)
                pd_site_case_free(&(*auditor)->site_case[i][k][e]);
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
    q->result->reasons |= UINT64_C(1) << reason;
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

static size_t place_of(const struct blind_key *key)
{
    uint64_t hash = UINT64_C(14695981039346656037);
    const unsigned char *const byte = (const unsigned char *)key;
    for (size_t i = 0; i < sizeof *key; i++)
        hash = (hash ^ byte[i]) * UINT64_C(1099511628211);
    return hash % BLINDS;
}

/* Neighbours may pull from every line of the street, whatever lines the site has. */
static double blind_voltage(struct pd_auditor *a, const struct pd_case *c, enum pd_system system)
{
    const struct pd_detector *const d = &c->detectors.detector[0];
    const struct pd_limits *const limits = &a->audit->limits;
    struct blind_key key;
    memset(&key, 0, sizeof key); /* its bytes are compared */
    key.low_v = d->low_v;
    key.high_v = d->high_v;
    key.limit_v = d->limit_v;
    key.tolerance_v = d->tolerance_v;
    key.senses = d->senses;
    key.system = system == PD_SINGLE_PHASE ? PD_THREE_PHASE : system;
    key.lines = c->installation_lines;
    key.used = 1;
    struct blind *const blind = &a->blind[place_of(&key)];
    if (memcmp(&blind->key, &key, sizeof key) == 0)
        return blind->worst_v;
    struct pd_reach reach = {.lines = key.system == PD_SPLIT_PHASE ? 3 : 7,
                             .watched = c->installation_lines};
    memcpy(reach.unit_emf, a->unit_emf[key.system], sizeof reach.unit_emf);
    struct pd_region_worst worst;
    const enum pd_region_kind kind =
        pd_region_worst(d, &reach, limits->supply_low_v, limits->supply_high_v, &worst);
    *blind = (struct blind){key, kind == PD_REGION_KNOWN ? worst.worst_v : NAN};
    return blind->worst_v;
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
        [PD_RULE_NO_BAND] = PD_A_NO_BAND,
        [PD_RULE_BAND_WIDE] = PD_A_BAND_WIDE,
        [PD_RULE_THRESHOLD_HIGH] = PD_A_THRESHOLD_HIGH,
        [PD_RULE_NO_DELAY] = PD_A_NO_DELAY,
        [PD_RULE_LEAVES_PE] = PD_A_LEAVES_PE,
        [PD_RULE_IN_TIME] = PD_AUDIT_REASONS,
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
        if (q->loads)
            figure[PD_F_ALONE_V] = answer->alone.own_v;
        figure[PD_F_BALANCE_V] = answer->route[PD_ROUTE_BALANCE - 1].value;
    }
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
        result->figure[PD_F_BLIND_V] = blind_voltage(a, c, q->system);
        if (isnan(q->site->number[PD_S_TOLERANCE]))
            say(q, PD_A_TOLERANCE);
    }
    result->rule_result = answer.result;
    result->detection = answer.reading.detection;
    result->route_known = true;
    for (int i = 0; i < PD_ROUTES; i++) {
        const enum pd_result one = doubted(q, &answer.route[i]);
        result->met |= one == PD_MEETS ? 1u << (i + 1) : 0;
        result->route_known &= one != PD_RESULT_UNKNOWN;
    }
    const int basis = q->site->choice[PD_S_BASIS];
    if (basis == PD_BASIS_NO_PEN)
        find_no_pen(q);
    else if (basis > 0)
        find_route(q, &answer.route[basis - 1]);
    if (result->finding != PD_SUPPORTED && result->met != 0)
        say(q, PD_A_OTHER_ROUTE);
    return PD_OK;
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
    result.reasons = UINT64_C(1) << PD_A_ROW_NOT_READ;
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
