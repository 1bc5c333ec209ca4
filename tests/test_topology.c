/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "grow.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* What makes a tree of sections and what does not. That a low-voltage distributor is worked as a
 * tree is common practice, no source; that a neutral parted from earth is not joined to it again
 * downstream is the definition of TN-C-S. */

enum { MOST = 6 };

/* Sections are on lines 2, 3, ... of their table, as in a file under its header. */
struct faulty {
    const char *what;
    struct pd_section section[MOST];
    size_t error_line[3]; /* in order, 0: no more */
    const char *says[6];  /* what the texts together must contain */
};

static const struct faulty faults[] = {
    {.what = "a loop beside the tree",
     .section = {{.name = "main", .from = "substation", .to = "a"},
                 {.name = "east", .from = "b", .to = "c"},
                 {.name = "west", .from = "c", .to = "b"}},
     .error_line = {4},
     .says = {"loop", "east", "west"}},
    {.what = "a loop and nothing else",
     .section = {{.name = "p", .from = "a", .to = "b"},
                 {.name = "q", .from = "b", .to = "c"},
                 {.name = "r", .from = "c", .to = "a"}},
     .error_line = {4},
     .says = {"loop", "p", "q", "r"}},
    {.what = "a tail that hangs on a loop is not named as part of it",
     .section = {{.name = "main", .from = "substation", .to = "a"},
                 {.name = "end", .from = "d", .to = "e"},
                 {.name = "tail", .from = "b", .to = "d"},
                 {.name = "east", .from = "b", .to = "c"},
                 {.name = "west", .from = "c", .to = "b"}},
     .error_line = {6},
     .says = {"make a loop: west, east; "}},
    {.what = "two loops, each reported",
     .section = {{.name = "main", .from = "substation", .to = "a"},
                 {.name = "east", .from = "b", .to = "c"},
                 {.name = "west", .from = "c", .to = "b"},
                 {.name = "north", .from = "d", .to = "e"},
                 {.name = "south", .from = "e", .to = "d"}},
     .error_line = {4, 6},
     .says = {"east", "west", "north", "south"}},
    {.what = "two roots",
     .section = {{.name = "one", .from = "substation", .to = "a"},
                 {.name = "two", .from = "depot", .to = "b"}},
     .error_line = {3},
     .says = {"'depot'", "'substation'", "root"}},
    {.what = "a node fed twice",
     .section = {{.name = "one", .from = "substation", .to = "a"},
                 {.name = "two", .from = "substation", .to = "b"},
                 {.name = "ring", .from = "b", .to = "a"}},
     .error_line = {4},
     .says = {"'a'", "'one'", "line 2"}},
    {.what = "the root fed from its own street",
     .section = {{.name = "one", .from = "substation", .to = "a"},
                 {.name = "back", .from = "a", .to = "substation"}},
     .error_line = {3},
     .says = {"loop", "one", "back"}},
    {.what = "a section from a node to itself",
     .section = {{.name = "one", .from = "substation", .to = "a"},
                 {.name = "knot", .from = "a", .to = "a"}},
     .error_line = {3},
     .says = {"'knot'", "'a'", "itself"}},
    {.what = "a name used twice",
     .section = {{.name = "one", .from = "substation", .to = "a"},
                 {.name = "one", .from = "a", .to = "b"}},
     .error_line = {3},
     .says = {"'one'", "line 2"}},
    {.what = "two faults of their own, both reported",
     .section = {{.name = "one", .from = "substation", .to = "a"},
                 {.name = "one", .from = "a", .to = "b"},
                 {.name = "knot", .from = "b", .to = "b"}},
     .error_line = {3, 4},
     .says = {"'one'", "'knot'"}},
    {.what = "a PEN below a separate neutral",
     .section = {{.name = "service", .from = "substation", .to = "met"},
                 {.name = "submain", .from = "met", .to = "garage", .separate = true},
                 {.name = "on", .from = "garage", .to = "shed"}},
     .error_line = {4},
     .says = {"'pen'", "'submain'", "separate"}},
    {.what = "a line that the node upstream does not have",
     .section = {{.name = "spur", .from = "substation", .to = "a", .lines = 1u << PD_L2},
                 {.name = "on", .from = "a", .to = "b", .lines = 1u << PD_L1 | 1u << PD_L2}},
     .error_line = {3},
     .says = {"line", "'a'"}},
};

static struct pd_network *started(enum pd_system system)
{
    struct pd_network *network;
    assert_int_equal(pd_network_new(system, 230, &network), PD_OK);
    return network;
}

