/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "oracle.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_multiroots.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

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

/* The voltage across an element at nominal voltage. */
static double across_v(const struct pd_network *network, const struct pd_load *load)
{
    const bool between_lines = ends[load->phase][0][1] != PD_N;
    const double times = !between_lines                      ? 1
                         : network->system == PD_SPLIT_PHASE ? 2
                                                             : 1.7320508075688772;
    return times * network->nominal_v;
}

/* S = U I* and pf = P/|S|: the current lags by phi. */
static double complex behind(const struct pd_load *load)
{
    const double phi = acos(fabs(load->power_factor));
    return cexp(I * (load->power_factor > 0 ? -phi : phi));
}

static double complex load_admittance(const struct pd_network *network, const struct pd_load *load,
                                      double current_a)
{
    return current_a / across_v(network, load) * behind(load);
}

static bool is(const struct pd_load *load, const char *behaviour)
{
    return strcmp(load->behaviour->name, behaviour) == 0;
}

static bool is_flexible(const struct pd_load *load)
{
    return !is(load, "impedance");
}

size_t oracle_elements(const struct pd_load *load)
{
    return ends[load->phase][1][0] < 0 ? 1 : 3;
}

const int *oracle_ends(const struct pd_load *load, size_t k)
{
    return ends[load->phase][k];
}

static double declared(double volts, double otherwise_v)
{
    return volts > 0 ? volts : otherwise_v;
}

bool oracle_has_window(const struct pd_load *load)
{
    return is(load, "charger") || is(load, "inverter-current") || is(load, "inverter-power");
}

bool oracle_inside(const struct pd_network *network, const struct pd_load *load,
                   double complex voltage_v)
{
    const double un = across_v(network, load), u = cabs(voltage_v);
    if (is(load, "charger"))
        return u >= declared(load->low_v, 0.85 * un) && u <= declared(load->high_v, 1.15 * un);
    return !oracle_has_window(load) ||
           (u >= declared(load->low_v, 0.8 * un) && u <= declared(load->high_v, 1.14 * un));
}

/* The size of the current at |U| = u: rated in at un. */
static double size_of_current(const struct pd_load *load, double in, double un, double u)
{
    const double tenth = 0.1 * un;
    const double ohmic = in * u / un;
    if (is(load, "impedance"))
        return ohmic;
    if (is(load, "current") || is(load, "charger")) {
        const double low = is(load, "charger") ? tenth : declared(load->low_v, tenth);
        return u >= low ? in : in * u / low;
    }
    if (is(load, "power") || is(load, "mixture")) {
        const double low = declared(load->low_v, 0.7 * un);
        const double power = u >= low ? un * in / u : un * in * u / (low * low);
        const double current = u >= tenth ? in : in * u / tenth;
        return is(load, "power")
                   ? power
                   : load->part[0] * ohmic + load->part[1] * current + load->part[2] * power;
    }
    /* Inverters: none up to a twentieth, all from a tenth on. */
    const double share = u <= tenth / 2 ? 0 : u >= tenth ? 1 : (u - tenth / 2) / (tenth / 2);
    if (is(load, "inverter-current"))
        return -in * share;
    assert_true(is(load, "inverter-power"));
    return -un * in / fmax(u, declared(load->low_v, 0.8 * un)) * share;
}

