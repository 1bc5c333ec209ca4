/* SPDX-License-Identifier: GPL-3.0-or-later */

/* The blind study and its four outputs. What is right comes from the closed forms of test_region.c,
 * from pd_assess on the same case, from the parsers of jansson, libcsv and xmllint, and from the
 * contract in the headers. */

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <csv.h>
#include <jansson.h>

#include "case_folder.h"
#include "report/blind.h"
#include "report/cautions.h"
#include "study/blind.h"
#include "xml.h"

static struct pd_blind_alone by_itself(enum pd_sense senses)
{
    return (struct pd_blind_alone){.detector = {.name = "alone & <odd>",
                                                .senses = senses,
                                                .low_v = NAN,
                                                .high_v = NAN,
                                                .limit_v = NAN},
                                   .system = PD_THREE_PHASE,
                                   .low_v = NAN,
                                   .high_v = NAN,
                                   .touch_v = NAN,
                                   .limit_set = "gb-outdoor-charging"};
}

/* A case of the folder and what its detectors do not see. */
struct looked {
    struct study study;
    struct pd_blind *blind;
};

static void look(struct looked *l, const char *name)
{
    *l = (struct looked){0};
    study_open_example(&l->study, name);
    assert_int_equal(pd_blind_case(l->study.study_case, NULL, NULL, &l->blind), PD_OK);
}

static void look_away(struct looked *l)
{
    pd_blind_free(&l->blind);
    study_close(&l->study);
}

enum kind { TEXT, JSON, CSV, SVG, KINDS };

static enum pd_status write_as(enum kind kind, FILE *out, const struct pd_blind *blind)
{
    static enum pd_status (*const writers[KINDS])(FILE *, const struct pd_blind *) = {
        [TEXT] = pd_blind_text, [JSON] = pd_blind_json, [CSV] = pd_blind_csv, [SVG] = pd_blind_svg};
    return writers[kind](out, blind);
}

static char *written(enum kind kind, const struct pd_blind *blind)
{
    char *text = NULL;
    size_t length;
    FILE *const out = open_memstream(&text, &length);
    assert_non_null(out);
    assert_int_equal(write_as(kind, out, blind), PD_OK);
    fclose(out);
    return text;
}

static void what_is_left_out_comes_from_the_limit_set(void **state)
{
    (void)state;
    struct pd_blind_alone alone = by_itself(PD_SENSE_LINE);
    struct pd_blind *blind;
    assert_int_equal(pd_blind_alone(&alone, &blind), PD_OK);
    assert_close(alone.detector.low_v, 207, 1e-12, 0);
    assert_close(blind->touch_v, 70, 1e-12, 0);
    assert_close(blind->low_v, 216.2, 1e-12, 0);
    /* at 253 V: 253 sqrt(2 - sqrt 3), as derived in test_region.c */
    assert_close(blind->device[0].worst.worst_v, 253 * sqrt(2 - sqrt(3)), 1e-9, 0);
    assert_close(blind->device[0].worst.supply_v, 253, 1e-9, 0);
    /* three lines: opposite L3, U + d = 253 and U^2 - U d + d^2 = 207^2 */
    const double d = blind->device[0].three.worst_v, u = blind->device[0].three.supply_v;
    assert_close(u + d, 253, 1e-9, 0);
    assert_close(u * u - u * d + d * d, 207.0 * 207, 1e-9, 0);
    assert_false(blind->own_touch || pd_blind_unknown(blind));
    pd_blind_free(&blind);
    assert_null(blind);
}

static void what_is_no_range_is_refused(void **state)
{
    (void)state;
    struct pd_blind_alone alone = by_itself(PD_SENSE_LINE);
    struct pd_blind *blind;
    alone.low_v = 260; /* above the set's 253 V */
    assert_int_equal(pd_blind_alone(&alone, &blind), PD_ERR_ARGUMENT);
    assert_null(blind);
    alone = by_itself(PD_SENSE_LINES);
    alone.detector.low_v = 300;
    assert_int_equal(pd_blind_alone(&alone, &blind), PD_ERR_ARGUMENT);
}

static void a_threshold_not_declared_is_not_determined(void **state)
{
    (void)state;
    struct pd_blind_alone alone = by_itself(PD_SENSE_PE);
    struct pd_blind *blind;
    assert_int_equal(pd_blind_alone(&alone, &blind), PD_OK);
    assert_true(pd_blind_unknown(blind));
    for (enum kind kind = TEXT; kind < KINDS; kind++) {
        char *const text = written(kind, blind);
        assert_non_null(strstr(text, "not determined"));
        assert_null(strstr(text, "nan"));
        assert_null(strstr(text, "inf "));
        free(text);
    }
    pd_blind_free(&blind);
}

