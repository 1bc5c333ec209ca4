/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_ASSESS_H
#define PENDRIFT_STUDY_ASSESS_H

#include "study/case.h"
#include "study/load_states.h"

/* The decision: every PEN break, every load state and supply voltage, held against the limit set;
 * the rule's reading (the installation alone) and the network's, route by route, and the verdict.
 */

enum pd_fault_kind { PD_HEALTHY, PD_OPEN_PEN };
enum { PD_FAULTS = 2 };
extern const char *const pd_fault_names[PD_FAULTS]; /* "healthy", "open-pen" */

/* One solved situation, seen from the installation under study. A voltage that is not defined is
 * NaN. */
struct pd_scenario {
    enum pd_fault_kind fault;
    size_t section; /* node that the broken section feeds; PD_NONE when healthy */
    enum pd_loads loads;
    double supply_v;
    double met_v;   /* main earthing terminal to remote earth */
    double touch_v; /* charging point's chassis to the ground under the feet (remote earth) */
    double line_neutral_v[PD_LINES]; /* at the charging point; NaN for a line not there */
    double electrode_a;              /* through the installation's own electrodes */
    double residual;
    enum pd_standing standing;
    bool floating; /* nothing ties the installation's neutral: no potential is defined */
    const struct pd_sight *sight; /* [detectors.count] */
    bool disconnected;       /* a device lets go of live conductors and PE within the set's time */
    enum pd_judgement touch; /* touch_v against the limit */
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

enum pd_overall { PD_ACCEPTABLE, PD_RESIDUAL_HAZARD, PD_NOT_ACCEPTABLE, PD_OVERALL_UNKNOWN };
enum { PD_OVERALLS = 4 };
extern const char *const pd_overall_names[PD_OVERALLS];

struct pd_assessment {
    const struct pd_case *study_case;
    enum pd_overall overall;
    struct pd_notes because; /* the news first */
    struct pd_reading rule, network;
    enum pd_result rule_result; /* any route met, none, or not known */
    double residual_v; /* largest touch voltage over the limit that nothing disconnects; 0 none, NaN
                          not determined */
    struct pd_route route[PD_ROUTES];
    double divider_ohm, annex_ohm; /* the two published forms for the most loaded line; NaN unless
                                      the installation is single-phase */
    struct pd_scenario *scenario;  /* healthy first, then by section, loads, supply;
                                      what was searched for in the ranges comes last */
    size_t scenario_count;
    size_t break_count;  /* sections opened */
    size_t worst;        /* scenario with the largest touch voltage; PD_NONE where none is solved */
    size_t worst_unseen; /* over the limit and not disconnected; PD_NONE */
    size_t unsolved;     /* scenarios not solved (not counting floating ones covered by others) */
    size_t over;         /* scenarios over the limit */
    size_t unseen;       /* of these, not disconnected in time */
    struct pd_sight *sight; /* all scenarios' */
};

/* Called now and then with the share done, 0 to 1. Return false to interrupt. */
typedef bool pd_progress_function(double share, void *context);

/* Assesses a case, which must outlive *out. `progress` may be NULL. A case with something missing,
 * or a scenario not solved, is a good call whose verdict is "not determined". PD_OK, PD_ERR_MEMORY,
 * PD_ERR_INTERRUPTED. The caller frees *out. */
enum pd_status pd_assess(const struct pd_case *study_case, pd_progress_function *progress,
                         void *context, struct pd_assessment **out);

/* Whether a voltage is above another by more than rounding, a nanovolt: of equal scenarios the
 * first is chosen, whatever the compiler. False for NaN. */
bool pd_exceeds(double value_v, double than_v);

void pd_assessment_free(struct pd_assessment **assessment);

#endif
