/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/batch.h"

#include <float.h>
#include <math.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>

#include "solve/lane_room.h"
#include "solve/lanes.h"
#include "table/processors.h"

/* Of the two workers of a thread one is there: in lanes where the network can be arranged, else the
 * tree engine. */
struct staff {
    struct pd_lane_worker *lanes;
    struct pd_plain_worker *plain;
};

struct pd_batch {
    struct pd_batch_kept kept;
    struct pd_plan *plan;
    struct staff *staff; /* [threads] */
    size_t threads;
};

static bool is_possible(const struct pd_batch_settings *s)
{
    const size_t nodes = s->network->node_count;
    for (size_t i = 0; i < s->cut_count; i++) {
        const struct pd_cut *const cut = &s->cut[i];
        if (cut->kind == PD_CUT_CROSSED)
            return false;
        if (cut->kind != PD_CUT_NONE && (cut->section == 0 || cut->section >= nodes))
            return false;
        if (cut->kind == PD_CUT_JOINT && !(cut->joint_ohm >= 0 && isfinite(cut->joint_ohm)))
            return false;
    }
    for (size_t i = 0; i < s->probe_count; i++)
        if (s->probe[i].node >= nodes || s->probe[i].conductor < 0 ||
            s->probe[i].conductor >= PD_CONDUCTORS)
            return false;
    for (size_t i = 0; i < s->tie_count; i++)
        if (s->tie[i].node >= nodes || !(s->tie[i].resistance_ohm > 0))
            return false;
    return s->probe_count > 0 && pd_width_there(s->width);
}

/* A copy of an array, of at least one byte so that NULL means that there is no memory. */
static void *copy_of(const void *from, size_t count, size_t size)
{
    void *const copy = malloc(count * size + 1);
    if (copy != NULL && count > 0)
        memcpy(copy, from, count * size);
    return copy;
}

static enum pd_status keep_settings(const struct pd_batch_settings *s, struct pd_batch_kept *kept)
{
    kept->settings = *s;
    kept->settings.tie = copy_of(s->tie, s->tie_count, sizeof *s->tie);
    if (s->mutual_ohm != NULL)
        kept->settings.mutual_ohm =
            copy_of(s->mutual_ohm, s->tie_count * s->tie_count, sizeof *s->mutual_ohm);
    kept->settings.cut = copy_of(s->cut, s->cut_count, sizeof *s->cut);
    kept->settings.probe = copy_of(s->probe, s->probe_count, sizeof *s->probe);
    kept->cut = copy_of(s->cut, s->cut_count, sizeof *s->cut);
    kept->column = calloc(s->cut_count + 1, sizeof *kept->column);
    if (kept->settings.tie == NULL || kept->settings.cut == NULL || kept->settings.probe == NULL ||
        kept->cut == NULL || kept->column == NULL ||
        (s->mutual_ohm != NULL && kept->settings.mutual_ohm == NULL))
        return PD_ERR_MEMORY;
    kept->columns = s->cut_count;
    for (size_t i = 0; i < s->cut_count; i++)
        kept->column[i] = i;
    return PD_OK;
}

static enum pd_status hire(struct pd_batch *b)
{
    b->staff = calloc(b->threads, sizeof *b->staff);
    enum pd_status status = b->staff != NULL ? PD_OK : PD_ERR_MEMORY;
    for (size_t i = 0; i < b->threads && status == PD_OK; i++)
        status = b->plan != NULL ? pd_lane_worker_new(&b->kept, b->plan, &b->staff[i].lanes)
                                 : pd_plain_worker_new(&b->kept, &b->staff[i].plain);
    return status;
}

