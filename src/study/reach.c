/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/reach.h"

#include <math.h>
#include <stdlib.h>

#include "table/grow.h"

enum { MIXES = 16, JOINTS = 120, JOINTS_SOLVED = 24, HALVINGS = 32, EDGE_HALVINGS = 24 };

static const double least_ohm = 0.001, most_ohm = 1000;

static double joint_ohm(int step, int steps)
{
    return least_ohm * pow(most_ohm / least_ohm, (double)step / steps);
}

static size_t place_of(const struct pd_unseen_set *set, size_t at, size_t level, size_t state)
{
    return (at * set->levels + level) * set->states + state;
}

/* A state in which what is not linear draws nothing would pass for linear: the case decides. */
static size_t count_levels(const struct pd_run *run)
{
    const struct pd_network *const network = run->study_case->network;
    for (size_t i = 0; i < network->load_count; i++)
        if (!network->load[i].behaviour->linear)
            return run->supply_count;
    return 1;
}

/* What is solved for: the run, whose detector, into which set. */
struct solving {
    struct pd_run *run;
    size_t detector;
    struct pd_unseen_set *set;
};

static enum pd_status solve_point(const struct solving *s, const struct pd_fault *fault,
                                  struct pd_unseen_point *point)
{
    const enum pd_status status = pd_run_solve(s->run, fault);
    const bool solved = s->run->solution.standing == PD_SOLVED;
    point->touch_v =
        solved ? pd_run_pe(s->run, s->run->study_case->charging_point) : CMPLX(NAN, NAN);
    point->view = pd_run_view(s->run, s->detector);
    s->set->complete &= solved;
    return status;
}

static enum pd_status solve_joints(const struct solving *s, size_t section)
{
    struct pd_unseen_set *const set = s->set;
    enum pd_status status = PD_OK;
    for (int i = 0; i <= JOINTS_SOLVED && status == PD_OK; i++) {
        struct pd_unseen_point *const larger =
            pd_grow(set->joint, set->joint_count, sizeof *larger);
        if (larger == NULL)
            return PD_ERR_MEMORY;
        set->joint = larger;
        const struct pd_fault fault = pd_pen_joint(section, joint_ohm(i, JOINTS_SOLVED));
        status = solve_point(s, &fault, &set->joint[set->joint_count++]);
    }
    return status;
}

static enum pd_status solve_break(const struct solving *s, size_t at, size_t level, size_t state)
{
    struct pd_unseen_set *const set = s->set;
    const size_t place = place_of(set, at, level, state);
    const size_t section = s->run->path[at];
    const struct pd_fault open = pd_open_pen(section), one = pd_pen_joint(section, 1);
    struct pd_unseen_point joint;
    enum pd_status status = solve_point(s, &open, &set->open[place]);
    if (status != PD_OK || set->levels > 1)
        return status != PD_OK ? status : solve_joints(s, section);
    status = solve_point(s, &one, &joint);
    set->joint_s[place] =
        (set->sound[state].touch_v - joint.touch_v) / (joint.touch_v - set->open[place].touch_v);
    return status;
}

static enum pd_status solve_state(const struct solving *s, size_t state)
{
    struct pd_run *const run = s->run;
    const struct pd_unseen_set *const set = s->set;
    enum pd_status status = PD_OK;
    for (size_t level = 0; level < set->levels && status == PD_OK; level++) {
        status = pd_run_factor(run, pd_load_state(run->states, state),
                               run->supply_v[set->levels == 1 ? run->top : level], NULL);
        if (status == PD_OK)
            status =
                solve_point(s, &run->main.fault[0], &set->sound[place_of(set, 0, level, state)]);
        for (size_t at = 0; at < set->breaks && status == PD_OK; at++)
            status = solve_break(s, at, level, state);
    }
    return status;
}

