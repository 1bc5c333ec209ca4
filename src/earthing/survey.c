/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "earthing/survey.h"

#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_multifit_nlinear.h>

#include "table/grow.h"
#include "table/table.h"

const char *const pd_survey_answer_names[] = {[PD_SURVEY_UNKNOWN] = "not determined",
                                              [PD_SURVEY_UNIFORM] = "uniform",
                                              [PD_SURVEY_LAYERED] = "two layers"};

enum column { SPACING, RESISTANCE, COLUMNS };
static const struct pd_column columns[COLUMNS] = {
    [SPACING] = {"spacing_m", true},
    [RESISTANCE] = {"resistance_ohm", true},
};

enum { UPPER, DEPTH, LOWER, PARAMETERS, STEPS_MOST = 60 };
/* Parameters are logarithms and this much: GSL's difference quotients take steps in proportion to a
 * parameter, which must not be near 0 where the figure is near 1. */
static const double aside = 20;
static const double reading_misfit = 3, misfit_most = 15; /* percent */

static enum pd_status read_reading(const struct pd_row *row, void *context,
                                   struct pd_errors *errors)
{
    struct pd_survey *const survey = context;
    struct pd_reading_pair pair;
    bool good =
        pd_row_number(row, SPACING, (struct pd_range){0.1, 500, NULL}, &pair.spacing_m, errors);
    good &= pd_row_number(row, RESISTANCE,
                          (struct pd_range){1e-4, 1e6, "the resistance that the tester shows"},
                          &pair.resistance_ohm, errors);
    if (!good)
        return PD_ERR_INPUT;
    pair.apparent_ohm_m = pd_soil_four_pin_ohm_m(pair.spacing_m, pair.resistance_ohm);
    struct pd_reading_pair *const larger = pd_grow(survey->reading, survey->count, sizeof *larger);
    if (larger == NULL)
        return PD_ERR_MEMORY;
    survey->reading = larger;
    bool there = false;
    for (size_t i = 0; i < survey->count; i++)
        there |= larger[i].spacing_m == pair.spacing_m;
    survey->spacings += !there;
    larger[survey->count++] = pair;
    return PD_OK;
}

enum pd_status pd_survey_read(const char *path, const char *table, struct pd_survey *survey,
                              struct pd_errors *errors)
{
    return pd_table_read(path, table, columns, COLUMNS, read_reading, survey, errors);
}

void pd_survey_free(struct pd_survey *survey)
{
    free(survey->reading);
    *survey = (struct pd_survey){0};
}

static double within(double parameter, double low, double high)
{
    return exp(fmin(fmax(parameter - aside, log(low)), log(high)));
}

/* What the search works on: a boundary far above or below what the pins see is of no use to it. */
struct problem {
    const struct pd_survey *survey;
    double least_m, most_m;
};

/* The ground of a set of parameters, kept to what can be computed: a search may look anywhere. */
static struct pd_soil soil_of(const struct problem *problem, const gsl_vector *x)
{
    return (struct pd_soil){
        .upper_ohm_m = within(gsl_vector_get(x, UPPER), pd_soil_least_ohm_m, pd_soil_most_ohm_m),
        .upper_m = within(gsl_vector_get(x, DEPTH), problem->least_m, problem->most_m),
        .lower_ohm_m = within(gsl_vector_get(x, LOWER), pd_soil_least_ohm_m, pd_soil_most_ohm_m)};
}

static int residuals(const gsl_vector *x, void *context, gsl_vector *f)
{
    const struct problem *const problem = context;
    const struct pd_survey *const survey = problem->survey;
    const struct pd_soil soil = soil_of(problem, x);
    for (size_t i = 0; i < survey->count; i++) {
        const struct pd_reading_pair *const r = &survey->reading[i];
        const double model = pd_soil_apparent_ohm_m(&soil, r->spacing_m);
        const double miss = log(model / r->apparent_ohm_m);
        if (!isfinite(miss))
            return GSL_EDOM;
        gsl_vector_set(f, i, miss);
    }
    return GSL_SUCCESS;
}

