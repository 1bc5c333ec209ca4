/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/plan.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "solve/shunt.h"

/* What is known of each node of the network while the plan is made. */
struct mark {
    size_t elements, ties;
    bool probed, folded, leaf;
    size_t beyond;  /* places at and beyond it */
    size_t place;   /* or leaf, once numbered */
    int line;       /* the only one its elements use; -1: none yet, PD_N: more than one */
    size_t section; /* of a folded node: the node whose section takes it in */
};

struct maker {
    const struct pd_network *network;
    struct pd_batch_kept *kept;
    struct pd_plan *plan;
    struct mark *mark; /* [node_count] */
    size_t *order;     /* [node_count] children sorted, then the stack */
    size_t *cut_first; /* [node_count + 1] cuts of each section, sorted by counting */
    size_t *cut_list;  /* [cut_count] */
};

static bool has_mutual(const struct pd_matrix *z)
{
    for (int i = 0; i < PD_CONDUCTORS; i++)
        for (int j = 0; j < PD_CONDUCTORS; j++)
            if (i != j && z->at[i][j] != 0)
                return true;
    return false;
}

static size_t elements_of(const struct pd_network *network, size_t load,
                          struct pd_element element[3])
{
    return pd_load_elements(&network->load[load], network->system, network->nominal_v, 1, element);
}

static size_t ports_of(const struct pd_network *network)
{
    size_t ports = 0;
    for (size_t i = 0; i < network->load_count; i++) {
        struct pd_element element[3];
        if (!network->load[i].behaviour->linear)
            ports += elements_of(network, i, element);
    }
    return ports;
}

static bool can_be_arranged(const struct pd_batch_settings *s)
{
    const size_t ports = ports_of(s->network);
    if (s->mutual_ohm != NULL)
        return false;
    for (size_t i = 1; i < s->network->node_count; i++)
        if (has_mutual(&s->network->node[i].z_ohm))
            return false;
    return ports == 0 || (ports <= PD_PLAN_PORTS &&
                          (ports + s->probe_count) * (s->cut_count + ports) <= PD_PLAN_KEPT);
}

static size_t tied_at(const struct maker *m, size_t tie)
{
    return m->network->node[m->kept->settings.tie[tie].node].pe_node;
}

static void note_line(struct mark *mark, const struct pd_element *element)
{
    const bool plain = element->to == PD_N && (mark->line < 0 || mark->line == element->from);
    mark->line = plain ? element->from : PD_N;
}

/* Counts what hangs on each node, then settles which are leaves and which only lengthen a section.
 */
static void mark_nodes(struct maker *m)
{
    const struct pd_network *const network = m->network;
    const struct pd_batch_settings *const s = &m->kept->settings;
    for (size_t i = 0; i < network->node_count; i++)
        m->mark[i].line = -1;
    for (size_t i = 0; i < network->load_count; i++) {
        struct pd_element element[3];
        const size_t count = elements_of(network, i, element);
        struct mark *const mark = &m->mark[network->load[i].node];
        mark->elements += count;
        for (size_t k = 0; k < count; k++)
            note_line(mark, &element[k]);
    }
    for (size_t i = 0; i < s->tie_count; i++)
        if (tied_at(m, i) != PD_NONE)
            m->mark[tied_at(m, i)].ties++;
    for (size_t i = 0; i < s->probe_count; i++)
        m->mark[s->probe[i].node].probed = true;
    for (size_t i = network->node_count; i-- > 0;) {
        const struct pd_node *const node = &network->node[i];
        struct mark *const mark = &m->mark[i];
        const bool bare = mark->elements == 0 && mark->ties == 0 && !mark->probed;
        mark->folded = bare && node->child_count == 1;
        mark->leaf = node->child_count == 0 && mark->line != PD_N && i > 0;
        mark->section = mark->folded ? m->mark[node->first_child].section : i;
        mark->beyond += !mark->folded && !mark->leaf;
        if (i > 0)
            m->mark[node->parent].beyond += mark->beyond;
    }
}

/* Sorts the cuts by the node whose section they are in. */
static void sort_cuts(struct maker *m)
{
    const struct pd_batch_settings *const s = &m->kept->settings;
    for (size_t i = 0; i < s->cut_count; i++)
        if (s->cut[i].kind != PD_CUT_NONE)
            m->cut_first[m->mark[s->cut[i].section].section + 1]++;
    for (size_t i = 0; i < m->network->node_count; i++)
        m->cut_first[i + 1] += m->cut_first[i];
    const size_t all = m->cut_first[m->network->node_count];
    for (size_t i = s->cut_count; i-- > 0;) {
        if (s->cut[i].kind == PD_CUT_NONE)
            continue;
        size_t *const slot = &m->cut_first[m->mark[s->cut[i].section].section + 1];
        m->cut_list[--*slot] = i;
    }
    /* now cut_first[i + 1] is where node i's start */
    memmove(m->cut_first, m->cut_first + 1, m->network->node_count * sizeof *m->cut_first);
    m->cut_first[m->network->node_count] = all;
}