static void check_fault(const struct faulty *fault)
{
    struct pd_network *network = started(PD_THREE_PHASE);
    struct pd_errors errors = {0};
    bool failed = false;
    for (size_t i = 0; i < MOST && fault->section[i].name != NULL; i++) {
        struct pd_section section = fault->section[i];
        section.row = i + 2;
        failed |= pd_network_add_section(network, &section, &errors) == PD_ERR_INPUT;
    }
    if (!failed)
        failed = pd_network_close(network, &errors) == PD_ERR_INPUT;
    char all[PD_ERRORS_KEPT * 16] = "";
    for (size_t i = 0; i < errors.count; i++) {
        assert_string_equal(errors.kept[i].table, "sections.csv");
        snprintf(all + strlen(all), sizeof all - strlen(all), "%s; ", errors.kept[i].text);
    }
    size_t count = 0;
    while (count < 3 && fault->error_line[count] != 0)
        count++;
    if (!failed || errors.count != count)
        fail_msg("%s: %zu errors, not %zu: %s", fault->what, errors.count, count, all);
    for (size_t i = 0; i < count; i++)
        if (errors.kept[i].line != fault->error_line[i])
            fail_msg("%s: at line %zu, not %zu", fault->what, errors.kept[i].line,
                     fault->error_line[i]);
    for (size_t i = 0; i < 6 && fault->says[i] != NULL; i++)
        if (strstr(all, fault->says[i]) == NULL)
            fail_msg("%s: does not say \"%s\": %s", fault->what, fault->says[i], all);
    pd_network_free(&network);
}

static void test_sections_that_make_no_tree(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof faults / sizeof faults[0]; i++)
        check_fault(&faults[i]);
}

static void test_network_without_sections(void **state)
{
    (void)state;
    struct pd_network *network = started(PD_SINGLE_PHASE);
    struct pd_errors errors = {0};
    assert_int_equal(pd_network_close(network, &errors), PD_ERR_INPUT);
    assert_int_equal(errors.count, 1);
    pd_network_free(&network);
    assert_null(network);
    pd_network_free(&network);
}

static void test_closed_is_closed(void **state)
{
    (void)state;
    struct pd_network *network = one_house(PD_SINGLE_PHASE, 230, 0, 0);
    const struct pd_section late = {.name = "late", .from = "house", .to = "shed"};
    assert_int_equal(pd_network_add_section(network, &late, NULL), PD_ERR_ARGUMENT);
    assert_int_equal(pd_network_close(network, NULL), PD_ERR_ARGUMENT);
    assert_int_equal(network->node_count, 2);
    pd_network_free(&network);
}

static void test_nominal_voltage_out_of_range(void **state)
{
    (void)state;
    static const double bad_v[] = {0, -230, NAN, INFINITY};
    for (size_t i = 0; i < sizeof bad_v / sizeof bad_v[0]; i++) {
        struct pd_network *network;
        assert_int_equal(pd_network_new(PD_SINGLE_PHASE, bad_v[i], &network), PD_ERR_ARGUMENT);
        assert_null(network);
    }
}

static const struct pd_error *refused_load(struct pd_network *network, const char *name,
                                           enum pd_phase phase, const char *node,
                                           struct pd_errors *errors)
{
    const struct pd_load load = {
        .name = name, .phase = phase, .behaviour = pd_behaviours[0], .power_factor = 1, .row = 9};
    const size_t before = network->load_count;
    *errors = (struct pd_errors){0};
    assert_int_equal(pd_network_add_load(network, &load, node, errors), PD_ERR_INPUT);
    assert_int_equal(network->load_count, before);
    assert_int_equal(errors->count, 1);
    assert_string_equal(errors->kept[0].table, "loads.csv");
    assert_int_equal(errors->kept[0].line, 9);
    return &errors->kept[0];
}

