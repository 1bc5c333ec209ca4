/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/electrode.h"

#include <math.h>
#include <stdlib.h>

#include "study/electrode_want.h"
#include "table/names.h"

static const double reach_m = 200;

static const struct pd_electrode_figure no_figure = {NAN, NAN, NAN, NAN, NAN};

enum pd_status pd_electrode_figure(const struct pd_electrode_question *question,
                                   enum pd_shape shape, const struct pd_shape_size *size,
                                   size_t segments, struct pd_electrode_figure *figure,
                                   struct pd_ground **ground)
{
    const struct pd_soil *const soil = &question->soil;
    struct pd_conductors conductors = {0};
    struct pd_ground *solved = NULL;
    const struct pd_ground_settings settings = {.segments = segments, .reach_m = reach_m};
    struct pd_shape_size sized = *size;
    *figure = no_figure;
    enum pd_status status = pd_conductors_add_shape(&conductors, shape, size, 0, 0, 0);
    const enum pd_status laid = status;
    if (status == PD_OK && pd_soil_good(soil))
        status = pd_ground_solve(&conductors, soil, &settings, &solved);
    pd_conductors_free(&conductors);
    if (status == PD_ERR_MEMORY || laid != PD_OK)
        return status;
    sized.soil_ohm_m = soil->upper_ohm_m;
    if (!pd_soil_layered(soil))
        figure->handbook_ohm = pd_shape_resistance(shape, &sized);
    if (solved != NULL) {
        figure->numerical_ohm = pd_ground_ohm(solved, 0);
        figure->error = pd_ground_error(solved);
    }
    if (solved != NULL && status == PD_OK)
        figure->ohm = fmax(figure->numerical_ohm, figure->handbook_ohm); /* NaN is left out */
    figure->dry_ohm = figure->ohm * question->season.factor;
    if (ground != NULL)
        *ground = solved;
    else
        pd_ground_free(&solved);
    return PD_OK;
}

static enum pd_status answer_shape(struct pd_electrode_answer *answer)
{
    const struct pd_electrode_question *const q = &answer->question;
    const enum pd_status status =
        pd_electrode_figure(q, q->shape, &q->size, 0, &answer->figure, &answer->ground);
    if (status == PD_OK && q->kind.name[0] != '\0')
        answer->low_ohm = answer->figure.ohm * q->kind.low_ohm_m / q->kind.high_ohm_m;
    return status;
}

enum pd_status pd_electrode_answer(const struct pd_electrode_question *question,
                                   pd_progress_function *progress, void *context,
                                   struct pd_electrode_answer **out)
{
    *out = NULL;
    struct pd_electrode_answer *answer = calloc(1, sizeof *answer);
    if (answer == NULL)
        return PD_ERR_MEMORY;
    answer->question = *question;
    answer->figure = no_figure;
    answer->low_ohm = answer->separation_m = NAN;
    answer->best = PD_NONE;
    const enum pd_status status = isnan(question->want_ohm)
                                      ? answer_shape(answer)
                                      : pd_electrode_want(answer, progress, context);
    if (status != PD_OK) {
        pd_electrode_answer_free(&answer);
        return status;
    }
    if (answer->ground != NULL && !isnan(question->separation_share))
        answer->separation_m =
            pd_ground_separation_m(answer->ground, 0, question->separation_share);
    *out = answer;
    return PD_OK;
}

void pd_electrode_answer_free(struct pd_electrode_answer **answer)
{
    if (*answer != NULL)
        pd_ground_free(&(*answer)->ground);
    free(*answer);
    *answer = NULL;
}

bool pd_electrode_answer_unknown(const struct pd_electrode_answer *answer)
{
    const struct pd_electrode_question *const q = &answer->question;
    if (!isnan(q->want_ohm))
        return answer->practicable == PD_PRACTICABLE_UNKNOWN ||
               (answer->practicable == PD_PRACTICABLE && isnan(q->season.factor));
    return !isfinite(answer->figure.ohm);
}

double pd_electrode_ground_share(const struct pd_electrode_answer *answer, double x_m, double y_m)
{
    if (answer->ground == NULL)
        return NAN;
    double one_a = 1;
    const gsl_vector_view current = gsl_vector_view_array(&one_a, 1);
    const struct pd_place place = {x_m, y_m, 0};
    const double share = pd_ground_potential(answer->ground, &current.vector, &place) /
                         pd_ground_ohm(answer->ground, 0);
    return share > 1 ? 1 : share; /* NaN stays */
}
