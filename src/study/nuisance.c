/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/nuisance.h"

#include <math.h>
#include <stdlib.h>

#include "study/reach.h"
#include "study/run.h"

/* How many samples go by between two questions whether to go on. */
enum { SAMPLES_A_QUESTION = 1 << 16 };

static struct pd_healthy_range no_range(void)
{
    return (struct pd_healthy_range){.low = INFINITY, .high = -INFINITY};
}

/* Once not known it stays not known: no comparison with NaN is true. */
static void widen(struct pd_healthy_range *range, const struct pd_scenario *s, double value)
{
    if (isnan(value)) {
        range->low = range->high = NAN;
        return;
    }
    if (value < range->low) {
        range->low = value;
        range->low_loads = s->loads;
        range->low_supply_v = s->supply_v;
    }
    if (value > range->high) {
        range->high = value;
        range->high_loads = s->loads;
        range->high_supply_v = s->supply_v;
    }
}

/* What a device senses of one healthy state: every line that it may be on, or its one figure. */
static void look_healthy(const struct pd_run *run, const struct pd_scenario *s, size_t i,
                         struct pd_nuisance_device *device)
{
    const struct pd_detector *const d = &run->study_case->detectors.detector[i];
    const struct pd_view here = pd_run_view(run, i);
    const struct pd_view view = pd_view_scaled(&here, s->supply_v / run->solved_v);
    const struct pd_sight sight = pd_detector_look(d, &view);
    device->determined &= sight.kind != PD_SIGHT_UNKNOWN && s->standing == PD_SOLVED;
    device->may_trip |= sight.may_trip;
    if (!pd_sense_has_band(d->senses))
        widen(&device->sensed, s, sight.figure);
    for (int line = PD_L1; line < PD_LINES && pd_sense_has_band(d->senses); line++)
        if ((view.lines & 1u << line) != 0)
            widen(&device->sensed, s, cabs(view.v[line] - view.v[PD_N]));
}

static void note_healthy(const struct pd_run *run, size_t state, double supply_v,
                         struct pd_sight *sight, struct pd_nuisance *n)
{
    const struct pd_case *const c = run->study_case;
    struct pd_scenario s;
    pd_run_fill(run, &run->main.fault[0], run->states->kind[state], supply_v, &s, sight);
    n->healthy_states++;
    n->supply_low_v = fmin(n->supply_low_v, supply_v);
    n->supply_high_v = fmax(n->supply_high_v, supply_v);
    for (int line = PD_L1; line < PD_LINES; line++) {
        if ((c->installation_lines & 1u << line) == 0)
            continue;
        const double emf_v = cabs(c->network->source.unit_emf[line]) * supply_v;
        widen(&n->line[line], &s, s.line_neutral_v[line]);
        n->drop_v = fmax(n->drop_v, emf_v - s.line_neutral_v[line]);
    }
    for (size_t i = 0; i < c->detectors.count; i++)
        look_healthy(run, &s, i, &n->device[i]);
}

static enum pd_status run_state(struct pd_run *run, size_t state, struct pd_sight *sight,
                                struct pd_nuisance *n)
{
    enum pd_status status = PD_OK;
    size_t levels = run->supply_count; /* until the first is factored */
    for (size_t level = 0; level < levels && status == PD_OK; level++) {
        status = pd_run_factor(run, pd_load_state(run->states, state), run->supply_v[level], NULL);
        if (status == PD_OK)
            status = pd_run_solve(run, &run->main.fault[0]);
        levels = pd_run_levels(run);
        const bool all = levels == 1;
        for (size_t i = all ? 0 : level; i < (all ? run->supply_count : level + 1); i++)
            note_healthy(run, state, run->supply_v[i], sight, n);
    }
    return status;
}

