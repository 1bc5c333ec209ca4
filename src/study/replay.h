/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_REPLAY_H
#define PENDRIFT_STUDY_REPLAY_H

#include "solve/batch.h"
#include "study/assess.h"
#include "study/profile.h"

/* A recorded or forecast load series: if the PEN opened now, at every section, moment by moment.
 *
 * Loads are taken as the record has them: a measured series is what load management and diversity
 * have left, so neither demand_limit nor neighbour_demand is applied to it. Loads without a column
 * stay at their present value.
 *
 * Each moment lasts until the next, at most the record's step; what is longer is a gap, counted and
 * not filled. The last moment lasts as long as the one before it.
 *
 * All moments are solved by the batch engine. The worst, and the worst of each section, are solved
 * again by the tree engine, which measures Kirchhoff's residual; memory does not grow with the
 * record. Results are the same whatever the number of threads. */

/* At which supply voltage a moment is judged.
 *
 * Over the range: the declared voltage, both ends of the set's range, and, where every load is an
 * impedance (all voltages are then in proportion) those between at which a device is just blind. A
 * moment is over the limit where it is at any of them, and not disconnected where nothing
 * disconnects it at any at which it is over. */
enum pd_replay_supply { PD_REPLAY_RANGE, PD_REPLAY_DECLARED, PD_REPLAY_TOP };
enum { PD_REPLAY_SUPPLIES = 3 };
extern const char *const pd_replay_supply_names[PD_REPLAY_SUPPLIES]; /* range, declared, top */

/* Where the touch voltage is taken. */
enum pd_replay_place {
    PD_REPLAY_POINT, /* the charging point's chassis: what devices disconnect counts */
    PD_REPLAY_NODE,  /* the protective conductor at one node */
    PD_REPLAY_ALL    /* the worst of the protective conductors where loads are */
};

/* One moment, over all sections; and one moment and section. Lent. A voltage not known is NaN. */
struct pd_replay_moment {
    const char *time;
    double hours;
    double touch_v;  /* largest of the sections that are determined */
    size_t section;  /* where; PD_NONE where none is */
    double unseen_v; /* largest over the limit that nothing disconnects; 0 none, NaN not known, or
                        not told at this place */
    size_t unseen_section;
    size_t over, unseen, unknown; /* sections: over the limit, of these not disconnected, not
                                     determined */
};
struct pd_replay_answer {
    const char *time;
    size_t section;
    double touch_v;
    enum pd_judgement touch;
    double unseen_v; /* over the limit and not disconnected; 0: not; NaN as above */
};
/* PD_OK to go on. */
typedef enum pd_status pd_replay_moment_function(const struct pd_replay_moment *moment,
                                                 void *context);
typedef enum pd_status pd_replay_answer_function(const struct pd_replay_answer *answer,
                                                 void *context);

/* Called now and then. False to stop. */
typedef bool pd_replay_progress(size_t moments, size_t bytes, void *context);

struct pd_replay_settings {
    const char *profile;      /* file, "-" for standard input */
    const char *profile_name; /* for messages */
    size_t section;           /* the node it feeds; PD_NONE: every section with a PEN */
    enum pd_replay_place place;
    size_t node; /* PD_REPLAY_NODE */
    enum pd_replay_supply supply;
    size_t worst;                      /* how many of the worst moments to keep */
    size_t threads;                    /* as in struct pd_batch_settings */
    enum pd_width width;               /* as there */
    pd_replay_moment_function *moment; /* in order; NULL: none */
    pd_replay_answer_function *answer; /* each section of a moment before the moment; NULL: none */
    void *context;
    pd_replay_progress *progress; /* NULL: none */
    void *progress_context;
};

/* A moment with the PEN open in a section, solved again. */
struct pd_replay_peak {
    bool there; /* there is such a moment */
    char time[PD_TIME_MAX + 1];
    size_t moment; /* from 0 */
    size_t section;
    double touch_v, supply_v;
    size_t node;                 /* whose protective conductor it is */
    struct pd_scenario scenario; /* by the tree engine, at that supply voltage */
    bool checked;                /* the tree engine gives the same: else not determined */
};

/* The most of one section, and of the record. Hours add up to those of the record: within the
 * limit, over it, not determined. */
enum { PD_REPLAY_LEVELS = 52, PD_REPLAY_LEVEL_V = 10 };
struct pd_replay_section {
    size_t section;
    double over_h, unseen_h;
    double unknown_h, floating_h; /* not determined; of these: nothing ties the neutral */
    double declared_over_h;       /* over at the declared supply voltage; NaN: not looked at */
    struct pd_replay_peak touch, unseen;
    const double *over_level_h; /* [PD_REPLAY_LEVELS] hours over level i * PD_REPLAY_LEVEL_V */
};

/* The duration curve of each moment's worst section: hours over i volts. */
enum { PD_REPLAY_CURVE = 512 };

struct pd_replay {
    const struct pd_case *study_case;
    struct pd_replay_settings settings;
    size_t moments, unknown_moments; /* unknown: a cell is empty */
    char first[PD_TIME_MAX + 1], last[PD_TIME_MAX + 1];
    const char *time_unit; /* " h", " min", " s" behind times that are plain numbers; else "" */
    double hours, step_h;
    size_t gaps;
    double gap_h;
    double supply_v[3]; /* [supply_count] supply voltages judged */
    size_t supply_count;
    bool linear;
    bool watched;            /* what devices disconnect is told: at the charging point */
    double over_h, unseen_h; /* in some section */
    double unknown_h;        /* over in none, and not determined in some */
    double incomplete_h;     /* not determined in some, over in another or not */
    double declared_over_h;
    double over_curve_h[PD_REPLAY_CURVE];   /* some section over i volts */
    double unseen_curve_h[PD_REPLAY_CURVE]; /* the same, over the limit and not disconnected */
    struct pd_replay_section *section;      /* [section_count] in the order of the case */
    size_t section_count;
    struct pd_replay_peak *worst; /* [worst_count] the highest touch voltage first */
    size_t worst_count;
    struct pd_replay_peak *worst_unseen; /* [worst_unseen_count] */
    size_t worst_unseen_count;
    size_t unchecked;        /* peaks that the tree engine does not bear out */
    double largest_residual; /* of the peaks */
    double largest_apart_v;  /* between the engines, up to whole nanovolts */
    struct pd_notes assumptions;
    struct pd_sight *sight; /* what the others point to */
    double *level_h;
};

/* Replays a profile over a case without anything missing, which must outlive *out. The caller frees
 * *out. PD_OK; PD_ERR_INPUT or PD_ERR_FILE with lines in `errors`; PD_ERR_ARGUMENT (a node or
 * section that is not there, a case with something missing); PD_ERR_MEMORY, PD_ERR_INTERRUPTED, or
 * what a function of the settings returned. */
enum pd_status pd_replay(const struct pd_case *study_case,
                         const struct pd_replay_settings *settings, struct pd_replay **out,
                         struct pd_errors *errors);
void pd_replay_free(struct pd_replay **replay);

#endif
