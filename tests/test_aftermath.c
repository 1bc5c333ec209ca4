/* SPDX-License-Identifier: GPL-3.0-or-later */

/* The seconds after a break, against hand calculations. Sections are of 0 ohm, so that current law
 * at the neutral is all there is: of one line, impedances G, a charger of I in phase with its
 * voltage and a rod G_E, (E - U) G + I = U G_E (textbook). */

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "case_folder.h"
#include "network/window_time.h"
#include "study/aftermath.h"

static const char facts[] = "quantity,value,unit\nlimit_set,gb-outdoor-charging,-\n"
                            "earthing,TN-C-S,-\nsystem,%s,-\ninstallation,board,-\n"
                            "charging_point,point,-\n";
static const char sections[] =
    "section,from,to,line_r_ohm,line_x_ohm,pen_r_ohm,pen_x_ohm,neutral\n"
    "service,substation,board,0,0,0,0,pen\npoint circuit,board,point,0,0,0,0,separate\n";

static const double e_v = 253, rod_s = 1.0 / 8;

/* A case followed. Start with {0}. */
struct followed {
    struct pd_case *study_case;
    struct pd_aftermath *a;
};

static void follow_folder(struct followed *f, const char *path,
                          const struct pd_aftermath_settings *settings)
{
    struct pd_errors errors = {0};
    assert_int_equal(pd_case_read(path, &f->study_case, &errors), PD_OK);
    assert_int_equal(pd_aftermath(f->study_case, settings, NULL, NULL, &f->a), PD_OK);
}

static void let_go(struct followed *f)
{
    pd_aftermath_free(&f->a);
    pd_case_free(&f->study_case);
    assert_null(f->a);
}

static void follow_with(struct followed *f, const char *system, const char *loads,
                        const char *detectors, const char *electrodes,
                        const struct pd_aftermath_settings *settings)
{
    struct case_text text = {0};
    struct folder folder;
    char about[400];
    snprintf(about, sizeof about, facts, system);
    case_text_set(&text, "case.csv", about);
    case_text_set(&text, "sections.csv", sections);
    case_text_set(&text, "loads.csv", loads);
    case_text_set(&text, "electrodes.csv", electrodes);
    if (detectors != NULL)
        case_text_set(&text, "detectors.csv", detectors);
    folder_make(&folder);
    folder_fill(&folder, &text);
    follow_folder(f, folder.path, settings);
    folder_remove(&folder);
    case_text_free(&text);
}

static void follow(struct followed *f, const char *system, const char *loads, const char *detectors,
                   const struct pd_aftermath_settings *settings)
{
    follow_with(f, system, loads, detectors, "electrode,node,resistance_ohm\nrod,board,8\n",
                settings);
}

static void follow_example(struct followed *f, const char *name,
                           const struct pd_aftermath_settings *settings)
{
    char path[512];
    snprintf(path, sizeof path, "%s/%s", cases_folder(), name);
    follow_folder(f, path, settings);
}

static const char vehicle[] = "load,node,behaviour,current_a,trip_s,reconnect_s\n"
                              "house,board,impedance,6,,\nvehicle,point,charger,10,%s,60\n";
static const char device[] = "detector,node,senses,low_v,high_v,tolerance_v,delay_s,disconnects,"
                             "reset,reset_s\n"
                             "guard,point,line-neutral,207,253,2,%s,live-and-pe,%s\n";

/* The neutral, with the charger on or off. */
static double neutral_v(bool on)
{
    const double house_s = 6.0 / 230;
    return (e_v * house_s + (on ? 10 : 0)) / (house_s + rod_s);
}

static void expect_event(const struct pd_aftermath *a, size_t i, enum pd_event_kind kind,
                         double time_s, size_t interval)
{
    assert_true(i < a->event_count);
    assert_int_equal(a->event[i].kind, kind);
    assert_close(a->event[i].time_s, time_s, 1e-12, 1e-12);
    assert_int_equal(a->event[i].interval, interval);
}

