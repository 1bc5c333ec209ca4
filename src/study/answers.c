/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/answers.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "study/certify.h"
#include "study/manage.h"
#include "study/worst_search.h"

const char *const pd_ask_names[PD_ASKS] = {[PD_ASK_ELECTRODE] = "electrode",
                                           [PD_ASK_DEMAND] = "demand limit",
                                           [PD_ASK_IMBALANCE] = "imbalance",
                                           [PD_ASK_NEIGHBOURS] = "neighbours"};

const char *const pd_found_names[PD_FOUNDS] = {[PD_FOUND] = "at most",
                                               [PD_FOUND_LEAST] = "at least",
                                               [PD_FOUND_ANY] = "any",
                                               [PD_FOUND_NONE] = "cannot be met",
                                               [PD_FOUND_UNSOLVED] = "not determined",
                                               [PD_FOUND_CROOKED] = "no single value",
                                               [PD_FOUND_NOT_ASKED] = "not asked"};

/* A question being tried. */
struct trial {
    struct pd_certifier c;
    enum pd_ask ask;
    double *low_a, *high_a; /* [load_count] of the case, before the question changes them */
    enum pd_status status;  /* the first that is not PD_OK */
};

static bool is_neighbour(const struct pd_case *c, const struct pd_load *load)
{
    return pd_neighbour_kw_per_a(c, load) > 0;
}

static size_t count_neighbours(const struct pd_case *c)
{
    size_t count = 0;
    for (size_t i = 0; i < c->network->load_count; i++)
        count += is_neighbour(c, &c->network->load[i]);
    return count;
}

/* An electrode in place of the installation's own on its main earthing terminal. */
static void set_electrode(const struct trial *t, double ohm)
{
    const struct pd_case *const c = &t->c.what_if;
    const struct pd_node *const node = c->network->node;
    for (size_t i = 0; i < c->electrodes.count; i++)
        if (pd_case_own(c, c->tie[i].node) &&
            node[c->tie[i].node].pe_node == node[c->installation].pe_node)
            t->c.tie[i].resistance_ohm = INFINITY;
    t->c.tie[c->electrodes.count].resistance_ohm = ohm;
}

/* Every load that the question is about, x standing for the share or the multiple of its range. */
static void set_ranges(const struct trial *t, double x)
{
    const struct pd_case *const c = &t->c.what_if;
    for (size_t i = 0; i < c->network->load_count; i++) {
        const struct pd_load *const load = &c->network->load[i];
        const double low_a = t->low_a[i], high_a = t->high_a[i];
        const double present_a = fmin(high_a, fmax(low_a, load->present_a));
        if (t->ask == PD_ASK_IMBALANCE && pd_case_own(c, load->node)) {
            t->c.low_a[i] = present_a + x * (low_a - present_a);
            t->c.high_a[i] = present_a + x * (high_a - present_a);
        } else if (t->ask == PD_ASK_NEIGHBOURS && is_neighbour(c, load)) {
            t->c.low_a[i] = x * low_a;
            t->c.high_a[i] = x * high_a;
        } else if (t->ask == PD_ASK_DEMAND && pd_gives_way(c, load)) {
            t->c.low_a[i] = 0;
            t->c.high_a[i] = fmin(high_a, x);
        }
    }
}

static void set(struct trial *t, double x)
{
    if (t->ask == PD_ASK_ELECTRODE)
        set_electrode(t, x);
    else
        set_ranges(t, x);
    if (t->ask == PD_ASK_DEMAND)
        t->c.what_if.demand_limit_a = x;
}

static double worst_found(double x, void *context)
{
    struct trial *const t = context;
    struct pd_worst_search search;
    set(t, x);
    const struct pd_worst_settings settings = pd_certifier_settings(&t->c);
    if (t->status == PD_OK)
        t->status = pd_worst_search(&settings, true, &search);
    if (t->status != PD_OK)
        return NAN;
    double most_v = 0;
    for (size_t k = 0; k < settings.section_count; k++)
        most_v = search.most[k] == PD_NONE ? most_v : fmax(most_v, search.most_v[k]);
    pd_worst_search_free(&search);
    return most_v;
}

