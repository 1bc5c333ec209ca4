/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/island.h"

#include <stdlib.h>
#include <string.h>

static enum pd_status list_elements(struct pd_island *s)
{
    const struct pd_network *const network = s->network;
    for (size_t i = 0; i < network->load_count; i++) {
        struct pd_element element[3];
        const size_t count =
            pd_load_elements(&network->load[i], network->system, network->nominal_v, 1, element);
        s->first[i] = s->element_count;
        s->linear &= network->load[i].behaviour->linear;
        for (size_t k = 0; k < count; k++) {
            const struct pd_point *const point = &element[k].point;
            const double complex y_s = point->turn / point->nominal_v;
            s->element[s->element_count++] = (struct pd_island_element){
                .load = i,
                .node = network->load[i].node,
                .from = element[k].from,
                .to = element[k].to,
                .y_s = y_s,
                .size_s = cabs(y_s),
                .element = element[k],
            };
        }
    }
    s->first[network->load_count] = s->element_count;
    return PD_OK;
}

static void measure_sections(struct pd_island *s)
{
    for (size_t n = 1; n < s->network->node_count; n++)
        for (int a = 0; a < PD_CONDUCTORS; a++)
            for (int b = 0; b < PD_CONDUCTORS; b++) {
                s->z_size[n][a][b] = cabs(s->network->node[n].z_ohm.at[a][b]);
                s->mutual[n] |= a != b && s->z_size[n][a][b] > 0;
            }
}

enum pd_status pd_island_new(const struct pd_network *network, const struct pd_earth_tie *tie,
                             size_t tie_count, struct pd_island *s)
{
    const size_t nodes = network->node_count;
    *s = (struct pd_island){.network = network, .tie = tie, .tie_count = tie_count, .linear = true};
    s->out = calloc(nodes, sizeof *s->out);
    s->on_path = calloc(nodes, sizeof *s->on_path);
    s->z_size = calloc(nodes, sizeof *s->z_size);
    s->mutual = calloc(nodes, sizeof *s->mutual);
    s->tie_node = calloc(tie_count + 1, sizeof *s->tie_node);
    s->element = calloc(3 * network->load_count + 1, sizeof *s->element);
    s->first = calloc(network->load_count + 1, sizeof *s->first);
    if (s->out == NULL || s->on_path == NULL || s->z_size == NULL || s->mutual == NULL ||
        s->tie_node == NULL || s->element == NULL || s->first == NULL) {
        pd_island_free(s);
        return PD_ERR_MEMORY;
    }
    for (size_t i = 0; i < tie_count; i++)
        s->tie_node[i] =
            isfinite(tie[i].resistance_ohm) ? network->node[tie[i].node].pe_node : PD_NONE;
    measure_sections(s);
    return list_elements(s);
}

void pd_island_free(struct pd_island *s)
{
    free(s->out);
    free(s->on_path);
    free(s->z_size);
    free(s->mutual);
    free(s->tie_node);
    free(s->element);
    free(s->first);
    *s = (struct pd_island){0};
}

enum pd_status pd_enclosure_new(const struct pd_island *s, struct pd_enclosure *e)
{
    const size_t nodes = s->network->node_count;
    *e = (struct pd_enclosure){.w = calloc(s->element_count + 1, sizeof *e->w),
                               .i = calloc(s->tie_count + 1, sizeof *e->i),
                               .v = calloc(nodes, sizeof *e->v),
                               .away = calloc(nodes, sizeof *e->away),
                               .scratch = malloc(pd_island_scratch(s))};
    if (e->w != NULL && e->i != NULL && e->v != NULL && e->away != NULL && e->scratch != NULL)
        return PD_OK;
    pd_enclosure_free(e);
    return PD_ERR_MEMORY;
}

void pd_enclosure_free(struct pd_enclosure *e)
{
    free(e->w);
    free(e->i);
    free(e->v);
    free(e->away);
    free(e->scratch);
    *e = (struct pd_enclosure){0};
}

void pd_enclosure_copy(const struct pd_island *s, const struct pd_enclosure *from,
                       struct pd_enclosure *to)
{
    memcpy(to->w, from->w, s->element_count * sizeof *to->w);
    memcpy(to->i, from->i, s->tie_count * sizeof *to->i);
    to->unit_v = from->unit_v;
    to->injected = from->injected;
}

void pd_island_open(struct pd_island *s, size_t section, size_t target)
{
    const struct pd_network *const network = s->network;
    s->section = section;
    s->target = target;
    for (size_t n = 0; n < network->node_count; n++) {
        s->out[n] = n > 0 && (n == section || s->out[network->node[n].parent]);
        s->on_path[n] = false;
    }
    s->beyond = s->out[target];
    s->reference = s->beyond ? target : section;
    for (size_t n = s->reference; section != PD_NONE && n != section; n = network->node[n].parent)
        s->on_path[n] = true;
    double intact_s = 0;
    s->earthed = false;
    for (size_t i = 0; i < s->tie_count; i++) {
        if (s->tie_node[i] == PD_NONE)
            continue;
        if (s->out[s->tie_node[i]])
            s->earthed = true;
        else
            intact_s += 1 / s->tie[i].resistance_ohm;
    }
    s->leak_s = s->earthed ? 0 : 1e-9;
    s->star_ohm = network->source.electrode_ohm / (1 + network->source.electrode_ohm * intact_s);
}