enum pd_status pd_unseen_set_new(struct pd_run *run, size_t detector, struct pd_unseen_set *set)
{
    const struct solving solving = {run, detector, set};
    *set = (struct pd_unseen_set){.breaks = run->path_count,
                                  .levels = count_levels(run),
                                  .states = run->states->count,
                                  .scale_low = 1,
                                  .scale_high = 1,
                                  .complete = true};
    const size_t places = set->breaks * set->levels * set->states;
    enum pd_status status = PD_OK;
    set->open = calloc(places + 1, sizeof *set->open);
    set->sound = calloc(set->levels * set->states, sizeof *set->sound);
    set->joint_s = calloc(places + 1, sizeof *set->joint_s);
    if (set->open == NULL || set->sound == NULL || set->joint_s == NULL)
        return PD_ERR_MEMORY;
    if (set->levels == 1)
        set->scale_low =
            fmin(run->study_case->limits.supply_low_v, run->supply_v[0]) / run->supply_v[run->top];
    for (size_t state = 0; state < set->states && status == PD_OK; state++)
        status = solve_state(&solving, state);
    return status;
}

void pd_unseen_set_free(struct pd_unseen_set *set)
{
    free(set->open);
    free(set->sound);
    free(set->joint_s);
    free(set->joint);
    *set = (struct pd_unseen_set){0};
}

/* What puts a line's voltage, or what else is sensed, on the far edge of the thresholds. The figure
 * of a view is its own scale's: all is in proportion. */
static double edge_scale(const struct pd_detector *d, const struct pd_view *view, int line)
{
    const double figure = pd_sense_has_band(d->senses) ? cabs(view->v[line] - view->v[PD_N])
                                                       : pd_detector_look(d, view).figure;
    return pd_detector_window(d).high / figure * (1 - 1e-12); /* a hair inside, against rounding */
}

/* How a view stands: seen at every supply, unseen at the highest, or up to a line's edge. */
enum { SEEN = -2, TOP = -1 }; /* or the line */
struct standing {
    double unseen_v; /* the largest touch voltage unseen */
    int up_to;
};

/* What is not seen is a union of ranges of the supply that end at the highest or where a line
 * reaches the edge, so these are all that need be tried. */
static struct standing stand(const struct pd_unseen_set *set, const struct pd_detector *d,
                             double touch_v, const struct pd_view *view)
{
    struct standing best = {0, SEEN};
    double most = 0;
    for (int line = TOP; line < PD_LINES; line++) {
        if (line >= 0 && (view->lines & 1u << line) == 0)
            continue;
        const double scale = line == TOP ? set->scale_high : edge_scale(d, view, line);
        if (!(scale > most && scale >= set->scale_low && scale <= set->scale_high))
            continue;
        const struct pd_view scaled = pd_view_scaled(view, scale);
        if (pd_detector_look(d, &scaled).kind == PD_SEES)
            continue;
        most = scale;
        best = (struct standing){touch_v * scale, line};
    }
    return best;
}

/* The way from one solution to another: in proportion, or by a joint of growing ohms. */
struct way {
    const struct pd_unseen_set *set;
    const struct pd_detector *detector;
    const struct pd_unseen_point *from, *to;
    double complex joint_s; /* of a joint */
    bool joint;
    int steps;
};

static struct standing stand_at(const struct way *way, double step)
{
    const double part = step / way->steps;
    const double complex rc =
        way->joint_s * least_ohm * (way->joint ? pow(most_ohm / least_ohm, part) : 0);
    const double complex share = way->joint ? rc / (1 + rc) : part;
    const struct pd_view view = pd_view_between(&way->from->view, &way->to->view, share);
    return stand(way->set, way->detector,
                 cabs(way->from->touch_v + share * (way->to->touch_v - way->from->touch_v)), &view);
}

/* Between two steps of which one is seen and the other is not, the worst lies on the edge. */
static double unseen_on_edge(const struct way *way, double left, double right, int left_up_to,
                             double worst_v)
{
    for (int i = 0; i < EDGE_HALVINGS; i++) {
        const double middle = (left + right) / 2;
        const struct standing at = stand_at(way, middle);
        worst_v = fmax(worst_v, at.unseen_v);
        if (at.up_to == left_up_to)
            left = middle;
        else
            right = middle;
    }
    return worst_v;
}