static double ohms_of(const struct pd_cut *cut)
{
    return cut->kind == PD_CUT_OPEN ? INFINITY : cut->joint_ohm;
}

static size_t new_column(struct maker *m, size_t cut)
{
    m->kept->cut[m->kept->columns] = m->kept->settings.cut[cut];
    m->kept->column[cut] = m->kept->columns;
    return m->kept->columns++;
}

/* The columns of the cuts of a section: those alike share one. */
static struct pd_plan_range take_cuts(struct maker *m, size_t node)
{
    const struct pd_cut *const cut = m->kept->settings.cut;
    const struct pd_plan_range range = {m->plan->cuts, 0};
    for (size_t k = m->cut_first[node]; k < m->cut_first[node + 1]; k++) {
        const size_t i = m->cut_list[k];
        size_t same = range.first;
        while (same < m->plan->cuts && m->plan->cut[same].joint_ohm != ohms_of(&cut[i]))
            same++;
        if (same < m->plan->cuts)
            m->kept->column[i] = m->plan->cut[same].column;
        else
            m->plan->cut[m->plan->cuts++] =
                (struct pd_plan_cut){new_column(m, i), ohms_of(&cut[i])};
    }
    return (struct pd_plan_range){range.first, m->plan->cuts - range.first};
}

/* The impedance of a node's section with those folded into it, and the node where it starts. */
static size_t section_of(const struct maker *m, size_t node, double complex z[PD_CONDUCTORS])
{
    size_t i = node;
    memset(z, 0, PD_CONDUCTORS * sizeof *z);
    do {
        for (int c = 0; c < PD_CONDUCTORS; c++)
            z[c] += i > 0      ? m->network->node[i].z_ohm.at[c][c]
                    : c < PD_N ? m->network->source.z_ohm
                               : 0;
        i = i > 0 ? m->network->node[i].parent : PD_NONE;
    } while (i != PD_NONE && m->mark[i].folded);
    return i;
}

static void add_place(struct maker *m, size_t node)
{
    double complex z[PD_CONDUCTORS];
    const size_t from = section_of(m, node, z);
    const size_t number = m->plan->places++;
    struct pd_place *const place = &m->plan->place[number];
    place->parent = from == PD_NONE ? 0 : m->mark[from].place;
    place->end = number + m->mark[node].beyond;
    place->depth = m->plan->place[place->parent].depth + 1;
    for (int c = 0; c < PD_CONDUCTORS; c++) {
        place->z[c].re = creal(z[c]);
        place->z[c].im = cimag(z[c]);
    }
    place->cut = take_cuts(m, node);
    m->mark[node].place = number;
}

static void add_leaf(struct maker *m, size_t node)
{
    double complex z[PD_CONDUCTORS];
    const size_t from = section_of(m, node, z);
    const int line = m->mark[node].line < 0 ? PD_L1 : m->mark[node].line;
    struct pd_leaf *const leaf = &m->plan->leaf[m->plan->leaves];
    leaf->parent = from == PD_NONE ? 0 : m->mark[from].place;
    leaf->line = line;
    leaf->line_z.re = creal(z[line]);
    leaf->line_z.im = cimag(z[line]);
    leaf->neutral_z.re = creal(z[PD_N]);
    leaf->neutral_z.im = cimag(z[PD_N]);
    leaf->cut = take_cuts(m, node);
    m->mark[node].place = m->plan->leaves++;
}

/* Puts the children of a node on the stack: leaves are numbered at once, then comes first the child
 * with the least beyond it. (A stack gives back last what it was given first.) */
static size_t push_children(struct maker *m, size_t node, size_t top)
{
    const struct pd_node *const n = &m->network->node[node];
    const size_t first = top;
    for (size_t k = n->first_child; k < n->first_child + n->child_count; k++) {
        if (m->mark[m->mark[k].section].leaf)
            continue;
        size_t at = top++;
        for (; at > first && m->mark[m->order[at - 1]].beyond < m->mark[k].beyond; at--)
            m->order[at] = m->order[at - 1];
        m->order[at] = k;
    }
    return top;
}

