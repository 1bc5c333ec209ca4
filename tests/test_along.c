/* SPDX-License-Identifier: GPL-3.0-or-later */

/* The deciding scenario along the whole supply, held against a dense solution of the whole network
 * (oracle.h, which shares no code with the engine) and a voltage divider; the curve of an electrode
 * on the main earthing terminal, held against the same divider and against the case with that
 * electrode written into its table; digests held against FIPS 180-4's own examples; the places of a
 * drawn street. */

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "case_folder.h"
#include "files.h"
#include "oracle.h"
#include "report/street.h"
#include "study/pictured.h"

/* The loads that the scenario had: of a load state, between two, or what the proof found. */
static void loads_of(const struct study *study, const struct pd_scenario *s, double *load_a)
{
    struct pd_load_states states = {0};
    const size_t count = study->study_case->network->load_count;
    assert_int_equal(pd_load_states_new(study->study_case, &states), PD_OK);
    for (size_t i = 0; i < count && s->place.from != PD_NONE; i++)
        load_a[i] = (1 - s->place.share) * pd_load_state(&states, s->place.from)[i] +
                    s->place.share * pd_load_state(&states, s->place.to)[i];
    for (size_t k = 0; k < study->a->certified.count && s->place.from == PD_NONE; k++)
        if (study->a->certified.brk[k].section == s->section)
            memcpy(load_a, study->a->certified.brk[k].load_a, count * sizeof *load_a);
    pd_load_states_free(&states);
}

static bool is_linear(const struct pd_network *network)
{
    for (size_t i = 0; i < network->load_count; i++)
        if (!network->load[i].behaviour->linear)
            return false;
    return true;
}

static void hold_against_oracle(const struct study *study)
{
    const struct pd_case *const c = study->study_case;
    const struct pd_along *const along = &study->a->along;
    const struct pd_scenario *const s = &study->a->scenario[along->scenario];
    double *const load_a = calloc(c->network->load_count + 1, sizeof *load_a);
    assert_non_null(load_a);
    loads_of(study, s, load_a);
    const struct pd_operating operating = {
        .load_a = load_a, .tie = c->tie, .tie_count = c->electrodes.count, .supply_v = s->supply_v};
    const struct pd_cut cut = {.kind = PD_CUT_OPEN, .section = s->section};
    struct oracle_answer answer;
    oracle_solve(c->network, &operating, &cut, false, &answer);
    for (size_t i = 0; i < along->count; i++)
        if (c->network->node[i].pe_node != PD_NONE)
            assert_close(along->touch_v[i], cabs(answer.v[c->network->node[i].pe_node][PD_N]), 1e-9,
                         1e-7 * s->supply_v);
    oracle_answer_free(&answer);
    free(load_a);
}

static void test_every_node_equals_the_dense_solution(void **state)
{
    (void)state;
    size_t held = 0, there = 0;
    for (size_t i = 0; case_names[i] != NULL; i++) {
        struct study study = {0};
        study_open_example(&study, case_names[i]);
        const struct pd_along *const along = &study.a->along;
        if (along->scenario != PD_NONE) {
            const struct pd_scenario *const s = &study.a->scenario[along->scenario];
            there++;
            assert_int_equal(along->count, study.study_case->network->node_count);
            assert_close(along->touch_v[study.study_case->charging_point], s->touch_v, 1e-6, 1e-6);
            if (is_linear(study.study_case->network) && study.study_case->mutual_ohm == NULL &&
                s->fault == PD_OPEN_PEN) {
                hold_against_oracle(&study);
                held++;
            }
        }
        study_close(&study);
    }
    assert_true(held >= 12);
    assert_true(there >= 25); /* all but those with something missing or no answer */
}

/* 32 A at 230 V is 7.1875 ohm; the rod of 12 ohm is 16.8 in the dry season; without the line's
 * impedance 253 * 16.8 / 23.9875 = 177.19 V, and the loop takes a little off it. */
static void test_one_house_is_a_divider(void **state)
{
    (void)state;
    struct study study = {0};
    study_open_example(&study, "house-rod-12-ohm");
    const struct pd_case *const c = study.study_case;
    const double line_ohm = creal(c->network->node[c->installation].z_ohm.at[PD_L1][PD_L1]) +
                            creal(c->network->source.z_ohm);
    const double all_ohm = 230.0 / 32 + 16.8 + line_ohm + c->network->source.electrode_ohm;
    assert_close(study.a->along.touch_v[c->installation], 253 * 16.8 / all_ohm, 1e-6, 0);
    assert_close(study.a->along.touch_v[0], 253 * c->network->source.electrode_ohm / all_ohm, 1e-6,
                 1e-9);
    study_close(&study);
}