enum pd_status pd_batch_new(const struct pd_batch_settings *settings, struct pd_batch **out)
{
    *out = NULL;
    if (!is_possible(settings))
        return PD_ERR_ARGUMENT;
    struct pd_batch *const b = *out = calloc(1, sizeof *b);
    if (b == NULL)
        return PD_ERR_MEMORY;
    enum pd_status status = keep_settings(settings, &b->kept);
    b->threads = settings->threads > 0 ? settings->threads : pd_processors();
    if (status == PD_OK)
        status = pd_plan_new(&b->kept, &b->plan);
    if (status == PD_OK)
        status = hire(b);
    if (status != PD_OK)
        pd_batch_free(out);
    return status;
}

void pd_batch_free(struct pd_batch **batch)
{
    struct pd_batch *const b = *batch;
    if (b == NULL)
        return;
    for (size_t i = 0; i < b->threads && b->staff != NULL; i++) {
        pd_lane_worker_free(&b->staff[i].lanes);
        pd_plain_worker_free(&b->staff[i].plain);
    }
    free(b->staff);
    pd_plan_free(&b->plan);
    free((void *)b->kept.settings.tie);
    free((void *)b->kept.settings.mutual_ohm);
    free((void *)b->kept.settings.cut);
    free((void *)b->kept.settings.probe);
    free(b->kept.cut);
    free(b->kept.column);
    free(b);
    *batch = NULL;
}

static size_t groups_of(size_t count)
{
    return (count + PD_LANES - 1) / PD_LANES;
}

size_t pd_batch_standing_room(const struct pd_batch *b, size_t count)
{
    return groups_of(count) * b->kept.columns * PD_LANES;
}

size_t pd_batch_voltage_room(const struct pd_batch *b, size_t count)
{
    return pd_batch_standing_room(b, count) * b->kept.settings.probe_count;
}

enum pd_status pd_batch_output_new(const struct pd_batch *b, size_t count,
                                   struct pd_batch_output *output)
{
    const size_t room = pd_batch_voltage_room(b, count) + 1;
    *output = (struct pd_batch_output){
        .re = pd_lane_memory(room, sizeof *output->re),
        .im = pd_lane_memory(room, sizeof *output->im),
        .standing = malloc(pd_batch_standing_room(b, count) + 1),
    };
    if (output->re != NULL && output->im != NULL && output->standing != NULL)
        return PD_OK;
    pd_batch_output_free(output);
    return PD_ERR_MEMORY;
}

void pd_batch_output_free(struct pd_batch_output *output)
{
    free(output->re);
    free(output->im);
    free(output->standing);
    *output = (struct pd_batch_output){0};
}

/* A batch being solved, as all its threads see it. */
struct job {
    struct pd_batch *batch;
    const struct pd_batch_input *input;
    const struct pd_batch_output *output;
    atomic_size_t next, done; /* groups */
    atomic_int status;        /* the first that is not PD_OK */
};

struct seat {
    struct job *job;
    size_t number;
    pthread_t thread;
    bool started;
};

static void fail(struct job *job, enum pd_status status)
{
    int good = PD_OK;
    atomic_compare_exchange_strong(&job->status, &good, (int)status);
}

static struct pd_group group_of(const struct job *job, size_t number)
{
    const struct pd_batch_kept *const kept = &job->batch->kept;
    const size_t first = number * PD_LANES, left = job->input->count - first;
    const size_t standing = number * kept->columns * PD_LANES;
    const size_t voltage = standing * kept->settings.probe_count;
    return (struct pd_group){
        .first = first,
        .count = left < PD_LANES ? left : PD_LANES,
        .re = job->output->re + voltage,
        .im = job->output->im + voltage,
        .standing = job->output->standing + standing,
    };
}

/* Counted, not left at the first: without a way out it is done in vectors. */
static bool all_within(const double *value, size_t count, double least, double most)
{
    size_t bad = 0;
    for (size_t i = 0; i < count; i++)
        bad += value[i] >= least && value[i] <= most ? 0 : 1;
    return bad == 0;
}