double complex oracle_draw(const struct pd_network *network, const struct pd_load *load,
                           double current_a, double complex voltage_v)
{
    const double u = cabs(voltage_v);
    if (u == 0)
        return 0;
    return size_of_current(load, current_a, across_v(network, load), u) * behind(load) *
           (voltage_v / u);
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

static bool is_off(const struct oracle_case *c, size_t load)
{
    return c->off != NULL && c->off[load];
}

static double neutral_s(const struct oracle_case *c, size_t section)
{
    const struct pd_network *const network = c->network;
    const struct pd_bridge *const bridge = &c->operating->bridge;
    double sum = 0;
    for (size_t i = 0; i < network->load_count; i++)
        for (size_t k = 0; k < oracle_elements(&network->load[i]); k++)
            if (!is_off(c, i) && oracle_ends(&network->load[i], k)[1] == PD_N &&
                below(network, section, network->load[i].node))
                sum += c->operating->load_a[i] / network->nominal_v;
    for (size_t i = 0; i < c->operating->tie_count; i++)
        if (below(network, section, pen_of(network, c->operating->tie[i].node)))
            sum += 1 / c->operating->tie[i].resistance_ohm;
    if (below(network, section, bridge->node))
        sum += bridge->admittance_s;
    return sum;
}

bool oracle_tied(const struct pd_network *network, const struct pd_operating *operating,
                 size_t section)
{
    return neutral_s(&(struct oracle_case){.network = network, .operating = operating}, section) >
           0;
}

static bool parts_neutral(const struct pd_cut *cut)
{
    return cut->kind == PD_CUT_OPEN || cut->kind == PD_CUT_JOINT;
}

double oracle_island_s(const struct oracle_case *c)
{
    return parts_neutral(c->cut) ? neutral_s(c, c->cut->section) : 0;
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

/* Where a section's conductor ends: a line and the PEN may have changed places. */
static int far_end(const struct pd_cut *cut, size_t section, int conductor)
{
    if (cut->kind != PD_CUT_CROSSED || cut->section != section)
        return conductor;
    return conductor == cut->line ? PD_N : conductor == PD_N ? cut->line : conductor;
}

static void add_section(struct equations *e, size_t i, const struct pd_cut *cut)
{
    const struct pd_node *const node = &e->network->node[i];
    const bool cut_here = cut->kind != PD_CUT_NONE && cut->section == i;
    for (int c = 0; c < PD_CONDUCTORS; c++) {
        const size_t flow = e->current[i][c];
        if (flow == PD_NONE)
            continue;
        const size_t far = e->voltage[i][far_end(cut, i, c)];
        add(e, e->voltage[node->parent][c], flow, 1);
        add(e, far, flow, -1);
        if (c == PD_N && cut_here && cut->kind == PD_CUT_OPEN) {
            add(e, flow, flow, 1);
            continue;
        }
        add(e, flow, e->voltage[node->parent][c], 1);
        add(e, flow, far, -1);
        for (int d = 0; d < PD_CONDUCTORS; d++)
            if (e->current[i][d] != PD_NONE)
                add(e, flow, e->current[i][d], -node->z_ohm.at[c][d]);
        if (c == PD_N && cut_here && cut->kind == PD_CUT_JOINT)
            add(e, flow, flow, -cut->joint_ohm);
    }
}

/* Electrodes in one ground: the inverse of their resistance matrix, of those that are there, by
 * GSL's LU. */
static void add_ground(struct equations *e, const struct pd_operating *operating)
{
    size_t column[64], tie[64], count = 0;
    for (size_t i = 0; i < operating->tie_count; i++) {
        const size_t pen = pen_of(e->network, operating->tie[i].node);
        if (pen == PD_NONE || isinf(operating->tie[i].resistance_ohm))
            continue;
        assert_true(count < 64);
        tie[count] = i;
        column[count++] = e->voltage[pen][PD_N];
    }
    if (count == 0)
        return;
    gsl_matrix *const r = gsl_matrix_alloc(count, count), *const g = gsl_matrix_alloc(count, count);
    gsl_permutation *const order = gsl_permutation_alloc(count);
    int sign;
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j < count; j++)
            gsl_matrix_set(r, i, j,
                           i == j ? operating->tie[tie[i]].resistance_ohm
                                  : operating->mutual_ohm[tie[i] * operating->tie_count + tie[j]]);
    assert_int_equal(gsl_linalg_LU_decomp(r, order, &sign), GSL_SUCCESS);
    assert_int_equal(gsl_linalg_LU_invert(r, order, g), GSL_SUCCESS);
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j < count; j++)
            add(e, column[i], column[j], gsl_matrix_get(g, i, j));
    gsl_permutation_free(order);
    gsl_matrix_free(r);
    gsl_matrix_free(g);
}

