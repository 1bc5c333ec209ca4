/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_REPLAY_WORK_H
#define PENDRIFT_STUDY_REPLAY_WORK_H

#include "solve/batch.h"
#include "study/replay.h"
#include "study/run.h"

/* A replay while it runs. The room's own. */

enum { PD_REPLAY_ROWS = 512, PD_REPLAY_SUPPLIES_MOST = 3, PD_REPLAY_SEATS = 16 };

/* Where the touch voltage is taken: the first probes of the batch, in the same order. */
struct pd_replay_at {
    size_t node;   /* as the user knows it */
    double factor; /* 1; 0 where the protective conductor is on an electrode of its own */
};

/* The moments that are solved together. */
struct pd_replay_rows {
    size_t room, count;
    double *load_a;                            /* [room][load_count] */
    double *supply_v[PD_REPLAY_SUPPLIES_MOST]; /* [room] all alike */
    int64_t *at_ms, *last_ms;                  /* [room] when, and how long */
    char (*time)[PD_TIME_MAX + 1];
    bool *known;
    size_t *slot; /* where the moment is kept, PD_NONE */
};

/* What a moment and a column come to. */
struct pd_replay_look {
    double touch_v, supply_v; /* largest over the supply voltages; NaN: none is determined */
    size_t node;
    enum pd_judgement touch; /* over at any; unknown where not, and some are not determined */
    bool floating, declared_over;
    double unseen_v, unseen_supply_v; /* over and not disconnected; 0: not */
};

/* The highest of a kind, and where it was: a row of this batch, or one that is kept. */
struct pd_replay_mark {
    int64_t uv; /* below 0: none yet */
    size_t row;
};
struct pd_replay_kept {
    int64_t uv; /* below 0: none yet */
    double v, supply_v;
    size_t slot, column, node; /* slot PD_NONE: there was no room to keep the moment */
};
enum pd_replay_kind { PD_REPLAY_TOUCH, PD_REPLAY_UNSEEN, PD_REPLAY_KINDS };

struct pd_replay_column {
    size_t cut;      /* the first of those that share it */
    unsigned shared; /* how many do */
    int64_t over_ms, unseen_ms, unknown_ms, floating_ms, declared_ms;
    int64_t level_ms[PD_REPLAY_LEVELS]; /* [i]: above (i - 1) and up to i levels */
    struct pd_replay_mark mark[PD_REPLAY_KINDS];
    struct pd_replay_kept kept[PD_REPLAY_KINDS];
};

/* What a share of the columns comes to, for each row. Voltages are compared in whole microvolts, so
 * that neither the number of shares nor a last digit decides which of equals is named. */
struct pd_replay_tally {
    int64_t uv[PD_REPLAY_KINDS]; /* below 0: none */
    size_t column[PD_REPLAY_KINDS];
    unsigned over, unseen, unknown, declared;
};

/* Who works on a share of the columns: with a solution of its own, into which voltages of the batch
 * are put, so that what is read from it is read as everywhere else. */
struct pd_replay_seat {
    struct pd_run run;
    struct pd_view *view;          /* [detectors.count] */
    struct pd_replay_tally *tally; /* [rows.room] */
};

/* A moment kept, because a list or a column points to it. */
struct pd_replay_slot {
    size_t refs, moment;
    char time[PD_TIME_MAX + 1];
    double *load_a; /* [load_count] */
};

/* The highest of a kind among all moments, the highest first. */
struct pd_replay_list {
    struct pd_replay_kept *kept; /* [room] */
    size_t count, room;
};

struct pd_replay_work {
    const struct pd_case *study_case;
    const struct pd_replay_settings *settings;
    struct pd_replay *replay;
    struct pd_load_states no_states;
    struct pd_run run; /* the plain engine */
    struct pd_fault_list cuts;
    struct pd_batch *batch;
    struct pd_probe *probe;
    size_t probe_count;
    struct pd_replay_at *at; /* [at_count] */
    size_t at_count;
    double judged_v[PD_REPLAY_SUPPLIES_MOST]; /* supply voltages, the declared first if it is one */
    size_t judged_count;
    size_t solved_count; /* of these: 1 where voltages are in proportion */
    double top_v;        /* the highest */
    struct pd_batch_output output[PD_REPLAY_SUPPLIES_MOST];
    struct pd_replay_rows rows;
    struct pd_replay_column *column; /* [column_count] */
    size_t column_count;
    struct pd_replay_seat seat[PD_REPLAY_SEATS];
    size_t seat_count;
    struct pd_replay_slot *slot;
    size_t slot_count, slot_bytes;
    struct pd_replay_list list[PD_REPLAY_KINDS];
    int64_t step_ms, before_ms; /* the record's step; how long the moment before lasted */
    int64_t all_ms, over_ms, unseen_ms, unknown_ms, incomplete_ms, declared_ms, gap_ms;
    int64_t curve_ms[PD_REPLAY_KINDS][PD_REPLAY_CURVE + 1];
    size_t bytes;
};

/* What row `row` comes to in a column. */
void pd_replay_look(const struct pd_replay_work *work, struct pd_replay_seat *seat, size_t row,
                    size_t column, struct pd_replay_look *look);

/* Adds the rows that have been solved to the columns' and the seat's sums. */
void pd_replay_tally_columns(struct pd_replay_work *work, struct pd_replay_seat *seat, size_t first,
                             size_t end);

/* Takes the rows' sums of all seats together, moment by moment. PD_OK, PD_ERR_MEMORY, or what a
 * function of the settings returned. */
enum pd_status pd_replay_take_rows(struct pd_replay_work *work);

/* Keeps what is the highest so far of each column; offers a moment to a list. PD_OK or
 * PD_ERR_MEMORY. */
enum pd_status pd_replay_keep_columns(struct pd_replay_work *work);
enum pd_status pd_replay_offer(struct pd_replay_work *work, enum pd_replay_kind kind, size_t row,
                               int64_t uv, size_t column);
void pd_replay_slots_free(struct pd_replay_work *work);

/* The results: sums, curves, and the peaks solved again. PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_replay_sum_up(struct pd_replay_work *work);
enum pd_status pd_replay_check(struct pd_replay_work *work);

/* What was taken where the record and the tables are silent. PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_replay_assume(const struct pd_replay_work *work,
                                const struct pd_profile_load *load);

#endif
