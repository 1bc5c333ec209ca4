/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/block.h"

#include <math.h>

enum { SIZE = PD_CONDUCTORS };

void pd_block_apply(const struct pd_matrix *m, const double complex v[SIZE],
                    double complex out[SIZE])
{
    for (int i = 0; i < SIZE; i++)
        out[i] = m->at[i][0] * v[0] + m->at[i][1] * v[1] + m->at[i][2] * v[2] + m->at[i][3] * v[3];
}

void pd_block_add(struct pd_matrix *sum, const struct pd_matrix *m)
{
    for (int i = 0; i < SIZE; i++)
        for (int j = 0; j < SIZE; j++)
            sum->at[i][j] += m->at[i][j];
}

static struct pd_matrix product(const struct pd_matrix *a, const struct pd_matrix *b)
{
    struct pd_matrix c;
    for (int i = 0; i < SIZE; i++)
        for (int j = 0; j < SIZE; j++)
            c.at[i][j] = a->at[i][0] * b->at[0][j] + a->at[i][1] * b->at[1][j] +
                         a->at[i][2] * b->at[2][j] + a->at[i][3] * b->at[3][j];
    return c;
}

static struct pd_matrix one_plus_zy(const struct pd_matrix *z, bool diagonal,
                                    const struct pd_matrix *y)
{
    struct pd_matrix a;
    if (diagonal)
        for (int i = 0; i < SIZE; i++)
            for (int j = 0; j < SIZE; j++)
                a.at[i][j] = z->at[i][i] * y->at[i][j];
    else
        a = product(z, y);
    for (int i = 0; i < SIZE; i++)
        a.at[i][i] += 1;
    return a;
}

static double size_of(double complex x)
{
    return fabs(creal(x)) + fabs(cimag(x));
}

/* What a row is measured by: a joint of many ohms makes the neutral's row so large that any entry
 * of it would look like a good pivot, and the lines' voltages would lose half their digits. */
static double row_weight(const double complex row[SIZE])
{
    double largest = size_of(row[0]);
    for (int j = 1; j < SIZE; j++)
        if (size_of(row[j]) > largest)
            largest = size_of(row[j]);
    return largest > 0 ? 1 / largest : 0;
}

static int pivot_row(const struct pd_matrix *a, const double weight[SIZE], int column)
{
    int best = column;
    for (int i = column + 1; i < SIZE; i++)
        if (weight[i] * size_of(a->at[i][column]) > weight[best] * size_of(a->at[best][column]))
            best = i;
    return best;
}

static void swap(double complex *x, double complex *y)
{
    const double complex keep = *x;
    *x = *y;
    *y = keep;
}

/* Gauss and Jordan's elimination in place, with row pivots undone as column swaps at the end. */
static bool invert(struct pd_matrix *a)
{
    int pivot[SIZE];
    double weight[SIZE];
    for (int i = 0; i < SIZE; i++)
        weight[i] = row_weight(a->at[i]);
    for (int k = 0; k < SIZE; k++) {
        pivot[k] = pivot_row(a, weight, k);
        if (!(size_of(a->at[pivot[k]][k]) > 0))
            return false;
        for (int j = 0; j < SIZE && pivot[k] != k; j++)
            swap(&a->at[k][j], &a->at[pivot[k]][j]);
        weight[pivot[k]] = weight[k];
        const double complex scale = 1 / a->at[k][k];
        a->at[k][k] = 1;
        for (int j = 0; j < SIZE; j++)
            a->at[k][j] *= scale;
        for (int i = 0; i < SIZE; i++) {
            const double complex factor = a->at[i][k];
            if (i == k || factor == 0)
                continue;
            a->at[i][k] = 0;
            for (int j = 0; j < SIZE; j++)
                a->at[i][j] -= factor * a->at[k][j];
        }
    }
    for (int k = SIZE; k-- > 0;)
        for (int i = 0; i < SIZE && pivot[k] != k; i++)
            swap(&a->at[i][k], &a->at[i][pivot[k]]);
    return true;
}

bool pd_block_inverse(const struct pd_matrix *z_ohm, bool diagonal, const struct pd_matrix *y_s,
                      struct pd_matrix *out)
{
    *out = one_plus_zy(z_ohm, diagonal, y_s);
    return invert(out);
}

bool pd_branch_closed(const struct pd_matrix *z_ohm, bool diagonal, const struct pd_matrix *y_s,
                      struct pd_branch *branch)
{
    if (!pd_block_inverse(z_ohm, diagonal, y_s, &branch->transfer))
        return false;
    branch->up = product(y_s, &branch->transfer);
    return true;
}

static struct pd_matrix lines_only(const struct pd_matrix *m)
{
    struct pd_matrix lines = *m;
    for (int i = 0; i < SIZE; i++)
        lines.at[i][PD_N] = lines.at[PD_N][i] = 0;
    return lines;
}

bool pd_branch_open(const struct pd_matrix *z_ohm, bool tied, const struct pd_matrix *y_s,
                    struct pd_branch *branch)
{
    const struct pd_matrix z = lines_only(z_ohm);
    struct pd_matrix y = lines_only(y_s);
    const double complex y_nn = y_s->at[PD_N][PD_N];
    for (int i = 0; tied && i < PD_N; i++)
        for (int j = 0; j < PD_N; j++)
            y.at[i][j] -= y_s->at[i][PD_N] * y_s->at[PD_N][j] / y_nn;
    if (!pd_branch_closed(&z, false, &y, branch))
        return false;
    struct pd_matrix *const t = &branch->transfer;
    for (int j = 0; j < SIZE; j++)
        t->at[PD_N][j] = 0;
    for (int j = 0; tied && j < PD_N; j++)
        for (int k = 0; k < PD_N; k++)
            t->at[PD_N][j] -= y_s->at[PD_N][k] / y_nn * t->at[k][j];
    return true;
}
