/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "nodal.h"

#include <math.h>
#include <stdlib.h>

#include "stopwatch.h"

struct entry {
    int row, column;
    double complex value;
};

/* Entries as they come; those of one place are summed when they are sorted into columns. */
struct entries {
    struct entry *entry;
    size_t count;
};

static int unknown(size_t node, int conductor)
{
    return (int)(PD_CONDUCTORS * node) + conductor;
}

static int near_pen(const struct nodal *nodal, size_t section)
{
    return unknown(nodal->network->node[section].parent, PD_N);
}

static void add(struct entries *all, int row, int column, double complex value)
{
    all->entry[all->count++] = (struct entry){row, column, value};
}

static void add_between(struct entries *all, int a, int b, double complex y_s)
{
    add(all, a, a, y_s);
    add(all, b, b, y_s);
    add(all, a, b, -y_s);
    add(all, b, a, -y_s);
}

static int by_column(const void *a, const void *b)
{
    const struct entry *const x = a, *const y = b;
    return x->column != y->column ? x->column - y->column : x->row - y->row;
}

static void sort_into_columns(struct nodal *nodal, struct entries *all)
{
    int used = -1;
    qsort(all->entry, all->count, sizeof *all->entry, by_column);
    for (size_t i = 0; i < all->count; i++) {
        const struct entry *const e = &all->entry[i];
        if (i == 0 || by_column(e, e - 1) != 0) {
            nodal->row[++used] = e->row;
            nodal->without_loads[used] = 0;
            nodal->start[e->column + 1] = used + 1; /* the column's end so far */
        }
        nodal->without_loads[used] += e->value;
    }
}

static int place(const struct nodal *nodal, int row, int column)
{
    for (int i = nodal->start[column]; i < nodal->start[column + 1]; i++)
        if (nodal->row[i] == row)
            return i;
    must(false, "an entry of the admittance matrix is missing");
    return -1;
}

static void find_places(const struct nodal *nodal, int a, int b, int at[4])
{
    at[0] = place(nodal, a, a);
    at[1] = place(nodal, b, b);
    at[2] = place(nodal, a, b);
    at[3] = place(nodal, b, a);
}

static void add_source(struct nodal *nodal, struct entries *all, double supply_v)
{
    const struct pd_source *const source = &nodal->network->source;
    must(source->z_ohm != 0 && source->electrode_ohm > 0, "the source has no impedance");
    for (int c = PD_L1; c < PD_LINES; c++) {
        const double complex drive_a = supply_v * source->unit_emf[c] / source->z_ohm;
        add_between(all, unknown(0, c), unknown(0, PD_N), 1 / source->z_ohm);
        nodal->right[unknown(0, c)] += drive_a;
        nodal->right[unknown(0, PD_N)] -= drive_a;
    }
    add(all, unknown(0, PD_N), unknown(0, PD_N), 1 / source->electrode_ohm);
}

static void add_all(struct nodal *nodal, const struct pd_operating *operating, struct entries *all)
{
    const struct pd_network *const network = nodal->network;
    add_source(nodal, all, operating->supply_v);
    for (size_t i = 1; i < network->node_count; i++)
        for (int c = 0; c < PD_CONDUCTORS; c++)
            add_between(all, unknown(network->node[i].parent, c), unknown(i, c),
                        1 / network->node[i].z_ohm.at[c][c]);
    for (size_t i = 0; i < operating->tie_count; i++) {
        const int pen = unknown(operating->tie[i].node, PD_N);
        add(all, pen, pen, 1 / operating->tie[i].resistance_ohm);
    }
    for (size_t i = 0; i < network->load_count; i++) {
        const struct pd_load *const load = &network->load[i];
        must(load->phase <= PD_ON_L3, "only loads from line to neutral here");
        add_between(all, unknown(load->node, (int)load->phase), unknown(load->node, PD_N), 0);
    }
}

static void *room(size_t count, size_t size)
{
    void *const memory = calloc(count, size);
    must(memory != NULL, "out of memory");
    return memory;
}

