/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_RULE_H
#define PENDRIFT_STUDY_RULE_H

#include "study/assess.h"

/* The rule's reading: what the limit set's method asks of the installation alone, on a stiff source
 * at the top of the supply range. Deciding is apart from saying: pd_rule_decide fills a struct of
 * numbers and reasons without memory of its own, for one site of a case or one of a million of an
 * audit; the sentences are made from it. The room's own. */

/* Why a route stands as it does. */
enum pd_rule_reason {
    PD_RULE_NO_PEN,     /* none between the installation and the substation */
    PD_RULE_NOT_LISTED, /* by the limit set */
    PD_RULE_NOT_ON_PME, /* the charging point is on TT */
    PD_RULE_ON_PME,     /* and for TT it is not to be */
    PD_RULE_NOT_THREE_PHASE,
    PD_RULE_ONLY_POINT, /* the installation supplies nothing but the charging point */
    PD_RULE_NOTHING_TIES,
    PD_RULE_BALANCED,
    PD_RULE_UNBALANCED,
    PD_RULE_NONE_NEEDED,
    PD_RULE_NO_ELECTRODE,
    PD_RULE_ANY_ELECTRODE, /* would do with these loads */
    PD_RULE_ELECTRODE,     /* value against limit */
    PD_RULE_NO_DEVICE,
    PD_RULE_NOT_SINGLE_PHASE,
    PD_RULE_NO_THRESHOLDS, /* declared */
    PD_RULE_NO_INPUT,      /* its own or its reference electrode's resistance declared */
    PD_RULE_NO_BAND,       /* in the limit set */
    PD_RULE_BAND_WIDE,
    PD_RULE_THRESHOLD_HIGH,
    PD_RULE_NEVER_ACTS, /* its reference electrode goes where PE goes */
    PD_RULE_NO_DELAY,   /* or what is disconnected, declared */
    PD_RULE_LEAVES_PE,
    PD_RULE_CLOSES_ITSELF,
    PD_RULE_IN_TIME,
    PD_RULE_TOO_LATE,
    PD_RULE_EVIDENCE, /* of another kind is asked for */
    PD_RULE_TT_NO_ELECTRODE,
    PD_RULE_TT_NO_RCD,
    PD_RULE_TT, /* R_A against its limit */
    PD_RULE_REACH_UNKNOWN,
    PD_RULE_REACH_NEAR
};
enum { PD_RULE_REASONS = PD_RULE_REACH_NEAR + 1 };

/* What the installation's own loads make of an open PEN, the worst over the load states. */
struct pd_alone {
    double supply_v;
    double own_v;          /* with the electrodes that are there; NaN where it has no figure */
    double displacement_v; /* without an electrode; NaN where no state ties the neutral */
    enum pd_loads displacement_loads;
    double electrode_max_ohm;
    enum pd_loads electrode_loads;
    double divider_ohm,
        annex_ohm; /* the published forms, for a single-phase installation; else NaN */
};

struct pd_route_answer {
    enum pd_route_kind kind;
    enum pd_result result;
    enum pd_rule_reason reason;
    double value, limit, margin; /* NaN where there is none */
    const char *unit;
    bool by_loads; /* a load state decides: `loads` */
    enum pd_loads loads;
    const struct pd_detector *detector; /* the one that counts; NULL */
};

struct pd_rule_answer {
    bool applies; /* false: no PEN, nothing below is asked for */
    struct pd_route_answer route[PD_ROUTES];
    enum pd_result result; /* any route met, none, or not known */
    struct pd_reading reading;
    struct pd_alone alone;
};

/* Decides. No allocation, nothing that can fail. Without a load state (states->count 0) all that
 * rests on loads is not known. */
void pd_rule_decide(const struct pd_case *study_case, const struct pd_load_states *states,
                    struct pd_rule_answer *answer);

/* Fills the assessment's routes, rule_result, rule, alone_v, divider_ohm and annex_ohm, sentences
 * too, from pd_rule_decide. PD_OK. */
enum pd_status pd_rule_read(const struct pd_case *study_case, const struct pd_load_states *states,
                            struct pd_assessment *assessment);

/* Whether the set's rule for a PME terminal applies: the charging point's earth is a PEN's, here or
 * further up the supply. */
bool pd_rule_applies(const struct pd_case *study_case);

/* Rounded down to what is worth saying (2 decimals below 10, 1 below 100, none above): a resistance
 * not to be passed must not be rounded up. */
double pd_round_down(double ohm);

#endif