/* Most loads are linear, and this is where a proof spends its time. */
static inline struct pd_disc current(const struct pd_island_element *element,
                                     const struct pd_box *box, struct pd_disc w, double unit_v)
{
    if (!element->element.behaviour->linear)
        return pd_element_current(element, box, w, unit_v);
    return pd_disc_range(pd_disc_by(w, element->y_s, element->size_s), box->low[element->load],
                         box->high[element->load]);
}

/* Currents of elements and ties at their nodes, summed towards the root. The lines run on through
 * the break, the neutral does not. */
static void sum_currents(const struct pd_island *s, const struct pd_box *box,
                         struct pd_enclosure *e)
{
    const struct pd_network *const network = s->network;
    memset(e->away, 0, network->node_count * sizeof *e->away);
    e->loads = pd_disc_at(0, 0);
    for (size_t k = 0; k < s->element_count; k++) {
        const struct pd_island_element *const element = &s->element[k];
        const struct pd_disc i = current(element, box, e->w[k], e->unit_v);
        struct pd_disc *const at = e->away[element->node];
        at[element->from] = pd_disc_add(at[element->from], i);
        at[element->to] = pd_disc_sub(at[element->to], i);
        if (s->out[element->node] && element->to == PD_N)
            e->loads = pd_disc_add(e->loads, i);
    }
    for (size_t k = 0; k < s->tie_count; k++)
        if (s->tie_node[k] != PD_NONE) {
            struct pd_disc *const at = e->away[s->tie_node[k]];
            at[PD_N] = pd_disc_add(at[PD_N], e->i[k]);
        }
    for (size_t n = network->node_count; n-- > 1;)
        for (int c = 0; c < (n == s->section ? PD_N : PD_CONDUCTORS); c++) {
            struct pd_disc *const up = &e->away[network->node[n].parent][c];
            *up = pd_disc_add(*up, e->away[n][c]);
        }
}

/* On the way from the reference to the head of the island the neutral carries what the rest of the
 * island puts in: the island's sum is 0. At the break it carries nothing. */
static void turn_path(const struct pd_island *s, struct pd_enclosure *e)
{
    if (s->section == PD_NONE)
        return;
    const struct pd_disc all = e->away[s->section][PD_N];
    for (size_t n = s->reference; n != s->section; n = s->network->node[n].parent) {
        const struct pd_disc own = e->away[n][PD_N];
        e->away[n][PD_N] = pd_disc_at(own.c - all.c, fmax(0, all.r - own.r));
    }
    e->away[s->section][PD_N] = pd_disc_at(0, 0);
}

/* What drops along one conductor of a section. */
static struct pd_disc drop(const struct pd_island *s, const struct pd_enclosure *e, size_t n, int c)
{
    const struct pd_matrix *const z = &s->network->node[n].z_ohm;
    if (!s->mutual[n])
        return pd_disc_by(e->away[n][c], z->at[c][c], s->z_size[n][c][c]);
    struct pd_disc sum = {0};
    for (int b = 0; b < PD_CONDUCTORS; b++)
        sum = pd_disc_add(sum, pd_disc_by(e->away[n][b], z->at[c][b], s->z_size[n][c][b]));
    return sum;
}

/* Lines and the intact neutral against the star point, the island's neutral as u is. */
static void spread_voltages(const struct pd_island *s, const struct pd_drive *drive,
                            struct pd_enclosure *e)
{
    const struct pd_network *const network = s->network;
    const double complex z = network->source.z_ohm;
    const double z_size = cabs(z);
    for (int c = PD_L1; c < PD_LINES; c++) {
        const double complex unit = network->source.unit_emf[c];
        const struct pd_disc emf = {unit * drive->supply_v, cabs(unit) * drive->supply_r};
        e->v[0][c] = pd_disc_sub(emf, pd_disc_by(e->away[0][c], z, z_size));
    }
    e->v[0][PD_N] = pd_disc_at(0, 0);
    if (s->section != PD_NONE)
        e->v[s->reference][PD_N] = drive->u;
    for (size_t n = s->reference; s->section != PD_NONE && n != s->section;
         n = network->node[n].parent)
        e->v[network->node[n].parent][PD_N] = pd_disc_add(e->v[n][PD_N], drop(s, e, n, PD_N));
    for (size_t n = 1; n < network->node_count; n++) {
        const size_t up = network->node[n].parent;
        const bool known = n == s->section || n == s->reference || s->on_path[n];
        for (int c = PD_L1; c < PD_LINES; c++)
            e->v[n][c] = pd_disc_sub(e->v[up][c], drop(s, e, n, c));
        if (!known || s->section == PD_NONE)
            e->v[n][PD_N] = pd_disc_sub(e->v[up][PD_N], drop(s, e, n, PD_N));
    }
}

