/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_SOLVE_BATCH_H
#define PENDRIFT_SOLVE_BATCH_H

#include <stdbool.h>
#include <stddef.h>

#include "solve/tree.h"

/* Many load states, each with many breaks, and only a few voltages wanted of each: the engine of
 * the studies that search, sweep, sample and replay. The same equations as solve/tree.h, arranged
 * so that all breaks of a state cost little more than one (the derivation stands in plan.h), with
 * states side by side in vector lanes and shared out among threads.
 *
 * No residual is measured here. What a study decides on, it solves again with pd_tree_solve. Loads
 * that are not linear iterate on the matrix of their ports, or, where they are very many, by the
 * tree engine, as networks with mutual impedance or coupled electrodes do, at its speed.
 */

/* A voltage wanted: of one conductor at one node, to remote earth. A protective conductor is asked
 * for at its pe_node. */
struct pd_probe {
    size_t node;
    int conductor; /* enum pd_conductor */
};

/* Which vector instructions to use. */
enum pd_width { PD_WIDTH_BEST, PD_WIDTH_BASELINE, PD_WIDTH_AVX2, PD_WIDTH_AVX512 };
enum { PD_WIDTHS = 4 };

/* States are solved in groups of so many. */
enum { PD_LANES = 8 };

/* What stays the same from one state to the next. The arrays are copied. */
struct pd_batch_settings {
    const struct pd_network *network; /* closed; must outlive the batch */
    const struct pd_earth_tie *tie;   /* [tie_count] */
    size_t tie_count;
    const double *mutual_ohm; /* [tie_count][tie_count] as in struct pd_operating, or NULL; where a
                                 state has ties of its own, it changes with their geometric mean */
    const struct pd_cut *cut; /* [cut_count] PD_CUT_NONE, PD_CUT_OPEN or PD_CUT_JOINT */
    size_t cut_count;
    const struct pd_probe *probe; /* [probe_count], at least one */
    size_t probe_count;
    size_t threads; /* 0: one for each processor that the program may use */
    enum pd_width width;
};

/* The states. */
struct pd_batch_input {
    size_t count;
    const double *load_a;   /* [count][load_count] as in struct pd_operating */
    const double *supply_v; /* [count] > 0 */
    const double *tie_ohm;  /* [count][tie_count] > 0 in place of the settings'; NULL: the settings'
                             */
};

/* The answers, of caller's memory. Cuts that are the same for every probe share a column: look at
 * an answer with pd_batch_voltage and pd_batch_standing. Arrays are for pd_batch_room(batch,
 * count) entries. */
struct pd_batch_output {
    double *re, *im;         /* [groups][columns][probes][PD_LANES] volt */
    unsigned char *standing; /* [groups][columns][PD_LANES] enum pd_standing */
};

struct pd_batch;

/* Makes a batch and its working memory: nothing is allocated afterwards. The caller frees *out.
 * PD_OK, PD_ERR_MEMORY, or PD_ERR_ARGUMENT (a crossed cut, a node that is not there, no probe, a
 * width that this machine does not have). */
enum pd_status pd_batch_new(const struct pd_batch_settings *settings, struct pd_batch **out);
void pd_batch_free(struct pd_batch **batch);

/* How many doubles `re` and `im`, and bytes `standing`, must hold for `count` states. */
size_t pd_batch_voltage_room(const struct pd_batch *batch, size_t count);
size_t pd_batch_standing_room(const struct pd_batch *batch, size_t count);

/* Makes both rooms by malloc, freed by pd_batch_output_free. PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_batch_output_new(const struct pd_batch *batch, size_t count,
                                   struct pd_batch_output *output);
void pd_batch_output_free(struct pd_batch_output *output);

/* Called now and then in the calling thread with the states done. Return false to stop. */
typedef bool pd_batch_progress(size_t done, size_t count, void *context);

/* Solves every state with every cut. Each answer depends on its own state only, whatever the number
 * of threads. An answer that is not to be judged is NaN and its standing tells why; the neutral of
 * an island that nothing ties is NaN in a state that is PD_SOLVED, as in solve/tree.h. `progress`
 * may be NULL. PD_OK, PD_ERR_ARGUMENT (a value out of range: some are not solved), PD_ERR_MEMORY,
 * PD_ERR_INTERRUPTED (some are not solved). */
enum pd_status pd_batch_solve(struct pd_batch *batch, const struct pd_batch_input *input,
                              struct pd_batch_output *output, pd_batch_progress *progress,
                              void *context);

/* The column of a cut, and how many columns there are. Cuts of one column have the same answers. */
size_t pd_batch_column(const struct pd_batch *batch, size_t cut);
size_t pd_batch_columns(const struct pd_batch *batch);

/* One answer. */
double complex pd_batch_voltage(const struct pd_batch *batch, const struct pd_batch_output *output,
                                size_t state, size_t cut, size_t probe);
enum pd_standing pd_batch_standing(const struct pd_batch *batch,
                                   const struct pd_batch_output *output, size_t state, size_t cut);

#endif