static enum pd_status run_healthy(struct pd_run *run, struct pd_nuisance *n)
{
    struct pd_sight *const sight = calloc(run->study_case->detectors.count + 1, sizeof *sight);
    enum pd_status status = sight != NULL ? PD_OK : PD_ERR_MEMORY;
    n->supply_low_v = INFINITY;
    n->supply_high_v = -INFINITY;
    n->drop_v = 0;
    for (size_t state = 0; state < run->states->count && status == PD_OK; state++)
        status = run_state(run, state, sight, n);
    free(sight);
    return status;
}

/* The lines that a device may be on. */
static unsigned device_lines(const struct pd_case *c, size_t i)
{
    const size_t node = c->detector_node[i];
    if (c->network == NULL || node >= c->network->node_count)
        return c->installation_lines;
    return c->installation_lines & c->network->node[node].lines;
}

/* What the log adds to the healthy range of a device that watches the lines it has. */
static struct pd_healthy_range with_log(const struct pd_nuisance *n, size_t i)
{
    const struct pd_nuisance_device *const device = &n->device[i];
    const unsigned lines = n->log.lines & device_lines(n->study_case, i);
    struct pd_healthy_range range = device->sensed;
    for (int line = PD_L1; line < PD_LINES && device->logged; line++)
        if (isfinite(range.low) && (lines & 1u << line) != 0) {
            range.low = fmin(range.low, n->log.low_v[line]);
            range.high = fmax(range.high, n->log.high_v[line]);
        }
    return range;
}

/* The narrowest thresholds that never trip: their near end on the range's end, a hair outside it
 * against rounding. */
static struct pd_detector never_trips(const struct pd_detector *detector,
                                      const struct pd_healthy_range *range)
{
    struct pd_detector d = *detector;
    const double hair = 1e-9;
    d.low_v = range->low - d.tolerance_v - hair;
    d.high_v = d.limit_v = range->high + d.tolerance_v + hair;
    d.limit_a = range->high + d.tolerance_a + hair;
    return d;
}

static enum pd_status compare_reach(struct pd_run *run, size_t i, struct pd_nuisance *n)
{
    const struct pd_case *const c = run->study_case;
    const struct pd_detector *const d = &c->detectors.detector[i];
    struct pd_nuisance_device *const device = &n->device[i];
    const bool current = d->senses == PD_SENSE_PE_CURRENT;
    const struct pd_healthy_range range = with_log(n, i);
    const struct pd_detector never = never_trips(d, &range);
    struct pd_unseen_set set;
    const enum pd_status status = pd_unseen_set_new(run, i, &set);
    device->never_low = pd_sense_has_band(d->senses) ? never.low_v : NAN;
    device->never_high = pd_sense_has_band(d->senses) ? never.high_v
                         : current                    ? never.limit_a
                                                      : never.limit_v;
    if (status == PD_OK) {
        device->widest = pd_widest_reach(&set, d, c->network->nominal_v, c->limits.touch_v);
        device->left_v = set.complete && isfinite(device->never_high)
                             ? pd_largest_unseen(&set, &never, INFINITY)
                             : NAN;
        device->both = pd_judge(device->left_v, c->limits.touch_v);
    }
    pd_unseen_set_free(&set);
    return status;
}

static enum pd_status study_network(const struct pd_case *c, pd_progress_function *progress,
                                    void *context, struct pd_nuisance *n)
{
    struct pd_load_states states = {0};
    struct pd_run run;
    enum pd_status status = pd_load_states_new(c, &states);
    if (status != PD_OK)
        return status;
    status = pd_run_new(c, &states, 1u << PD_HEALTHY, &run);
    if (status == PD_OK) {
        run.progress = progress;
        run.context = context;
        run.all = states.count * (1 + run.path_count * c->detectors.count);
        status = run_healthy(&run, n);
        for (size_t i = 0; i < c->detectors.count && status == PD_OK; i++)
            status = compare_reach(&run, i, n);
        pd_run_free(&run);
    }
    pd_load_states_free(&states);
    return status;
}

struct listening {
    struct pd_nuisance *nuisance;
    pd_progress_function *progress;
    void *context;
};

