/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/newton.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_linalg.h>

struct pd_newton {
    struct pd_ports *ports;
    size_t room;
    bool measured;
    double complex *response; /* [count][count] voltage at a port by one ampere at another */
    double complex *moved, *tried, *step; /* [count] */
    /* GSL's views of memory of our own: its allocators call a handler that may end the program. */
    double *jacobian_data, *residual_data, *change_data;
    size_t *order_data;
    gsl_matrix_view jacobian;         /* [2 count][2 count] real and imaginary parts */
    gsl_vector_view residual, change; /* [2 count] */
    gsl_permutation order;
};

void pd_newton_free(struct pd_newton **newton)
{
    struct pd_newton *const n = *newton;
    if (n == NULL)
        return;
    free(n->response);
    free(n->moved);
    free(n->tried);
    free(n->step);
    free(n->jacobian_data);
    free(n->residual_data);
    free(n->change_data);
    free(n->order_data);
    free(n);
    *newton = NULL;
}

enum pd_status pd_newton_new(size_t room, struct pd_newton **out)
{
    struct pd_newton *const n = *out = calloc(1, sizeof *n);
    const size_t count = room, size = 2 * room;
    if (n == NULL)
        return PD_ERR_MEMORY;
    n->room = room;
    n->response = calloc(count * count, sizeof *n->response);
    n->moved = calloc(count, sizeof *n->moved);
    n->tried = calloc(count, sizeof *n->tried);
    n->step = calloc(count, sizeof *n->step);
    n->jacobian_data = calloc(size * size, sizeof *n->jacobian_data);
    n->residual_data = calloc(size, sizeof *n->residual_data);
    n->change_data = calloc(size, sizeof *n->change_data);
    n->order_data = calloc(size, sizeof *n->order_data);
    if (n->response == NULL || n->moved == NULL || n->tried == NULL || n->step == NULL ||
        n->jacobian_data == NULL || n->residual_data == NULL || n->change_data == NULL ||
        n->order_data == NULL) {
        pd_newton_free(out);
        return PD_ERR_MEMORY;
    }
    return PD_OK;
}

bool pd_newton_start(struct pd_newton *n, struct pd_ports *ports)
{
    const size_t size = 2 * ports->count;
    if (ports->count > n->room)
        return false;
    n->ports = ports;
    n->measured = false;
    n->jacobian = gsl_matrix_view_array(n->jacobian_data, size, size);
    n->residual = gsl_vector_view_array(n->residual_data, size);
    n->change = gsl_vector_view_array(n->change_data, size);
    n->order = (gsl_permutation){size, n->order_data};
    return true;
}

static bool measure_responses(struct pd_newton *n)
{
    const size_t count = n->ports->count;
    for (size_t q = 0; q < count; q++) {
        if (!pd_ports_response(n->ports, q, n->moved))
            return false;
        for (size_t p = 0; p < count; p++)
            n->response[p * count + q] = n->moved[p];
    }
    return n->measured = true;
}

/* Injected at q is J = y u - I(u), so dJ = (y - by_v) du - by_conj conj(du): at p that makes
 * a du + b conj(du), in real and imaginary parts a 2x2 block. */
static void fill_jacobian(struct pd_newton *n, const double complex *u)
{
    const size_t count = n->ports->count;
    for (size_t q = 0; q < count; q++) {
        const struct pd_port port = pd_shunts_port(n->ports->tree->shunts, q);
        struct pd_draw draw;
        port.element->behaviour->draw(&port.element->point, u[q], &draw);
        for (size_t p = 0; p < count; p++) {
            const double complex z = n->response[p * count + q];
            const double complex a = z * (port.y_s - draw.by_v_s) - (p == q);
            const double complex b = -z * draw.by_conj_s;
            gsl_matrix_set(&n->jacobian.matrix, 2 * p, 2 * q, creal(a + b));
            gsl_matrix_set(&n->jacobian.matrix, 2 * p, 2 * q + 1, -cimag(a - b));
            gsl_matrix_set(&n->jacobian.matrix, 2 * p + 1, 2 * q, cimag(a + b));
            gsl_matrix_set(&n->jacobian.matrix, 2 * p + 1, 2 * q + 1, creal(a - b));
        }
    }
}

/* Whether the triangle of the LU leaves a direction in which the answer is free. */
static bool is_singular(const gsl_matrix *lu)
{
    double least = INFINITY, most = 0;
    for (size_t i = 0; i < lu->size1; i++) {
        const double pivot = fabs(gsl_matrix_get(lu, i, i));
        least = fmin(least, pivot);
        most = fmax(most, pivot);
        if (!isfinite(pivot))
            return true;
    }
    return !(least > PD_NEWTON_SINGULAR * most);
}

/* The step, from g(u) in n->moved. */
static bool find_step(struct pd_newton *n, const double complex *u)
{
    const size_t count = n->ports->count;
    int sign;
    fill_jacobian(n, u);
    for (size_t p = 0; p < count; p++) {
        gsl_vector_set(&n->residual.vector, 2 * p, creal(u[p] - n->moved[p]));
        gsl_vector_set(&n->residual.vector, 2 * p + 1, cimag(u[p] - n->moved[p]));
    }
    gsl_linalg_LU_decomp(&n->jacobian.matrix, &n->order, &sign);
    if (is_singular(&n->jacobian.matrix))
        return false;
    gsl_linalg_LU_solve(&n->jacobian.matrix, &n->order, &n->residual.vector, &n->change.vector);
    for (size_t p = 0; p < count; p++)
        n->step[p] = CMPLX(n->change_data[2 * p], n->change_data[2 * p + 1]);
    return true;
}

static double size_of(const struct pd_newton *n, const double complex *u)
{
    double sum = 0;
    for (size_t p = 0; p < n->ports->count; p++) {
        const double complex f = n->moved[p] - u[p];
        sum += creal(f * conj(f));
    }
    return sqrt(sum);
}

/* Halves the step until it brings g(u) - u down. */
static bool take_step(struct pd_newton *n, double complex *u)
{
    const double before = size_of(n, u);
    double share = 1;
    for (int i = 0; i < PD_NEWTON_HALVINGS; i++, share /= 2) {
        for (size_t p = 0; p < n->ports->count; p++)
            n->tried[p] = u[p] + share * n->step[p];
        if (!pd_ports_move(n->ports, n->tried, n->moved))
            return false;
        if (size_of(n, n->tried) < before) {
            memcpy(u, n->tried, n->ports->count * sizeof *u);
            return true;
        }
    }
    return false;
}

bool pd_newton_seek(struct pd_newton *n, double complex *u, double enough_v)
{
    if ((!n->measured && !measure_responses(n)) || !pd_ports_move(n->ports, u, n->moved))
        return false;
    for (int i = 0; i < PD_NEWTON_STEPS; i++) {
        if (pd_ports_distance(n->ports->count, u, n->moved) <= enough_v)
            return true;
        if (!find_step(n, u) || !take_step(n, u))
            return false;
    }
    return false;
}