/* The charger's 142.1 V are below 195.5 V; without it 209.3 V are inside. */
static void a_vehicle_lets_go_and_comes_back_again_and_again(void **state)
{
    (void)state;
    struct followed f = {0};
    char loads[200];
    const struct pd_aftermath_settings settings = pd_aftermath_defaults();
    snprintf(loads, sizeof loads, vehicle, "0.5");
    follow(&f, "single-phase", loads, NULL, &settings);
    assert_close(f.a->interval[0].chassis_v, neutral_v(true), 1e-9, 0);
    assert_close(f.a->interval[0].line_neutral_v[0], e_v - neutral_v(true), 1e-9, 0);
    assert_close(f.a->interval[1].chassis_v, neutral_v(false), 1e-9, 0);
    assert_int_equal(f.a->event_count, 3);
    expect_event(f.a, 1, PD_EVENT_LETS_GO, 0.5, 1);
    assert_close(f.a->event[1].figure, e_v - neutral_v(true), 1e-9, 0);
    assert_close(f.a->event[1].threshold, 0.85 * 230, 1e-12, 0);
    expect_event(f.a, 2, PD_EVENT_COMES_BACK, 60.5, 2);
    assert_int_equal(f.a->ending, PD_ENDING_OSCILLATES);
    assert_close(f.a->repeats_from_s, 0, 0, 0);
    assert_close(f.a->period_s, 60.5, 1e-12, 0);
    let_go(&f);
}

/* The device has 0.2 s; its reset of 10 s finds 209.3 V, which is inside its band; the charger then
 * waits its 60 s. */
static void a_device_recloses_onto_the_same_fault(void **state)
{
    (void)state;
    struct followed f = {0};
    char loads[200], detectors[200];
    const struct pd_aftermath_settings settings = pd_aftermath_defaults();
    snprintf(loads, sizeof loads, vehicle, "0.5");
    snprintf(detectors, sizeof detectors, device, "0.2", "automatic,10");
    follow(&f, "single-phase", loads, detectors, &settings);
    expect_event(f.a, 1, PD_EVENT_DISCONNECTS, 0.2, 1);
    expect_event(f.a, 2, PD_EVENT_RECLOSES, 10.2, 2);
    expect_event(f.a, 3, PD_EVENT_COMES_BACK, 70.2, 3);
    assert_int_equal(f.a->event_count, 4);
    assert_false(f.a->interval[1].chassis_on_pe);
    assert_close(f.a->interval[1].chassis_v, 0, 0, 0);
    assert_close(f.a->interval[1].metalwork_v, neutral_v(false), 1e-9, 0);
    assert_close(f.a->interval[2].chassis_v, neutral_v(false), 1e-9, 0);
    assert_close(f.a->interval[3].chassis_v, neutral_v(true), 1e-9, 0);
    assert_int_equal(f.a->ending, PD_ENDING_OSCILLATES);
    assert_close(f.a->period_s, 70.2, 1e-12, 0);
    /* Live for 0.2 s, dead for 10 s, live for 60 s. */
    assert_close(f.a->interval[1].exposed_s, 0.2, 1e-12, 0);
    assert_close(f.a->interval[2].exposed_s, 60.2, 1e-12, 0);
    let_go(&f);
}

static void a_device_reset_by_hand_stays_open(void **state)
{
    (void)state;
    struct followed f = {0};
    char loads[200], detectors[200];
    const struct pd_aftermath_settings settings = pd_aftermath_defaults();
    snprintf(loads, sizeof loads, vehicle, "0.5");
    snprintf(detectors, sizeof detectors, device, "0.2", "manual,");
    follow(&f, "single-phase", loads, detectors, &settings);
    assert_int_equal(f.a->ending, PD_ENDING_SETTLED);
    assert_int_equal(f.a->interval_count, 2);
    assert_close(f.a->over_s, 0.2, 1e-12, 0);
    assert_close(f.a->interval[1].end_s, PD_HORIZON_S, 0, 0);
    let_go(&f);
}