/* The current from earth into the star point: what all electrodes carry there, less what is
 * injected; by the law for the island's neutral that is what its loads put in, and what the intact
 * side's electrodes carry. Those hang on the star point's own lift, which is solved for. */
static void lift_star(const struct pd_island *s, struct pd_enclosure *e)
{
    struct pd_disc earth_a = e->injected ? e->loads : pd_disc_at(0, 0);
    for (size_t k = 0; k < s->tie_count; k++) {
        const size_t node = s->tie_node[k];
        if (node == PD_NONE || (e->injected && s->out[node]))
            continue;
        const double earth_s = 1 / s->tie[k].resistance_ohm;
        earth_a = pd_disc_add(earth_a, pd_disc_by(e->v[node][PD_N], earth_s, earth_s));
    }
    e->star = pd_disc_by(earth_a, -s->star_ohm, s->star_ohm);
}

struct pd_disc pd_enclosure_voltage(const struct pd_island *s, const struct pd_enclosure *e,
                                    size_t node, int conductor)
{
    const struct pd_disc v = e->v[node][conductor];
    return conductor == PD_N && s->out[node] && !e->injected ? v : pd_disc_add(v, e->star);
}

/* The star point's lift is common to both ends of an element on the intact side. */
static struct pd_disc across(const struct pd_island *s, const struct pd_enclosure *e, size_t node,
                             int from, int to)
{
    const struct pd_disc v = pd_disc_sub(e->v[node][from], e->v[node][to]);
    return s->out[node] && to == PD_N && !e->injected ? pd_disc_add(v, e->star) : v;
}

struct pd_disc pd_enclosure_line(const struct pd_island *s, const struct pd_enclosure *e,
                                 size_t node, int line)
{
    return across(s, e, node, line, PD_N);
}

static void sweep(const struct pd_island *s, const struct pd_box *box, const struct pd_drive *drive,
                  struct pd_enclosure *e)
{
    sum_currents(s, box, e);
    turn_path(s, e);
    spread_voltages(s, drive, e);
    lift_star(s, e);
}

static struct pd_disc tie_current(const struct pd_island *s, const struct pd_enclosure *e, size_t k)
{
    const double earth_s = 1 / s->tie[k].resistance_ohm;
    return pd_disc_by(pd_enclosure_voltage(s, e, s->tie_node[k], PD_N), earth_s, earth_s);
}

static struct pd_disc element_voltage(const struct pd_island *s, const struct pd_enclosure *e,
                                      size_t k)
{
    const struct pd_island_element *const element = &s->element[k];
    return across(s, e, element->node, element->from, element->to);
}

void pd_island_pass(const struct pd_island *s, const struct pd_box *box,
                    const struct pd_drive *drive, struct pd_enclosure *e)
{
    sweep(s, box, drive, e);
    for (size_t k = 0; k < s->element_count; k++) {
        const struct pd_disc w = element_voltage(s, e, k);
        if (w.r < e->w[k].r)
            e->w[k] = w;
    }
    for (size_t k = 0; k < s->tie_count; k++) {
        if (s->tie_node[k] == PD_NONE)
            continue;
        const struct pd_disc i = tie_current(s, e, k);
        if (i.r < e->i[k].r)
            e->i[k] = i;
    }
}

/* Puts a disc round 0 in place of one that has grown; whether it had to. The growth by 2 % lets the
 * bound overtake a sum that converges, 1e-12 keeps it above 0. */
static bool grow(struct pd_disc *bound, struct pd_disc found)
{
    const double most = pd_disc_most(found);
    if (most * (1 + 1e-6) + 1e-13 <= bound->r)
        return false;
    *bound = pd_disc_at(0, 1.02 * most + 1e-12);
    return true;
}

bool pd_island_bound(const struct pd_island *s, const struct pd_box *box,
                     const struct pd_drive *drive, struct pd_enclosure *e)
{
    enum { TRIES = 100 };
    const double hopeless = 1e3 * (drive->supply_v + drive->supply_r + pd_disc_most(drive->u));
    e->unit_v = drive->unit_v;
    e->injected = drive->injected;
    memset(e->w, 0, s->element_count * sizeof *e->w);
    memset(e->i, 0, s->tie_count * sizeof *e->i);
    for (int i = 0; i < TRIES; i++) {
        bool grown = false;
        double largest = 0;
        sweep(s, box, drive, e);
        for (size_t k = 0; k < s->element_count; k++) {
            grown |= grow(&e->w[k], element_voltage(s, e, k));
            largest = fmax(largest, e->w[k].r);
        }
        for (size_t k = 0; k < s->tie_count; k++)
            if (s->tie_node[k] != PD_NONE)
                grown |= grow(&e->i[k], tie_current(s, e, k));
        if (!(largest < hopeless))
            return false;
        if (!grown)
            return true;
    }
    return false;
}
