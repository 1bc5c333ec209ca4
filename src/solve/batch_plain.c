/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "solve/engine.h"
#include "solve/worker.h"

struct pd_plain_worker {
    const struct pd_batch_kept *kept;
    struct pd_tree *tree;
    struct pd_solution solution;
    struct pd_earth_tie *tie; /* [tie_count] */
    double *mutual_ohm;       /* [tie_count][tie_count]; NULL: none */
    bool eliminated;
};

enum pd_status pd_plain_worker_new(const struct pd_batch_kept *kept, struct pd_plain_worker **out)
{
    const struct pd_batch_settings *const s = &kept->settings;
    struct pd_plain_worker *const w = *out = calloc(1, sizeof *w);
    if (w == NULL)
        return PD_ERR_MEMORY;
    w->kept = kept;
    w->tie = calloc(s->tie_count + 1, sizeof *w->tie);
    if (s->mutual_ohm != NULL)
        w->mutual_ohm = calloc(s->tie_count * s->tie_count + 1, sizeof *w->mutual_ohm);
    if (w->tie == NULL || (s->mutual_ohm != NULL && w->mutual_ohm == NULL) ||
        pd_tree_new(s->network, &w->tree) != PD_OK ||
        pd_solution_new(s->network, &w->solution) != PD_OK) {
        pd_plain_worker_free(out);
        return PD_ERR_MEMORY;
    }
    if (s->tie_count > 0)
        memcpy(w->tie, s->tie, s->tie_count * sizeof *w->tie);
    return PD_OK;
}

void pd_plain_worker_free(struct pd_plain_worker **worker)
{
    if (*worker == NULL)
        return;
    pd_tree_free(&(*worker)->tree);
    pd_solution_free(&(*worker)->solution);
    free((*worker)->tie);
    free((*worker)->mutual_ohm);
    free(*worker);
    *worker = NULL;
}

/* Electrodes of other resistance in the same places: a drier ground, say. The share of one's
 * potential that the other takes on stays, and so does a matrix that some ground can have. */
static void take_mutual(struct pd_plain_worker *w)
{
    const struct pd_batch_settings *const s = &w->kept->settings;
    for (size_t i = 0; i < s->tie_count; i++)
        for (size_t j = 0; j < s->tie_count; j++) {
            const double before = s->tie[i].resistance_ohm * s->tie[j].resistance_ohm;
            const double now = w->tie[i].resistance_ohm * w->tie[j].resistance_ohm;
            const double mutual = s->mutual_ohm[i * s->tie_count + j];
            w->mutual_ohm[i * s->tie_count + j] = mutual == 0 ? 0 : mutual * sqrt(now / before);
        }
}

enum pd_status pd_plain_worker_take(struct pd_plain_worker *w, const struct pd_batch_input *input,
                                    size_t state, struct pd_tree **tree)
{
    const struct pd_batch_settings *const s = &w->kept->settings;
    for (size_t i = 0; i < s->tie_count && input->tie_ohm != NULL; i++)
        w->tie[i].resistance_ohm = input->tie_ohm[state * s->tie_count + i];
    if (w->mutual_ohm != NULL)
        take_mutual(w);
    const struct pd_operating operating = {
        .load_a = input->load_a + state * s->network->load_count,
        .tie = w->tie,
        .tie_count = s->tie_count,
        .mutual_ohm = w->mutual_ohm,
        .supply_v = input->supply_v[state],
    };
    w->eliminated = false;
    *tree = w->tree;
    return pd_tree_take(w->tree, &operating);
}

static void keep(const struct pd_plain_worker *w, const struct pd_group *group, size_t column,
                 size_t lane)
{
    const struct pd_batch_settings *const s = &w->kept->settings;
    const bool solved = w->solution.standing == PD_SOLVED;
    group->standing[column * PD_LANES + lane] = (unsigned char)w->solution.standing;
    for (size_t k = 0; k < s->probe_count; k++) {
        const size_t at = (column * s->probe_count + k) * PD_LANES + lane;
        const double complex v = w->solution.v[s->probe[k].node][s->probe[k].conductor];
        group->re[at] = solved ? creal(v) : NAN;
        group->im[at] = solved && !isnan(creal(v)) ? cimag(v) : NAN;
    }
}

enum pd_status pd_plain_worker_cut(struct pd_plain_worker *w, const struct pd_group *group,
                                   size_t column, size_t lane)
{
    if (!w->eliminated)
        pd_eliminate_all(w->tree);
    w->eliminated = true;
    const enum pd_status status = pd_tree_solve(w->tree, &w->kept->cut[column], &w->solution);
    if (status == PD_OK)
        keep(w, group, column, lane);
    return status;
}

enum pd_status pd_plain_worker_solve(struct pd_plain_worker *w, const struct pd_batch_input *input,
                                     const struct pd_group *group)
{
    enum pd_status status = PD_OK;
    for (size_t lane = 0; lane < group->count && status == PD_OK; lane++) {
        struct pd_tree *tree;
        status = pd_plain_worker_take(w, input, group->first + lane, &tree);
        for (size_t column = 0; column < w->kept->columns && status == PD_OK; column++)
            status = pd_plain_worker_cut(w, group, column, lane);
    }
    return status;
}