/* Certifies the worst case at x. */
static void certify_at(struct trial *t, double x, struct pd_answer_to *answer)
{
    struct pd_worst worst;
    set(t, x);
    struct pd_worst_settings settings = pd_certifier_settings(&t->c);
    settings.most_only = true;
    settings.tolerance_v /= 10;
    if (t->status == PD_OK)
        t->status = pd_worst_find(&settings, &worst);
    if (t->status != PD_OK)
        return;
    answer->bound_v = worst.count > 0 ? worst.brk[worst.worst].bound_v : 0;
    answer->attained_v = 0;
    for (size_t k = 0; k < worst.count; k++)
        answer->attained_v = fmax(answer->attained_v, worst.brk[k].attained_v);
    pd_worst_free(&worst);
}

/* The two ends between which a question is asked. */
static void ends_of(const struct trial *t, double *low, double *high)
{
    const struct pd_case *const c = &t->c.what_if;
    double sum_a = 0;
    for (size_t i = 0; i < c->network->load_count; i++)
        if (pd_case_own(c, c->network->load[i].node))
            sum_a += c->network->load[i].high_a;
    *low = t->ask == PD_ASK_ELECTRODE ? 0.01 : 0;
    *high = t->ask == PD_ASK_ELECTRODE   ? 1e5
            : t->ask == PD_ASK_DEMAND    ? sum_a
            : t->ask == PD_ASK_IMBALANCE ? 1
                                         : 4;
    if (t->ask == PD_ASK_NEIGHBOURS)
        *low = 1.0 / (double)count_neighbours(c);
}

/* The search may fall short of the worst case; the proof then says by how much, and the question is
 * asked again for a limit lower by that. */
static void ask_until_proved(struct trial *t, struct pd_answer_to *answer)
{
    enum { TRIES = 4, MANY = 64 };
    const int tries = t->c.what_if.network->load_count > MANY ? 2 : TRIES;
    const double limit_v = t->c.what_if.limits.touch_v, close_v = 1e-3;
    double low, high, aim_v = limit_v;
    ends_of(t, &low, &high);
    for (int i = 0; i < tries && t->status == PD_OK; i++) {
        answer->found = pd_root_of(worst_found, t, low, high, t->ask == PD_ASK_ELECTRODE, aim_v,
                                   &answer->value);
        if (answer->found != PD_FOUND && answer->found != PD_FOUND_LEAST &&
            answer->found != PD_FOUND_ANY) {
            /* Of a limit lowered for the proof's sake this says nothing of the true one. */
            if (i > 0)
                answer->found = PD_FOUND_UNSOLVED;
            return;
        }
        certify_at(t, answer->found == PD_FOUND_ANY ? high : answer->value, answer);
        if (!isfinite(answer->bound_v) || answer->bound_v <= limit_v + close_v)
            break;
        aim_v -= answer->bound_v - limit_v - 0.5 * close_v;
    }
    if (!(answer->bound_v <= limit_v + close_v)) {
        answer->found = PD_FOUND_UNSOLVED;
        answer->value = NAN;
    }
}

static double line_sum(const struct pd_case *c, const double *load_a, int line)
{
    double sum_a = 0;
    for (size_t i = 0; i < c->network->load_count; i++)
        if (pd_case_own(c, c->network->load[i].node) &&
            (pd_phase_lines(c->network->load[i].phase) & 1u << line) != 0)
            sum_a += load_a[i];
    return sum_a;
}

/* The most that one line may carry above another, over the box as it is set. */
static double imbalance(const struct trial *t)
{
    const struct pd_case *const c = &t->c.what_if;
    double most_a = 0;
    size_t lines = 0;
    for (int one = PD_L1; one < PD_LINES; one++)
        lines += (c->installation_lines & 1u << one) != 0;
    for (int one = PD_L1; one < PD_LINES; one++)
        for (int other = PD_L1; other < PD_LINES; other++) {
            const bool both = (c->installation_lines & 1u << one) != 0 &&
                              (c->installation_lines & 1u << other) != 0;
            if (both && (one != other || lines == 1))
                most_a = fmax(most_a, line_sum(c, t->c.high_a, one) -
                                          (lines == 1 ? 0 : line_sum(c, t->c.low_a, other)));
        }
    return most_a;
}

