/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/anderson.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { MEMORY = PD_ANDERSON_MEMORY };

/* Complex vectors are taken as real ones of twice the length: the loads' currents answer to a
 * voltage and its conjugate apart. */
struct pd_anderson {
    size_t count; /* real numbers in a vector */
    size_t kept;  /* differences kept */
    double damping;
    double *last_x, *last_f; /* [count] the last x and its step */
    double *f;               /* [count] */
    double *dx[MEMORY], *df[MEMORY];
    double *matrix; /* [MEMORY][count] for the least squares */
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

static double dot(const double *a, const double *b, size_t count)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++)
        sum += a[i] * b[i];
    return sum;
}

/* gamma: least |f - DF gamma|, by Gram and Schmidt's orthogonal directions, the newest difference
 * first; one that the others leave next to nothing of is left out. */
static void least_squares(struct pd_anderson *a, double gamma[MEMORY])
{
    double r[MEMORY][MEMORY] = {{0}}, along[MEMORY] = {0};
    for (size_t k = 0; k < a->kept; k++) {
        double *const q = a->matrix + k * a->count;
        memcpy(q, a->df[k], a->count * sizeof *q);
        const double before = sqrt(dot(q, q, a->count));
        for (size_t j = 0; j < k; j++) {
            const double *const other = a->matrix + j * a->count;
            r[j][k] = dot(other, q, a->count);
            for (size_t i = 0; i < a->count; i++)
                q[i] -= r[j][k] * other[i];
        }
        const double left = sqrt(dot(q, q, a->count));
        const bool counts = left > PD_ANDERSON_LEFT * before;
        r[k][k] = counts ? left : 0;
        for (size_t i = 0; i < a->count; i++)
            q[i] = counts ? q[i] / left : 0;
        along[k] = dot(q, a->f, a->count);
    }
    for (size_t k = a->kept; k-- > 0;) {
        double rest = along[k];
        for (size_t j = k + 1; j < a->kept; j++)
            rest -= r[k][j] * gamma[j];
        gamma[k] = r[k][k] > 0 ? rest / r[k][k] : 0;
    }
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