static void what_is_due_together_acts_together(void **state)
{
    (void)state;
    struct followed f = {0};
    char loads[200], detectors[200];
    const struct pd_aftermath_settings settings = pd_aftermath_defaults();
    snprintf(loads, sizeof loads, vehicle, "0.2");
    snprintf(detectors, sizeof detectors, device, "0.2", "manual,");
    follow(&f, "single-phase", loads, detectors, &settings);
    expect_event(f.a, 1, PD_EVENT_LETS_GO, 0.2, 1);
    expect_event(f.a, 2, PD_EVENT_DISCONNECTS, 0.2, 1);
    assert_int_equal(f.a->interval_count, 2);
    let_go(&f);
}

/* A charger that lets go a moment sooner takes the evidence with it, for good. */
static void a_clock_starts_afresh(void **state)
{
    (void)state;
    struct followed f = {0};
    char loads[200], detectors[200];
    struct pd_aftermath_settings settings = pd_aftermath_defaults();
    settings.horizon_s = 50;
    snprintf(loads, sizeof loads, vehicle, "0.19");
    snprintf(detectors, sizeof detectors, device, "0.2", "manual,");
    follow(&f, "single-phase", loads, detectors, &settings);
    expect_event(f.a, 1, PD_EVENT_LETS_GO, 0.19, 1);
    assert_int_equal(f.a->event_count, 2);
    assert_int_equal(f.a->ending, PD_ENDING_HORIZON); /* it would come back at 60.19 s */
    assert_true(f.a->interval[1].chassis_on_pe);
    let_go(&f);
}

static const char oven[] = "load,node,behaviour,current_a,trip_s,reconnect_s\n"
                           "oven,board,impedance,26,,\nvehicle,point,charger,10,0.5,60\n";

/* With an oven of 26 A line to neutral stays below the band also when the vehicle has let go: the
 * device's second goes on, and keeps what resets by itself open afterwards. */
static void a_clock_runs_on_while_it_sees(void **state)
{
    (void)state;
    struct followed f = {0};
    char detectors[200];
    const struct pd_aftermath_settings settings = pd_aftermath_defaults();
    const double house_s = 26.0 / 230;
    snprintf(detectors, sizeof detectors, device, "1", "automatic,10");
    follow(&f, "single-phase", oven, detectors, &settings);
    assert_int_equal(f.a->event_count, 3);
    expect_event(f.a, 1, PD_EVENT_LETS_GO, 0.5, 1);
    expect_event(f.a, 2, PD_EVENT_DISCONNECTS, 1, 2);
    assert_int_equal(f.a->ending, PD_ENDING_SETTLED);
    assert_int_equal(f.a->held, 0);
    assert_close(f.a->interval[2].metalwork_v, e_v * house_s / (house_s + rod_s), 1e-9, 0);
    let_go(&f);
}

/* The point's own spike goes with its protective conductor: the rod alone is left. */
static void an_electrode_goes_with_what_is_disconnected(void **state)
{
    (void)state;
    struct followed f = {0};
    char detectors[200];
    const struct pd_aftermath_settings settings = pd_aftermath_defaults();
    const double house_s = 26.0 / 230;
    snprintf(detectors, sizeof detectors, device, "0.1", "manual,");
    follow_with(&f, "single-phase", oven, detectors,
                "electrode,node,resistance_ohm\nrod,board,8\nspike,point,25\n", &settings);
    assert_close(f.a->interval[0].metalwork_v, (e_v * house_s + 10) / (house_s + rod_s + 1.0 / 25),
                 1e-9, 0);
    expect_event(f.a, 1, PD_EVENT_DISCONNECTS, 0.1, 1);
    assert_close(f.a->interval[1].metalwork_v, e_v * house_s / (house_s + rod_s), 1e-9, 0);
    let_go(&f);
}

