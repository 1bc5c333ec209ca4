/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_EARTHING_SURVEY_H
#define PENDRIFT_EARTHING_SURVEY_H

#include <stddef.h>

#include "earthing/soil.h"
#include "table/status.h"

/* A four-pin survey: resistance between the inner pins for current through the outer ones, four
 * pins in a row with equal spacing, the line's middle kept. */

struct pd_reading_pair {
    double spacing_m, resistance_ohm;
    double apparent_ohm_m; /* 2 pi a R (IEEE Std 81) */
};

/* Owns its array. Start it with {0}. */
struct pd_survey {
    struct pd_reading_pair *reading;
    size_t count;
    size_t spacings; /* that differ */
};
void pd_survey_free(struct pd_survey *survey);

/* Reads a table with the columns spacing_m (0.1 to 500) and resistance_ohm (0.0001 to 1e6); `table`
 * is its name in messages. A spacing may come several times. Returns as pd_table_read; an empty
 * table is PD_OK and has no answer. */
enum pd_status pd_survey_read(const char *path, const char *table, struct pd_survey *survey,
                              struct pd_errors *errors);

enum pd_survey_answer { PD_SURVEY_UNKNOWN, PD_SURVEY_UNIFORM, PD_SURVEY_LAYERED };
extern const char *const pd_survey_answer_names[PD_SURVEY_LAYERED + 1];

/* What ground the readings fit. Misfits are rms of ln(measured/model), in percent. Errors are
 * standard errors of the logarithm: 0.1 is about 10 %. NaN where not known. */
struct pd_survey_fit {
    enum pd_survey_answer answer;
    struct pd_soil soil; /* of the answer */
    double uniform_ohm_m, uniform_error, uniform_misfit;
    struct pd_soil layered; /* the best two-layer fit, whether or not it is the answer */
    double upper_error, depth_error, lower_error, layered_misfit;
    double f, f_needed; /* of the choice */
    const char *why;    /* in words; belongs to the program */
};

/* Fits both models to the logarithms by least squares (gsl_multifit_nlinear, from several starts).
 * Two layers are chosen where uniform ground misses by more than 3 % rms and the F test prefers
 * them at 95 %: F = ((S1 - S3)/2)/(S3/(n - 3)). Not determined: fewer than three different
 * spacings; a misfit of the chosen model above 15 %; three readings that uniform ground misses by
 * more than 3 % (nothing is left to test two layers by); a depth that the readings do not fix
 * (standard error above 1). The 3 % and 15 % are common practice, no source. PD_OK or
 * PD_ERR_MEMORY. */
enum pd_status pd_survey_fit(const struct pd_survey *survey, struct pd_survey_fit *fit);

#endif