static void fit_uniform(const struct pd_survey *survey, struct pd_survey_fit *fit)
{
    double mean = 0, squares = 0;
    const double n = (double)survey->count;
    for (size_t i = 0; i < survey->count; i++)
        mean += log(survey->reading[i].apparent_ohm_m) / n;
    for (size_t i = 0; i < survey->count; i++)
        squares += pow(log(survey->reading[i].apparent_ohm_m) - mean, 2);
    fit->uniform_ohm_m = exp(mean);
    fit->uniform_misfit = 100 * sqrt(squares / n);
    if (survey->count > 1)
        fit->uniform_error = sqrt(squares / (n - 1) / n);
}

/* Takes the solver's present place where it is better than the best so far. */
static void keep_best(const struct problem *problem, const gsl_multifit_nlinear_workspace *work,
                      gsl_matrix *covariance, struct pd_survey_fit *fit)
{
    const struct pd_survey *const survey = problem->survey;
    const gsl_vector *const f = gsl_multifit_nlinear_residual(work);
    double squares = 0;
    for (size_t i = 0; i < f->size; i++)
        squares += gsl_vector_get(f, i) * gsl_vector_get(f, i);
    const double n = (double)survey->count, misfit = 100 * sqrt(squares / n);
    if (!isfinite(misfit) || misfit >= fit->layered_misfit)
        return;
    fit->layered_misfit = misfit;
    fit->layered = soil_of(problem, gsl_multifit_nlinear_position(work));
    fit->upper_error = fit->depth_error = fit->lower_error = NAN;
    if (survey->count <= PARAMETERS || gsl_multifit_nlinear_covar(gsl_multifit_nlinear_jac(work),
                                                                  1e-12, covariance) != GSL_SUCCESS)
        return;
    const double variance = squares / (n - PARAMETERS);
    double error[PARAMETERS];
    for (size_t i = 0; i < PARAMETERS; i++) {
        const double c = gsl_matrix_get(covariance, i, i);
        error[i] = c > 0 ? sqrt(c * variance) : (double)NAN; /* 0: the readings do not see it */
    }
    fit->upper_error = error[UPPER];
    fit->depth_error = error[DEPTH];
    fit->lower_error = error[LOWER];
}

static void search(const struct pd_survey *survey, gsl_multifit_nlinear_workspace *work,
                   gsl_vector *start, gsl_matrix *covariance, struct pd_survey_fit *fit)
{
    const struct pd_reading_pair *near = survey->reading, *far = survey->reading;
    for (size_t i = 1; i < survey->count; i++) {
        near = survey->reading[i].spacing_m < near->spacing_m ? &survey->reading[i] : near;
        far = survey->reading[i].spacing_m > far->spacing_m ? &survey->reading[i] : far;
    }
    struct problem problem = {survey, near->spacing_m / 4, 2 * far->spacing_m};
    gsl_multifit_nlinear_fdf fdf = {
        .f = residuals, .n = survey->count, .p = PARAMETERS, .params = &problem};
    const double contrast = log(far->apparent_ohm_m / near->apparent_ohm_m);
    for (double depth_m = near->spacing_m / 2; depth_m <= far->spacing_m; depth_m *= 3)
        for (double steeper = 1; steeper <= 2; steeper += 0.5) {
            int reason;
            gsl_vector_set(start, UPPER, aside + log(near->apparent_ohm_m));
            gsl_vector_set(start, DEPTH, aside + log(depth_m));
            gsl_vector_set(start, LOWER, aside + log(near->apparent_ohm_m) + steeper * contrast);
            if (gsl_multifit_nlinear_init(start, &fdf, work) != GSL_SUCCESS)
                continue;
            gsl_multifit_nlinear_driver(STEPS_MOST, 1e-8, 1e-8, 0, NULL, NULL, &reason, work);
            keep_best(&problem, work, covariance, fit); /* also where it was still on its way */
        }
}

