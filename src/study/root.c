/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_roots.h>

#include "study/answers.h"

/* Bracketed roots of a quantity that is first tried for running one way. */

struct seek {
    pd_worst_at *at;
    void *trial;
    bool by_log;
    double limit_v;
    bool unsolved;
};

/* GSL takes no NaN: it is remembered, and stands for a limit passed. */
static double off_limit(double place, void *context)
{
    struct seek *const seek = context;
    const double volts = seek->at(seek->by_log ? exp(place) : place, seek->trial);
    if (isnan(volts))
        seek->unsolved = true;
    return isnan(volts) ? 1 : volts - seek->limit_v;
}

enum { PLACES = 9 };

static int runs(const double off[PLACES])
{
    const double same_v = 1e-6;
    bool rises = true, falls = true;
    for (int i = 1; i < PLACES; i++) {
        rises &= off[i] >= off[i - 1] - same_v;
        falls &= off[i] <= off[i - 1] + same_v;
    }
    return rises ? 1 : falls ? -1 : 0;
}

/* Keeps both ends of the bracket: of the two the one that keeps the limit is the answer. */
static enum pd_found halve(struct seek *seek, double good, double bad, double *place)
{
    enum { ROUNDS = 100 };
    gsl_function function = {.function = off_limit, .params = seek};
    gsl_root_fsolver *const solver = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
    if (solver == NULL)
        return PD_FOUND_UNSOLVED;
    int status = gsl_root_fsolver_set(solver, &function, fmin(good, bad), fmax(good, bad));
    for (int i = 0; i < ROUNDS && status == GSL_SUCCESS && !seek->unsolved; i++) {
        status = gsl_root_fsolver_iterate(solver);
        const double low = gsl_root_fsolver_x_lower(solver);
        const double high = gsl_root_fsolver_x_upper(solver);
        *place = good < bad ? low : high;
        if (status == GSL_SUCCESS && gsl_root_test_interval(low, high, 1e-10, 1e-10) == GSL_SUCCESS)
            break;
    }
    gsl_root_fsolver_free(solver);
    return status == GSL_SUCCESS && !seek->unsolved ? PD_FOUND : PD_FOUND_UNSOLVED;
}

enum pd_found pd_root_of(pd_worst_at *at, void *trial, double low, double high, bool by_log,
                         double limit_v, double *value)
{
    struct seek seek = {.at = at, .trial = trial, .by_log = by_log, .limit_v = limit_v};
    const double start = by_log ? log(low) : low, end = by_log ? log(high) : high;
    double off[PLACES], place = NAN;
    *value = NAN;
    for (int i = 0; i < PLACES; i++)
        off[i] = off_limit(start + (end - start) * i / (PLACES - 1), &seek);
    const int way = runs(off);
    if (seek.unsolved || !isfinite(limit_v))
        return PD_FOUND_UNSOLVED;
    if (way == 0)
        return PD_FOUND_CROOKED;
    if (off[0] <= 0 && off[PLACES - 1] <= 0)
        return PD_FOUND_ANY;
    if (off[0] > 0 && off[PLACES - 1] > 0)
        return PD_FOUND_NONE;
    const enum pd_found found =
        way > 0 ? halve(&seek, start, end, &place) : halve(&seek, end, start, &place);
    if (found != PD_FOUND)
        return found;
    *value = by_log ? exp(place) : place;
    return way > 0 ? PD_FOUND : PD_FOUND_LEAST;
}