static void test_nothing_missing_is_drawn(void **state)
{
    (void)state;
    struct study study = {0};
    study_open_example(&study, "house-rod-unmeasured");
    assert_true(study.a->along.scenario == PD_NONE);
    assert_null(study.a->along.touch_v);
    study_close(&study);
}

static struct pd_sweep *curve(const char *name, double from_ohm, double to_ohm, size_t count,
                              bool all_loads)
{
    char path[512];
    struct pd_errors errors = {0};
    struct pd_sweep *sweep = NULL;
    const struct pd_sweep_settings settings = {
        .vary = {pd_vary_met_electrode(from_ohm, to_ohm, count)},
        .vary_count = 1,
        .met_electrode = true,
        .all_loads = all_loads};
    snprintf(path, sizeof path, "%s/%s", cases_folder(), name);
    assert_int_equal(pd_sweep_run(path, &settings, NULL, NULL, &sweep, &errors), PD_OK);
    return sweep;
}

/* Where the curve crosses the limit is what the assessment gives as the largest that would do: two
 * roads, a sweep's scan and the terminal's two probes. */
static void test_the_curve_crosses_at_the_largest_that_would_do(void **state)
{
    (void)state;
    static const char *const names[] = {"house-no-electrode", "house-rod-12-ohm", "street",
                                        "workshop-unbalanced"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        struct study study = {0};
        struct pd_sweep *sweep = curve(names[i], 0.1, 1000, 41, true);
        study_open_example(&study, names[i]);
        assert_int_equal(sweep->crossing_count, 1);
        assert_close(sweep->crossing[0].low.value[0], study.a->network.electrode_max_ohm, 1e-3, 0);
        assert_true(sweep->crossing[0].low.touch == PD_WITHIN);
        study_close(&study);
        pd_sweep_free(&sweep);
    }
}

/* The rod of that case, 12 ohm by a season of 1.4, in place of itself: nothing changes. And no
 * electrode where there is none is the case itself. */
static void test_the_curve_at_the_rod_is_the_case(void **state)
{
    (void)state;
    struct pd_sweep *sweep = curve("house-rod-12-ohm", 16.8, 168, 2, false);
    assert_close(sweep->present.value[0], 16.8, 1e-12, 0);
    assert_close(sweep->point[0].touch_v, sweep->present.touch_v, 1e-9, 0);
    assert_close(sweep->point[0].touch_v, 175.908949819, 1e-9, 0); /* the assessment's */
    pd_sweep_free(&sweep);
    sweep = curve("street", 1e9, 2e9, 2, true);
    assert_close(sweep->point[0].touch_v, sweep->present.touch_v, 1e-6, 0);
    assert_true(isinf(sweep->present.value[0]));
    pd_sweep_free(&sweep);
}

