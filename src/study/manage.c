/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/manage.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* IEC 61851-1: the least current that a charging point can tell a vehicle; from memory. */
static const double charger_least_a = 6;

/* What share 0 counts as: the others have theirs first, it has what they leave. */
static const double last_share = 1e-9;

struct vehicle {
    size_t load;
    double asked_a, given_a, share, least_a;
    double complex unit[PD_LINES]; /* what one ampere of it takes from each line */
    bool paused, settled;
    struct vehicle *paused_before;
};

struct sharing {
    double limit_a[PD_LINES];
    double complex others_a[PD_LINES];
    struct vehicle *vehicle; /* [count] in the order of loads.csv */
    size_t count;
    struct vehicle *last_paused;
};

static bool is_charger(const struct pd_load *load)
{
    return strcmp(load->behaviour->name, "charger") == 0;
}

bool pd_gives_way(const struct pd_case *c, const struct pd_load *load)
{
    if (!pd_case_own(c, load->node) || load->behaviour->generates)
        return false;
    return pd_case_vehicle(c, load) || is_charger(load);
}

/* The current that a load of one ampere takes from each line, against the angle of L1. */
static void unit_current(const struct pd_network *network, const struct pd_load *load,
                         double complex unit[PD_LINES])
{
    const double complex *const emf = network->source.unit_emf;
    struct pd_element element[3];
    const size_t count = pd_load_elements(load, network->system, network->nominal_v, 1, element);
    for (int line = PD_L1; line < PD_LINES; line++)
        unit[line] = 0;
    for (size_t i = 0; i < count; i++) {
        const int from = element[i].from, to = element[i].to;
        const double complex across = emf[from] - (to == PD_N ? 0 : emf[to]);
        const double complex current = across / cabs(across) * pd_turn(load->power_factor);
        unit[from] += current;
        if (to != PD_N)
            unit[to] -= current;
    }
}

static struct vehicle vehicle_of(const struct pd_case *c, size_t load, double asked_a)
{
    const struct pd_load *const l = &c->network->load[load];
    const double least_a = is_charger(l) ? charger_least_a : 0;
    return (struct vehicle){.load = load,
                            .asked_a = asked_a,
                            .share = isnan(l->share) ? 1 : fmax(l->share, last_share),
                            .least_a = isnan(l->least_a) ? least_a : l->least_a};
}

static void gather(const struct pd_case *c, const double *load_a, struct sharing *s)
{
    for (size_t i = 0; i < c->network->load_count; i++) {
        const struct pd_load *const load = &c->network->load[i];
        double complex unit[PD_LINES];
        if (!pd_case_own(c, load->node))
            continue;
        unit_current(c->network, load, unit);
        if (load->behaviour->generates) {
            for (int line = PD_L1; line < PD_LINES; line++)
                s->limit_a[line] += load_a[i] * cabs(unit[line]);
        } else if (pd_gives_way(c, load)) {
            s->vehicle[s->count] = vehicle_of(c, i, load_a[i]);
            for (int line = PD_L1; line < PD_LINES; line++)
                s->vehicle[s->count].unit[line] = unit[line];
            s->count++;
        } else {
            for (int line = PD_L1; line < PD_LINES; line++)
                s->others_a[line] += load_a[i] * unit[line];
        }
    }
}

/* The largest level at which |fixed + level rate| is the limit; INFINITY where no level moves the
 * line. Filling comes from a level at which the line is within the limit. */
static double level_at_limit(double complex fixed_a, double complex rate, double limit_a)
{
    const double square = creal(rate * conj(rate));
    const double half = creal(fixed_a * conj(rate));
    const double rest = creal(fixed_a * conj(fixed_a)) - limit_a * limit_a;
    if (square == 0)
        return INFINITY;
    const double root = sqrt(fmax(0, half * half - square * rest));
    /* The same root twice: each form where it does not take two near numbers from each other. */
    return fmax(0, half > 0 ? -rest / (half + root) : (root - half) / square);
}