/* Of one device that acts on all it sees in time, what goes unseen is what assess says. */
static void one_device_agrees_with_assess(void **state)
{
    (void)state;
    static const char *const names[] = {"laundry-one-line", "street"};
    for (size_t i = 0; i < 2; i++) {
        struct looked l;
        look(&l, names[i]);
        const struct pd_blind_device *const device = &l.blind->device[0];
        const struct pd_assessment *const a = l.study.a;
        assert_int_equal(l.blind->count, 1);
        assert_int_equal(device->judged_count, a->unseen);
        assert_int_equal(device->over_count, a->over);
        const struct pd_scenario *const worst = &device->assessment->scenario[device->unseen[0]];
        assert_close(worst->touch_v, a->residual_v, 1e-12, 0);
        assert_close(cabs(worst->met), worst->met_v, 1e-12, 0);
        look_away(&l);
    }
}

static void what_goes_unseen_is_listed_worst_first(void **state)
{
    (void)state;
    struct looked l;
    look(&l, "street");
    const struct pd_blind_device *const device = &l.blind->device[0];
    assert_true(device->unseen_count > device->judged_count && device->judged_count > 1);
    for (size_t i = 0; i < device->unseen_count; i++) {
        const struct pd_scenario *const s = &device->assessment->scenario[device->unseen[i]];
        assert_int_equal(s->touch, PD_OVER);
        assert_int_equal(s->sight[0].kind, PD_BLIND);
        assert_int_equal(pd_fault_judged(s->fault), i < device->judged_count);
        if (i > 0 && i != device->judged_count)
            assert_true(s->touch_v <=
                        device->assessment->scenario[device->unseen[i - 1]].touch_v + 1e-8);
    }
    look_away(&l);
}

static void three_lines_see_what_one_does_not(void **state)
{
    (void)state;
    struct looked l;
    look(&l, "laundry-three-lines");
    assert_int_equal(l.blind->count, 2);
    assert_true(l.blind->device[0].judged_count > 0);
    assert_int_equal(l.blind->device[1].judged_count, 0);
    assert_true(l.blind->device[0].worst.worst_v > 130 && l.blind->device[1].worst.worst_v < 32);
    char *const text = written(TEXT, l.blind);
    char head[400]; /* the first three lines */
    const char *end = text;
    for (int line = 0; line < 3; line++)
        end = strchr(end, '\n') + 1;
    snprintf(head, sizeof head, "%.*s", (int)(end - text), text);
    assert_non_null(strstr(head, "'one line' is blind up to 131.0 V"));
    assert_non_null(strstr(head, "'three lines' is blind up to 31.9 V"));
    free(text);
    look_away(&l);
}

/* Every scenario of a case at the picture's supply voltage that a network of resistances gives lies
 * in the hull, but for what cables drop; the picture shows it wherever it lies. */
static void scenarios_of_resistances_lie_in_the_hull(void **state)
{
    (void)state;
    struct looked l;
    look(&l, "laundry-one-line");
    const struct pd_assessment *const a = l.blind->device[0].assessment;
    const struct pd_region *const region = &l.blind->device[0].view[PD_VIEW_DRAWN];
    size_t shown = 0;
    for (size_t i = 0; i < a->scenario_count; i++) {
        const struct pd_scenario *const s = &a->scenario[i];
        if (!pd_blind_shows(&l.blind->device[0], s))
            continue;
        shown++;
        for (size_t k = 0; k < region->corner_count; k++) {
            const double complex from = region->corner[k];
            const double complex way = region->corner[(k + 1) % region->corner_count] - from;
            assert_true(cimag(conj(way) * (s->met - from)) / cabs(way) > -0.02 * 253);
        }
    }
    assert_true(shown > 5);
    look_away(&l);
}

static void every_output_has_every_caution(void **state)
{
    (void)state;
    struct looked l;
    look(&l, "laundry-three-lines");
    for (enum kind kind = TEXT; kind < KINDS; kind++) {
        char *const text = written(kind, l.blind);
        for (size_t i = 0; i < PD_CAUTIONS; i++) {
            char first[32]; /* lines are wrapped, an apostrophe is escaped in a picture */
            snprintf(first, sizeof first, "%.12s", pd_cautions[i]);
            assert_non_null(strstr(text, first));
        }
        assert_non_null(strstr(text, "not resistances") != NULL ? text
                                                                : strstr(text, "Loads that are"));
        free(text);
    }
    look_away(&l);
}

static void json_parses_back(void **state)
{
    (void)state;
    struct looked l;
    look(&l, "laundry-three-lines");
    char *const text = written(JSON, l.blind);
    json_t *const root = json_loads(text, 0, NULL);
    assert_non_null(root);
    const json_t *const devices = json_object_get(root, "detectors");
    assert_int_equal(json_integer_value(json_object_get(root, "schema")), 1);
    assert_int_equal(json_array_size(devices), 2);
    const json_t *const one = json_array_get(devices, 0);
    const json_t *const worst = json_object_get(one, "worst");
    assert_close(json_number_value(json_object_get(worst, "unseen_to_v")),
                 l.blind->device[0].worst.worst_v, 1e-9, 0);
    assert_true(json_is_true(json_object_get(worst, "over_limit")));
    assert_int_equal(json_array_size(json_object_get(one, "unseen_scenarios")),
                     l.blind->device[0].unseen_count);
    const json_t *const at = json_object_get(json_object_get(one, "at"), "picture");
    assert_int_equal(json_array_size(json_object_get(at, "boundary_v")),
                     l.blind->device[0].view[PD_VIEW_DRAWN].piece_count);
    assert_true(json_is_null(json_object_get(json_array_get(devices, 1), "three_lines_alike")));
    json_decref(root);
    free(text);
    look_away(&l);
}