void nodal_new(const struct pd_network *network, const struct pd_operating *operating,
               struct nodal *nodal)
{
    const size_t nodes = network->node_count,
                 most = 13 + 16 * nodes + operating->tie_count + 4 * network->load_count;
    struct entries all = {.entry = room(most, sizeof *all.entry)};
    const size_t count = PD_CONDUCTORS * nodes;
    *nodal = (struct nodal){.network = network,
                            .count = (int)count,
                            .start = room(count + 1, sizeof *nodal->start),
                            .row = room(most, sizeof *nodal->row),
                            .value = room(most, sizeof *nodal->value),
                            .without_loads = room(most, sizeof *nodal->without_loads),
                            .right = room(count, sizeof *nodal->right),
                            .load_place = room(network->load_count, sizeof *nodal->load_place),
                            .pen_place = room(nodes, sizeof *nodal->pen_place)};
    add_all(nodal, operating, &all);
    sort_into_columns(nodal, &all);
    free(all.entry);
    for (size_t i = 1; i < nodes; i++)
        find_places(nodal, near_pen(nodal, i), unknown(i, PD_N), nodal->pen_place[i]);
    for (size_t i = 0; i < network->load_count; i++) {
        const struct pd_load *const load = &network->load[i];
        find_places(nodal, unknown(load->node, (int)load->phase), unknown(load->node, PD_N),
                    nodal->load_place[i]);
    }
    nodal_set_state(nodal, operating);
}

void nodal_free(struct nodal *nodal)
{
    free(nodal->start);
    free(nodal->row);
    free(nodal->value);
    free(nodal->without_loads);
    free(nodal->right);
    free(nodal->load_place);
    free(nodal->pen_place);
    *nodal = (struct nodal){0};
}

void nodal_set_state(struct nodal *nodal, const struct pd_operating *operating)
{
    const struct pd_network *const network = nodal->network;
    const int entries = nodal->start[nodal->count];
    for (int i = 0; i < entries; i++)
        nodal->value[i] = nodal->without_loads[i];
    for (size_t i = 0; i < network->load_count; i++) {
        const double pf = network->load[i].power_factor; /* above 0: the current lags */
        const double complex y_s =
            operating->load_a[i] / network->nominal_v * CMPLX(pf, -sqrt(1 - pf * pf));
        for (int k = 0; k < 4; k++)
            nodal->value[nodal->load_place[i][k]] += k < 2 ? y_s : -y_s;
    }
    nodal->open = 0;
}

void nodal_open(struct nodal *nodal, size_t section)
{
    if (nodal->open != 0)
        for (int k = 0; k < 4; k++)
            nodal->value[nodal->pen_place[nodal->open][k]] = nodal->shut[k];
    nodal->open = section;
    if (section == 0)
        return;
    const double complex y_s = 1 / nodal->network->node[section].z_ohm.at[PD_N][PD_N];
    for (int k = 0; k < 4; k++) {
        double complex *const value = &nodal->value[nodal->pen_place[section][k]];
        nodal->shut[k] = *value;
        *value -= k < 2 ? y_s : -y_s;
    }
}

void nodal_mark(const struct nodal *nodal, size_t section, double complex *column)
{
    column[near_pen(nodal, section)] = 1;
    column[unknown(section, PD_N)] = -1;
}

/* Y' = Y - y u u^T, so V' = V + (Y^-1 u) (u^T V) / (1/y - u^T Y^-1 u); 1/y is the PEN's impedance.
 */
bool nodal_take_out(const struct nodal *nodal, size_t section, const double complex *whole,
                    double complex *column)
{
    const int near = near_pen(nodal, section), far = unknown(section, PD_N);
    const double complex left =
        nodal->network->node[section].z_ohm.at[PD_N][PD_N] - (column[near] - column[far]);
    const double complex times = (whole[near] - whole[far]) / left;
    for (int i = 0; i < nodal->count; i++)
        column[i] = whole[i] + times * column[i];
    return left != 0;
}