static void test_digests(void **state)
{
    (void)state;
    struct written folder;
    struct pd_inputs inputs, other;
    struct pd_errors errors = {0};
    char *const many = malloc(1000001);
    assert_non_null(many);
    memset(many, 'a', 1000000);
    many[1000000] = '\0';
    written_make(&folder);
    written_put(&folder, "case.csv", "");
    written_put(&folder, "loads.csv", "abc");
    written_put(&folder, "electrodes.csv",
                "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq");
    written_put(&folder, "cables.csv", many);
    written_put(&folder, "profile.csv", "not a table that decides");
    assert_int_equal(pd_inputs_take(folder.path, &inputs, &errors), PD_OK);
    assert_int_equal(inputs.count, 4);
    /* FIPS 180-4 and its example values; the empty message by sha256sum */
    assert_string_equal(inputs.input[0].file, "case.csv");
    assert_string_equal(inputs.input[0].sha256,
                        "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    assert_string_equal(inputs.input[1].sha256,
                        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    assert_string_equal(inputs.input[2].sha256,
                        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
    assert_string_equal(inputs.input[3].sha256,
                        "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
    assert_int_equal(pd_inputs_compare(&inputs, &inputs, &errors), PD_OK);
    written_put(&folder, "loads.csv", "abd");
    written_put(&folder, "sections.csv", "x");
    assert_int_equal(pd_inputs_take(folder.path, &other, &errors), PD_OK);
    assert_int_equal(pd_inputs_compare(&inputs, &other, &errors), PD_ERR_FILE);
    assert_int_equal(errors.count, 2); /* one changed, one is new */
    written_remove(&folder);
    free(many);
}

/* A street grown at random: joints on joints, houses on joints. */
static struct pd_network *grow(struct stream *stream, size_t joints, size_t houses)
{
    struct pd_network *network;
    assert_int_equal(pd_network_new(PD_THREE_PHASE, 230, &network), PD_OK);
    for (size_t i = 0; i < joints + houses; i++) {
        char name[32], from[32], to[32];
        const size_t last = i < joints ? i : joints;
        const size_t on =
            i < joints && stream_below(stream, 4) > 0 ? last : stream_below(stream, last + 1);
        snprintf(name, sizeof name, "section%zu", i);
        snprintf(from, sizeof from, on == 0 ? "substation" : "node%zu", on);
        snprintf(to, sizeof to, "node%zu", i + 1);
        const struct pd_section section = {.name = name, .from = from, .to = to};
        assert_int_equal(pd_network_add_section(network, &section, NULL), PD_OK);
    }
    assert_int_equal(pd_network_close(network, NULL), PD_OK);
    return network;
}

static double mark_x(const struct pd_street_place *place)
{
    return place->on_main ? place->house_x : place->x;
}

/* Every house has a place of its own, within the width; what hangs on it is drawn upstream of it.
 */
static void check_places(const struct pd_case *c, double width)
{
    struct pd_street_lay lay;
    assert_int_equal(pd_street_lay(c, width, &lay), PD_OK);
    size_t houses = 0;
    for (size_t i = 0; i < lay.count; i++) {
        const struct pd_street_place *const p = &lay.place[i];
        assert_true(p->shown);
        assert_true(p->row < lay.rows);
        assert_true(p->x >= 0 && p->x <= width + lay.slot);
        houses += p->house;
        assert_true(c->network->node[i].child_count > 0 || p->house);
        for (size_t j = 0; j < i && p->house; j++)
            if (lay.place[j].house && lay.place[j].row == p->row)
                assert_true(fabs(mark_x(&lay.place[j]) - mark_x(p)) > 0.9 * lay.slot);
    }
    assert_int_equal(houses, lay.houses);
    pd_street_lay_free(&lay);
}

static void test_places_of_a_street(void **state)
{
    (void)state;
    static const size_t sizes[][2] = {{0, 1}, {1, 3}, {8, 20}, {30, 90}, {60, 240}, {120, 500}};
    struct stream stream = {20261125};
    for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++)
        for (size_t try = 0; try < 5 * soak(); try++) {
            struct pd_case c = {.network = grow(&stream, sizes[i][0], sizes[i][1])};
            c.installation = c.charging_point = c.network->node_count - 1;
            check_places(&c, PD_STREET_WIDTH);
            pd_network_free(&c.network);
        }
}

/* A chain of many thousand sections: refused, not drawn over metres of paper, and at once. */
static void test_a_street_too_large(void **state)
{
    (void)state;
    struct pd_network *network;
    assert_int_equal(pd_network_new(PD_SINGLE_PHASE, 230, &network), PD_OK);
    for (size_t i = 0; i < 20000; i++) {
        char name[32], house[32], from[32], to[32];
        snprintf(name, sizeof name, "main%zu", i);
        snprintf(house, sizeof house, "house%zu", i);
        snprintf(from, sizeof from, i == 0 ? "substation" : "node%zu", i);
        snprintf(to, sizeof to, "node%zu", i + 1);
        struct pd_section section = {.name = name, .from = from, .to = to};
        assert_int_equal(pd_network_add_section(network, &section, NULL), PD_OK);
        section = (struct pd_section){.name = house, .from = to, .to = house};
        assert_int_equal(pd_network_add_section(network, &section, NULL), PD_OK);
    }
    assert_int_equal(pd_network_close(network, NULL), PD_OK);
    const struct pd_case c = {.network = network, .installation = 1, .charging_point = 1};
    struct pd_street_lay lay;
    assert_int_equal(pd_street_lay(&c, PD_STREET_WIDTH, &lay), PD_ERR_ARGUMENT);
    assert_null(lay.place);
    pd_network_free(&network);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_node_equals_the_dense_solution),
        cmocka_unit_test(test_one_house_is_a_divider),
        cmocka_unit_test(test_nothing_missing_is_drawn),
        cmocka_unit_test(test_the_curve_crosses_at_the_largest_that_would_do),
        cmocka_unit_test(test_the_curve_at_the_rod_is_the_case),
        cmocka_unit_test(test_digests),
        cmocka_unit_test(test_places_of_a_street),
        cmocka_unit_test(test_a_street_too_large),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
