/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "network/build.h"
#include "table/grow.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A section between two names, and a node as it was first named. The order of first naming is not
 * the order of the tree; `place` leads from the one to the other. */
struct link {
    size_t from, to;
    struct pd_matrix z_ohm;
    unsigned lines;
    bool separate;
    size_t row;
};

struct pd_network_build {
    struct pd_names *node_names, *section_names, *load_names;
    struct link *link; /* by section, in the order added */
    size_t link_count;
    size_t *place; /* [node_count] from name to node, once closed */
};

static const char *const table = "sections.csv";

enum pd_status pd_network_build_new(struct pd_network_build **out)
{
    struct pd_network_build *build = calloc(1, sizeof *build);
    *out = build;
    if (build == NULL)
        return PD_ERR_MEMORY;
    if (pd_names_new(&build->node_names) == PD_OK && pd_names_new(&build->section_names) == PD_OK &&
        pd_names_new(&build->load_names) == PD_OK)
        return PD_OK;
    pd_network_build_free(out);
    return PD_ERR_MEMORY;
}

void pd_network_build_free(struct pd_network_build **build)
{
    if (*build == NULL)
        return;
    pd_names_free(&(*build)->node_names);
    pd_names_free(&(*build)->section_names);
    pd_names_free(&(*build)->load_names);
    free((*build)->link);
    free((*build)->place);
    free(*build);
    *build = NULL;
}

enum pd_status pd_network_build_load_name(struct pd_network_build *build, struct pd_load *load,
                                          const struct pd_load *loads, struct pd_errors *errors)
{
    size_t index;
    int added;
    const enum pd_status status = pd_names_add(build->load_names, load->name, &index, &added);
    if (status != PD_OK)
        return status;
    if (!added)
        return pd_errors_add(errors, PD_ERR_INPUT, "loads.csv", load->row, "load",
                             "'%s' is already the load of line %zu; each load needs its own name",
                             load->name, loads[index].row);
    load->name = pd_names_text(build->load_names, index);
    return PD_OK;
}

static enum pd_status keep_link(struct pd_network_build *build, const struct link *link)
{
    struct link *const larger = pd_grow(build->link, build->link_count, sizeof *larger);
    if (larger == NULL)
        return PD_ERR_MEMORY;
    build->link = larger;
    build->link[build->link_count++] = *link;
    return PD_OK;
}

enum pd_status pd_network_add_section(struct pd_network *network, const struct pd_section *section,
                                      struct pd_errors *errors)
{
    struct pd_network_build *const build = network->build;
    if (build->place != NULL)
        return PD_ERR_ARGUMENT;
    if (strcmp(section->from, section->to) == 0)
        return pd_errors_add(errors, PD_ERR_INPUT, table, section->row, "to",
                             "section '%s' leads from '%s' to itself", section->name,
                             section->from);
    size_t index;
    int added;
    enum pd_status status = pd_names_add(build->section_names, section->name, &index, &added);
    if (status == PD_OK && !added)
        return pd_errors_add(
            errors, PD_ERR_INPUT, table, section->row, "section",
            "'%s' is already the section of line %zu; each section needs its own name",
            section->name, build->link[index].row);
    struct link link = {.z_ohm = section->z_ohm,
                        .lines = section->lines,
                        .separate = section->separate,
                        .row = section->row};
    if (status == PD_OK)
        status = pd_names_add(build->node_names, section->from, &link.from, NULL);
    if (status == PD_OK)
        status = pd_names_add(build->node_names, section->to, &link.to, NULL);
    return status == PD_OK ? keep_link(build, &link) : status;
}

/* What closing works with: for each name the link that feeds it and how many it feeds. */
struct closing {
    struct pd_network *network;
    const struct pd_network_build *build;
    size_t count;   /* of node names */
    size_t *feeder; /* [count] link that feeds the name, PD_NONE for a root */
    size_t *start;  /* [count + 1] where the links from a name start in `out` */
    size_t *out;    /* [link_count] links ordered by the name they leave */
    size_t *order;  /* [count] names in the order of the tree */
    size_t reached; /* how many of `order` are filled */
    struct pd_errors *errors;
};

static const char *name_of(const struct closing *c, size_t name)
{
    return pd_names_text(c->build->node_names, name);
}

static const char *section_of(const struct closing *c, size_t link)
{
    return pd_names_text(c->build->section_names, link);
}

