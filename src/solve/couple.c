/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/couple.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_linalg.h>

struct pd_coupling {
    size_t nodes, room, count;
    size_t *node;                              /* [count] */
    double *extra_s;                           /* [count][count] E */
    double complex (*response)[PD_CONDUCTORS]; /* [count][nodes] */
    double complex *lu, *before, *through;     /* [count][count], [count], [count] */
    size_t *order;                             /* [count] */
    double complex (*scratch)[PD_CONDUCTORS];  /* [nodes] */
};

enum pd_status pd_coupling_new(const struct pd_network *network, struct pd_coupling **out)
{
    struct pd_coupling *const c = *out = calloc(1, sizeof *c);
    if (c == NULL)
        return PD_ERR_MEMORY;
    c->nodes = network->node_count;
    return PD_OK;
}

static void free_room(struct pd_coupling *c)
{
    free(c->node);
    free(c->extra_s);
    free(c->response);
    free(c->lu);
    free(c->before);
    free(c->through);
    free(c->order);
    free(c->scratch);
    *c = (struct pd_coupling){.nodes = c->nodes};
}

void pd_coupling_free(struct pd_coupling **coupling)
{
    if (*coupling == NULL)
        return;
    free_room(*coupling);
    free(*coupling);
    *coupling = NULL;
}

static enum pd_status make_room(struct pd_coupling *c, size_t count)
{
    if (count <= c->room)
        return PD_OK;
    free_room(c);
    c->node = calloc(count, sizeof *c->node);
    c->extra_s = calloc(count * count, sizeof *c->extra_s);
    c->response = calloc(count * c->nodes, sizeof *c->response);
    c->lu = calloc(count * count, sizeof *c->lu);
    c->before = calloc(count, sizeof *c->before);
    c->through = calloc(count, sizeof *c->through);
    c->order = calloc(count, sizeof *c->order);
    c->scratch = calloc(c->nodes, sizeof *c->scratch);
    if (c->node == NULL || c->extra_s == NULL || c->response == NULL || c->lu == NULL ||
        c->before == NULL || c->through == NULL || c->order == NULL || c->scratch == NULL) {
        free_room(c);
        return PD_ERR_MEMORY;
    }
    c->room = count;
    return PD_OK;
}

/* Ties that carry current: there, and tied to the PEN. */
static bool is_there(const struct pd_network *network, const struct pd_earth_tie *tie)
{
    return tie->node < network->node_count && network->node[tie->node].pe_node != PD_NONE &&
           isfinite(tie->resistance_ohm);
}

static double mutual(const struct pd_operating *o, size_t i, size_t j)
{
    return o->mutual_ohm == NULL || i == j ? 0 : o->mutual_ohm[i * o->tie_count + j];
}

/* Coupled with any other that is there. */
static bool is_coupled(const struct pd_network *network, const struct pd_operating *o, size_t i)
{
    for (size_t j = 0; j < o->tie_count; j++)
        if (mutual(o, i, j) != 0 && is_there(network, &o->tie[j]))
            return is_there(network, &o->tie[i]);
    return false;
}

/* Turns a symmetric matrix into its inverse, by Cholesky's method on each unit vector (textbook).
 * False where it is not positive definite. */
static bool invert(double *a, size_t n, double *out)
{
    for (size_t j = 0; j < n; j++) {
        for (size_t k = 0; k < j; k++)
            for (size_t i = j; i < n; i++)
                a[i * n + j] -= a[i * n + k] * a[j * n + k];
        if (!(a[j * n + j] > 0))
            return false;
        const double root = sqrt(a[j * n + j]);
        for (size_t i = j; i < n; i++)
            a[i * n + j] /= root;
    }
    for (size_t column = 0; column < n; column++) {
        double *const x = out + column * n;
        for (size_t i = 0; i < n; i++) {
            x[i] = i == column;
            for (size_t k = 0; k < i; k++)
                x[i] -= a[i * n + k] * x[k];
            x[i] /= a[i * n + i];
        }
        for (size_t i = n; i-- > 0;) {
            for (size_t k = i + 1; k < n; k++)
                x[i] -= a[k * n + i] * x[k];
            x[i] /= a[i * n + i];
        }
    }
    return true;
}

/* G of the ties listed in `which`, into out[count][count]; `r` is as large, and is used up. */
static bool find_conductances(const struct pd_operating *o, const size_t *which, size_t count,
                              double *r, double *out)
{
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j < count; j++) {
            const double ohm =
                i == j ? o->tie[which[i]].resistance_ohm : mutual(o, which[i], which[j]);
            if (!(ohm >= 0) || ohm != (i == j ? ohm : mutual(o, which[j], which[i])))
                return false;
            r[i * count + j] = ohm;
        }
    return invert(r, count, out);
}

static size_t list_coupled(const struct pd_network *network, const struct pd_operating *o,
                           size_t *which)
{
    size_t count = 0;
    for (size_t i = 0; i < o->tie_count && o->mutual_ohm != NULL; i++)
        if (is_coupled(network, o, i)) {
            if (which != NULL)
                which[count] = i;
            count++;
        }
    return count;
}