static void too_many_events_are_no_ending(void **state)
{
    (void)state;
    struct followed f = {0};
    char loads[200], detectors[200];
    struct pd_aftermath_settings settings = pd_aftermath_defaults();
    settings.events_max = 2;
    snprintf(loads, sizeof loads, vehicle, "0.5");
    snprintf(detectors, sizeof detectors, device, "0.2", "automatic,10");
    follow(&f, "single-phase", loads, detectors, &settings);
    assert_int_equal(f.a->ending, PD_ENDING_BOUND);
    assert_int_equal(f.a->interval_count, 3);
    let_go(&f);
}

/* Split phase, all real: U = (E (G1 - G2) + I) / (G1 + G2 + G_E), E + U across the inverter on L2.
 * 273.7 V is over-voltage-2, 0.5 s; 262.2 V over-voltage-1, 1.0 s. */
static void an_inverter_goes_by_its_stages(void **state)
{
    (void)state;
    static const struct {
        double l1_a, time_s;
        const char *stage;
    } tried[] = {{16, 0.5, "over-voltage-2"}, {11, 1.0, "over-voltage-1"}};
    for (size_t i = 0; i < 2; i++) {
        struct followed f = {0};
        char loads[300];
        const struct pd_aftermath_settings settings = pd_aftermath_defaults();
        snprintf(loads, sizeof loads,
                 "load,node,phase,behaviour,current_a\nkiln,board,L1,impedance,%g\n"
                 "lamp,board,L2,impedance,8\nsolar,board,L2,inverter-current,0.2\n",
                 tried[i].l1_a);
        follow(&f, "split-phase", loads, NULL, &settings);
        const double g1_s = tried[i].l1_a / 230, g2_s = 8.0 / 230;
        const double on_v = (e_v * (g1_s - g2_s) + 0.2) / (g1_s + g2_s + rod_s);
        const double off_v = e_v * (g1_s - g2_s) / (g1_s + g2_s + rod_s);
        assert_close(f.a->interval[0].metalwork_v, on_v, 1e-9, 0);
        assert_close(f.a->interval[0].line_neutral_v[1], e_v + on_v, 1e-9, 0);
        expect_event(f.a, 1, PD_EVENT_LETS_GO, tried[i].time_s, 1);
        assert_string_equal(f.a->event[1].stage, tried[i].stage);
        assert_close(f.a->interval[1].metalwork_v, off_v, 1e-9, 0);
        let_go(&f);
    }
}

/* The engine's own answer for a state that is set by hand: what let go is 0 A, all else stays on.
 */
static void voltages_are_those_of_a_plain_solution(void **state)
{
    (void)state;
    struct followed f = {0};
    const struct pd_aftermath_settings settings = pd_aftermath_defaults();
    follow_example(&f, "vehicle-lets-go", &settings);
    const struct pd_network *const network = f.study_case->network;
    struct pd_tree *tree = NULL;
    struct pd_solution solution;
    assert_int_equal(pd_tree_new(network, &tree), PD_OK);
    assert_int_equal(pd_solution_new(network, &solution), PD_OK);
    for (size_t i = 0; i < 2; i++) {
        double load_a[5];
        assert_int_equal(network->load_count, 5);
        for (size_t k = 0; k < 5; k++) {
            load_a[k] = network->load[k].present_a;
            if (i == 1 && strcmp(network->load[k].name, "vehicle") == 0)
                load_a[k] = 0;
        }
        const struct pd_operating operating = {
            .load_a = load_a, .hold_windows = true, .supply_v = f.a->supply_v};
        const struct pd_cut cut = {.kind = PD_CUT_OPEN, .section = f.a->section};
        assert_int_equal(pd_tree_factor(tree, &operating), PD_OK);
        assert_int_equal(pd_tree_solve(tree, &cut, &solution), PD_OK);
        const struct pd_interval *const at = &f.a->interval[i];
        assert_close(at->chassis_v, cabs(solution.v[f.study_case->installation][PD_N]), 1e-12, 0);
        for (size_t h = 0; h < f.a->house_count; h++)
            for (int line = PD_L1; line < PD_LINES; line++)
                if ((f.a->house[h].lines & 1u << line) != 0) {
                    const double complex *const v = solution.v[f.a->house[h].node];
                    assert_close(at->house_v[h * PD_LINES + (size_t)line], cabs(v[line] - v[PD_N]),
                                 1e-12, 0);
                }
        assert_int_equal(at->over_count, i == 0 ? 2 : 1); /* house2 and house3; house3 */
    }
    pd_solution_free(&solution);
    pd_tree_free(&tree);
    let_go(&f);
}