struct counting {
    size_t cells, rows, width;
    bool uneven;
};

static void take_cell(void *cell, size_t length, void *context)
{
    (void)cell, (void)length;
    ((struct counting *)context)->cells++;
}

static void take_row(int end, void *context)
{
    (void)end;
    struct counting *const c = context;
    c->width = c->rows == 0 ? c->cells : c->width;
    c->uneven |= c->cells != c->width;
    c->rows++;
    c->cells = 0;
}

static void csv_parses_back(void **state)
{
    (void)state;
    struct looked l;
    look(&l, "laundry-three-lines");
    char *const text = written(CSV, l.blind);
    const char *body = text;
    while (body[0] == '#')
        body = strchr(body, '\n') + 1;
    struct csv_parser parser;
    struct counting c = {0};
    assert_int_equal(csv_init(&parser, CSV_STRICT), 0);
    assert_int_equal(csv_parse(&parser, body, strlen(body), take_cell, take_row, &c), strlen(body));
    csv_fini(&parser, take_cell, take_row, &c);
    csv_free(&parser);
    assert_int_equal(c.width, 11);
    assert_false(c.uneven);
    assert_true(c.rows > 100);
    free(text);
    look_away(&l);
}

static void pictures_are_well_formed(void **state)
{
    (void)state;
    static const char *const names[] = {"laundry-three-lines",  "street",
                                        "farm-split-phase",     "house-band-device",
                                        "house-rod-unmeasured", "house-crossed-pe-device"};
    if (!xml_there())
        skip();
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        struct looked l;
        look(&l, names[i]);
        char *const text = written(SVG, l.blind);
        assert_true(xml_well_formed(text, strlen(text)));
        assert_null(strstr(text, "nan"));
        free(text);
        look_away(&l);
    }
    struct pd_blind_alone alone = by_itself(PD_SENSE_LINES);
    struct pd_blind *blind;
    assert_int_equal(pd_blind_alone(&alone, &blind), PD_OK);
    char *const text = written(SVG, blind);
    assert_non_null(strstr(text, "alone &amp; &lt;odd&gt;"));
    assert_true(xml_well_formed(text, strlen(text)));
    free(text);
    pd_blind_free(&blind);
}

static void a_sense_that_the_plane_does_not_know_says_so(void **state)
{
    (void)state;
    struct pd_blind_alone alone = by_itself(PD_SENSE_LINE);
    struct pd_blind *blind;
    assert_int_equal(pd_blind_alone(&alone, &blind), PD_OK);
    blind->device[0].worst.kind = PD_REGION_ELSEWHERE;
    assert_non_null(strstr(pd_blind_headline(blind, &blind->device[0]).text, "says nothing"));
    assert_non_null(strstr(pd_blind_sense_stands((enum pd_sense)99), "says nothing"));
    pd_blind_free(&blind);
}

static void a_full_disk_is_an_error(void **state)
{
    (void)state;
    struct looked l;
    look(&l, "laundry-three-lines");
    for (enum kind kind = TEXT; kind < KINDS; kind++) {
        FILE *const out = fopen("/dev/full", "w");
        assert_non_null(out);
        setvbuf(out, NULL, _IONBF, 0);
        assert_int_equal(write_as(kind, out, l.blind), PD_ERR_FILE);
        fclose(out);
    }
    look_away(&l);
}

static bool stop_at_once(double share, void *context)
{
    (void)share, (void)context;
    return false;
}

static void the_user_may_interrupt(void **state)
{
    (void)state;
    struct study s = {0};
    struct pd_blind *blind;
    study_open_example(&s, "street");
    assert_int_equal(pd_blind_case(s.study_case, stop_at_once, NULL, &blind), PD_ERR_INTERRUPTED);
    assert_null(blind);
    study_close(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_left_out_comes_from_the_limit_set),
        cmocka_unit_test(what_is_no_range_is_refused),
        cmocka_unit_test(a_threshold_not_declared_is_not_determined),
        cmocka_unit_test(one_device_agrees_with_assess),
        cmocka_unit_test(what_goes_unseen_is_listed_worst_first),
        cmocka_unit_test(three_lines_see_what_one_does_not),
        cmocka_unit_test(scenarios_of_resistances_lie_in_the_hull),
        cmocka_unit_test(every_output_has_every_caution),
        cmocka_unit_test(json_parses_back),
        cmocka_unit_test(csv_parses_back),
        cmocka_unit_test(pictures_are_well_formed),
        cmocka_unit_test(a_sense_that_the_plane_does_not_know_says_so),
        cmocka_unit_test(a_full_disk_is_an_error),
        cmocka_unit_test(the_user_may_interrupt),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
