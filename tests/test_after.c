/* SPDX-License-Identifier: GPL-3.0-or-later */

/* What is left once a device has acted, against Millman's theorem worked here: sections of 0 ohm,
 * so that V_N = sum(Y_k E_k) / (sum(Y_k) + sum(G)) holds as it stands (textbook). */

#include "check.h"

#include <math.h>
#include <stdio.h>

#include "case_folder.h"
#include "network/phasor.h"

static const double supply_v = 253;

static const char facts[] = "quantity,value,unit\nlimit_set,gb-outdoor-charging,-\n"
                            "earthing,TN-C-S,-\nsystem,three-phase,-\ninstallation,board,-\n"
                            "charging_point,point,-\n";
static const char sections[] =
    "section,from,to,line_r_ohm,line_x_ohm,pen_r_ohm,pen_x_ohm,neutral\n"
    "service,substation,board,0,0,0,0,pen\npoint circuit,board,point,0,0,0,0,separate\n";
static const char loads[] = "load,node,phase,current_a\nhouse a,board,L1,6\n"
                            "house b,board,L2,10\nvehicle,point,L3,32\n";
static const char electrodes[] = "electrode,node,resistance_ohm\nrod,board,40\nspike,point,25\n";

/* Amperes at 230 V on each line, and siemens to earth. */
static double complex millman(double l1_a, double l2_a, double l3_a, double earth_s)
{
    const double complex a = CMPLX(-0.5, -sqrt(0.75));
    const double sum = (l1_a + l2_a + l3_a) / 230;
    return supply_v * (l1_a + l2_a * a + l3_a * conj(a)) / 230 / (sum + earth_s);
}

static void open_with(struct study *study, const char *node, const char *disconnects)
{
    struct case_text text = {0};
    struct folder folder;
    char detectors[256];
    snprintf(detectors, sizeof detectors,
             "detector,node,senses,limit_v,delay_s,disconnects,reset\n"
             "guard,%s,pe-earth,40,1,%s,manual\n",
             node, disconnects);
    case_text_set(&text, "case.csv", facts);
    case_text_set(&text, "sections.csv", sections);
    case_text_set(&text, "loads.csv", loads);
    case_text_set(&text, "electrodes.csv", electrodes);
    case_text_set(&text, "detectors.csv", detectors);
    folder_make(&folder);
    folder_fill(&folder, &text);
    study_open(study, folder.path);
    folder_remove(&folder);
    case_text_free(&text);
}

static void the_point_goes_with_its_load_and_its_electrode(void **state)
{
    (void)state;
    struct study study = {0};
    open_with(&study, "point", "live-and-pe");
    const struct pd_after *const after = &study.a->after_seen;
    const double complex rest_v = millman(6, 10, 0, 1.0 / 40);
    assert_close(study.a->scenario[after->scenario].touch_v,
                 cabs(millman(6, 10, 32, 1.0 / 40 + 1.0 / 25)), 1e-9, 0);
    assert_true(after->chassis_let_go && after->rest_on_pen && !after->whole && after->loads_off);
    assert_close(after->rest_v, cabs(rest_v), 1e-9, 0);
    assert_close(after->chassis_v, 0, 0, 0);
    assert_close(after->line_neutral_v[0], cabs(supply_v - rest_v), 1e-9, 0);
    assert_close(after->time_s, 1, 0, 0);
    study_close(&study);
}

static void a_chassis_left_on_pe_goes_where_the_pen_goes(void **state)
{
    (void)state;
    static const char *const words[] = {"lines", "live"};
    for (int i = 0; i < 2; i++) {
        struct study study = {0};
        open_with(&study, "point", words[i]);
        const struct pd_after *const after = &study.a->after_unseen; /* saves nobody */
        assert_int_equal(study.a->after_seen.scenario, PD_NONE);
        assert_false(after->chassis_let_go);
        assert_close(after->rest_v, cabs(millman(6, 10, 0, 1.0 / 40 + 1.0 / 25)), 1e-9, 0);
        assert_close(after->chassis_v, after->rest_v, 0, 0);
        study_close(&study);
    }
}

static void a_device_at_the_board_disconnects_the_installation(void **state)
{
    (void)state;
    struct study study = {0};
    open_with(&study, "board", "live-and-pe");
    const struct pd_after *const after = &study.a->after_seen;
    assert_true(after->whole && after->chassis_let_go && !after->rest_on_pen);
    assert_true(isnan(after->line_neutral_v[0]));
    study_close(&study);
    /* left on the PEN with nothing but electrodes on it, all is at earth */
    open_with(&study, "board", "live");
    assert_true(study.a->after_unseen.whole && study.a->after_unseen.rest_on_pen);
    assert_close(study.a->after_unseen.rest_v, 0, 0, 1e-9);
    study_close(&study);
}

/* With the loads between two states the same loads must come back: the street's worst lies there.
 */
static void nothing_changes_where_nothing_acts(void **state)
{
    (void)state;
    struct study study = {0};
    study_open_example(&study, "street");
    const struct pd_after *const after = &study.a->after_unseen;
    const struct pd_scenario *const s = &study.a->scenario[after->scenario];
    assert_int_equal(after->detector, PD_NONE);
    assert_true(s->place.from != s->place.to);
    assert_close(after->chassis_v, s->touch_v, 1e-9, 0);
    assert_close(after->rest_v, s->met_v, 1e-9, 0);
    study_close(&study);
}

/* A point without a node of its own: nothing is known to go with it, not the terminal's rod either.
 */
static void without_a_node_of_its_own_all_stays(void **state)
{
    (void)state;
    static const char *const names[] = {"house-earth-current", "house-band-device"};
    for (int i = 0; i < 2; i++) {
        struct study study = {0};
        study_open_example(&study, names[i]);
        const struct pd_after *const after = &study.a->after_seen;
        assert_false(after->loads_off);
        assert_true(after->chassis_let_go && after->rest_on_pen);
        assert_close(after->rest_v, study.a->scenario[after->scenario].met_v, 1e-9, 0);
        study_close(&study);
    }
}

/* 253 V on a loop of 0.175 ohm, 230/32 ohm and 90 ohm: the current that the device has. */
static void the_current_into_the_ground_is_what_it_senses(void **state)
{
    (void)state;
    struct study study = {0};
    study_open_example(&study, "house-earth-current");
    const struct pd_scenario *const s =
        study_scenario(&study, "supply", PD_LOADS_PRESENT, supply_v);
    assert_close(s->sight[0].figure, supply_v / (0.175 + 230.0 / 32 + 90), 1e-9, 0);
    assert_close(s->sight[0].figure, s->electrode_a, 1e-12, 0);
    assert_true(s->disconnected);
    study_close(&study);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_point_goes_with_its_load_and_its_electrode),
        cmocka_unit_test(a_chassis_left_on_pe_goes_where_the_pen_goes),
        cmocka_unit_test(a_device_at_the_board_disconnects_the_installation),
        cmocka_unit_test(nothing_changes_where_nothing_acts),
        cmocka_unit_test(without_a_node_of_its_own_all_stays),
        cmocka_unit_test(the_current_into_the_ground_is_what_it_senses),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
