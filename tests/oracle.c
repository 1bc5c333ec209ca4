/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "oracle.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>

/* The unknowns and the matrix. The row of a voltage is Kirchhoff's current law at that conductor,
 * the row of a current is the voltage law along it. */
struct equations {
    const struct pd_network *network;
    size_t (*voltage)[PD_CONDUCTORS]; /* number of the unknown, PD_NONE: not there */
    size_t (*current)[PD_CONDUCTORS];
    size_t count;
    double complex *a; /* [count][count] by rows */
    double complex *b;
    double complex *x;
};

static void *room(size_t count, size_t size)
{
    void *const memory = calloc(count, size);
    assert_non_null(memory);
    return memory;
}

static void add(struct equations *e, size_t row, size_t column, double complex value)
{
    e->a[row * e->count + column] += value;
}

/* Which conductors a load joins, written out anew. */
static const int ends[PD_PHASES][3][2] = {
    [PD_ON_L1] = {{0, 3}, {-1}, {-1}},       [PD_ON_L2] = {{1, 3}, {-1}, {-1}},
    [PD_ON_L3] = {{2, 3}, {-1}, {-1}},       [PD_ON_L12] = {{0, 1}, {-1}, {-1}},
    [PD_ON_L23] = {{1, 2}, {-1}, {-1}},      [PD_ON_L31] = {{2, 0}, {-1}, {-1}},
    [PD_ON_L123] = {{0, 3}, {1, 3}, {2, 3}},
};

/* S = U I* and pf = P/|S|: the current lags by phi, so Y = (I/U) exp(-j phi). */
static double complex load_admittance(const struct pd_network *network, const struct pd_load *load,
                                      double current_a)
{
    const bool between_lines = ends[load->phase][0][1] != PD_N;
    const double times = !between_lines                      ? 1
                         : network->system == PD_SPLIT_PHASE ? 2
                                                             : 1.7320508075688772;
    const double phi = acos(fabs(load->power_factor));
    return current_a / (times * network->nominal_v) *
           cexp(I * (load->power_factor > 0 ? -phi : phi));
}

/* An electrode hangs on the PEN where the protective conductor last was one with the neutral. */
static size_t pen_of(const struct pd_network *network, size_t node)
{
    if (network->node[node].pe_node == PD_NONE)
        return PD_NONE;
    while (network->node[node].separate)
        node = network->node[node].parent;
    return node;
}

static bool below(const struct pd_network *network, size_t section, size_t node)
{
    for (; node != PD_NONE; node = network->node[node].parent)
        if (node == section)
            return true;
    return false;
}

bool oracle_tied(const struct pd_network *network, const struct pd_operating *operating,
                 size_t section)
{
    for (size_t i = 0; i < network->load_count; i++)
        if (operating->load_a[i] > 0 && ends[network->load[i].phase][0][1] == PD_N &&
            below(network, section, network->load[i].node))
            return true;
    for (size_t i = 0; i < operating->tie_count; i++)
        if (isfinite(operating->tie[i].resistance_ohm) &&
            below(network, section, pen_of(network, operating->tie[i].node)))
            return true;
    return false;
}

static void number(struct equations *e)
{
    const struct pd_network *const network = e->network;
    e->voltage = room(network->node_count, sizeof *e->voltage);
    e->current = room(network->node_count, sizeof *e->current);
    for (size_t i = 0; i < network->node_count; i++)
        for (int c = 0; c < PD_CONDUCTORS; c++) {
            const bool there = c == PD_N || (network->node[i].lines >> c & 1u) != 0;
            e->voltage[i][c] = there ? e->count++ : PD_NONE;
            e->current[i][c] = there ? e->count++ : PD_NONE;
        }
    e->a = room(e->count * e->count, sizeof *e->a);
    e->b = room(e->count, sizeof *e->b);
    e->x = room(e->count, sizeof *e->x);
}

static void equations_free(struct equations *e)
{
    free(e->voltage);
    free(e->current);
    free(e->a);
    free(e->b);
    free(e->x);
}

/* An admittance between two unknown voltages; `to` PD_NONE is remote earth. */
static void add_admittance(struct equations *e, size_t from, size_t to, double complex y_s)
{
    add(e, from, from, y_s);
    if (to == PD_NONE)
        return;
    add(e, to, to, y_s);
    add(e, from, to, -y_s);
    add(e, to, from, -y_s);
}

