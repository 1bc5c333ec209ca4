/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_ASSESS_H
#define PENDRIFT_STUDY_ASSESS_H

#include "study/along.h"
#include "study/answers.h"
#include "study/case.h"
#include "study/load_states.h"
#include "study/person.h"
#include "study/worst.h"

/* The decision: every PEN break, every load state and supply voltage, held against the limit set;
 * the rule's reading (the installation alone) and the network's, route by route, and the verdict.
 */

/* What has gone wrong. The first three are judged: they make the network's reading. The others are
 * shown beside it, for what they do and what is blind to them. faults.c describes each. */
enum pd_fault_kind {
    PD_HEALTHY,
    PD_OPEN_PEN,
    PD_PEN_JOINT,
    PD_OPEN_NEUTRAL,
    PD_CROSSED,
    PD_LINE_TO_PEN,
    PD_OPEN_EARTHING
};
enum { PD_FAULTS = 7 };
extern const char *const pd_fault_names[PD_FAULTS]; /* "healthy", "open-pen" ... */

/* What it is and what it does, a sentence or two. */
const char *pd_fault_what(enum pd_fault_kind kind);

/* Whether it counts towards the network's reading. */
bool pd_fault_judged(enum pd_fault_kind kind);

/* Where a scenario's loads lie: a share of the way from one load state to another, by their numbers
 * in the pd_load_states that the assessment was made with; PD_NONE where that is not kept. */
struct pd_loads_place {
    size_t from, to;
    double share; /* 0 to 1 */
};

/* One solved situation, seen from the installation under study. A voltage that is not defined is
 * NaN. */
struct pd_scenario {
    enum pd_fault_kind fault;
    size_t section; /* node that the broken section feeds; PD_NONE when healthy */
    enum pd_loads loads;
    struct pd_loads_place place;
    double supply_v;
    double met_v;       /* main earthing terminal to remote earth */
    double complex met; /* the same as a phasor: its place in the plane of neutral displacement */
    double touch_v;     /* charging point's chassis to the ground under the feet (remote earth) */
    double reach_v;     /* charging point's chassis to the metalwork bonded to the main earthing
                           terminal, which on TT is another's; 0 where both are one */
    double line_neutral_v[PD_LINES]; /* at the charging point; NaN for a line not there */
    double electrode_a;              /* through the installation's own electrodes */
    double residual;
    enum pd_standing standing;
    double joint_ohm; /* of a PEN joint, and the heat in it; NaN for another fault */
    double joint_w;
    int line;             /* crossed or touching the PEN; -1 for another fault */
    double prospective_a; /* with the earthing conductor off: the most that the chassis can drive
                             through a person; NaN for another fault */
    int iterations;
    size_t let_go; /* chargers and inverters that have let go */
    bool floating; /* nothing ties the installation's neutral: no potential is defined */
    const struct pd_sight *sight; /* [detectors.count] */
    bool disconnected; /* a device lets go of live conductors and PE within the set's time, and
                          stays open */
    bool recloses;     /* one does, but closes again by itself: not disconnected by it */
    enum pd_judgement touch; /* touch_v against the limit */
};

/* What is left of a scenario once the first device to see it has acted. A voltage not determined is
 * NaN. A device on the charging point's node disconnects the charging point; one on the
 * installation's, where the point has a node of its own, the installation. */
struct pd_after {
    size_t scenario;     /* PD_NONE: there is no such scenario, and nothing below is filled */
    size_t detector;     /* the first to act; PD_NONE: none does, and everything stays as it was */
    double time_s;       /* when it acts */
    bool whole;          /* it disconnects the installation */
    bool loads_off;      /* the network is solved again without the loads that it disconnects; false
                            where the point has no node of its own: then they are taken to stay */
    double chassis_v;    /* to remote earth; 0 where it is let go */
    bool chassis_let_go; /* no longer on the PEN */
    double rest_v;       /* the rest of the installation's metalwork, to remote earth */
    bool rest_on_pen;
    double line_neutral_v[PD_LINES]; /* that the rest of the installation has left */
    bool held_open; /* of a device that closes again by itself: what it senses keeps it open */
};

enum pd_result { PD_MEETS, PD_DOES_NOT_MEET, PD_NOT_APPLICABLE, PD_RESULT_UNKNOWN };
enum { PD_RESULTS = 4 };
extern const char *const pd_result_names[PD_RESULTS];

/* One route held against the rule. NaN where there is no figure. */
struct pd_route {
    enum pd_route_kind kind;
    enum pd_result result;
    double value, limit, margin; /* margin above 0 is to the good */
    const char *unit;            /* "V", "ohm", "s", or "" */
    char why[PD_NOTE_MAX];
    char scenario[96]; /* the situation that decides */
};
/* "three-phase balance" and so on, by enum pd_route_kind (index 0 unused). */
extern const char *const pd_route_names[PD_ROUTES + 1];

enum pd_answer { PD_NOT_NEEDED, PD_NEEDED, PD_SUFFICIENT, PD_INSUFFICIENT, PD_ANSWER_UNKNOWN };
enum { PD_ANSWERS = 5 };
extern const char
    *const pd_answer_names[PD_ANSWERS]; /* "not needed", "present and sufficient" ... */

/* One of the two readings. */
struct pd_reading {
    enum pd_answer electrode;
    double electrode_max_ohm; /* INFINITY: none is needed; NaN: not determined; 0: none would do */
    enum pd_answer detection;
};

