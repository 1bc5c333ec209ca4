/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_AFTERMATH_H
#define PENDRIFT_STUDY_AFTERMATH_H

#include "study/assess.h"

/* The seconds after the break: what lets go, comes back and disconnects, in order of time, and the
 * voltages in between.
 *
 * 1. Quasi-static: between two events every voltage stands still, solved by the tree engine with
 *    every charger and inverter on that has not let go by its own clock. No transient is in it.
 * 2. Clocks: each threshold of a charger or inverter (network/window_time.h) runs while the voltage
 *    across it is past it and starts afresh when it is not; let go, it waits within its window to
 *    come back. A detector's delay runs while it sees; open, one that resets by itself waits for
 *    its reset time, and longer where what it senses keeps it open. What is due at the same instant
 *    acts together.
 * 3. What contacts disconnect is without voltage: chargers and inverters behind them have let go,
 *    and wait afresh once it is back.
 * 4. A device acts only where every one within its tolerance would; where only some would, it is
 *    taken as not acting, and the interval says so.
 * 5. It ends where nothing more is due, at the horizon, where everything repeats, at the bound, or
 *    where an interval has no answer: then nothing is determined from there on. */

enum pd_event_kind {
    PD_EVENT_BREAK,
    PD_EVENT_LETS_GO,     /* a charger or inverter */
    PD_EVENT_COMES_BACK,  /* it */
    PD_EVENT_DISCONNECTS, /* a detector */
    PD_EVENT_RECLOSES     /* it */
};
enum { PD_EVENTS = 5 };
extern const char *const pd_event_names[PD_EVENTS]; /* "break", "lets go" ... */

struct pd_event {
    enum pd_event_kind kind;
    double time_s;    /* since the break */
    size_t interval;  /* the one that it begins */
    size_t load;      /* PD_NONE where it is none's */
    size_t detector;  /* PD_NONE where it is none's */
    char stage[32];   /* the threshold that let it go, "" for another kind */
    double figure;    /* what it had: V across an element, or what a detector senses; NaN */
    double threshold; /* the threshold that this was past; NaN for another kind, or a detector */
    double waited_s;
};

/* What a voltage is in an interval: all rms, to remote earth or line to neutral. NaN where not
 * determined, or where there is no such line. */
struct pd_interval {
    double start_s, end_s; /* end_s: the next event, or the horizon where nothing more is due */
    enum pd_standing standing;
    double residual;
    bool known; /* solved, and no voltage that something hangs on is without a value */
    double chassis_v;
    bool chassis_on_pe; /* false: disconnected from the protective conductor, and so at 0 V */
    double metalwork_v; /* of the rest of the installation */
    bool metalwork_on_pe;
    double reach_v;                  /* chassis to metalwork */
    double line_neutral_v[PD_LINES]; /* at the installation; NaN where disconnected */
    double *house_v; /* [house_count][PD_LINES] line to neutral of each house, see below */
    size_t over_count, far_count, under_count; /* neighbours' lines over over_v and far_v, under
                                                  under_v */
    double highest_v, lowest_v; /* of the neighbours' lines; NaN where there are none */
    size_t highest, lowest;     /* houses, PD_NONE */
    enum pd_judgement touch;    /* chassis_v against the limit */
    double exposed_s; /* how long the person's voltage has been there since the break, in all, to
                     the end of the interval */
    struct pd_body_current current; /* through a person at the chassis, see `across` */
    struct pd_zone zone;            /* of that current for exposed_s */
    size_t doubtful;                /* a detector that may or may not act here; PD_NONE */
};

enum pd_ending {
    PD_ENDING_SETTLED,    /* nothing more is due: it stays so */
    PD_ENDING_HORIZON,    /* something is still due behind the horizon */
    PD_ENDING_OSCILLATES, /* the same comes again and again */
    PD_ENDING_BOUND,      /* too many events */
    PD_ENDING_UNKNOWN     /* not determined from the last interval on */
};
enum { PD_ENDINGS = 5 };
extern const char *const pd_ending_names[PD_ENDINGS];

/* A node with loads from line to neutral; the installation under study is one. */
struct pd_house {
    size_t node;
    unsigned lines; /* that its loads use */
    bool own;
};

struct pd_aftermath {
    const struct pd_case *study_case;
    bool determined; /* false: something is missing, or no such break has an answer to begin with;
                        `why` says it, and there is no interval */
    size_t section;  /* node that the broken section feeds; PD_NONE */
    enum pd_loads loads;
    double supply_v;
    double assessed_v; /* the chassis by the assessment, which has no clock: after all let go */
    size_t unsolved;   /* scenarios among those chosen from that the assessment could not solve */
    double horizon_s;
    bool across; /* TT: the person holds the chassis in one hand, the rest of the metalwork in the
                    other; else the chassis in both, feet on the ground */
    double over_v, far_v, under_v; /* what the houses' voltages are counted against */
    struct pd_house *house;
    size_t house_count;
    struct pd_event *event;
    size_t event_count;
    struct pd_interval *interval;
    size_t interval_count;
    enum pd_ending ending;
    char why[PD_NOTE_MAX];           /* of the ending, where it is unknown */
    double repeats_from_s, period_s; /* of one that oscillates; NaN */
    double over_s;      /* how long the chassis was over the limit, in all; NaN: not determined */
    double last_over_s; /* when it was last so; 0 never; NaN: still is, or not determined */
    size_t held; /* a detector that closes again by itself as soon as what it senses at the end, and
                    keeps it open, is back; PD_NONE */
    struct pd_notes assumptions; /* besides the case's */
    char body_source[200], curve_source[200];
};

/* What to follow. */
struct pd_aftermath_settings {
    size_t section;      /* node that it feeds; PD_NONE: the worst */
    enum pd_loads loads; /* PD_LOADS_CORNER: the worst of all */
    double horizon_s;    /* > 0 */
    size_t events_max;   /* instants at which something happens, after the break; >= 1 */
};
enum { PD_HORIZON_S = 300, PD_EVENTS_MAX = 200 };

/* The worst break, at the worst loads, for PD_HORIZON_S and at most PD_EVENTS_MAX events. */
struct pd_aftermath_settings pd_aftermath_defaults(void);

/* Follows an open PEN of a case, which must outlive *out. The scenario is the worst that pd_assess
 * finds of those asked for. PD_OK (also where nothing is determined), PD_ERR_ARGUMENT (a section
 * that has no PEN, a horizon not above 0), PD_ERR_MEMORY, PD_ERR_INTERRUPTED. The caller frees
 * *out. */
enum pd_status pd_aftermath(const struct pd_case *study_case,
                            const struct pd_aftermath_settings *settings,
                            pd_progress_function *progress, void *context,
                            struct pd_aftermath **out);
void pd_aftermath_free(struct pd_aftermath **aftermath);

#endif
