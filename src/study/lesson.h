/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_LESSON_H
#define PENDRIFT_STUDY_LESSON_H

#include "study/assess.h"

/* A case as a table to teach with: what becomes of it at every combination of a few stops of load,
 * electrode, supply and break. Each is solved by the tree engine and read as pd_assess reads a
 * scenario; nothing is interpolated. */

enum pd_lesson_kind {
    PD_LESSON_LINE,      /* the loads from one line to neutral, of the whole network */
    PD_LESSON_BETWEEN,   /* those on several lines */
    PD_LESSON_ELECTRODE, /* the installation's, on its main earthing terminal */
    PD_LESSON_SUPPLY,
    PD_LESSON_BREAK
};
enum {
    PD_LESSON_AXES = 7,
    PD_LESSON_STOPS = 16,
    PD_LESSON_BREAKS = 12, /* the healthy supply among them */
    PD_LESSON_SIGHTS = 6,  /* detectors that are looked at */
    PD_LESSON_MOST = 24000 /* answers */
};

/* What may be set, and at which stops. */
struct pd_lesson_axis {
    enum pd_lesson_kind kind;
    int line; /* of PD_LESSON_LINE */
    size_t count;
    size_t declared; /* the stop that is the case as it is declared; of a break the one that the
                        lesson begins with */
    size_t stride;   /* of an answer's index */
    /* Loads: 0 to 1 the share of what is declared as present, 1 to 2 from there to the highest
     * declared. Electrode: ohm, dry season, INFINITY none; at `declared` the case's own electrodes,
     * elsewhere one that stands far from all others in their place. Supply: V. */
    double value[PD_LESSON_STOPS];
    size_t section[PD_LESSON_STOPS]; /* of a break; PD_NONE: healthy */
};

/* One combination. A voltage or current that is not determined is NaN. */
struct pd_lesson_answer {
    double complex met; /* main earthing terminal, to remote earth */
    double met_v, touch_v, electrode_a;
    double line_neutral_v[PD_LINES]; /* at the charging point */
    enum pd_standing standing;
    bool floating;
    enum pd_judgement touch; /* touch_v against the limit */
    bool sees[PD_LESSON_SIGHTS], in_time[PD_LESSON_SIGHTS], unknown[PD_LESSON_SIGHTS];
};

/* States to begin with and to step through. */
enum pd_lesson_preset_kind {
    PD_PRESET_HEALTHY,  /* as declared, the PEN whole; where there is a PEN on the way */
    PD_PRESET_DECLARED, /* as declared, the PEN open; there whenever there are answers */
    PD_PRESET_BALANCED, /* no electrode, every line loaded, the neutral nearest to earth */
    PD_PRESET_ONE_LINE, /* one line as declared, the worst for it, the others off. These two with
                           the PEN open where loads of two lines at least are beyond the break */
    PD_PRESET_UNSEEN,   /* the highest chassis voltage over the limit that no device disconnects in
                           time, electrode as declared, no load below its least; of a case with
                           devices */
    PD_PRESET_ELECTRODE /* as declared, with the highest electrode stop that keeps to the limit; the
                           lowest where none does */
};
enum { PD_PRESETS = 6 };
struct pd_lesson_preset {
    enum pd_lesson_preset_kind kind;
    size_t at[PD_LESSON_AXES];
};

struct pd_lesson {
    const struct pd_case *study_case;
    struct pd_lesson_axis axis[PD_LESSON_AXES];
    size_t axis_count;
    size_t path_count; /* sections with a PEN between source and installation: those that are no
                          stop were left out, because there are very many */
    struct pd_lesson_answer *answer; /* [count] */
    size_t count;                    /* 0: something must be known first; pd_case.missing */
    size_t unsolved;
    struct pd_lesson_preset preset[PD_PRESETS];
    size_t preset_count;
};

/* Tabulates a case, which must outlive *out. `section`: the break to begin with; where it is not on
 * the way from the source to the installation, or PD_NONE, the one nearest to the installation.
 *
 * 1. Loads are set in all of the network, not only beyond the break; load management then acts on
 *    them, the neighbours' demand after diversity does not: each takes what is set.
 * 2. There are as many stops as PD_LESSON_MOST has room for, fewer of loads that are not linear.
 * 3. The supply stops are the declared voltage and the highest of the limit set's range.
 *
 * PD_OK, PD_ERR_MEMORY, PD_ERR_INTERRUPTED. The caller frees *out. */
enum pd_status pd_lesson_new(const struct pd_case *study_case, size_t section,
                             pd_progress_function *progress, void *context, struct pd_lesson **out);
void pd_lesson_free(struct pd_lesson **lesson);

/* The answer where axis i is at stop at[i]. */
const struct pd_lesson_answer *pd_lesson_at(const struct pd_lesson *lesson,
                                            const size_t at[PD_LESSON_AXES]);

/* The axis of a kind (of PD_LESSON_LINE the first); PD_NONE where there is none. */
size_t pd_lesson_find(const struct pd_lesson *lesson, enum pd_lesson_kind kind);

/* Whether an axis sets a load; and to what, ampere at nominal voltage, at a stop. */
bool pd_lesson_sets(const struct pd_lesson_axis *axis, const struct pd_load *load);
double pd_lesson_load_a(const struct pd_lesson_axis *axis, size_t stop, const struct pd_load *load);

/* Whether a stop leaves a load less than what is declared as its least. */
bool pd_lesson_below(const struct pd_lesson *lesson, const struct pd_lesson_axis *axis,
                     size_t stop);

/* The preset of a kind, NULL where there is none. */
const struct pd_lesson_preset *pd_lesson_preset(const struct pd_lesson *lesson,
                                                enum pd_lesson_preset_kind kind);

#endif