/* E_k = V_k - V_star + z I_k, the current leaving the star point; V_star = R_B I_earth. */
static void add_source(struct equations *e, double supply_v)
{
    const struct pd_source *const source = &e->network->source;
    const size_t star = e->voltage[0][PD_N];
    const size_t earth = e->current[0][PD_N];
    add(e, star, earth, 1);
    add(e, earth, star, 1);
    add(e, earth, earth, -source->electrode_ohm);
    for (int c = PD_L1; c < PD_LINES; c++) {
        const size_t line = e->voltage[0][c];
        const size_t flow = e->current[0][c];
        if (line == PD_NONE)
            continue;
        add(e, star, flow, 1);
        add(e, line, flow, -1);
        add(e, flow, line, 1);
        add(e, flow, star, -1);
        add(e, flow, flow, source->z_ohm);
        e->b[flow] = supply_v * source->unit_emf[c];
    }
}

static void add_section(struct equations *e, size_t i, const struct pd_cut *cut)
{
    const struct pd_node *const node = &e->network->node[i];
    const bool cut_here = cut->kind != PD_CUT_NONE && cut->section == i;
    for (int c = 0; c < PD_CONDUCTORS; c++) {
        const size_t flow = e->current[i][c];
        if (flow == PD_NONE)
            continue;
        add(e, e->voltage[node->parent][c], flow, 1);
        add(e, e->voltage[i][c], flow, -1);
        if (c == PD_N && cut_here && cut->kind == PD_CUT_OPEN) {
            add(e, flow, flow, 1);
            continue;
        }
        add(e, flow, e->voltage[node->parent][c], 1);
        add(e, flow, e->voltage[i][c], -1);
        for (int d = 0; d < PD_CONDUCTORS; d++)
            if (e->current[i][d] != PD_NONE)
                add(e, flow, e->current[i][d], -node->z_ohm.at[c][d]);
        if (c == PD_N && cut_here)
            add(e, flow, flow, -cut->joint_ohm);
    }
}

static void add_shunts(struct equations *e, const struct pd_operating *operating)
{
    const struct pd_network *const network = e->network;
    for (size_t i = 0; i < network->load_count; i++) {
        const struct pd_load *const load = &network->load[i];
        const size_t *const voltage = e->voltage[load->node];
        const double complex y_s = load_admittance(network, load, operating->load_a[i]);
        for (int k = 0; k < 3 && ends[load->phase][k][0] >= 0; k++)
            add_admittance(e, voltage[ends[load->phase][k][0]], voltage[ends[load->phase][k][1]],
                           y_s);
    }
    for (size_t i = 0; i < operating->tie_count; i++) {
        const size_t pen = pen_of(network, operating->tie[i].node);
        if (pen != PD_NONE)
            add_admittance(e, e->voltage[pen][PD_N], PD_NONE, 1 / operating->tie[i].resistance_ohm);
    }
}

static struct equations assemble(const struct pd_network *network,
                                 const struct pd_operating *operating, const struct pd_cut *cut)
{
    struct equations e = {.network = network};
    number(&e);
    add_source(&e, operating->supply_v);
    for (size_t i = 1; i < network->node_count; i++)
        add_section(&e, i, cut);
    add_shunts(&e, operating);
    return e;
}

/* What the unknowns leave of a row; what was summed goes to *size. */
static double row_error(const struct equations *e, size_t row, double *size)
{
    double complex sum = -e->b[row];
    *size = cabs(e->b[row]);
    for (size_t k = 0; k < e->count; k++) {
        sum += e->a[row * e->count + k] * e->x[k];
        *size += cabs(e->a[row * e->count + k] * e->x[k]);
    }
    return isnan(cabs(sum)) ? INFINITY : cabs(sum);
}

/* The largest error of a row, and the largest sum. */
static double worst_error(const struct equations *e, double *largest)
{
    double worst = 0;
    *largest = 0;
    for (size_t row = 0; row < e->count; row++) {
        double size;
        worst = fmax(worst, row_error(e, row, &size));
        *largest = fmax(*largest, size);
    }
    return worst;
}

/* GSL overwrites the matrix, which the backward error needs. A complex double is laid out as two
 * doubles (C17 6.2.5), as GSL has them. */