static void no_answer_is_no_ending(void **state)
{
    (void)state;
    struct followed f = {0};
    const struct pd_aftermath_settings settings = pd_aftermath_defaults();
    follow_example(&f, "house-inverter-lets-go", &settings); /* an island at any angle */
    assert_int_equal(f.a->ending, PD_ENDING_UNKNOWN);
    assert_int_equal(f.a->interval_count, 1);
    assert_false(f.a->interval[0].known);
    assert_true(isnan(f.a->interval[0].chassis_v) && isnan(f.a->over_s));
    let_go(&f);
    follow_example(&f, "house-rod-unmeasured", &settings);
    assert_false(f.a->determined);
    assert_int_equal(f.a->interval_count, 0);
    assert_int_equal(f.a->ending, PD_ENDING_UNKNOWN);
    let_go(&f);
}

/* A device that sees, and of which nobody said how long it takes. */
static void an_undeclared_delay_ends_it(void **state)
{
    (void)state;
    struct followed f = {0};
    char loads[200], detectors[200];
    const struct pd_aftermath_settings settings = pd_aftermath_defaults();
    snprintf(loads, sizeof loads, vehicle, "0.5");
    snprintf(detectors, sizeof detectors, device, "", "manual,");
    follow(&f, "single-phase", loads, detectors, &settings);
    assert_int_equal(f.a->ending, PD_ENDING_UNKNOWN);
    assert_int_equal(f.a->interval_count, 1);
    assert_non_null(strstr(f.a->why, "its delay"));
    let_go(&f);
}

/* Every load behind the neutral lets go: nothing says where it is. */
static void a_neutral_that_nothing_ties_is_not_at_earth(void **state)
{
    (void)state;
    struct case_text text = {0};
    struct folder folder;
    struct followed f = {0};
    char about[400];
    const struct pd_aftermath_settings settings = pd_aftermath_defaults();
    snprintf(about, sizeof about, facts, "single-phase");
    case_text_set(&text, "case.csv", about);
    case_text_set(&text, "sections.csv", sections);
    case_text_set(&text, "loads.csv", "load,node,behaviour,current_a\nvehicle,point,charger,10\n");
    folder_make(&folder);
    folder_fill(&folder, &text);
    follow_folder(&f, folder.path, &settings);
    assert_int_equal(f.a->ending, PD_ENDING_UNKNOWN);
    folder_remove(&folder);
    case_text_free(&text);
    let_go(&f);
}

static void one_section_and_one_load_state_can_be_asked_for(void **state)
{
    (void)state;
    struct followed f = {0};
    struct pd_aftermath_settings settings = pd_aftermath_defaults();
    follow_example(&f, "street", &settings);
    const size_t count = f.study_case->network->node_count;
    const double worst_v = f.a->interval[0].chassis_v;
    settings.section = 1;
    settings.loads = PD_LOADS_LOW;
    pd_aftermath_free(&f.a);
    assert_int_equal(pd_aftermath(f.study_case, &settings, NULL, NULL, &f.a), PD_OK);
    assert_int_equal(f.a->section, 1);
    assert_int_equal(f.a->loads, PD_LOADS_LOW);
    assert_true(f.a->interval[0].chassis_v < worst_v);
    pd_aftermath_free(&f.a);
    settings.section = count;
    assert_int_equal(pd_aftermath(f.study_case, &settings, NULL, NULL, &f.a), PD_ERR_ARGUMENT);
    settings.section = 0;
    assert_int_equal(pd_aftermath(f.study_case, &settings, NULL, NULL, &f.a), PD_ERR_ARGUMENT);
    settings.section = PD_NONE;
    settings.horizon_s = NAN;
    assert_int_equal(pd_aftermath(f.study_case, &settings, NULL, NULL, &f.a), PD_ERR_ARGUMENT);
    assert_null(f.a);
    let_go(&f);
}