static void add_leaves(struct maker *m, size_t node)
{
    const struct pd_node *const n = &m->network->node[node];
    const struct pd_plan_range range = {m->plan->leaves, 0};
    for (size_t k = n->first_child; k < n->first_child + n->child_count; k++)
        if (m->mark[m->mark[k].section].leaf)
            add_leaf(m, m->mark[k].section);
    struct pd_place *const place = &m->plan->place[m->mark[node].place];
    place->leaf = (struct pd_plan_range){range.first, m->plan->leaves - range.first};
}

/* Numbers the places in preorder. */
static void number_places(struct maker *m)
{
    size_t top = 0;
    m->plan->places = 1;
    m->plan->place[0] = (struct pd_place){.parent = PD_NONE, .wanted = true};
    if (m->mark[m->mark[0].section].leaf) {
        add_leaf(m, m->mark[0].section);
        m->plan->place[0].leaf.count = 1;
    } else {
        m->order[top++] = 0;
    }
    while (top > 0) {
        const size_t node = m->mark[m->order[--top]].section;
        add_place(m, node);
        add_leaves(m, node);
        top = push_children(m, node, top);
    }
    m->plan->place[0].end = m->plan->places;
}

/* A place is wanted where a cut lies beyond it, or a port. A last child takes over its parent's
 * slot. */
static void give_slots(struct pd_plan *plan)
{
    for (size_t i = 0; i < plan->probes + plan->ports && plan->ports > 0; i++)
        plan->place[plan->probe[i].place].wanted = true;
    for (size_t i = plan->places; i-- > 0;) {
        struct pd_place *const place = &plan->place[i];
        for (size_t k = 0; k < place->leaf.count; k++)
            place->wanted |= plan->leaf[place->leaf.first + k].cut.count > 0;
        if (i > 0 && (place->wanted || place->cut.count > 0))
            plan->place[place->parent].wanted = true;
    }
    plan->slots = 1;
    for (size_t i = 1; i < plan->places; i++) {
        struct pd_place *const place = &plan->place[i];
        const struct pd_place *const parent = &plan->place[place->parent];
        place->slot = parent->slot + (place->end < parent->end);
        if (place->slot >= plan->slots)
            plan->slots = place->slot + 1;
    }
}

/* Whether the cuts are so few that their own ways to the root cost less than the pass outwards, by
 * complex products: of a place on each way 23, and 4 for a voltage wanted; of a place on the pass
 * 143, and 17. */
static bool few_cuts(const struct pd_plan *plan)
{
    size_t ways = 0, pass = 0;
    for (size_t i = 1; i < plan->places; i++) {
        const struct pd_place *const place = &plan->place[i];
        pass += place->wanted ? 143 + 17 * plan->probes : 0;
        ways += place->cut.count > 0 ? place->depth - 1 : 0;
        for (size_t k = 0; k < place->leaf.count; k++)
            ways += plan->leaf[place->leaf.first + k].cut.count > 0 ? place->depth : 0;
    }
    return plan->ports == 0 && ways * (23 + 4 * plan->probes) < pass;
}

static struct pd_plan_range *elements_at(struct maker *m, size_t node)
{
    const struct mark *const mark = &m->mark[node];
    return mark->leaf ? &m->plan->leaf[mark->place].element : &m->plan->place[mark->place].element;
}

static struct pd_plan_range *ties_at(struct maker *m, size_t node)
{
    const struct mark *const mark = &m->mark[node];
    return mark->leaf ? &m->plan->leaf[mark->place].tie : &m->plan->place[mark->place].tie;
}

static void hang_elements(struct maker *m, size_t load)
{
    struct pd_element element[3];
    const size_t count = elements_of(m->network, load, element);
    struct pd_plan_range *const range = elements_at(m, m->network->load[load].node);
    for (size_t k = 0; k < count; k++) {
        const double complex y = pd_element_eliminated(&element[k]);
        m->plan->element[range->first + range->count++] = (struct pd_plan_element){
            .load = load,
            .from = element[k].from,
            .to = element[k].to,
            .re = creal(y),
            .im = cimag(y),
            .size = element[k].to == PD_N ? cabs(y) : 0,
        };
    }
}

/* Hangs elements and ties on their places, sorted by node. */
static void hang_shunts(struct maker *m)
{
    for (size_t i = 0; i < m->network->node_count; i++) {
        if (m->mark[i].folded)
            continue;
        elements_at(m, i)->first = m->plan->elements;
        ties_at(m, i)->first = m->plan->ties;
        m->plan->elements += m->mark[i].elements;
        m->plan->ties += m->mark[i].ties;
    }
    for (size_t i = 0; i < m->network->load_count; i++)
        hang_elements(m, i);
    for (size_t i = 0; i < m->kept->settings.tie_count; i++) {
        if (tied_at(m, i) == PD_NONE)
            continue;
        struct pd_plan_range *const range = ties_at(m, tied_at(m, i));
        m->plan->tie[range->first + range->count++] = i;
    }
}

