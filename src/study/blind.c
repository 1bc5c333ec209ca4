/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/blind.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const unsigned three_lines = 1u << PD_L1 | 1u << PD_L2 | 1u << PD_L3;

static const struct pd_scenario *scenario_of(const struct pd_blind_device *device, size_t i)
{
    return &device->assessment->scenario[i];
}

/* Those that count in the verdict first, then the higher touch voltage, then as they were found. */
static bool goes_before(const struct pd_blind_device *device, size_t left, size_t right)
{
    const struct pd_scenario *const l = scenario_of(device, left);
    const struct pd_scenario *const r = scenario_of(device, right);
    if (pd_fault_judged(l->fault) != pd_fault_judged(r->fault))
        return pd_fault_judged(l->fault);
    return pd_exceeds(l->touch_v, r->touch_v);
}

static void sort_unseen(struct pd_blind_device *device)
{
    for (size_t i = 1; i < device->unseen_count; i++) {
        const size_t own = device->unseen[i];
        size_t place = i;
        for (; place > 0 && goes_before(device, own, device->unseen[place - 1]); place--)
            device->unseen[place] = device->unseen[place - 1];
        device->unseen[place] = own;
    }
}

static enum pd_status gather(struct pd_blind_device *device)
{
    const size_t scenarios = device->assessment->scenario_count;
    device->unseen = calloc(scenarios + 1, sizeof *device->unseen);
    if (device->unseen == NULL)
        return PD_ERR_MEMORY;
    for (size_t i = 0; i < scenarios; i++) {
        const struct pd_scenario *const s = scenario_of(device, i);
        const bool judged = pd_fault_judged(s->fault);
        const enum pd_sight_kind kind = s->sight[0].kind;
        device->unknown_count += judged && !s->floating && kind == PD_SIGHT_UNKNOWN;
        if (s->touch != PD_OVER)
            continue;
        device->over_count += judged;
        if (kind != PD_BLIND)
            continue;
        device->unseen[device->unseen_count++] = i;
        device->judged_count += judged;
    }
    sort_unseen(device);
    return PD_OK;
}

/* The share of one device's work in all. */
struct part {
    pd_progress_function *progress;
    void *context;
    size_t done, all;
};

static bool report_part(double share, void *context)
{
    const struct part *const part = context;
    return part->progress == NULL ||
           part->progress(((double)part->done + share) / (double)part->all, part->context);
}

/* Assesses the case with this device alone. It acts on whatever it sees, so that what the study
 * searches for, the worst that nothing acts on, is the worst that this device does not see. */
static enum pd_status assess_alone(const struct pd_case *c, size_t detector, struct part *part,
                                   struct pd_blind_device *device)
{
    device->acting = c->detectors.detector[detector];
    device->acting.delay_s = 0;
    device->acting.disconnects = PD_CUTS_LIVE_AND_PE;
    device->acting.disconnects_known = true;
    device->alone = *c;
    device->alone.detectors = (struct pd_detectors){&device->acting, 1};
    device->alone.detector_node = &c->detector_node[detector];
    const enum pd_status status =
        pd_assess(&device->alone, NULL, report_part, part, &device->assessment);
    return status == PD_OK ? gather(device) : status;
}

static void find_worst(const struct pd_blind *b, struct pd_blind_device *device)
{
    struct pd_detector all = *device->detector;
    struct pd_reach reach = device->reach;
    pd_region_worst(device->detector, &device->reach, b->low_v, b->high_v, &device->worst);
    all.senses = PD_SENSE_LINES;
    reach.watched = device->detector->senses == PD_SENSE_LINE && reach.lines == three_lines
                        ? three_lines
                        : 0; /* nothing to compare with: not known */
    pd_region_worst(&all, &reach, b->low_v, b->high_v, &device->three);
}

/* The supply voltage of the picture. */
static double drawn_supply(const struct pd_blind *b)
{
    const struct pd_scenario *worst = NULL;
    const struct pd_blind_device *widest = NULL;
    for (size_t i = 0; i < b->count; i++) {
        const struct pd_blind_device *const d = &b->device[i];
        const struct pd_scenario *const s =
            d->judged_count > 0 ? scenario_of(d, d->unseen[0]) : NULL;
        if (s != NULL && (worst == NULL || pd_exceeds(s->touch_v, worst->touch_v)))
            worst = s;
        if (d->worst.kind == PD_REGION_KNOWN &&
            (widest == NULL || pd_exceeds(d->worst.worst_v, widest->worst.worst_v)))
            widest = d;
    }
    return worst != NULL ? worst->supply_v : widest != NULL ? widest->worst.supply_v : b->supply_v;
}

static void find_views(const struct pd_blind *b, double drawn_v, struct pd_blind_device *device)
{
    const double supply_v[PD_BLIND_VIEWS] = {[PD_VIEW_DECLARED] = b->supply_v,
                                             [PD_VIEW_LOW] = b->low_v,
                                             [PD_VIEW_HIGH] = b->high_v,
                                             [PD_VIEW_WORST] = device->worst.supply_v,
                                             [PD_VIEW_DRAWN] = drawn_v};
    for (size_t i = 0; i < PD_BLIND_VIEWS; i++)
        pd_region_find(device->detector, &device->reach, supply_v[i], b->touch_v, &device->view[i]);
}

