/* SPDX-License-Identifier: GPL-3.0-or-later */

/* The steps of a commissioning sheet, by hand: threshold, tolerance, and half a volt to spare. */

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "case_folder.h"
#include "report/report.h"
#include "study/commission.h"

struct opened {
    struct study study;
    struct pd_test_sheet *sheet;
};

static void open_with(struct opened *opened, const char *name, const char *detectors)
{
    struct case_text text = {0};
    struct folder folder;
    *opened = (struct opened){0};
    case_text_read(&text, name);
    if (detectors != NULL)
        case_text_set(&text, "detectors.csv", detectors);
    folder_make(&folder);
    folder_fill(&folder, &text);
    study_open(&opened->study, folder.path);
    folder_remove(&folder);
    case_text_free(&text);
    assert_int_equal(pd_commission(opened->study.a, &opened->sheet), PD_OK);
}

static void close_all(struct opened *opened)
{
    pd_test_sheet_free(&opened->sheet);
    study_close(&opened->study);
}

static void a_band_has_four_steps(void **state)
{
    (void)state;
    /* 209 V and 251 V, 2 V either way, in cases/street */
    static const double value_v[] = {211.5, 206.5, 248.5, 253.5};
    struct opened o;
    open_with(&o, "street", NULL);
    assert_int_equal(o.sheet->count, 4);
    assert_true(o.sheet->complete);
    for (size_t i = 0; i < 4; i++) {
        assert_close(o.sheet->step[i].value, value_v[i], 0, 1e-9);
        assert_int_equal(o.sheet->step[i].expected, i % 2 == 0 ? PD_STAYS_CLOSED : PD_ACTS);
        assert_close(o.sheet->step[i].within_s, i % 2 == 0 ? 10 : 4, 0, 1e-9);
    }
    /* the worst that this case leaves unseen is named */
    assert_non_null(strstr(o.sheet->unproved.text[0], "main3"));
    assert_non_null(strstr(o.sheet->unproved.text[0], "does not see it"));
    close_all(&o);
}

static void every_line_of_three_is_tested(void **state)
{
    (void)state;
    struct opened o;
    open_with(&o, "workshop-unbalanced",
              "detector,node,senses,low_v,high_v,tolerance_v,delay_s,disconnects\n"
              "three,workshop,three-line-neutral,207,253,1,7,live\n");
    assert_int_equal(o.sheet->count, 12);
    for (size_t i = 0; i < 12; i++) {
        const struct pd_step *const step = &o.sheet->step[i];
        assert_int_equal(step->line, i / 4);
        for (int line = 0; line < 3; line++)
            assert_close(step->line_v[line], line == step->line ? step->value : 230, 0, 1e-9);
        if (step->expected == PD_STAYS_CLOSED)
            assert_close(step->within_s, 14, 0, 1e-9);
    }
    close_all(&o);
}

/* PE's potential for 47.5 V and 52.5 V between the terminals, of which a share of 0.9 x 10/14. */
static void a_reference_electrode_is_counted_back(void **state)
{
    (void)state;
    struct opened o;
    open_with(&o, "house-weak-reference", NULL);
    assert_int_equal(o.sheet->count, 2);
    assert_close(o.sheet->step[0].value, 47.5, 0, 1e-9);
    assert_close(o.sheet->step[0].pe_v, 47.5 * 14 / 9, 1e-9, 0);
    assert_close(o.sheet->step[1].pe_v, 52.5 * 14 / 9, 1e-9, 0);
    close_all(&o);
}

/* The neutral 20.5 V off towards L1, at right triangles: 209.5 V, and sqrt(230^2 + 230 x 20.5 +
 * 20.5^2) V on the others. */
static void a_star_point_is_displaced(void **state)
{
    (void)state;
    struct opened o;
    open_with(&o, "workshop-unbalanced",
              "detector,node,senses,limit_v,delay_s,disconnects\n"
              "star,workshop,star-point,20,1,live-and-pe\n");
    assert_int_equal(o.sheet->count, 2);
    assert_close(o.sheet->step[1].line_v[0], 209.5, 1e-9, 0);
    for (int line = 1; line < 3; line++)
        assert_close(o.sheet->step[1].line_v[line], sqrt(230 * 230 + 230 * 20.5 + 20.5 * 20.5),
                     1e-9, 0);
    close_all(&o);
}

static void a_current_keeps_two_hundredths_clear(void **state)
{
    (void)state;
    struct opened o;
    open_with(&o, "house-rod-12-ohm",
              "detector,node,senses,limit_a,tolerance_a,delay_s,disconnects\n"
              "amps,installation,pe-current,0.5,0.1,1,live-and-pe\n");
    assert_int_equal(o.sheet->count, 2);
    assert_close(o.sheet->step[0].value, 0.39, 1e-9, 0);
    assert_close(o.sheet->step[1].value, 0.61, 1e-9, 0);
    close_all(&o);
}

static void what_is_not_declared_is_not_tested(void **state)
{
    (void)state;
    static const char *const rows[] = {"guard,installation,line-neutral,,253,,1",
                                       "guard,installation,line-neutral,228,232,,5",
                                       "guard,installation,pe-earth,,,,1"};
    char table[200];
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct opened o;
        snprintf(table, sizeof table, "detector,node,senses,low_v,high_v,limit_v,tolerance_v\n%s\n",
                 rows[i]);
        open_with(&o, "house-no-electrode", table);
        assert_false(o.sheet->complete);
        assert_true(o.sheet->untested.count > 0);
        for (size_t step = 0; step < o.sheet->count; step++)
            assert_true(isfinite(o.sheet->step[step].value));
        close_all(&o);
    }
}

/* Every format says that no PEN is to be opened, and has the cautions (DESIGN section 10). */
static void no_sheet_asks_to_open_a_pen(void **state)
{
    (void)state;
    static enum pd_status (*const writers[])(FILE *, const struct pd_test_sheet *) = {
        pd_commission_text, pd_commission_json, pd_commission_csv};
    struct opened o;
    open_with(&o, "street", NULL);
    for (size_t i = 0; i < sizeof writers / sizeof writers[0]; i++) {
        char *text = NULL;
        size_t length;
        FILE *const out = open_memstream(&text, &length);
        assert_int_equal(writers[i](out, o.sheet), PD_OK);
        fclose(out);
        assert_non_null(strstr(text, "Never open, loosen or disturb a PEN conductor, here or"));
        assert_non_null(strstr(text, "The voltages in question kill."));
        assert_null(strstr(text, "nan"));
        free(text);
    }
    close_all(&o);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_band_has_four_steps),
        cmocka_unit_test(every_line_of_three_is_tested),
        cmocka_unit_test(a_reference_electrode_is_counted_back),
        cmocka_unit_test(a_star_point_is_displaced),
        cmocka_unit_test(a_current_keeps_two_hundredths_clear),
        cmocka_unit_test(what_is_not_declared_is_not_tested),
        cmocka_unit_test(no_sheet_asks_to_open_a_pen),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