static enum pd_status hear(const struct pd_log_sample *sample, void *context)
{
    const struct listening *const l = context;
    const struct pd_detectors *const detectors = &l->nuisance->study_case->detectors;
    for (size_t i = 0; i < detectors->count; i++) {
        struct pd_log_sample own = *sample;
        own.lines &= device_lines(l->nuisance->study_case, i);
        if (pd_excursions_can(&detectors->detector[i], own.lines))
            pd_excursions_add(&l->nuisance->device[i].excursions, &detectors->detector[i], &own);
    }
    if (l->progress == NULL || l->nuisance->log.samples % SAMPLES_A_QUESTION != 0)
        return PD_OK;
    return l->progress(NAN, l->context) ? PD_OK : PD_ERR_INTERRUPTED;
}

/* A single column without a number is of the first line that the charging point has. */
static int first_line(const struct pd_case *c)
{
    const bool there = c->network != NULL && c->charging_point < c->network->node_count;
    const unsigned lines =
        there ? c->installation_lines & c->network->node[c->charging_point].lines : 1;
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((lines & 1u << line) != 0)
            return line;
    return PD_L1;
}

static enum pd_status read_log(const char *path, const char *name, struct listening *listening,
                               struct pd_errors *errors)
{
    struct pd_nuisance *const n = listening->nuisance;
    const struct pd_detectors *const detectors = &n->study_case->detectors;
    const enum pd_status status = pd_voltage_log_read(path, name, first_line(n->study_case), hear,
                                                      listening, &n->log, errors);
    n->has_log = status == PD_OK;
    for (size_t i = 0; i < detectors->count; i++) {
        const struct pd_detector *const d = &detectors->detector[i];
        const unsigned wanted = device_lines(n->study_case, i), lines = n->log.lines & wanted;
        n->device[i].logged = n->has_log && pd_excursions_can(d, lines);
        n->device[i].lines_missing = lines != wanted;
    }
    return status;
}

static enum pd_status study(struct pd_nuisance *n, const char *log_path, const char *log_name,
                            pd_progress_function *progress, void *context, struct pd_errors *errors)
{
    const struct pd_case *const c = n->study_case;
    struct listening listening = {n, progress, context};
    enum pd_status status = PD_OK;
    for (int line = PD_L1; line < PD_LINES; line++)
        n->line[line] = no_range();
    for (size_t i = 0; i < c->detectors.count; i++)
        n->device[i] = (struct pd_nuisance_device){.determined = c->missing.count == 0,
                                                   .sensed = no_range(),
                                                   .excursions = pd_excursions_new(),
                                                   .never_low = NAN,
                                                   .never_high = NAN,
                                                   .left_v = NAN,
                                                   .widest = NAN,
                                                   .both = PD_UNKNOWN};
    if (log_path != NULL)
        status = read_log(log_path, log_name, &listening, errors);
    if (status == PD_OK && c->missing.count == 0)
        status = study_network(c, progress, context, n);
    return status;
}

enum pd_status pd_nuisance_study(const struct pd_case *study_case, const char *log_path,
                                 const char *log_name, pd_progress_function *progress,
                                 void *context, struct pd_nuisance **out, struct pd_errors *errors)
{
    struct pd_nuisance *n = *out = calloc(1, sizeof *n);
    if (n == NULL)
        return PD_ERR_MEMORY;
    n->study_case = study_case;
    n->drop_v = n->supply_low_v = n->supply_high_v = NAN;
    n->device = calloc(study_case->detectors.count + 1, sizeof *n->device);
    const enum pd_status status =
        n->device != NULL ? study(n, log_path, log_name, progress, context, errors) : PD_ERR_MEMORY;
    if (status != PD_OK)
        pd_nuisance_free(out);
    return status;
}

void pd_nuisance_free(struct pd_nuisance **nuisance)
{
    if (nuisance == NULL || *nuisance == NULL)
        return;
    free((*nuisance)->device);
    free(*nuisance);
    *nuisance = NULL;
}