/* EREC G98 from memory: 184 V for 2.5 s, 262.2 V for 1.0 s, 273.7 V for 0.5 s, 20 s to come back. A
 * declared window moves the stages at its ends, and pushes the further one out. */
static void stages_follow_a_declared_window(void **state)
{
    (void)state;
    struct pd_window_times t;
    struct pd_load load = {.behaviour = NULL,
                           .low_v = NAN,
                           .high_v = NAN,
                           .trip_s = NAN,
                           .reconnect_s = NAN,
                           .power_factor = 1};
    for (size_t i = 0; i < pd_behaviour_count; i++)
        if (strcmp(pd_behaviours[i]->name, "inverter-power") == 0)
            load.behaviour = pd_behaviours[i];
    assert_int_equal(pd_window_times_of(&load, PD_SINGLE_PHASE, 230, &t), PD_OK);
    assert_int_equal(t.count, 3);
    assert_close(t.stage[0].below_v, 184, 1e-12, 0);
    assert_close(t.stage[0].time_s, 2.5, 0, 0);
    assert_close(t.stage[1].above_v, 262.2, 1e-12, 0);
    assert_close(t.stage[2].above_v, 273.7, 1e-12, 0);
    assert_close(t.stage[2].time_s, 0.5, 0, 0);
    assert_close(t.reconnect_s, 20, 0, 0);
    load.low_v = 195;
    load.high_v = 280;
    load.trip_s = 0.1;
    load.reconnect_s = 180;
    assert_int_equal(pd_window_times_of(&load, PD_SINGLE_PHASE, 230, &t), PD_OK);
    assert_close(t.stage[0].below_v, 195, 0, 0);
    assert_close(t.stage[1].above_v, 280, 0, 0);
    assert_close(t.stage[2].above_v, 280, 0, 0);
    assert_close(t.stage[2].time_s, 0.1, 0, 0);
    assert_close(t.reconnect_s, 180, 0, 0);
    assert_true(pd_window_stage_passed(&t.stage[0], NAN));
    assert_false(pd_window_stage_passed(&t.stage[0], 195));
    assert_true(pd_window_stage_passed(&t.stage[1], 280.1));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_vehicle_lets_go_and_comes_back_again_and_again),
        cmocka_unit_test(a_device_recloses_onto_the_same_fault),
        cmocka_unit_test(a_device_reset_by_hand_stays_open),
        cmocka_unit_test(what_is_due_together_acts_together),
        cmocka_unit_test(a_clock_starts_afresh),
        cmocka_unit_test(a_clock_runs_on_while_it_sees),
        cmocka_unit_test(an_electrode_goes_with_what_is_disconnected),
        cmocka_unit_test(too_many_events_are_no_ending),
        cmocka_unit_test(an_inverter_goes_by_its_stages),
        cmocka_unit_test(voltages_are_those_of_a_plain_solution),
        cmocka_unit_test(no_answer_is_no_ending),
        cmocka_unit_test(an_undeclared_delay_ends_it),
        cmocka_unit_test(a_neutral_that_nothing_ties_is_not_at_earth),
        cmocka_unit_test(one_section_and_one_load_state_can_be_asked_for),
        cmocka_unit_test(stages_follow_a_declared_window),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
