/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_RUN_H
#define PENDRIFT_STUDY_RUN_H

#include "study/assess.h"
#include "study/faults.h"

/* Running a case's scenarios on the tree engine. The room's own. */

/* What a run works with: one engine, one solution, the ties with one more for trying electrodes. */
struct pd_run {
    const struct pd_case *study_case;
    const struct pd_load_states *states;
    struct pd_tree *tree;
    struct pd_solution solution;
    struct pd_earth_tie
        *tie;           /* [electrodes.count + 1]; the last, at the installation, is the probe */
    double *mutual_ohm; /* [ties][ties] of tie; NULL: the electrodes stand far apart */
    double complex *tie_a;
    double supply_v[3]; /* declared, and the ends of the set's range where they differ */
    size_t supply_count;
    bool hold_windows; /* chargers and inverters stay on outside their window */
    unsigned faults;   /* bit 1u << enum pd_fault_kind: those to run */
    size_t top;        /* index of the highest */
    size_t *path; /* [path_count] sections with a PEN from the installation to the substation */
    size_t path_count;
    struct pd_fault_list main; /* no fault, then every section's PEN open */
    pd_progress_function *progress;
    void *context;
    double solved_v;             /* supply voltage of the state last factored */
    struct pd_loads_place place; /* its loads */
    size_t done, all;            /* solutions, for progress */
};

enum pd_status pd_run_new(const struct pd_case *study_case, const struct pd_load_states *states,
                          unsigned faults, struct pd_run *run);
void pd_run_free(struct pd_run *run);

/* Factors the case with these loads, at a supply voltage; `bridge` NULL: none. Sets run->place
 * where they are one of the states, to PD_NONE where they are not. */
enum pd_status pd_run_factor(struct pd_run *run, const double *load_a, double supply_v,
                             const struct pd_bridge *bridge);

/* How many supply voltages must be solved for themselves: one of a linear network, whose answers
 * are in proportion to it, else all. After pd_run_factor. */
size_t pd_run_levels(const struct pd_run *run);

/* The fault of an open PEN; and of a joint in it of so many ohms. */
struct pd_fault pd_open_pen(size_t section);
struct pd_fault pd_pen_joint(size_t section, double ohm);

/* Solves with a fault, whose bridge has been factored, into run->solution. Reports progress:
 * PD_ERR_INTERRUPTED where the caller asks to stop. */
enum pd_status pd_run_solve(struct pd_run *run, const struct pd_fault *fault);

/* Counts a solution and reports progress now and then: PD_OK or PD_ERR_INTERRUPTED. */
enum pd_status pd_run_step(struct pd_run *run);

/* Fills a scenario from run->solution; of a linear network at another supply voltage too, in
 * proportion. `sight` has room for every detector. */
void pd_run_fill(const struct pd_run *run, const struct pd_fault *fault, enum pd_loads loads,
                 double supply_v, struct pd_scenario *scenario, struct pd_sight *sight);

/* The protective conductor's potential at a node; one on an electrode of its own carries no current
 * and stays at earth, or where the ground beside other electrodes lifts it to. */
double complex pd_run_pe(const struct pd_run *run, size_t node);

/* What a detector has to sense in run->solution. */
struct pd_view pd_run_view(const struct pd_run *run, size_t detector);

/* Appends a copy of a scenario and its sights; the assessment has room for what the parts add. */
void pd_assessment_add(struct pd_assessment *assessment, const struct pd_scenario *scenario,
                       size_t detectors);

/* Over the limit, and nothing disconnects the chassis in time. */
bool pd_is_hazard(const struct pd_scenario *scenario);

/* Whether one scenario matters more than another: a hazard before what is none, then the higher
 * touch voltage, of equal ones the higher voltage to the metalwork in reach. */
bool pd_is_worse(const struct pd_scenario *scenario, const struct pd_scenario *than);

/* The parts of a run, in order. Each fills scenarios behind those that are there; PD_OK,
 * PD_ERR_MEMORY, PD_ERR_INTERRUPTED. */

/* Healthy and every open PEN, in the main load states, at every supply voltage. */
enum pd_status pd_run_main(struct pd_run *run, struct pd_assessment *assessment);

/* The corners of the ranges for each break that cuts the installation off: of each break the worst
 * that nothing disconnects in time and the worst that something does. */
enum { PD_CORNERS_KEPT = 2 };
enum pd_status pd_run_corners(struct pd_run *run, struct pd_assessment *assessment);

/* What a device may be blind to between the corners, though it sees every one of them, and between
 * the ends of the supply range: searched for, and what is found is solved. At most so many breaks.
 */
enum { PD_BETWEEN_KEPT = 8 };
enum pd_status pd_run_between(struct pd_run *run, struct pd_assessment *assessment);

/* The certified worst case of every break, where a load has a range: assessment->certified and
 * `proved`. What it found worse than the parts before is solved and added, at most one for each
 * break. */
enum pd_status pd_run_certify(struct pd_run *run, struct pd_assessment *assessment);

/* The questions turned round, where there is a certified worst case of loads that are linear. */
enum pd_status pd_run_answers(struct pd_run *run, struct pd_assessment *assessment);

/* A joint of the PEN going bad, in each section that the installation hangs on: of each the worst
 * that nothing disconnects in time, and the one that heats most. */
enum { PD_JOINTS_KEPT = 2 };
enum pd_status pd_run_joints(struct pd_run *run, struct pd_assessment *assessment);

/* The faults that are shown, not judged: of each place the worst. */
enum pd_status pd_run_shown(struct pd_run *run, struct pd_assessment *assessment);

/* Room for the scenarios of the last two. */
size_t pd_run_joints_room(const struct pd_run *run);
size_t pd_run_shown_room(const struct pd_run *run);

/* The largest electrode resistance at the installation's main earthing terminal, in place of its
 * own electrodes, that keeps every scenario within the limit: ohm. INFINITY none is needed, 0 none
 * would do, NaN not determined. Linear networks only: the terminal's potential is Voc / (1 + Z G),
 * and two solutions at two conductances G give both. */
enum pd_status pd_run_electrode_max(struct pd_run *run, const struct pd_assessment *assessment,
                                    double *max_ohm);

/* From the potentials v1, v2 (volt) of a terminal with g1, g2 (siemens, different) to earth: the
 * largest resistance that keeps its potential at or below limit_v. As above. */
double pd_electrode_from_two(double complex v1, double g1, double complex v2, double g2,
                             double limit_v);

#endif