/* From what was tried to what was asked. */
static void translate(struct trial *t, struct pd_answer_to *answer)
{
    const struct pd_case *const c = &t->c.what_if;
    const double limit_v = c->limits.touch_v;
    const bool valued = answer->found == PD_FOUND || answer->found == PD_FOUND_LEAST;
    if (t->ask == PD_ASK_ELECTRODE && valued)
        answer->electrode_a = limit_v / answer->value;
    if (t->ask == PD_ASK_IMBALANCE) {
        set(t, 1);
        answer->present = imbalance(t);
        set(t, valued ? answer->value : 0);
        answer->value = valued ? imbalance(t) : (double)NAN;
    }
    if (t->ask == PD_ASK_NEIGHBOURS && valued) {
        const double count = answer->value * (double)count_neighbours(c);
        answer->value = answer->found == PD_FOUND ? floor(count) : ceil(count);
    }
}

static bool can_ask(const struct trial *t)
{
    const struct pd_case *const c = &t->c.what_if;
    bool gives_way = false, own_range = false;
    for (size_t i = 0; i < c->network->load_count; i++) {
        const struct pd_load *const load = &c->network->load[i];
        gives_way |= pd_gives_way(c, load);
        own_range |= pd_case_own(c, load->node) && load->low_a != load->high_a;
    }
    switch (t->ask) {
    case PD_ASK_ELECTRODE:
        return true;
    case PD_ASK_DEMAND:
        return gives_way;
    case PD_ASK_IMBALANCE:
        return own_range;
    case PD_ASK_NEIGHBOURS:
        return count_neighbours(c) > 0;
    }
    return false;
}

static double present_of(const struct pd_case *c, enum pd_ask ask)
{
    switch (ask) {
    case PD_ASK_ELECTRODE:
        return pd_case_electrode(c, c->installation);
    case PD_ASK_DEMAND:
        return c->demand_limit_a;
    case PD_ASK_IMBALANCE:
        return NAN; /* found when it is asked */
    case PD_ASK_NEIGHBOURS:
        return (double)count_neighbours(c);
    }
    return NAN;
}

static enum pd_status ask(struct pd_run *run, enum pd_ask question, struct pd_answer_to *answer)
{
    const size_t loads = run->study_case->network->load_count;
    struct trial t = {.ask = question};
    t.status = pd_certifier_new(run, &t.c);
    if (t.status != PD_OK)
        return t.status;
    memcpy(t.c.section, run->path, run->path_count * sizeof *run->path);
    t.c.section_count = run->path_count;
    t.low_a = calloc(loads + 1, sizeof *t.low_a);
    t.high_a = calloc(loads + 1, sizeof *t.high_a);
    if (t.low_a == NULL || t.high_a == NULL)
        t.status = PD_ERR_MEMORY;
    if (t.status == PD_OK && can_ask(&t)) {
        memcpy(t.low_a, t.c.low_a, loads * sizeof *t.low_a);
        memcpy(t.high_a, t.c.high_a, loads * sizeof *t.high_a);
        ask_until_proved(&t, answer);
        translate(&t, answer);
    }
    free(t.low_a);
    free(t.high_a);
    pd_certifier_free(&t.c);
    return t.status;
}

static bool all_linear(const struct pd_network *network)
{
    bool linear = true;
    for (size_t i = 0; i < network->load_count; i++)
        linear &= network->load[i].behaviour->linear;
    return linear;
}

enum pd_status pd_run_answers(struct pd_run *run, struct pd_assessment *a)
{
    const struct pd_case *const c = run->study_case;
    enum pd_status status = PD_OK;
    for (int i = 0; i < PD_ASKS; i++)
        a->answer[i] = (struct pd_answer_to){.ask = (enum pd_ask)i,
                                             .found = PD_FOUND_NOT_ASKED,
                                             .value = NAN,
                                             .present = present_of(c, (enum pd_ask)i),
                                             .bound_v = NAN,
                                             .attained_v = NAN,
                                             .electrode_a = NAN};
    /* Without ranges too: the loads as they are have a largest electrode. */
    if (c->mutual_ohm != NULL || (run->faults & 1u << PD_OPEN_PEN) == 0 || c->earthing == PD_TT ||
        pd_certify_target(c) == PD_NONE || run->path_count == 0 || !all_linear(c->network))
        return PD_OK;
    for (int i = 0; i < PD_ASKS && status == PD_OK; i++)
        status = ask(run, (enum pd_ask)i, &a->answer[i]);
    return status;
}