/* Whether the others alone fill a line of the vehicle's. */
static bool has_no_room(const struct sharing *s, const struct vehicle *v)
{
    for (int line = PD_L1; line < PD_LINES; line++)
        if (v->unit[line] != 0 && cabs(s->others_a[line]) >= s->limit_a[line])
            return true;
    return false;
}

/* How far each line lets the level rise, over the vehicles that are still rising. */
static void line_levels(const struct sharing *s, double level[PD_LINES])
{
    for (int line = PD_L1; line < PD_LINES; line++) {
        double complex fixed_a = s->others_a[line], rate = 0;
        for (size_t i = 0; i < s->count; i++) {
            const struct vehicle *const v = &s->vehicle[i];
            if (!v->settled)
                rate += v->share * v->unit[line];
            else
                fixed_a += v->given_a * v->unit[line];
        }
        level[line] = level_at_limit(fixed_a, rate, s->limit_a[line]);
    }
}

static double level_of_vehicle(const struct vehicle *v, const double level[PD_LINES])
{
    double least = INFINITY;
    for (int line = PD_L1; line < PD_LINES; line++)
        if (v->unit[line] != 0)
            least = fmin(least, level[line]);
    return least;
}

/* One step of filling: raises all to the level where the first has what it asks for or a line is
 * full, and settles those. False where none was left to rise. */
static bool raise_once(struct sharing *s)
{
    double level[PD_LINES], next = INFINITY;
    line_levels(s, level);
    for (size_t i = 0; i < s->count; i++) {
        const struct vehicle *const v = &s->vehicle[i];
        if (!v->settled)
            next = fmin(next, fmin(v->asked_a / v->share, level_of_vehicle(v, level)));
    }
    if (isinf(next))
        return false;
    for (size_t i = 0; i < s->count; i++) {
        struct vehicle *const v = &s->vehicle[i];
        if (v->settled)
            continue;
        const bool has_all = v->asked_a / v->share <= next;
        if (!has_all && level_of_vehicle(v, level) > next)
            continue;
        v->given_a = has_all ? v->asked_a : next * v->share;
        v->settled = true;
    }
    return true;
}

static void deal_out(struct sharing *s)
{
    for (size_t i = 0; i < s->count; i++) {
        s->vehicle[i].given_a = 0;
        s->vehicle[i].settled = s->vehicle[i].paused || has_no_room(s, &s->vehicle[i]);
    }
    while (raise_once(s))
        ;
}

/* Rounding must not pause a vehicle that is left just its least. */
static bool has_too_little(const struct vehicle *v)
{
    return !v->paused && v->given_a < v->asked_a && v->given_a < v->least_a * (1 - 1e-9);
}

static struct vehicle *first_to_pause(const struct sharing *s)
{
    struct vehicle *first = NULL;
    for (size_t i = 0; i < s->count; i++) {
        struct vehicle *const v = &s->vehicle[i];
        if (has_too_little(v) && (first == NULL || v->share < first->share))
            first = v;
    }
    return first;
}

static void pause_those_below_least(struct sharing *s)
{
    for (struct vehicle *v; (v = first_to_pause(s)) != NULL; deal_out(s)) {
        v->paused = true;
        v->paused_before = s->last_paused;
        s->last_paused = v;
    }
}

static void start_again(struct sharing *s)
{
    for (struct vehicle *v = s->last_paused; v != NULL; v = v->paused_before) {
        v->paused = false;
        deal_out(s);
        if (first_to_pause(s) != NULL)
            v->paused = true;
    }
    deal_out(s);
}

enum pd_status pd_manage(const struct pd_case *c, double *load_a)
{
    if (!(c->demand_limit_a > 0))
        return PD_OK;
    const double limit_a = c->demand_limit_a;
    struct sharing s = {.limit_a = {limit_a, limit_a, limit_a}};
    s.vehicle = calloc(c->network->load_count + 1, sizeof *s.vehicle);
    if (s.vehicle == NULL)
        return PD_ERR_MEMORY;
    gather(c, load_a, &s);
    deal_out(&s);
    pause_those_below_least(&s);
    start_again(&s);
    for (size_t i = 0; i < s.count; i++)
        load_a[s.vehicle[i].load] = s.vehicle[i].given_a;
    free(s.vehicle);
    return PD_OK;
}