static void add_shunts(struct equations *e, const struct pd_operating *operating)
{
    const struct pd_network *const network = e->network;
    for (size_t i = 0; i < network->load_count; i++) {
        const struct pd_load *const load = &network->load[i];
        const size_t *const voltage = e->voltage[load->node];
        const double complex y_s =
            is_flexible(load) ? 0 : load_admittance(network, load, operating->load_a[i]);
        for (int k = 0; k < 3 && ends[load->phase][k][0] >= 0; k++)
            add_admittance(e, voltage[ends[load->phase][k][0]], voltage[ends[load->phase][k][1]],
                           y_s);
    }
    if (operating->mutual_ohm != NULL)
        add_ground(e, operating);
    for (size_t i = 0; i < operating->tie_count && operating->mutual_ohm == NULL; i++) {
        const size_t pen = pen_of(network, operating->tie[i].node);
        if (pen != PD_NONE)
            add_admittance(e, e->voltage[pen][PD_N], PD_NONE, 1 / operating->tie[i].resistance_ohm);
    }
    const struct pd_bridge *const bridge = &operating->bridge;
    if (bridge->admittance_s > 0)
        add_admittance(e, e->voltage[bridge->node][bridge->line], e->voltage[bridge->node][PD_N],
                       bridge->admittance_s);
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

static void take_answer(const struct equations *e, struct oracle_answer *answer)
{
    const size_t count = e->network->node_count;
    *answer = (struct oracle_answer){
        .v = room(count, sizeof *answer->v),
        .current_a = room(count, sizeof *answer->current_a),
    };
    for (size_t i = 0; i < count; i++)
        for (int c = 0; c < PD_CONDUCTORS; c++) {
            const bool there = e->voltage[i][c] != PD_NONE;
            answer->v[i][c] = there ? e->x[e->voltage[i][c]] : (double complex)NAN;
            answer->current_a[i][c] = there ? e->x[e->current[i][c]] : (double complex)NAN;
        }
}

void oracle_solve(const struct pd_network *network, const struct pd_operating *operating,
                  const struct pd_cut *cut, bool pin, struct oracle_answer *answer)
{
    for (size_t i = 0; i < network->load_count; i++)
        assert_true(operating->load_a[i] == 0 || !is_flexible(&network->load[i]));
    struct equations e = assemble(network, operating, cut);
    if (pin)
        add_admittance(&e, e.voltage[cut->section][PD_N], PD_NONE, 1);
    solve_dense(&e);
    double largest;
    const double worst = worst_error(&e, &largest);
    take_answer(&e, answer);
    answer->backward_error = worst / largest;
    answer->pin_a = pin ? e.x[e.voltage[cut->section][PD_N]] : 0;
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
            double complex lack = -e->b[row];
            for (size_t k = 0; k < e->count; k++)
                lack += e->a[row * e->count + k] * e->x[k];
            e->x[e->current[i][far_end(cut, i, c)]] = i == 0 && c == PD_N ? -lack : lack;
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

/* What the flexible loads draw at the voltages in x, as currents known: the right-hand side. */
static void fix_draws(struct equations *e, const struct oracle_case *c)
{
    const struct pd_network *const network = c->network;
    for (size_t i = 0; i < network->node_count; i++)
        for (int k = 0; k < PD_CONDUCTORS; k++)
            if (e->voltage[i][k] != PD_NONE)
                e->b[e->voltage[i][k]] = 0;
    for (size_t i = 0; i < network->load_count; i++) {
        const struct pd_load *const load = &network->load[i];
        if (!is_flexible(load) || c->operating->load_a[i] == 0 || is_off(c, i))
            continue;
        for (size_t k = 0; k < oracle_elements(load); k++) {
            const size_t from = e->voltage[load->node][oracle_ends(load, k)[0]];
            const size_t to = e->voltage[load->node][oracle_ends(load, k)[1]];
            const double complex drawn =
                oracle_draw(network, load, c->operating->load_a[i], e->x[from] - e->x[to]);
            e->b[from] -= drawn;
            e->b[to] += drawn;
        }
    }
}

static bool floats(const struct oracle_case *c)
{
    return c->cut->kind == PD_CUT_OPEN && oracle_island_s(c) == 0;
}

static struct equations with_voltages(const struct oracle_case *c,
                                      const double complex (*v)[PD_CONDUCTORS])
{
    struct equations e = assemble(c->network, c->operating, c->cut);
    const bool afloat = floats(c);
    for (size_t i = 0; i < c->network->node_count; i++)
        for (int k = 0; k < PD_CONDUCTORS; k++)
            if (e.voltage[i][k] != PD_NONE)
                e.x[e.voltage[i][k]] =
                    afloat && k == PD_N && below(c->network, c->cut->section, i) ? 0 : v[i][k];
    fix_draws(&e, c);
    fill_currents(&e, c->cut);
    return e;
}

/* What a row's error is measured by. */
static double row_scale(const struct oracle_case *c, size_t node, int conductor, double island_s)
{
    const bool cut_here = parts_neutral(c->cut) && c->cut->section == node && conductor == PD_N;
    return cut_here && c->cut->kind == PD_CUT_JOINT ? 1 + c->cut->joint_ohm * island_s : 1;
}

double oracle_residual(const struct oracle_case *c, const double complex (*v)[PD_CONDUCTORS])
{
    struct equations e = with_voltages(c, v);
    const double island_s = oracle_island_s(c);
    double worst = 0, size;
    for (size_t i = 0; i < c->network->node_count; i++)
        for (int k = 0; k < PD_CONDUCTORS; k++) {
            if (e.current[i][k] == PD_NONE ||
                (k == PD_N && floats(c) && below(c->network, c->cut->section, i)))
                continue;
            const bool opened = k == PD_N && c->cut->kind == PD_CUT_OPEN && c->cut->section == i;
            const double error =
                opened ? row_error(&e, e.voltage[i][k], &size) / island_s
                       : row_error(&e, e.current[i][k], &size) / row_scale(c, i, k, island_s);
            worst = fmax(worst, error / c->operating->supply_v);
        }
    equations_free(&e);
    return worst;
}

void oracle_currents(const struct oracle_case *c, const double complex (*v)[PD_CONDUCTORS],
                     double complex (*current_a)[PD_CONDUCTORS])
{
    struct equations e = with_voltages(c, v);
    for (size_t i = 0; i < c->network->node_count; i++)
        for (int k = 0; k < PD_CONDUCTORS; k++)
            current_a[i][k] = e.current[i][k] != PD_NONE ? e.x[e.current[i][k]] : 0;
    equations_free(&e);
}

/* GSL's side: each complex unknown and row is two real ones. */
struct root {
    struct equations *e;
    const struct oracle_case *c;
};

static void take_unknowns(struct equations *e, const gsl_vector *x)
{
    for (size_t i = 0; i < e->count; i++)
        e->x[i] = CMPLX(gsl_vector_get(x, 2 * i), gsl_vector_get(x, 2 * i + 1));
}

static int root_value(const gsl_vector *x, void *params, gsl_vector *f)
{
    const struct root *const root = params;
    take_unknowns(root->e, x);
    fix_draws(root->e, root->c);
    for (size_t row = 0; row < root->e->count; row++) {
        double complex sum = -root->e->b[row];
        for (size_t k = 0; k < root->e->count; k++)
            sum += root->e->a[row * root->e->count + k] * root->e->x[k];
        gsl_vector_set(f, 2 * row, creal(sum));
        gsl_vector_set(f, 2 * row + 1, cimag(sum));
    }
    return GSL_SUCCESS;
}

/* The draws' derivative by central differences: a real and an imaginary direction. */
static void add_slope(const struct root *root, size_t load, size_t k, gsl_matrix *j)
{
    const struct pd_network *const network = root->c->network;
    const struct pd_load *const l = &network->load[load];
    const double current_a = root->c->operating->load_a[load], step_v = 1e-4;
    const size_t end[2] = {root->e->voltage[l->node][oracle_ends(l, k)[0]],
                           root->e->voltage[l->node][oracle_ends(l, k)[1]]};
    const double complex u = root->e->x[end[0]] - root->e->x[end[1]];
    for (size_t part = 0; part < 2; part++) {
        const double complex d = part == 0 ? step_v : I * step_v;
        const double complex slope = (oracle_draw(network, l, current_a, u + d) -
                                      oracle_draw(network, l, current_a, u - d)) /
                                     (2 * step_v);
        for (size_t a = 0; a < 2; a++)
            for (size_t b = 0; b < 2; b++) {
                const double complex value = a == b ? slope : -slope;
                double *const real = gsl_matrix_ptr(j, 2 * end[a], 2 * end[b] + part);
                double *const imaginary = gsl_matrix_ptr(j, 2 * end[a] + 1, 2 * end[b] + part);
                *real += creal(value);
                *imaginary += cimag(value);
            }
    }
}

static int root_slope(const gsl_vector *x, void *params, gsl_matrix *j)
{
    const struct root *const root = params;
    const struct equations *const e = root->e;
    take_unknowns(root->e, x);
    for (size_t row = 0; row < e->count; row++)
        for (size_t k = 0; k < e->count; k++) {
            const double complex a = e->a[row * e->count + k];
            gsl_matrix_set(j, 2 * row, 2 * k, creal(a));
            gsl_matrix_set(j, 2 * row, 2 * k + 1, -cimag(a));
            gsl_matrix_set(j, 2 * row + 1, 2 * k, cimag(a));
            gsl_matrix_set(j, 2 * row + 1, 2 * k + 1, creal(a));
        }
    for (size_t i = 0; i < root->c->network->load_count; i++)
        for (size_t k = 0; k < oracle_elements(&root->c->network->load[i]); k++)
            if (is_flexible(&root->c->network->load[i]) && !is_off(root->c, i))
                add_slope(root, i, k, j);
    return GSL_SUCCESS;
}

static int root_both(const gsl_vector *x, void *params, gsl_vector *f, gsl_matrix *j)
{
    root_value(x, params, f);
    return root_slope(x, params, j);
}

bool oracle_settle(const struct oracle_case *c, const double complex (*start)[PD_CONDUCTORS],
                   struct oracle_answer *answer)
{
    struct equations e = with_voltages(c, start);
    if (floats(c))
        add_admittance(&e, e.voltage[c->cut->section][PD_N], PD_NONE, 1);
    struct root root = {.e = &e, .c = c};
    gsl_multiroot_function_fdf function = {root_value, root_slope, root_both, 2 * e.count, &root};
    gsl_vector *const x = gsl_vector_alloc(2 * e.count);
    gsl_multiroot_fdfsolver *const solver =
        gsl_multiroot_fdfsolver_alloc(gsl_multiroot_fdfsolver_hybridsj, 2 * e.count);
    assert_true(x != NULL && solver != NULL);
    gsl_set_error_handler_off();
    for (size_t i = 0; i < e.count; i++) {
        gsl_vector_set(x, 2 * i, creal(e.x[i]));
        gsl_vector_set(x, 2 * i + 1, cimag(e.x[i]));
    }
    int status = gsl_multiroot_fdfsolver_set(solver, &function, x);
    for (int step = 0; step < 200 && status == GSL_SUCCESS; step++)
        if (gsl_multiroot_test_residual(solver->f, 1e-8) == GSL_SUCCESS)
            break;
        else
            status = gsl_multiroot_fdfsolver_iterate(solver);
    const bool arrived = gsl_multiroot_test_residual(solver->f, 1e-7) == GSL_SUCCESS;
    take_unknowns(&e, solver->x);
    take_answer(&e, answer);
    gsl_multiroot_fdfsolver_free(solver);
    gsl_vector_free(x);
    equations_free(&e);
    return arrived;
}
