/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/lanes.h"

#include <math.h>
#include <stdlib.h>
#include <sys/mman.h>

#include "solve/lane_seek.h"

bool pd_width_there(enum pd_width width)
{
#ifdef __x86_64__
    if (width == PD_WIDTH_AVX512)
        return __builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq") &&
               __builtin_cpu_supports("fma");
    if (width == PD_WIDTH_AVX2)
        return __builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma");
#endif
    return width == PD_WIDTH_BEST || width == PD_WIDTH_BASELINE;
}

static void choose_steps(struct pd_lane_worker *w, enum pd_width width)
{
    w->pass = pd_pass_baseline;
    w->move = pd_move_baseline;
    w->mix = pd_mix_baseline;
    w->newton = pd_newton_baseline;
#ifdef __x86_64__
    if (width == PD_WIDTH_AVX512 || (width == PD_WIDTH_BEST && pd_width_there(PD_WIDTH_AVX512))) {
        w->pass = pd_pass_avx512;
        w->move = pd_move_avx512;
        w->mix = pd_mix_avx512;
        w->newton = pd_newton_avx512;
    } else if (width == PD_WIDTH_AVX2 ||
               (width == PD_WIDTH_BEST && pd_width_there(PD_WIDTH_AVX2))) {
        w->pass = pd_pass_avx2;
        w->move = pd_move_avx2;
        w->mix = pd_mix_avx2;
        w->newton = pd_newton_avx2;
    }
#else
    (void)width;
#endif
}

/* A large street's arrays are gone through from end to end for every group: in huge pages, where
 * the system has them, the processor need not look up each 4 KiB of them. */
void *pd_lane_memory(size_t count, size_t size)
{
    const size_t huge = (size_t)1 << 21, bytes = count * size;
    const size_t whole = bytes < huge / 2 ? sizeof(pd_reals) : huge;
    const size_t room = (bytes + whole) / whole * whole;
    void *const memory = aligned_alloc(whole, room);
    if (memory != NULL && whole == huge)
        madvise(memory, room, MADV_HUGEPAGE); /* refused: it works all the same */
    return memory;
}

enum pd_status pd_lane_worker_new(const struct pd_batch_kept *kept, const struct pd_plan *plan,
                                  struct pd_lane_worker **out)
{
    struct pd_lane_worker *const w = *out = pd_lane_memory(1, sizeof *w);
    if (w == NULL)
        return PD_ERR_MEMORY;
    *w = (struct pd_lane_worker){.kept = kept, .plan = plan};
    choose_steps(w, kept->settings.width);
    w->load_a = pd_lane_memory(kept->settings.network->load_count, sizeof *w->load_a);
    w->tie_s = pd_lane_memory(kept->settings.tie_count, sizeof *w->tie_s);
    w->u = pd_lane_memory(plan->places, sizeof *w->u);
    w->far_neutral = pd_lane_memory(plan->places, sizeof *w->far_neutral);
    w->tied = pd_lane_memory(plan->places, sizeof *w->tied);
    w->leaf = pd_lane_memory(plan->leaves, sizeof *w->leaf);
    w->row = pd_lane_memory(plan->rows, sizeof *w->row);
    w->state = pd_lane_memory(plan->slots, sizeof *w->state);
    const size_t probes = plan->probes + plan->ports;
    const size_t columns = plan->ports > 0 ? kept->columns : 1;
    w->response = pd_lane_memory(plan->slots * probes, sizeof *w->response);
    w->intact = pd_lane_memory(probes, sizeof *w->intact);
    w->way = pd_lane_memory(plan->probes, sizeof *w->way);
    w->between = pd_lane_memory(probes * plan->ports, sizeof *w->between);
    w->gain = pd_lane_memory(columns * probes, sizeof *w->gain);
    w->column = pd_lane_memory(columns, sizeof *w->column);
    if (w->load_a != NULL && w->tie_s != NULL && w->u != NULL && w->far_neutral != NULL &&
        w->tied != NULL && w->leaf != NULL && w->row != NULL && w->state != NULL &&
        w->response != NULL && w->intact != NULL && w->way != NULL && w->between != NULL &&
        w->gain != NULL && w->column != NULL &&
        (plan->ports == 0 || pd_lane_settle_new(w) == PD_OK))
        return PD_OK;
    pd_lane_worker_free(out);
    return PD_ERR_MEMORY;
}

void pd_lane_worker_free(struct pd_lane_worker **worker)
{
    struct pd_lane_worker *const w = *worker;
    if (w == NULL)
        return;
    free(w->load_a);
    free(w->tie_s);
    free(w->u);
    free(w->far_neutral);
    free(w->tied);
    free(w->leaf);
    free(w->row);
    free(w->state);
    free(w->response);
    free(w->intact);
    free(w->way);
    free(w->between);
    free(w->gain);
    free(w->column);
    pd_lane_settle_free(w);
    free(w);
    *worker = NULL;
}

/* The state that a lane works on: those behind the last repeat the first. */
static size_t state_of(const struct pd_group *group, size_t lane)
{
    return group->first + (lane < group->count ? lane : 0);
}

static void take_input(struct pd_lane_worker *w, const struct pd_batch_input *input,
                       const struct pd_group *group)
{
    const struct pd_batch_settings *const s = &w->kept->settings;
    const size_t loads = s->network->load_count;
    for (size_t lane = 0; lane < PD_LANES; lane++) {
        const size_t state = state_of(group, lane);
        w->supply_v[lane] = input->supply_v[state];
        for (size_t i = 0; i < loads; i++)
            w->load_a[i][lane] = input->load_a[state * loads + i];
        for (size_t i = 0; i < s->tie_count; i++)
            w->tie_s[i][lane] =
                1 / (input->tie_ohm != NULL ? input->tie_ohm[state * s->tie_count + i]
                                            : s->tie[i].resistance_ohm);
    }
}

enum pd_status pd_lane_worker_solve(struct pd_lane_worker *w, const struct pd_batch_input *input,
                                    const struct pd_group *group)
{
    take_input(w, input, group);
    w->pass(w, group);
    return w->plan->ports > 0 ? pd_lane_settle(w, input, group) : PD_OK;
}
