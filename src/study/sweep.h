/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_SWEEP_H
#define PENDRIFT_STUDY_SWEEP_H

#include "study/assess.h"
#include "table/override.h"

/* Sweep: one or two numbers of a case over a range, or one demand over the three lines, and at each
 * point the worst touch voltage with the PEN open in any section. */

/* One number and its values: from, to, both included, evenly or in even proportions. */
struct pd_vary {
    struct pd_address at;
    double from, to; /* finite, different; > 0 where log */
    size_t count;    /* 2 to PD_VARY_MOST */
    bool log;
};
enum { PD_VARY_COUNT = 25, PD_VARY_MOST = 10000 };

/* Reads TABLE/ROW/COLUMN=FROM:TO[:COUNT][:log] into *vary; of case.csv the column may be left out.
 * A name with a slash or '=' in it stands in double quotes. COUNT is PD_VARY_COUNT where left out.
 * PD_OK, or PD_ERR_INPUT with a line in `errors`. */
enum pd_status pd_vary_parse(const char *text, struct pd_vary *vary, struct pd_errors *errors);

/* The range of a sweep with met_electrode: from, to in ohm, in even proportions. */
struct pd_vary pd_vary_met_electrode(double from_ohm, double to_ohm, size_t count);

/* Value i, 0 to count - 1. */
double pd_vary_value(const struct pd_vary *vary, size_t i);

/* The columns of a case table that the address names, "value" in case.csv, give the unit: "A",
 * "ohm", "" where there is none. Of case.csv by its quantity. */
const char *pd_vary_unit(const struct pd_vary *vary);

struct pd_sweep_settings {
    struct pd_vary vary[2];
    size_t vary_count;  /* 1 or 2; 0 for a sweep over the lines */
    double total_kw;    /* of a sweep over the lines: > 0 */
    size_t steps;       /* of that: parts that the total is divided into, 2 to PD_STEPS_MOST */
    bool all_loads;     /* the load states that assess tries, corners too; else present only */
    bool reread;        /* read the case for every point, also where less would do */
    bool met_electrode; /* vary[0] is no cell but the dry-season resistance, ohm, of one electrode
                           on the installation's main earthing terminal, far from all others and in
                           place of its own; its address is only told. vary_count is 1 */
};
enum { PD_STEPS = 40, PD_STEPS_MOST = 400, PD_POINTS_MOST = 1000000 };

/* One point. Solved by the tree engine; a figure that is not there is NaN. */
struct pd_sweep_point {
    double value[3];         /* of the quantities; over the lines: kW on L1, L2, L3 */
    double touch_v;          /* the largest that is solved */
    enum pd_judgement touch; /* PD_UNKNOWN where none is over and some are not solved */
    size_t section;          /* broken there, the node that it feeds; PD_NONE */
    enum pd_loads loads;
    double supply_v;
    bool disconnected;     /* at that worst a device lets go of live conductors and PE in time */
    double unseen_v;       /* the largest over the limit that nothing disconnects in time; 0: none;
                              NaN: not determined */
    size_t unseen_section; /* PD_NONE */
    size_t scenarios, unsolved;
    double residual; /* of the worst */
};

/* Where the judgement changes between two points of a sweep over one quantity: found by solving
 * there again and again. `low` and `high` lie close to it on either side. */
struct pd_sweep_crossing {
    struct pd_sweep_point low, high; /* by value */
    bool jumps; /* the touch voltage jumps past the limit, as where something lets go */
};

struct pd_sweep {
    struct pd_case *study_case; /* as the tables have it */
    struct pd_sweep_settings settings;
    struct pd_sweep_point *point; /* [count]; the last quantity changes fastest; over the lines: L1
                                     slowest, then L2 */
    size_t count;
    struct pd_sweep_point present; /* as the tables have it; its values NaN where they give none */
    struct pd_sweep_crossing *crossing; /* [crossing_count] */
    size_t crossing_count;
    size_t within, over, unknown, unseen; /* points */
    size_t worst;                         /* point; PD_NONE */
    bool all_supplies; /* at the declared supply voltage and both ends of the set's range */
    bool missing;      /* the case is incomplete: nothing was computed */
};

/* Sweeps the case of a folder. Errors of the tables, also those that a value of the sweep makes,
 * are in `errors`. `progress` may be NULL. PD_OK, PD_ERR_INPUT, PD_ERR_FILE, PD_ERR_MEMORY,
 * PD_ERR_INTERRUPTED. The caller frees *out. */
enum pd_status pd_sweep_run(const char *folder, const struct pd_sweep_settings *settings,
                            pd_progress_function *progress, void *context, struct pd_sweep **out,
                            struct pd_errors *errors);
void pd_sweep_free(struct pd_sweep **sweep);

#endif
