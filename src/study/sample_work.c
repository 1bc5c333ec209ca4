/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/sample_work.h"

#include <math.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>

/* Trials solved together. */
enum { BLOCK = 256 };

struct shared {
    struct pd_sample_work *work;
    atomic_size_t next; /* replicate */
    atomic_size_t done; /* trials */
    atomic_int status;  /* the first that is not PD_OK */
};

/* What one thread works with. */
struct bench {
    struct shared *shared;
    struct pd_scan *scan;
    double *load_a, *supply_v, *tie_ohm; /* [BLOCK] states */
    size_t *first;                       /* [columns] a break of each column */
    bool first_thread;
    pthread_t thread;
    bool started;
};

static void fail(struct shared *shared, enum pd_status status)
{
    int good = PD_OK;
    if (status != PD_OK)
        atomic_compare_exchange_strong(&shared->status, &good, (int)status);
}

static void add_to_bin(struct pd_replicate *r, double touch_v, double weight)
{
    const double bin = touch_v / pd_bin_v;
    r->bin[bin < PD_BINS ? (size_t)bin : (size_t)PD_BINS] += weight;
}

/* Counts a trial: every column of it. */
static void count_trial(const struct bench *b, struct pd_replicate *r, size_t state)
{
    const struct pd_sample_work *const w = b->shared->work;
    bool any_over = false, any_unseen = false;
    for (size_t column = 0; column < w->columns; column++) {
        struct pd_count *const count = &r->count[column];
        if (w->column_share[column] == 0)
            continue;
        const struct pd_glance glance = pd_scan_look(b->scan, state, b->first[column]);
        if (glance.touch == PD_UNKNOWN)
            continue;
        const bool over = glance.touch == PD_OVER, unseen = over && !glance.disconnected;
        count->determined++;
        count->over += over;
        count->unseen += unseen;
        count->sum_v += glance.touch_v;
        count->largest_v = fmax(count->largest_v, glance.touch_v);
        any_over |= over;
        any_unseen |= unseen;
        add_to_bin(r, glance.touch_v, w->column_share[column]);
    }
    r->over_trials += any_over;
    r->unseen_trials += any_unseen;
}

static enum pd_status run_block(const struct bench *b, struct pd_draw_points *points,
                                struct pd_replicate *r, size_t count)
{
    const struct pd_case *const c = b->shared->work->study_case;
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < count && status == PD_OK; i++)
        status = pd_draw_next(points, b->load_a + i * c->network->load_count, &b->supply_v[i],
                              b->tie_ohm + i * c->electrodes.count);
    const struct pd_batch_input input = {
        .count = count, .load_a = b->load_a, .supply_v = b->supply_v, .tie_ohm = b->tie_ohm};
    if (status == PD_OK)
        status = pd_scan_solve(b->scan, &input);
    for (size_t i = 0; i < count && status == PD_OK; i++)
        count_trial(b, r, i);
    return status;
}

static enum pd_status show_progress(const struct bench *b)
{
    const struct pd_sample_work *const w = b->shared->work;
    const double all = (double)w->each * (double)w->replicates;
    if (!b->first_thread || w->progress == NULL)
        return PD_OK;
    return w->progress((double)atomic_load(&b->shared->done) / all, w->context)
               ? PD_OK
               : PD_ERR_INTERRUPTED;
}

static enum pd_status run_replicate(const struct bench *b, size_t number)
{
    const struct pd_sample_work *const w = b->shared->work;
    struct pd_draw_points *points = NULL;
    enum pd_status status = pd_draw_points_new(w->draws, number, &points);
    for (size_t done = 0; done < w->each && status == PD_OK; done += BLOCK) {
        const size_t left = w->each - done, count = left < BLOCK ? left : BLOCK;
        status = run_block(b, points, &w->replicate[number], count);
        atomic_fetch_add(&b->shared->done, count);
        if (status == PD_OK)
            status = show_progress(b);
        if (atomic_load(&b->shared->status) != PD_OK)
            break;
    }
    pd_draw_points_free(&points);
    return status;
}

static void *run_bench(void *context)
{
    const struct bench *const b = context;
    struct shared *const shared = b->shared;
    size_t number;
    while (atomic_load(&shared->status) == PD_OK &&
           (number = atomic_fetch_add(&shared->next, 1)) < shared->work->replicates)
        fail(shared, run_replicate(b, number));
    return NULL;
}

static enum pd_status bench_new(struct bench *b)
{
    const struct pd_sample_work *const w = b->shared->work;
    const struct pd_case *const c = w->study_case;
    b->load_a = calloc(BLOCK * c->network->load_count + 1, sizeof *b->load_a);
    b->supply_v = calloc(BLOCK, sizeof *b->supply_v);
    b->tie_ohm = calloc(BLOCK * c->electrodes.count + 1, sizeof *b->tie_ohm);
    b->first = calloc(w->columns + 1, sizeof *b->first);
    if (b->load_a == NULL || b->supply_v == NULL || b->tie_ohm == NULL || b->first == NULL)
        return PD_ERR_MEMORY;
    const enum pd_status status = pd_scan_new(c, BLOCK, 1, &b->scan);
    for (size_t i = status == PD_OK ? pd_scan_breaks(b->scan) : 0; i-- > 0;)
        b->first[w->column[i]] = i;
    return status;
}

static void bench_free(struct bench *b)
{
    pd_scan_free(&b->scan);
    free(b->load_a);
    free(b->supply_v);
    free(b->tie_ohm);
    free(b->first);
}

static enum pd_status make_room(struct pd_sample_work *w)
{
    for (size_t i = 0; i < w->replicates; i++) {
        struct pd_replicate *const r = &w->replicate[i];
        r->count = calloc(w->columns + 1, sizeof *r->count);
        r->bin = calloc(PD_BINS + 1, sizeof *r->bin);
        if (r->count == NULL || r->bin == NULL)
            return PD_ERR_MEMORY;
    }
    return PD_OK;
}

enum pd_status pd_sample_work_run(struct pd_sample_work *w)
{
    enum { THREADS_MOST = 64 };
    struct bench bench[THREADS_MOST] = {{.scan = NULL}};
    struct shared shared = {.work = w, .status = PD_OK};
    size_t threads = w->threads < THREADS_MOST ? w->threads : (size_t)THREADS_MOST;
    threads = threads < w->replicates ? threads : w->replicates;
    fail(&shared, make_room(w));
    for (size_t i = 0; i < threads && atomic_load(&shared.status) == PD_OK; i++) {
        bench[i].shared = &shared;
        bench[i].first_thread = i == 0;
        fail(&shared, bench_new(&bench[i]));
    }
    /* A thread that cannot be started leaves its share to the others. */
    for (size_t i = 1; i < threads && atomic_load(&shared.status) == PD_OK; i++)
        bench[i].started = pthread_create(&bench[i].thread, NULL, run_bench, &bench[i]) == 0;
    if (atomic_load(&shared.status) == PD_OK)
        run_bench(&bench[0]);
    for (size_t i = 1; i < threads; i++)
        if (bench[i].started)
            pthread_join(bench[i].thread, NULL);
    for (size_t i = 0; i < threads; i++)
        bench_free(&bench[i]);
    return (enum pd_status)atomic_load(&shared.status);
}
