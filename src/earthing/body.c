/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "earthing/body.h"

#include <math.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_roots.h>

static const struct pd_body_current no_current = {NAN, NAN, NAN, NAN};

double pd_body_impedance(const struct pd_body *body, enum pd_skin skin, enum pd_people people,
                         double body_v)
{
    const struct pd_body_curve *const curve = &body->curve[skin];
    size_t i = 1;
    if (!(body_v >= 0) || curve->count < 2 || body_v > curve->touch_v[curve->count - 1])
        return NAN;
    if (body_v <= curve->touch_v[0])
        return curve->ohm[0][people];
    while (body_v > curve->touch_v[i])
        i++;
    const double part =
        (body_v - curve->touch_v[i - 1]) / (curve->touch_v[i] - curve->touch_v[i - 1]);
    return curve->ohm[i - 1][people] + part * (curve->ohm[i][people] - curve->ohm[i - 1][people]);
}

/* What must be zero at the voltage sought. */
struct equation {
    const struct pd_body *body;
    enum pd_skin skin;
    enum pd_people people;
    double body_part, series_ohm, prospective_v, current_a;
};

static double ohm_at(const struct equation *e, double body_v)
{
    return e->body_part * pd_body_impedance(e->body, e->skin, e->people, body_v);
}

static double divided(double body_v, void *context)
{
    const struct equation *const e = context;
    return body_v * (1 + e->series_ohm / ohm_at(e, body_v)) - e->prospective_v;
}

static double driven(double body_v, void *context)
{
    const struct equation *const e = context;
    return body_v - e->current_a * ohm_at(e, body_v);
}

enum { PASSES_MAX = 200 };

/* A root between 0, where the function is negative, and high_v. NaN in *root_v where it is still
 * negative there, or does not come within 1e-9 of high_v. Nothing here makes GSL raise an error but
 * a lack of memory. */
static enum pd_status find_root(double (*function)(double, void *), struct equation *equation,
                                double high_v, double *root_v)
{
    gsl_function f = {.function = function, .params = equation};
    const double at_high = function(high_v, equation);
    *root_v = NAN;
    if (!(at_high >= 0) || !(function(0, equation) <= 0))
        return PD_OK;
    gsl_root_fsolver *const solver = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
    if (solver == NULL)
        return PD_ERR_MEMORY;
    int status = gsl_root_fsolver_set(solver, &f, 0, high_v);
    for (int pass = 0; pass < PASSES_MAX && status == GSL_SUCCESS; pass++) {
        status = gsl_root_fsolver_iterate(solver);
        if (status != GSL_SUCCESS)
            break;
        if (gsl_root_test_interval(gsl_root_fsolver_x_lower(solver),
                                   gsl_root_fsolver_x_upper(solver), 1e-9 * high_v,
                                   0) == GSL_SUCCESS) {
            *root_v = gsl_root_fsolver_root(solver);
            break;
        }
    }
    gsl_root_fsolver_free(solver);
    return PD_OK;
}

static double last_voltage(const struct pd_body *body, enum pd_skin skin)
{
    const struct pd_body_curve *const curve = &body->curve[skin];
    return curve->count > 0 ? curve->touch_v[curve->count - 1] : NAN;
}

static enum pd_status held_below(const struct pd_body *body, enum pd_skin skin, double body_v)
{
    return body_v < body->curve[skin].touch_v[0] ? PD_DOUBTFUL : PD_OK;
}

enum pd_status pd_body_current(const struct pd_body *body, const struct pd_touch *touch,
                               struct pd_body_current *current)
{
    const struct pd_body_path *const path = &body->path[touch->path];
    struct equation equation = {.body = body,
                                .skin = touch->skin,
                                .people = touch->people,
                                .body_part = path->body_part,
                                .series_ohm = touch->series_ohm,
                                .prospective_v = touch->prospective_v};
    double body_v = touch->prospective_v;
    *current = no_current;
    if (!isfinite(touch->prospective_v) || touch->prospective_v < 0 ||
        !isfinite(touch->series_ohm) || touch->series_ohm < 0)
        return PD_OK;
    if (touch->series_ohm > 0 && touch->prospective_v > 0) {
        const double high_v = fmin(touch->prospective_v, last_voltage(body, touch->skin));
        const enum pd_status status = find_root(divided, &equation, high_v, &body_v);
        if (status != PD_OK)
            return status;
    }
    const double ohm = ohm_at(&equation, body_v);
    if (!(ohm > 0))
        return PD_OK;
    *current = (struct pd_body_current){.body_v = body_v,
                                        .body_ohm = ohm,
                                        .body_a = body_v / ohm,
                                        .heart_a = path->heart_factor * body_v / ohm};
    return held_below(body, touch->skin, body_v);
}

enum pd_status pd_body_voltage(const struct pd_body *body, enum pd_skin skin, enum pd_people people,
                               enum pd_path path, double current_a, double *touch_v)
{
    struct equation equation = {.body = body,
                                .skin = skin,
                                .people = people,
                                .body_part = body->path[path].body_part,
                                .current_a = current_a};
    *touch_v = NAN;
    if (!isfinite(current_a) || current_a < 0)
        return PD_OK;
    const enum pd_status status = find_root(driven, &equation, last_voltage(body, skin), touch_v);
    return status != PD_OK ? status : held_below(body, skin, *touch_v);
}

/* IEEE Std 80: 0.116 A root second for 50 kg, 1000 ohm of body, a foot as a disc of 80 mm radius:
 * 3 rho each, two side by side or one behind the other. */
static double tolerable(double body_and_feet_ohm, double time_s)
{
    return time_s >= 0.03 && time_s <= 3 ? body_and_feet_ohm * 0.116 / sqrt(time_s) : NAN;
}

double pd_tolerable_touch(double soil_ohm_m, double time_s)
{
    return soil_ohm_m >= 0 ? tolerable(1000 + 1.5 * soil_ohm_m, time_s) : NAN;
}

double pd_tolerable_step(double soil_ohm_m, double time_s)
{
    return soil_ohm_m >= 0 ? tolerable(1000 + 6 * soil_ohm_m, time_s) : NAN;
}