/* A charging point on an electrode of its own (route 6). */
struct pd_tt {
    bool applies;   /* the case is on TT; without it nothing below has a figure */
    double fault_a; /* a line to the chassis, supply healthy: the least that flows, at the
                       lowest supply, through R_A, R_B and the line */
    double fault_v; /* and the most that the chassis has until the RCD acts, at the highest
                       supply, the way back to the source taken as 0 ohm */
    enum pd_judgement no_trip; /* PD_WITHIN: fault_a is below the RCD's rating; PD_OVER: it trips */
    size_t worst_reach;        /* scenario of a judged fault with the largest reach_v; PD_NONE */
    size_t worst[PD_FAULTS];   /* the same of each fault */
};

/* How far the metalwork bonded to a PME terminal must be from a charging point that is not on that
 * terminal, and from any vehicle at it, metre: common practice has 2 m and 2.5 m, the stricter is
 * taken, from memory. */
extern const double pd_tt_reach_m;

/* Whether the charging point is on TT beside an installation whose metalwork is on a PEN: what the
 * vehicle's user may reach then drifts. */
bool pd_tt_beside_pme(const struct pd_case *study_case);

enum pd_overall { PD_ACCEPTABLE, PD_RESIDUAL_HAZARD, PD_NOT_ACCEPTABLE, PD_OVERALL_UNKNOWN };
enum { PD_OVERALLS = 4 };
extern const char *const pd_overall_names[PD_OVERALLS];

struct pd_assessment {
    const struct pd_case *study_case;
    enum pd_overall overall;
    struct pd_notes because; /* the news first */
    struct pd_reading rule, network;
    enum pd_result rule_result; /* any route met, none, or not known */
    double residual_v; /* largest touch voltage over the limit that nothing disconnects; on TT also
                          between the chassis and PME metalwork in reach; 0 none, NaN not determined
                        */
    struct pd_route route[PD_ROUTES];
    double divider_ohm, annex_ohm; /* the two published forms for the most loaded line; NaN unless
                                      the installation is single-phase */
    struct pd_scenario *scenario;  /* healthy first, then by section, loads, supply;
                                      what was searched for in the ranges comes last */
    size_t scenario_count;
    size_t break_count;  /* sections opened */
    size_t worst;        /* scenario with the largest touch voltage; PD_NONE where none is solved */
    size_t worst_unseen; /* over the limit and not disconnected; PD_NONE */
    size_t worst_seen;   /* over the limit and disconnected in time; PD_NONE */
    struct pd_after after_seen, after_unseen; /* of worst_seen and worst_unseen */
    size_t judged;   /* scenarios of faults that are judged; the figures below are of these */
    size_t unsolved; /* scenarios not solved (not counting floating ones covered by others) */
    size_t over;     /* scenarios over the limit */
    size_t unseen;   /* of these, not disconnected in time */
    size_t reclosed; /* of these, let go in time by a device that closes again by itself */
    bool ranged;     /* a load has a declared range: then the verdict rests on `certified` */
    struct pd_worst certified; /* healthy first, then each break; count 0: nothing to certify (no
                                  range, or a chassis that no PEN moves), or open PENs not run */
    bool proved;               /* nothing to certify, or every break is: pd_break_proved */
    struct pd_answer_to answer[PD_ASKS];
    unsigned faults;         /* those that were run */
    size_t shown[PD_FAULTS]; /* worst scenario of each fault; PD_NONE */
    size_t hottest;          /* scenario of the joint that heats most; PD_NONE */
    struct pd_sight *sight;  /* all scenarios' */
    double alone_v; /* the main earthing terminal of the installation alone with its own electrodes
                       and the PEN open, at the worst; NaN where it has no figure */
    struct pd_tt tt;
    struct pd_person person; /* no verdict rests on it */
    struct pd_along along;   /* nor on this */
};

/* Whether a break is proved: the bound is within the limit, or every voltage above it is proved to
 * be seen and disconnected in time. */
bool pd_break_proved(const struct pd_worst_break *brk, double limit_v);

/* The break whose bound on what no device sees is the largest; PD_NONE where all is seen or within
 * the limit, or nothing was certified. */
size_t pd_worst_unseen_bound(const struct pd_assessment *assessment);

/* Called now and then with the share done, 0 to 1. Return false to interrupt. */
typedef bool pd_progress_function(double share, void *context);

/* What to assess. */
struct pd_assess_settings {
    unsigned faults; /* bit 1u << enum pd_fault_kind; 0: all */
};

/* Assesses a case, which must outlive *out. `settings` NULL: all faults. Without one of the faults
 * that are judged, nothing is acceptable: not determined. `progress` may be NULL. A case with
 * something missing, or a scenario not solved, is a good call whose verdict is "not determined".
 * PD_OK, PD_ERR_MEMORY, PD_ERR_INTERRUPTED. The caller frees *out. */
enum pd_status pd_assess(const struct pd_case *study_case,
                         const struct pd_assess_settings *settings, pd_progress_function *progress,
                         void *context, struct pd_assessment **out);

/* Whether a voltage is above another by more than rounding, a nanovolt: of equal scenarios the
 * first is chosen, whatever the compiler. False for NaN. */
bool pd_exceeds(double value_v, double than_v);

void pd_assessment_free(struct pd_assessment **assessment);

#endif