/* The larger of worst_v and what the way leaves unseen. Nothing on it is much beyond its ends. */
static double unseen_on_way(const struct way *way, double worst_v)
{
    const double most_v = fmax(cabs(way->from->touch_v), cabs(way->to->touch_v));
    struct standing before = {0, SEEN};
    if (!(1.1 * most_v * way->set->scale_high > worst_v) || !isfinite(most_v))
        return worst_v; /* not finite: no potential is defined */
    for (int i = 0; i <= way->steps; i++) {
        const struct standing at = stand_at(way, i);
        worst_v = fmax(worst_v, at.unseen_v);
        if (i > 0 && at.up_to != before.up_to)
            worst_v = unseen_on_edge(way, i - 1, i, before.up_to, worst_v);
        before = at;
    }
    return worst_v;
}

/* From one load state to the others of a break, and as its joint goes bad. */
static double unseen_from(const struct pd_unseen_set *set, const struct pd_detector *d, size_t at,
                          size_t level, size_t state, double worst_v)
{
    const size_t place = place_of(set, at, level, state);
    struct way way = {.set = set, .detector = d, .from = &set->open[place], .steps = MIXES};
    for (size_t to = state; to < set->states; to++) {
        way.to = &set->open[place_of(set, at, level, to)];
        worst_v = unseen_on_way(&way, worst_v);
    }
    if (set->levels > 1 || !isfinite(cabs(set->joint_s[place])))
        return worst_v; /* solved one by one; or the chassis does not answer to a joint */
    way.from = &set->sound[place_of(set, 0, level, state)];
    way.to = &set->open[place];
    way.joint_s = set->joint_s[place];
    way.joint = true;
    way.steps = JOINTS;
    return unseen_on_way(&way, worst_v);
}

double pd_largest_unseen(const struct pd_unseen_set *set, const struct pd_detector *d,
                         double enough_v)
{
    double worst_v = 0;
    for (size_t i = 0; i < set->joint_count; i++)
        worst_v =
            fmax(worst_v, stand(set, d, cabs(set->joint[i].touch_v), &set->joint[i].view).unseen_v);
    for (size_t at = 0; at < set->breaks; at++)
        for (size_t level = 0; level < set->levels; level++)
            for (size_t state = 0; state < set->states && !(worst_v > enough_v); state++)
                worst_v = unseen_from(set, d, at, level, state, worst_v);
    return worst_v;
}

struct pd_detector pd_detector_with_reach(const struct pd_detector *detector, double nominal_v,
                                          double reach)
{
    struct pd_detector d = *detector;
    if (pd_sense_has_band(d.senses)) {
        d.low_v = nominal_v - reach;
        d.high_v = nominal_v + reach;
    } else if (d.senses == PD_SENSE_PE_CURRENT) {
        d.limit_a = reach;
    } else {
        d.limit_v = reach;
    }
    return d;
}

static bool keeps_within(const struct pd_unseen_set *set, const struct pd_detector *detector,
                         double nominal_v, double reach, double limit_v)
{
    const struct pd_detector d = pd_detector_with_reach(detector, nominal_v, reach);
    return pd_judge(pd_largest_unseen(set, &d, limit_v), limit_v) == PD_WITHIN;
}

double pd_widest_reach(const struct pd_unseen_set *set, const struct pd_detector *detector,
                       double nominal_v, double limit_v)
{
    double good = 0, bad = pd_sense_has_band(detector->senses) ? nominal_v : 1000;
    if (!set->complete || !isfinite(limit_v))
        return NAN;
    if (keeps_within(set, detector, nominal_v, bad, limit_v))
        return INFINITY;
    if (!keeps_within(set, detector, nominal_v, good, limit_v))
        return 0;
    for (int i = 0; i < HALVINGS; i++) {
        const double middle = (good + bad) / 2;
        if (keeps_within(set, detector, nominal_v, middle, limit_v))
            good = middle;
        else
            bad = middle;
    }
    return good;
}