static void solve_dense(struct equations *e)
{
    const size_t n = e->count;
    double complex *const lu = room(n * n, sizeof *lu);
    for (size_t i = 0; i < n * n; i++)
        lu[i] = e->a[i];
    gsl_set_error_handler_off();
    gsl_matrix_complex_view a = gsl_matrix_complex_view_array((double *)lu, n, n);
    gsl_vector_complex_view b = gsl_vector_complex_view_array((double *)e->b, n);
    gsl_vector_complex_view x = gsl_vector_complex_view_array((double *)e->x, n);
    gsl_permutation *const order = gsl_permutation_alloc(n);
    assert_non_null(order);
    int sign;
    assert_int_equal(gsl_linalg_complex_LU_decomp(&a.matrix, order, &sign), GSL_SUCCESS);
    assert_int_equal(gsl_linalg_complex_LU_solve(&a.matrix, order, &b.vector, &x.vector),
                     GSL_SUCCESS);
    /* Refined twice, as a rounding of the current is volts across a joint of a gigohm. */
    gsl_matrix_complex_view original = gsl_matrix_complex_view_array((double *)e->a, n, n);
    gsl_vector_complex *const work = gsl_vector_complex_alloc(n);
    assert_non_null(work);
    for (int step = 0; step < 2; step++)
        assert_int_equal(gsl_linalg_complex_LU_refine(&original.matrix, &a.matrix, order, &b.vector,
                                                      &x.vector, work),
                         GSL_SUCCESS);
    gsl_vector_complex_free(work);
    gsl_permutation_free(order);
    free(lu);
}

void oracle_solve(const struct pd_network *network, const struct pd_operating *operating,
                  const struct pd_cut *cut, bool pin, struct oracle_answer *answer)
{
    struct equations e = assemble(network, operating, cut);
    if (pin)
        add_admittance(&e, e.voltage[cut->section][PD_N], PD_NONE, 1);
    solve_dense(&e);
    double largest;
    const double worst = worst_error(&e, &largest);
    *answer = (struct oracle_answer){
        .v = room(network->node_count, sizeof *answer->v),
        .current_a = room(network->node_count, sizeof *answer->current_a),
        .backward_error = worst / largest,
        .pin_a = pin ? e.x[e.voltage[cut->section][PD_N]] : 0,
    };
    for (size_t i = 0; i < network->node_count; i++)
        for (int c = 0; c < PD_CONDUCTORS; c++) {
            const bool there = e.voltage[i][c] != PD_NONE;
            answer->v[i][c] = there ? e.x[e.voltage[i][c]] : (double complex)NAN;
            answer->current_a[i][c] = there ? e.x[e.current[i][c]] : (double complex)NAN;
        }
    equations_free(&e);
}

void oracle_answer_free(struct oracle_answer *answer)
{
    free(answer->v);
    free(answer->current_a);
    *answer = (struct oracle_answer){0};
}

/* What the current law at a conductor still lacks is the current of the branch that feeds it: its
 * coefficient there is -1, but +1 where the star point feeds the electrode. */
static void fill_currents(struct equations *e, const struct pd_cut *cut)
{
    for (size_t i = e->network->node_count; i-- > 0;)
        for (int c = 0; c < PD_CONDUCTORS; c++) {
            const size_t row = e->voltage[i][c];
            if (row == PD_NONE || (c == PD_N && cut->kind == PD_CUT_OPEN && cut->section == i))
                continue;
            double complex lack = 0;
            for (size_t k = 0; k < e->count; k++)
                lack += e->a[row * e->count + k] * e->x[k];
            e->x[e->current[i][c]] = i == 0 && c == PD_N ? -lack : lack;
        }
}

double oracle_mismatch(const struct pd_network *network, const struct pd_operating *operating,
                       const struct pd_cut *cut, const double complex (*v)[PD_CONDUCTORS])
{
    struct equations e = assemble(network, operating, cut);
    for (size_t i = 0; i < network->node_count; i++)
        for (int c = 0; c < PD_CONDUCTORS; c++)
            if (e.voltage[i][c] != PD_NONE)
                e.x[e.voltage[i][c]] = v[i][c];
    fill_currents(&e, cut);
    double largest;
    const double worst = worst_error(&e, &largest);
    equations_free(&e);
    return worst;
}