static void test_loads_that_fit_nowhere(void **state)
{
    (void)state;
    struct pd_network *network = started(PD_THREE_PHASE);
    const struct pd_section section[] = {
        {.name = "service", .from = "substation", .to = "house"},
        {.name = "spur", .from = "house", .to = "cabin", .lines = 1u << PD_L2}};
    for (size_t i = 0; i < 2; i++)
        assert_int_equal(pd_network_add_section(network, &section[i], NULL), PD_OK);
    assert_int_equal(pd_network_close(network, NULL), PD_OK);
    struct pd_load first = {.name = "oven",
                            .phase = PD_ON_L1,
                            .behaviour = pd_behaviours[0],
                            .power_factor = 1,
                            .row = 4};
    assert_int_equal(pd_network_add_load(network, &first, "house", NULL), PD_OK);

    struct pd_errors errors;
    const struct pd_error *error = refused_load(network, "hob", PD_ON_L1, "huose", &errors);
    assert_string_equal(error->column, "node");
    assert_non_null(strstr(error->text, "'huose'"));
    assert_non_null(strstr(error->text, "did you mean 'house'"));
    error = refused_load(network, "hob", PD_ON_L1, "zzzzzzzzzzzz", &errors);
    assert_null(strstr(error->text, "did you mean"));
    error = refused_load(network, "oven", PD_ON_L2, "house", &errors);
    assert_non_null(strstr(error->text, "line 4"));
    error = refused_load(network, "hob", PD_ON_L123, "cabin", &errors);
    assert_string_equal(error->column, "phase");
    assert_non_null(strstr(error->text, "L1"));
    error = refused_load(network, "hob", PD_ON_L23, "cabin", &errors);
    assert_non_null(strstr(error->text, "L3"));
    put_load(network, "cabin", PD_ON_L2, 1);
    pd_network_free(&network);

    /* A single-phase supply has L1 only, a split-phase one no L3. */
    network = one_house(PD_SINGLE_PHASE, 230, 0, 0);
    refused_load(network, "hob", PD_ON_L2, "house", &errors);
    refused_load(network, "hob", PD_ON_L12, "house", &errors);
    pd_network_free(&network);
    network = one_house(PD_SPLIT_PHASE, 120, 0, 0);
    refused_load(network, "hob", PD_ON_L31, "house", &errors);
    put_load(network, "house", PD_ON_L12, 1);
    pd_network_free(&network);
}

/* Parents before children, children side by side, whatever the order of the sections. */
static void test_order_of_nodes(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 100; seed++) {
        struct stream stream = {seed};
        struct grown grown;
        grow(&stream,
             &(struct growth){.system = PD_THREE_PHASE, .sections = grow_size(&stream, 200)},
             &grown);
        const struct pd_network *const network = grown.network;
        assert_int_equal(network->node[0].parent, PD_NONE);
        assert_null(network->node[0].section);
        size_t children = 0;
        for (size_t i = 0; i < network->node_count; i++) {
            const struct pd_node *const node = &network->node[i];
            assert_true(i == 0 || node->parent < i);
            for (size_t k = 0; k < node->child_count; k++)
                assert_int_equal(network->node[node->first_child + k].parent, i);
            children += node->child_count;
            assert_int_equal(pd_network_find(network, node->name), i);
            /* The generator names section and node after the same number. */
            assert_true(i == 0 || strcmp(node->section + strlen("section "),
                                         node->name + strlen("node ")) == 0);
        }
        assert_int_equal(children + 1, network->node_count);
        assert_int_equal(pd_network_find(network, "nowhere"), PD_NONE);
        grown_free(&grown);
    }
}

static void add_numbered(struct pd_network *network, size_t from, size_t to, struct pd_matrix z)
{
    char name[32], near[32], far[32];
    snprintf(name, sizeof name, "s%zu", to);
    snprintf(near, sizeof near, "n%zu", from);
    snprintf(far, sizeof far, "n%zu", to);
    const struct pd_section section = {.name = name, .from = near, .to = far, .z_ohm = z};
    assert_int_equal(pd_network_add_section(network, &section, NULL), PD_OK);
}

static void solve_cut(const struct pd_network *network, const double *load_a, struct pd_cut cut,
                      struct pd_solution *solution)
{
    struct pd_tree *tree;
    assert_int_equal(pd_tree_new(network, &tree), PD_OK);
    assert_int_equal(pd_solution_new(network, solution), PD_OK);
    assert_int_equal(
        pd_tree_factor(tree, &(struct pd_operating){.load_a = load_a, .supply_v = 230}), PD_OK);
    assert_int_equal(pd_tree_solve(tree, &cut, solution), PD_OK);
    assert_int_equal(solution->standing, PD_SOLVED);
    pd_tree_free(&tree);
}