/* A voltage at a node. */
static struct pd_plan_probe *place_probe(struct maker *m, size_t node)
{
    const struct mark *const mark = &m->mark[node];
    struct pd_plan_probe *const probe = &m->plan->probe[m->plan->probes + m->plan->ports];
    probe->leaf = mark->leaf ? mark->place : PD_NONE;
    probe->place = mark->leaf ? m->plan->leaf[mark->place].parent : mark->place;
    probe->row = m->plan->rows;
    m->plan->rows += m->plan->place[probe->place].depth + 1;
    return probe;
}

static void place_probes(struct maker *m)
{
    const struct pd_batch_settings *const s = &m->kept->settings;
    for (size_t i = 0; i < s->probe_count; i++) {
        struct pd_plan_probe *const probe = place_probe(m, s->probe[i].node);
        probe->conductor = s->probe[i].conductor;
        probe->against = PD_CONDUCTORS;
        m->plan->probes++;
    }
    for (size_t i = 0; i < m->network->load_count; i++) {
        const struct pd_load *const load = &m->network->load[i];
        struct pd_element element[3];
        const size_t count = load->behaviour->linear ? 0 : elements_of(m->network, i, element);
        for (size_t k = 0; k < count; k++) {
            struct pd_plan_probe *const port = place_probe(m, load->node);
            port->conductor = element[k].from;
            port->against = element[k].to;
            port->load = i;
            port->element = k;
            m->plan->ports++;
        }
    }
}

static void make(struct maker *m)
{
    const struct pd_batch_settings *const s = &m->kept->settings;
    m->kept->columns = 0;
    mark_nodes(m);
    sort_cuts(m);
    number_places(m);
    place_probes(m);
    give_slots(m->plan);
    m->plan->few = few_cuts(m->plan);
    hang_shunts(m);
    for (size_t i = 0; i < s->cut_count; i++)
        if (s->cut[i].kind == PD_CUT_NONE)
            m->plan->intact[m->plan->intact_count++] = new_column(m, i);
    m->plan->electrode_ohm = m->network->source.electrode_ohm;
    memcpy(m->plan->unit_emf, m->network->source.unit_emf, sizeof m->plan->unit_emf);
}

static bool make_room(struct maker *m)
{
    const struct pd_batch_settings *const s = &m->kept->settings;
    const size_t nodes = m->network->node_count;
    struct pd_plan *const plan = m->plan;
    m->mark = calloc(nodes, sizeof *m->mark);
    m->order = calloc(nodes + 1, sizeof *m->order);
    m->cut_first = calloc(nodes + 2, sizeof *m->cut_first);
    m->cut_list = calloc(s->cut_count + 1, sizeof *m->cut_list);
    plan->place = calloc(nodes + 1, sizeof *plan->place);
    plan->leaf = calloc(nodes, sizeof *plan->leaf);
    plan->element = calloc(3 * m->network->load_count + 1, sizeof *plan->element);
    plan->tie = calloc(s->tie_count + 1, sizeof *plan->tie);
    plan->cut = calloc(s->cut_count + 1, sizeof *plan->cut);
    plan->probe = calloc(s->probe_count + ports_of(m->network), sizeof *plan->probe);
    plan->intact = calloc(s->cut_count + 1, sizeof *plan->intact);
    return m->mark != NULL && m->order != NULL && m->cut_first != NULL && m->cut_list != NULL &&
           plan->place != NULL && plan->leaf != NULL && plan->element != NULL &&
           plan->tie != NULL && plan->cut != NULL && plan->probe != NULL && plan->intact != NULL;
}

enum pd_status pd_plan_new(struct pd_batch_kept *kept, struct pd_plan **out)
{
    struct maker m = {.network = kept->settings.network, .kept = kept};
    *out = NULL;
    if (!can_be_arranged(&kept->settings))
        return PD_OK;
    m.plan = *out = calloc(1, sizeof *m.plan);
    const bool room = m.plan != NULL && make_room(&m);
    if (room)
        make(&m);
    free(m.mark);
    free(m.order);
    free(m.cut_first);
    free(m.cut_list);
    if (!room)
        pd_plan_free(out);
    return room ? PD_OK : PD_ERR_MEMORY;
}

void pd_plan_free(struct pd_plan **plan)
{
    struct pd_plan *const p = *plan;
    if (p == NULL)
        return;
    free(p->place);
    free(p->leaf);
    free(p->element);
    free(p->tie);
    free(p->cut);
    free(p->probe);
    free(p->intact);
    free(p);
    *plan = NULL;
}
