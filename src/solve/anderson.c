/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/anderson.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_linalg.h>

enum { MEMORY = 5 };

/* Complex vectors are taken as real ones of twice the length: the loads' currents answer to a
 * voltage and its conjugate apart. */
struct pd_anderson {
    size_t count; /* real numbers in a vector */
    size_t kept;  /* differences kept */
    double damping;
    double *last_x, *last_f; /* [count] the last x and its step */
    double *f;               /* [count] */
    double *dx[MEMORY], *df[MEMORY];
    double *matrix; /* [count][MEMORY] for the least squares */
};

static double *numbers(size_t count)
{
    return calloc(count + 1, sizeof(double));
}

enum pd_status pd_anderson_new(size_t room, struct pd_anderson **out)
{
    struct pd_anderson *const a = *out = calloc(1, sizeof *a);
    const size_t count = 2 * room;
    if (a == NULL)
        return PD_ERR_MEMORY;
    a->last_x = numbers(count);
    a->last_f = numbers(count);
    a->f = numbers(count);
    a->matrix = numbers(count * MEMORY);
    bool good = a->last_x != NULL && a->last_f != NULL && a->f != NULL && a->matrix != NULL;
    for (int i = 0; i < MEMORY; i++) {
        a->dx[i] = numbers(count);
        a->df[i] = numbers(count);
        good = good && a->dx[i] != NULL && a->df[i] != NULL;
    }
    if (good)
        return PD_OK;
    pd_anderson_free(out);
    return PD_ERR_MEMORY;
}

void pd_anderson_free(struct pd_anderson **anderson)
{
    struct pd_anderson *const a = *anderson;
    if (a == NULL)
        return;
    free(a->last_x);
    free(a->last_f);
    free(a->f);
    free(a->matrix);
    for (int i = 0; i < MEMORY; i++) {
        free(a->dx[i]);
        free(a->df[i]);
    }
    free(a);
    *anderson = NULL;
}

void pd_anderson_start(struct pd_anderson *a, size_t count, double damping)
{
    a->count = 2 * count;
    a->kept = 0;
    a->damping = damping;
    a->last_x[0] = NAN; /* there is no last */
}

/* Keeps the differences to the last x and step, the newest in front. */
static void remember(struct pd_anderson *a, const double *x)
{
    const size_t most = a->count < MEMORY ? a->count : MEMORY;
    if (isnan(a->last_x[0])) {
        a->last_x[0] = 0;
    } else {
        double *const dx = a->dx[most - 1], *const df = a->df[most - 1];
        memmove(&a->dx[1], &a->dx[0], (most - 1) * sizeof a->dx[0]);
        memmove(&a->df[1], &a->df[0], (most - 1) * sizeof a->df[0]);
        a->dx[0] = dx;
        a->df[0] = df;
        for (size_t i = 0; i < a->count; i++) {
            dx[i] = x[i] - a->last_x[i];
            df[i] = a->f[i] - a->last_f[i];
        }
        if (a->kept < most)
            a->kept++;
    }
    memcpy(a->last_x, x, a->count * sizeof *x);
    memcpy(a->last_f, a->f, a->count * sizeof *x);
}

/* gamma: least |f - DF gamma|, directions that are lost in rounding left out. */
static void least_squares(struct pd_anderson *a, double gamma[MEMORY])
{
    double v_data[MEMORY * MEMORY], s_data[MEMORY], work_data[MEMORY];
    const size_t n = a->kept;
    for (size_t i = 0; i < a->count; i++)
        for (size_t k = 0; k < n; k++)
            a->matrix[i * n + k] = a->df[k][i];
    gsl_matrix_view u = gsl_matrix_view_array(a->matrix, a->count, n);
    gsl_matrix_view v = gsl_matrix_view_array(v_data, n, n);
    gsl_vector_view s = gsl_vector_view_array(s_data, n);
    gsl_vector_view work = gsl_vector_view_array(work_data, n);
    gsl_vector_view f = gsl_vector_view_array(a->f, a->count);
    gsl_vector_view x = gsl_vector_view_array(gamma, n);
    gsl_linalg_SV_decomp(&u.matrix, &v.matrix, &s.vector, &work.vector);
    for (size_t k = 0; k < n; k++)
        if (!(s_data[k] > 1e-12 * s_data[0]))
            s_data[k] = 0;
    gsl_linalg_SV_solve(&u.matrix, &v.matrix, &s.vector, &f.vector, &x.vector);
}

void pd_anderson_step(struct pd_anderson *a, double complex *x, const double complex *g)
{
    double *const real_x = (double *)x;
    const double *const real_g = (const double *)g;
    double gamma[MEMORY] = {0};
    for (size_t i = 0; i < a->count; i++)
        a->f[i] = real_g[i] - real_x[i];
    remember(a, real_x);
    if (a->kept > 0)
        least_squares(a, gamma);
    for (size_t i = 0; i < a->count; i++) {
        double next = real_x[i] + a->damping * a->f[i];
        for (size_t k = 0; k < a->kept; k++)
            next -= gamma[k] * (a->dx[k][i] + a->damping * a->df[k][i]);
        real_x[i] = next;
    }
}