/* Detectors, reaches and scenarios are in place. */
static void find_all(struct pd_blind *b)
{
    for (size_t i = 0; i < b->count; i++)
        find_worst(b, &b->device[i]);
    const double drawn_v = drawn_supply(b);
    for (size_t i = 0; i < b->count; i++)
        find_views(b, drawn_v, &b->device[i]);
}

static enum pd_status make_room(struct pd_blind *b, size_t count)
{
    b->device = calloc(count + 1, sizeof *b->device);
    b->count = b->device != NULL ? count : 0;
    return b->device != NULL ? PD_OK : PD_ERR_MEMORY;
}

static void set_reach(const struct pd_network *network, unsigned watched, struct pd_reach *reach)
{
    memcpy(reach->unit_emf, network->source.unit_emf, sizeof reach->unit_emf);
    reach->lines = network->lines;
    reach->watched = watched;
}

/* All that is tried by pd_assess: both ends of the set's range, and the declared voltage. */
static void set_range(const struct pd_case *c, struct pd_blind *b)
{
    b->supply_v = c->supply_v;
    b->low_v = fmin(c->limits.supply_low_v, c->supply_v);
    b->high_v = fmax(c->limits.supply_high_v, c->supply_v);
    b->limits = c->limits;
    b->touch_v = c->limits.touch_v;
}

static enum pd_status fill_case(const struct pd_case *c, pd_progress_function *progress,
                                void *context, struct pd_blind *b)
{
    struct part part = {.progress = progress, .context = context, .all = c->detectors.count};
    enum pd_status status = make_room(b, c->detectors.count);
    b->study_case = c;
    b->system = c->network != NULL ? c->network->system : PD_SINGLE_PHASE;
    set_range(c, b);
    for (; part.done < b->count && status == PD_OK; part.done++) {
        struct pd_blind_device *const device = &b->device[part.done];
        device->detector = &c->detectors.detector[part.done];
        if (c->network != NULL && c->missing.count == 0)
            set_reach(c->network,
                      c->installation_lines & c->network->node[c->detector_node[part.done]].lines,
                      &device->reach);
        status = assess_alone(c, part.done, &part, device);
    }
    if (status == PD_OK)
        find_all(b);
    return status;
}

enum pd_status pd_blind_case(const struct pd_case *c, pd_progress_function *progress, void *context,
                             struct pd_blind **out)
{
    *out = calloc(1, sizeof **out);
    if (*out == NULL)
        return PD_ERR_MEMORY;
    const enum pd_status status = fill_case(c, progress, context, *out);
    if (status != PD_OK)
        pd_blind_free(out);
    return status;
}

static double given_or(double given, double otherwise)
{
    return isnan(given) ? otherwise : given;
}

/* What was left out comes from the limit set. */
static enum pd_status complete(struct pd_blind_alone *alone, struct pd_blind *b)
{
    struct pd_detector *const d = &alone->detector;
    const enum pd_status status = pd_limits_find(alone->limit_set, &b->limits, NULL);
    if (status != PD_OK)
        return status;
    if (d->senses == PD_SENSE_LINE || d->senses == PD_SENSE_LINES) {
        d->low_v = given_or(d->low_v, b->limits.band_low_v);
        d->high_v = given_or(d->high_v, b->limits.band_high_v);
    }
    b->own_touch = !isnan(alone->touch_v);
    b->touch_v = given_or(alone->touch_v, b->limits.touch_v);
    b->low_v = given_or(alone->low_v, b->limits.supply_low_v);
    b->high_v = given_or(alone->high_v, b->limits.supply_high_v);
    b->supply_v = fmin(b->high_v, fmax(b->low_v, b->limits.nominal_v));
    b->system = alone->system;
    const bool ranges = b->low_v > 0 && b->low_v <= b->high_v && !(d->low_v >= d->high_v);
    return ranges ? PD_OK : PD_ERR_ARGUMENT;
}

static enum pd_status fill_alone(struct pd_blind_alone *alone, struct pd_blind *b)
{
    struct pd_network *network = NULL;
    enum pd_status status = complete(alone, b);
    if (status == PD_OK)
        status = make_room(b, 1);
    if (status == PD_OK)
        status = pd_network_new(alone->system, b->supply_v, &network);
    if (status == PD_OK) {
        const bool one = alone->detector.senses == PD_SENSE_LINE;
        b->device[0].detector = &alone->detector;
        set_reach(network, one ? 1u << PD_L1 : network->lines, &b->device[0].reach);
        find_all(b);
    }
    pd_network_free(&network);
    return status;
}

enum pd_status pd_blind_alone(struct pd_blind_alone *alone, struct pd_blind **out)
{
    *out = calloc(1, sizeof **out);
    if (*out == NULL)
        return PD_ERR_MEMORY;
    const enum pd_status status = fill_alone(alone, *out);
    if (status != PD_OK)
        pd_blind_free(out);
    return status;
}

void pd_blind_free(struct pd_blind **blind)
{
    if (blind == NULL || *blind == NULL)
        return;
    for (size_t i = 0; i < (*blind)->count; i++) {
        free((*blind)->device[i].unseen);
        pd_assessment_free(&(*blind)->device[i].assessment);
    }
    free((*blind)->device);
    free(*blind);
    *blind = NULL;
}

bool pd_blind_unknown(const struct pd_blind *blind)
{
    for (size_t i = 0; i < blind->count; i++)
        if (blind->device[i].worst.kind == PD_REGION_UNKNOWN || blind->device[i].unknown_count > 0)
            return true;
    return blind->count == 0;
}