static enum pd_status fit_layered(const struct pd_survey *survey, struct pd_survey_fit *fit)
{
    gsl_multifit_nlinear_parameters how = gsl_multifit_nlinear_default_parameters();
    how.fdtype = GSL_MULTIFIT_NLINEAR_CTRDIFF;
    gsl_multifit_nlinear_workspace *const work =
        gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &how, survey->count, PARAMETERS);
    gsl_vector *const start = gsl_vector_alloc(PARAMETERS);
    gsl_matrix *const covariance = gsl_matrix_alloc(PARAMETERS, PARAMETERS);
    const bool room = work != NULL && start != NULL && covariance != NULL;
    fit->layered_misfit = INFINITY;
    if (room)
        search(survey, work, start, covariance, fit);
    gsl_matrix_free(covariance);
    gsl_vector_free(start);
    if (work != NULL)
        gsl_multifit_nlinear_free(work);
    return room ? PD_OK : PD_ERR_MEMORY;
}

static enum pd_survey_answer give_up(struct pd_survey_fit *fit, const char *why)
{
    fit->why = why;
    return PD_SURVEY_UNKNOWN;
}

static enum pd_survey_answer take_uniform(struct pd_survey_fit *fit, const char *why)
{
    if (!(fit->uniform_misfit <= misfit_most))
        return give_up(fit, "neither uniform ground nor two layers fit within 15 %");
    fit->soil = pd_soil_uniform(fit->uniform_ohm_m);
    fit->why = why;
    return PD_SURVEY_UNIFORM;
}

static enum pd_survey_answer choose(const struct pd_survey *survey, struct pd_survey_fit *fit)
{
    if (fit->uniform_misfit <= reading_misfit)
        return take_uniform(fit, "uniform ground fits within 3 %");
    if (survey->count <= PARAMETERS)
        return give_up(fit,
                       "uniform ground misses by more than 3 %, and three readings cannot test "
                       "two layers: measure at more spacings");
    const double left = (double)(survey->count - PARAMETERS);
    const double s1 = pow(fit->uniform_misfit, 2), s3 = pow(fit->layered_misfit, 2);
    fit->f = (s1 - s3) / 2 / (fmax(s3, 1e-12) / left);
    fit->f_needed = gsl_cdf_fdist_Pinv(0.95, 2, left);
    if (!(fit->f > fit->f_needed))
        return take_uniform(fit, "two layers do not fit better than chance would (F test, 95 %)");
    if (!(fit->layered_misfit <= misfit_most))
        return give_up(fit, "neither uniform ground nor two layers fit within 15 %");
    if (!(fit->depth_error <= 1) || !(fit->lower_error <= 1) || !(fit->upper_error <= 1))
        return give_up(fit, "two layers fit, but the readings do not fix their figures: measure at "
                            "closer and wider spacings");
    fit->soil = fit->layered;
    fit->why = "two layers fit better than uniform ground (F test, 95 %)";
    return PD_SURVEY_LAYERED;
}

enum pd_status pd_survey_fit(const struct pd_survey *survey, struct pd_survey_fit *fit)
{
    const struct pd_soil none = {NAN, NAN, NAN};
    *fit = (struct pd_survey_fit){.soil = none,
                                  .uniform_ohm_m = NAN,
                                  .uniform_error = NAN,
                                  .uniform_misfit = NAN,
                                  .layered = none,
                                  .upper_error = NAN,
                                  .depth_error = NAN,
                                  .lower_error = NAN,
                                  .layered_misfit = NAN,
                                  .f = NAN,
                                  .f_needed = NAN};
    if (survey->count > 0)
        fit_uniform(survey, fit);
    if (survey->spacings < 3) {
        fit->answer = give_up(fit, "fewer than three different spacings: measure at more");
        return PD_OK;
    }
    const enum pd_status status = fit_layered(survey, fit);
    if (status == PD_OK)
        fit->answer = choose(survey, fit);
    return status;
}