static enum pd_status find_feeders(struct closing *c)
{
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < c->count; i++)
        c->feeder[i] = PD_NONE;
    for (size_t i = 0; i < c->build->link_count; i++) {
        const struct link *const link = &c->build->link[i];
        size_t *const feeder = &c->feeder[link->to];
        if (*feeder == PD_NONE)
            *feeder = i;
        else
            status = pd_errors_add(
                c->errors, PD_ERR_INPUT, table, link->row, "to",
                "node '%s' is already fed by section '%s' (line %zu); the network must be a tree",
                name_of(c, link->to), section_of(c, *feeder), c->build->link[*feeder].row);
    }
    return status;
}

static void sort_by_start(struct closing *c)
{
    const struct link *const link = c->build->link;
    for (size_t i = 0; i < c->build->link_count; i++)
        c->start[link[i].from + 1]++;
    for (size_t i = 0; i < c->count; i++)
        c->start[i + 1] += c->start[i];
    for (size_t i = c->build->link_count; i-- > 0;)
        c->out[--c->start[link[i].from + 1]] = i;
    /* Each entry now holds where its own links start, one place late. */
    for (size_t i = 0; i < c->count; i++)
        c->start[i] = c->start[i + 1];
    c->start[c->count] = c->build->link_count;
}

/* Reports the loop that `first` is on, at the section that feeds it. */
static void report_loop(const struct closing *c, size_t first)
{
    char list[160] = "";
    size_t length = 0;
    size_t name = first;
    do {
        const char *const section = section_of(c, c->feeder[name]);
        if (length + strlen(section) + 2 >= sizeof list)
            break;
        length += (size_t)snprintf(list + length, sizeof list - length, "%s%s",
                                   length == 0 ? "" : ", ", section);
        name = c->build->link[c->feeder[name]].from;
    } while (name != first);
    pd_errors_add(c->errors, PD_ERR_INPUT, table, c->build->link[c->feeder[first]].row, "",
                  "sections make a loop: %s; the network must be a tree", list);
}

/* Every name the root does not reach hangs on a loop: each has a feeder, so going upstream never
 * ends. A walk that comes back to itself has found a loop that no earlier walk reported. */
static enum pd_status report_loops(const struct closing *c)
{
    size_t *const walk_of = calloc(c->count, sizeof *walk_of);
    if (walk_of == NULL)
        return PD_ERR_MEMORY;
    for (size_t i = 0; i < c->reached; i++)
        walk_of[c->order[i]] = c->count + 1;
    for (size_t i = 0; i < c->count; i++) {
        size_t name = i;
        for (; walk_of[name] == 0; name = c->build->link[c->feeder[name]].from)
            walk_of[name] = i + 1;
        if (walk_of[i] == i + 1 && walk_of[name] == i + 1)
            report_loop(c, name);
    }
    free(walk_of);
    return PD_ERR_INPUT;
}

/* A link that is not the one its end is fed by has been reported: going along it too would reach a
 * name twice. */
static void walk(struct closing *c, size_t root)
{
    size_t i = c->reached;
    c->order[c->reached++] = root;
    for (; i < c->reached; i++) {
        const size_t name = c->order[i];
        for (size_t k = c->start[name]; k < c->start[name + 1]; k++) {
            const size_t to = c->build->link[c->out[k]].to;
            if (c->feeder[to] == c->out[k])
                c->order[c->reached++] = to;
        }
    }
}

/* Walks the tree below each name that no section feeds. Only one may be: the substation. */
static enum pd_status walk_roots(struct closing *c)
{
    enum pd_status status = PD_OK;
    size_t root = PD_NONE;
    for (size_t i = 0; i < c->count; i++) {
        if (c->feeder[i] != PD_NONE)
            continue;
        walk(c, i);
        if (root == PD_NONE)
            root = i;
        else
            status = pd_errors_add(
                c->errors, PD_ERR_INPUT, table, c->build->link[c->out[c->start[i]]].row, "from",
                "no section feeds node '%s': a second root beside '%s'; every section must lead "
                "back to one substation",
                name_of(c, i), name_of(c, root));
    }
    return status;
}