/* Looked at by whoever solves the group: its numbers are then at hand, and no thread waits. */
static bool is_sound(const struct pd_batch_settings *s, const struct pd_batch_input *input,
                     const struct pd_group *group)
{
    const size_t loads = s->network->load_count, first = group->first, count = group->count;
    return all_within(input->load_a + first * loads, count * loads, 0, DBL_MAX) &&
           all_within(input->supply_v + first, count, DBL_TRUE_MIN, DBL_MAX) &&
           (input->tie_ohm == NULL || all_within(input->tie_ohm + first * s->tie_count,
                                                 count * s->tie_count, DBL_TRUE_MIN, INFINITY));
}

/* Solves the next group that nobody has taken: the shares come out even however fast each thread
 * gets on. False where there is none, or something has failed. */
static bool solve_next(struct job *job, size_t seat)
{
    const size_t groups = groups_of(job->input->count);
    if (atomic_load(&job->status) != PD_OK)
        return false;
    const size_t number = atomic_fetch_add(&job->next, 1);
    if (number >= groups)
        return false;
    const struct pd_group group = group_of(job, number);
    const struct staff *const staff = &job->batch->staff[seat];
    enum pd_status status = PD_ERR_ARGUMENT;
    if (is_sound(&job->batch->kept.settings, job->input, &group))
        status = staff->lanes != NULL ? pd_lane_worker_solve(staff->lanes, job->input, &group)
                                      : pd_plain_worker_solve(staff->plain, job->input, &group);
    if (status != PD_OK)
        fail(job, status);
    atomic_fetch_add(&job->done, 1);
    return true;
}

static void *work(void *context)
{
    const struct seat *const seat = context;
    while (solve_next(seat->job, seat->number))
        ;
    return NULL;
}

enum pd_status pd_batch_solve(struct pd_batch *batch, const struct pd_batch_input *input,
                              struct pd_batch_output *output, pd_batch_progress *progress,
                              void *context)
{
    enum { SEATS_MOST = 64 };
    struct job job = {.batch = batch, .input = input, .output = output, .status = PD_OK};
    struct seat seat[SEATS_MOST] = {0};
    const size_t seats = batch->threads < SEATS_MOST ? batch->threads : SEATS_MOST;
    /* A thread that cannot be started leaves its share to the others. */
    for (size_t i = 1; i < seats && i < groups_of(input->count); i++) {
        seat[i] = (struct seat){.job = &job, .number = i};
        seat[i].started = pthread_create(&seat[i].thread, NULL, work, &seat[i]) == 0;
    }
    while (solve_next(&job, 0)) {
        const size_t done = atomic_load(&job.done) * PD_LANES;
        if (progress != NULL &&
            !progress(done < input->count ? done : input->count, input->count, context))
            fail(&job, PD_ERR_INTERRUPTED);
    }
    for (size_t i = 1; i < seats; i++)
        if (seat[i].started)
            pthread_join(seat[i].thread, NULL);
    return (enum pd_status)atomic_load(&job.status);
}

size_t pd_batch_column(const struct pd_batch *batch, size_t cut)
{
    return batch->kept.column[cut];
}

size_t pd_batch_columns(const struct pd_batch *batch)
{
    return batch->kept.columns;
}

double complex pd_batch_voltage(const struct pd_batch *batch, const struct pd_batch_output *output,
                                size_t state, size_t cut, size_t probe)
{
    const struct pd_batch_kept *const kept = &batch->kept;
    const size_t column = state / PD_LANES * kept->columns + kept->column[cut];
    const size_t at = (column * kept->settings.probe_count + probe) * PD_LANES + state % PD_LANES;
    return CMPLX(output->re[at], output->im[at]);
}

enum pd_standing pd_batch_standing(const struct pd_batch *batch,
                                   const struct pd_batch_output *output, size_t state, size_t cut)
{
    const struct pd_batch_kept *const kept = &batch->kept;
    const size_t column = state / PD_LANES * kept->columns + kept->column[cut];
    return (enum pd_standing)output->standing[column * PD_LANES + state % PD_LANES];
}