enum pd_status pd_coupling_set(struct pd_coupling *c, const struct pd_network *network,
                               const struct pd_operating *o)
{
    const size_t count = list_coupled(network, o, NULL);
    c->count = 0;
    const enum pd_status status = count > 0 ? make_room(c, count) : PD_OK;
    if (status != PD_OK || count == 0)
        return status;
    list_coupled(network, o, c->order);
    double *const r = (double *)c->lu; /* not in use yet */
    if (!find_conductances(o, c->order, count, r, c->extra_s))
        return PD_ERR_ARGUMENT;
    for (size_t i = 0; i < count; i++) {
        const struct pd_earth_tie *const tie = &o->tie[c->order[i]];
        c->node[i] = network->node[tie->node].pe_node;
        for (size_t j = 0; j < count; j++)
            c->extra_s[i * count + j] =
                (i == j ? 1 / tie->resistance_ohm : 0) - c->extra_s[i * count + j];
    }
    c->count = count;
    return PD_OK;
}

size_t pd_coupling_count(const struct pd_coupling *c)
{
    return c->count;
}

size_t pd_coupling_node(const struct pd_coupling *c, size_t i)
{
    return c->node[i];
}

double complex (*pd_coupling_response(struct pd_coupling *c, size_t i))[PD_CONDUCTORS]
{
    return c->response + i * c->nodes;
}

double complex (*pd_coupling_scratch(struct pd_coupling *c))[PD_CONDUCTORS]
{
    return c->scratch;
}

bool pd_coupling_ready(struct pd_coupling *c)
{
    const size_t n = c->count;
    int sign;
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++) {
            double complex sum = i == j;
            for (size_t k = 0; k < n; k++)
                sum -= c->response[k * c->nodes + c->node[i]][PD_N] * c->extra_s[k * n + j];
            c->lu[i * n + j] = sum;
        }
    gsl_matrix_complex_view lu = gsl_matrix_complex_view_array((double *)c->lu, n, n);
    gsl_linalg_complex_LU_decomp(&lu.matrix, &(gsl_permutation){n, c->order}, &sign);
    for (size_t i = 0; i < n; i++)
        if (!(cabs(c->lu[i * n + i]) > 1e-12) || !isfinite(cabs(c->lu[i * n + i])))
            return false;
    return true;
}

/* through = E v. */
static void find_through(struct pd_coupling *c, const double complex *v)
{
    for (size_t i = 0; i < c->count; i++) {
        c->through[i] = 0;
        for (size_t j = 0; j < c->count; j++)
            c->through[i] += c->extra_s[i * c->count + j] * v[j];
    }
}

void pd_coupling_correct(struct pd_coupling *c, double complex (*v)[PD_CONDUCTORS])
{
    const size_t n = c->count;
    for (size_t i = 0; i < n; i++)
        c->before[i] = v[c->node[i]][PD_N];
    gsl_matrix_complex_view lu = gsl_matrix_complex_view_array((double *)c->lu, n, n);
    gsl_vector_complex_view x = gsl_vector_complex_view_array((double *)c->before, n);
    gsl_linalg_complex_LU_svx(&lu.matrix, &(gsl_permutation){n, c->order}, &x.vector);
    find_through(c, c->before);
    for (size_t k = 0; k < n; k++)
        for (size_t i = 0; i < c->nodes; i++)
            for (int conductor = 0; conductor < PD_CONDUCTORS; conductor++)
                v[i][conductor] += c->through[k] * c->response[k * c->nodes + i][conductor];
}

void pd_coupling_current(struct pd_coupling *c, const double complex (*v)[PD_CONDUCTORS],
                         double complex (*current)[PD_CONDUCTORS])
{
    for (size_t i = 0; i < c->count; i++)
        c->before[i] = v[c->node[i]][PD_N];
    find_through(c, c->before);
    for (size_t i = 0; i < c->count; i++)
        current[c->node[i]][PD_N] -= c->through[i];
}

enum pd_status pd_tie_currents(const struct pd_network *network,
                               const struct pd_operating *operating,
                               const struct pd_solution *solution, double complex *current_a)
{
    const size_t ties = operating->tie_count;
    for (size_t i = 0; i < ties; i++)
        current_a[i] = pd_tie_current(network, &operating->tie[i], solution);
    const size_t count = list_coupled(network, operating, NULL);
    if (count == 0)
        return PD_OK;
    size_t *const which = calloc(count, sizeof *which);
    double *const r = calloc(2 * count * count, sizeof *r), *const g = r + count * count;
    enum pd_status status = which != NULL && r != NULL ? PD_OK : PD_ERR_MEMORY;
    if (status == PD_OK) {
        list_coupled(network, operating, which);
        if (!find_conductances(operating, which, count, r, g))
            status = PD_ERR_ARGUMENT;
    }
    for (size_t i = 0; i < count && status == PD_OK; i++) {
        current_a[which[i]] = 0;
        for (size_t j = 0; j < count; j++)
            current_a[which[i]] +=
                g[i * count + j] *
                solution->v[network->node[operating->tie[which[j]].node].pe_node][PD_N];
    }
    free(which);
    free(r);
    return status;
}

double pd_ties_together(const struct pd_network *network, const struct pd_operating *operating,
                        size_t pe_node)
{
    const size_t ties = operating->tie_count;
    size_t *const which = calloc(ties + 1, sizeof *which), count = 0;
    double *const r = calloc(2 * ties * ties + 1, sizeof *r), *const g = r + ties * ties;
    double sum_s = 0;
    for (size_t i = 0; i < ties && which != NULL; i++)
        if (is_there(network, &operating->tie[i]) &&
            network->node[operating->tie[i].node].pe_node == pe_node)
            which[count++] = i;
    const bool good =
        which != NULL && r != NULL && find_conductances(operating, which, count, r, g);
    for (size_t i = 0; i < count * count && good; i++)
        sum_s += g[i];
    free(which);
    free(r);
    return good ? 1 / sum_s : NAN;
}