/* A street of 100 000 sections in a row, added from its far end: one loop, Ohm's law. */
static void test_long_chain(void **state)
{
    (void)state;
    const size_t count = 100000;
    struct pd_network *network = started(PD_SINGLE_PHASE);
    for (size_t i = count; i > 0; i--)
        add_numbered(network, i - 1, i, pd_matrix_diagonal((1e-5 + 1e-6 * I), (2e-5 + 1e-6 * I)));
    assert_int_equal(pd_network_close(network, NULL), PD_OK);
    put_load(network, "n100000", PD_ON_L1, 1);
    const double load_a = 23;
    const double complex line = 1e5 * (1e-5 + 1e-6 * I), pen = 1e5 * (2e-5 + 1e-6 * I);
    const size_t end = pd_network_find(network, "n100000");
    struct pd_solution solution;
    solve_cut(network, &load_a, (struct pd_cut){.kind = PD_CUT_NONE}, &solution);
    const double complex current = 230 / (line + pen + 10);
    assert_close(cabs(solution.v[end][PD_N] - pen * current), 0, 0, 1e-8);
    assert_close(cabs(solution.v[end][PD_L1] - (230 - line * current)), 0, 0, 1e-8);
    pd_solution_free(&solution);
    /* Open in the middle: no current, the whole supply behind the break. */
    const size_t middle = pd_network_find(network, "n50000");
    solve_cut(network, &load_a, (struct pd_cut){.kind = PD_CUT_OPEN, .section = middle}, &solution);
    assert_close(cabs(solution.v[end][PD_N]), 230, 0, 1e-8);
    assert_close(cabs(solution.v[middle][PD_N]), 230, 0, 1e-8);
    assert_close(cabs(solution.v[pd_network_find(network, "n49999")][PD_N]), 0, 0, 1e-8);
    pd_solution_free(&solution);
    pd_network_free(&network);
}

/* 10 000 services on one stiff point, each a loop of its own; one of them broken. */
static void test_wide_star(void **state)
{
    (void)state;
    enum { COUNT = 10000 };
    static double load_a[COUNT];
    struct pd_network *network = started(PD_SINGLE_PHASE);
    for (size_t i = 1; i <= COUNT; i++)
        add_numbered(network, 0, i, pd_matrix_diagonal(0.1, 0.2));
    assert_int_equal(pd_network_close(network, NULL), PD_OK);
    for (size_t i = 1; i <= COUNT; i++) {
        char node[32];
        snprintf(node, sizeof node, "n%zu", i);
        put_load(network, node, PD_ON_L1, 1);
        load_a[i - 1] = 1 + (double)(i % 100);
    }
    const size_t broken = pd_network_find(network, "n777");
    struct pd_solution solution;
    solve_cut(network, load_a, (struct pd_cut){.kind = PD_CUT_OPEN, .section = broken}, &solution);
    for (size_t i = 0; i < COUNT; i++) {
        const size_t node = network->load[i].node;
        const double want_v = node == broken ? 230 : 230 * 0.2 / (0.1 + 0.2 + 230 / load_a[i]);
        assert_close(cabs(solution.v[node][PD_N]), want_v, 0, 1e-9);
    }
    pd_solution_free(&solution);
    pd_network_free(&network);
}

static void test_what_lies_downstream(void **state)
{
    (void)state;
    struct pd_network *network = started(PD_SINGLE_PHASE);
    const struct pd_section section[] = {
        {.name = "a", .from = "substation", .to = "pole"},
        {.name = "b", .from = "pole", .to = "met"},
        {.name = "c", .from = "pole", .to = "next door"},
        {.name = "d", .from = "met", .to = "garage", .separate = true},
        {.name = "e", .from = "garage", .to = "point", .separate = true},
        {.name = "f", .from = "met", .to = "annexe"},
    };
    for (size_t i = 0; i < 6; i++)
        assert_int_equal(pd_network_add_section(network, &section[i], NULL), PD_OK);
    assert_int_equal(pd_network_close(network, NULL), PD_OK);
    static const struct {
        const char *top, *node;
        bool downstream, same_installation;
    } pairs[] = {
        {"met", "met", true, true},      {"met", "garage", true, true},
        {"met", "point", true, true},    {"met", "annexe", true, false},
        {"pole", "met", true, false},    {"met", "next door", false, false},
        {"garage", "met", false, false}, {"garage", "point", true, true},
        {"met", "pole", false, false},   {"annexe", "point", false, false},
    };
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
        const size_t top = pd_network_find(network, pairs[i].top);
        const size_t node = pd_network_find(network, pairs[i].node);
        assert_int_equal(pd_network_downstream(network, top, node), pairs[i].downstream);
        assert_int_equal(pd_network_same_installation(network, top, node),
                         pairs[i].same_installation);
    }
    pd_network_free(&network);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sections_that_make_no_tree),
        cmocka_unit_test(test_network_without_sections),
        cmocka_unit_test(test_closed_is_closed),
        cmocka_unit_test(test_nominal_voltage_out_of_range),
        cmocka_unit_test(test_loads_that_fit_nowhere),
        cmocka_unit_test(test_order_of_nodes),
        cmocka_unit_test(test_long_chain),
        cmocka_unit_test(test_wide_star),
        cmocka_unit_test(test_what_lies_downstream),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