static enum pd_status check_lines(const struct closing *c, const struct pd_node *parent,
                                  const struct link *link)
{
    const unsigned missing = link->lines & ~parent->lines;
    if (missing != 0)
        return pd_errors_add(c->errors, PD_ERR_INPUT, table, link->row, "lines",
                             "has the line%s%s%s, which node '%s' upstream does not have",
                             (missing & 1u << PD_L1) != 0 ? " L1" : "",
                             (missing & 1u << PD_L2) != 0 ? " L2" : "",
                             (missing & 1u << PD_L3) != 0 ? " L3" : "", parent->name);
    if (parent->separate && !link->separate)
        return pd_errors_add(c->errors, PD_ERR_INPUT, table, link->row, "neutral",
                             "is 'pen' (or empty) downstream of section '%s', where neutral and "
                             "earth are separate: once parted they are not joined again; write "
                             "separate",
                             parent->section);
    return PD_OK;
}

static enum pd_status fill_node(const struct closing *c, size_t index)
{
    struct pd_node *const nodes = c->network->node;
    const size_t name = c->order[index];
    const size_t feeder = c->feeder[name];
    struct pd_node *const node = &nodes[index];
    *node = (struct pd_node){.name = name_of(c, name),
                             .parent = PD_NONE,
                             .pe_node = index,
                             .lines = c->network->lines,
                             .child_count = c->start[name + 1] - c->start[name]};
    if (feeder == PD_NONE)
        return PD_OK;
    const struct link *const link = &c->build->link[feeder];
    node->section = section_of(c, feeder);
    node->parent = c->build->place[link->from];
    node->row = link->row;
    node->separate = link->separate;
    node->z_ohm = link->z_ohm;
    const struct pd_node *const parent = &nodes[node->parent];
    node->lines = link->lines != 0 ? link->lines : parent->lines;
    if (link->separate)
        node->pe_node = parent->pe_node;
    return check_lines(c, parent, link);
}

static enum pd_status fill_nodes(struct closing *c)
{
    struct pd_network *const network = c->network;
    network->node_count = c->count;
    network->node = calloc(c->count, sizeof *network->node);
    network->build->place = calloc(c->count, sizeof *network->build->place);
    if (network->node == NULL || network->build->place == NULL)
        return PD_ERR_MEMORY;
    enum pd_status status = PD_OK;
    size_t next = 1;
    for (size_t i = 0; i < c->count; i++)
        network->build->place[c->order[i]] = i;
    for (size_t i = 0; i < c->count; i++) {
        if (fill_node(c, i) != PD_OK)
            status = PD_ERR_INPUT;
        network->node[i].first_child = next;
        next += network->node[i].child_count;
    }
    return status;
}

static enum pd_status close_with(struct closing *c)
{
    const enum pd_status feeders = find_feeders(c);
    sort_by_start(c);
    const enum pd_status roots = walk_roots(c);
    if (c->reached < c->count)
        return report_loops(c);
    if (feeders != PD_OK || roots != PD_OK)
        return PD_ERR_INPUT;
    return fill_nodes(c);
}

enum pd_status pd_network_close(struct pd_network *network, struct pd_errors *errors)
{
    const struct pd_network_build *const build = network->build;
    if (build->place != NULL)
        return PD_ERR_ARGUMENT;
    if (build->link_count == 0)
        return pd_errors_add(errors, PD_ERR_INPUT, table, 0, "",
                             "has no sections; leave the table out for a supply without a street");
    struct closing c = {.network = network,
                        .build = build,
                        .count = pd_names_count(build->node_names),
                        .errors = errors};
    c.feeder = calloc(c.count, sizeof *c.feeder);
    c.start = calloc(c.count + 1, sizeof *c.start);
    c.out = calloc(build->link_count, sizeof *c.out);
    c.order = calloc(c.count, sizeof *c.order);
    enum pd_status status = PD_ERR_MEMORY;
    if (c.feeder != NULL && c.start != NULL && c.out != NULL && c.order != NULL)
        status = close_with(&c);
    free(c.feeder);
    free(c.start);
    free(c.out);
    free(c.order);
    return status;
}

size_t pd_network_find(const struct pd_network *network, const char *name)
{
    const size_t index = pd_names_find(network->build->node_names, name);
    return index == PD_NONE ? PD_NONE : network->build->place[index];
}

const char *pd_network_nearest(const struct pd_network *network, const char *text)
{
    return pd_names_nearest(network->build->node_names, text);
}
