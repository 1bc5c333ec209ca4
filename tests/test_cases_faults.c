/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "case_folder.h"

#include <math.h>
#include <string.h>

#include "lane.h"

/* The cases that show the neutral faults other than an open PEN, each figure by hand: impedances in
 * series and parallel, Millman's theorem, the voltage divider and the maximum power theorem (any
 * circuits textbook). Nothing of src/ is used. Cables: reference/cables.csv (IEEE European test
 * feeder and IEC 60228, seen), ohm per km. */

/* The only scenario of a fault in a section (NULL: none), with a line (-1: none). */
static const struct pd_scenario *fault_scenario(const struct study *study, enum pd_fault_kind kind,
                                                const char *section, int line)
{
    const struct pd_scenario *found = NULL;
    for (size_t i = 0; i < study->a->scenario_count; i++) {
        const struct pd_scenario *const s = &study->a->scenario[i];
        const char *const name =
            s->section == PD_NONE ? "" : study->study_case->network->node[s->section].section;
        if (s->fault != kind || s->line != line ||
            strcmp(name, section != NULL ? section : "") != 0)
            continue;
        assert_null(found);
        found = s;
    }
    assert_non_null(found);
    return found;
}

/* Whether one of the verdict's sentences has all three texts. */
static bool told(const struct study *study, const char *a, const char *b, const char *c)
{
    for (size_t i = 0; i < study->a->because.count; i++) {
        const char *const text = study->a->because.text[i];
        if (strstr(text, a) != NULL && strstr(text, b) != NULL && strstr(text, c) != NULL)
            return true;
    }
    return false;
}

/* Opens a copy of an example with other tables; NULL leaves one as it is. */
static void open_changed(struct study *study, struct folder *folder, const char *name,
                         const char *detectors, const char *electrodes)
{
    struct case_text text = {0};
    case_text_read(&text, name);
    if (detectors != NULL)
        case_text_set(&text, "detectors.csv", detectors);
    if (electrodes != NULL)
        case_text_set(&text, "electrodes.csv", electrodes);
    folder_make(folder);
    folder_fill(folder, &text);
    study_open(study, folder->path);
    case_text_free(&text);
}

static const double top_v = 253, limit_v = 70;

static double ohms(double current_a)
{
    return 230 / current_a;
}

/* Two cottages in one loop. Crossing line and PEN at either joint changes no current: what was the
 * PEN's drop at house 1 becomes the line's, taken from U0. */
struct cottages {
    double healthy_v, crossed_v, line_neutral_v;
};

static struct cottages cottages_by_hand(void)
{
    const double complex source_ohm = 0.02 + 0.03 * I;
    const double line_ohm = 0.090 * 0.641;
    const double complex service_ohm[2] = {0.024 * (1.15 + 0.088 * I), 0.020 * (1.15 + 0.088 * I)};
    const double point_ohm = 0.012 * 3.08, vehicle_ohm = ohms(16);
    const double board_ohm = 1 / (1 / ohms(6) + 1 / (vehicle_ohm + 2 * point_ohm));
    const double complex own_s = 1 / (board_ohm + 2 * service_ohm[0]);
    const double complex other_s = 1 / (ohms(9) + 2 * service_ohm[1]);
    const double complex both_s = own_s + other_s;
    const double complex total_a = top_v / (source_ohm + 2 * line_ohm + 1 / both_s);
    const double complex own_a = total_a * own_s / both_s;
    return (struct cottages){
        .healthy_v = cabs(line_ohm * total_a + service_ohm[0] * own_a),
        .crossed_v = cabs(top_v - (source_ohm + line_ohm) * total_a - service_ohm[0] * own_a),
        .line_neutral_v = cabs(own_a) * board_ohm * vehicle_ohm / (vehicle_ohm + 2 * point_ohm),
    };
}

/* U0 on the chassis, and line to neutral as healthy as before. */
static void check_crossed(const struct study *s)
{
    static const char *const sections[] = {"service 1", "line"};
    const struct cottages hand = cottages_by_hand();
    const struct pd_scenario *const healthy = study_scenario(s, NULL, PD_LOADS_PRESENT, top_v);
    assert_close(healthy->touch_v, hand.healthy_v, 1e-9, 0);
    assert_close(healthy->line_neutral_v[PD_L1], hand.line_neutral_v, 1e-9, 0);
    for (int i = 0; i < 2; i++) {
        const struct pd_scenario *const p = fault_scenario(s, PD_CROSSED, sections[i], PD_L1);
        assert_close(p->supply_v, top_v, 0, 0);
        assert_close(p->touch_v, hand.crossed_v, 1e-9, 0);
        assert_close(p->met_v, hand.crossed_v, 1e-9, 0);
        assert_close(p->line_neutral_v[PD_L1], hand.line_neutral_v, 1e-9, 0);
        assert_int_equal(p->touch, PD_OVER);
    }
    assert_true(hand.crossed_v > 0.98 * top_v);
}

static void test_crossed(void **state)
{
    (void)state;
    struct study s = {0};
    study_open_example(&s, "house-crossed");
    check_crossed(&s);
    const struct pd_scenario *const p = fault_scenario(&s, PD_CROSSED, "service 1", PD_L1);
    /* 207 V to 253 V as the device is set, tolerance included. */
    assert_true(p->line_neutral_v[PD_L1] > 207 && p->line_neutral_v[PD_L1] < 253);
    assert_int_equal(p->sight[0].kind, PD_BLIND);
    assert_false(p->disconnected);
    assert_true(told(&s, "changed over in section 'service 1'", "249.8 V", "does not see it"));
    /* It is told, and does not count. */
    assert_int_equal(s.a->unseen, 0);
    assert_close(s.a->residual_v, 0, 0, 0);
    study_close(&s);
}

static void test_crossed_pe_device(void **state)
{
    (void)state;
    struct study s = {0};
    study_open_example(&s, "house-crossed-pe-device");
    check_crossed(&s);
    const struct pd_scenario *const p = fault_scenario(&s, PD_CROSSED, "service 1", PD_L1);
    assert_close(p->sight[0].figure, p->touch_v, 0, 0);
    assert_int_equal(p->sight[0].kind, PD_SEES);
    assert_true(p->disconnected);
    assert_false(told(&s, "changed over", "", ""));
    study_close(&s);
}

/* Sail Loft Lane beyond its main. */
static struct lane_answer sail_loft(double supply_v, double joint_ohm)
{
    static const double complex r16 = 1.15 + 0.088 * I, r35 = 0.868 + 0.092 * I;
    const struct lane_house house[] = {{1, 50, 0.012 * r35},
                                       {2, 2, 0.018 * r16},
                                       {0, 3, 0.014 * r16},
                                       {1, 52, 0.016 * r35},
                                       {2, 1, 0.010 * r16}};
    const struct lane lane = {
        .line_ohm = (0.01 + 0.02 * I) + 0.110 * (0.166 + 0.068 * I),
        .pen_ohm = 0.110 * (0.138 + 0.01 / 3 * I),
        .service_ohm = 0.015 * r16,
        .point_ohm = 0.010 * 3.08,
        .house = house,
        .count = sizeof house / sizeof house[0],
    };
    return lane_solve(&lane, supply_v, lane_load(4), lane_load(32), joint_ohm);
}

static bool is_unseen(const struct lane_answer *p)
{
    return p->chassis_v > limit_v && cabs(p->point_v) >= 207 && cabs(p->point_v) <= 253;
}

static double heat(const struct lane_answer *p, double joint_ohm)
{
    return p->joint_a * p->joint_a * joint_ohm;
}

/* The most that a joint of whatever resistance, in steps of 1 %, leaves unseen, and the most that
 * it heats. */
struct most {
    double unseen_v, joint_w;
};

static struct most most_of(double supply_v)
{
    struct most most = {0};
    for (double ohm = 1e-3; ohm < 1e3; ohm *= 1.01) {
        const struct lane_answer p = sail_loft(supply_v, ohm);
        most.unseen_v = fmax(most.unseen_v, is_unseen(&p) ? p.chassis_v : 0);
        most.joint_w = fmax(most.joint_w, heat(&p, ohm));
    }
    return most;
}

static void check_joint(const struct pd_scenario *s)
{
    const struct lane_answer hand = sail_loft(s->supply_v, s->joint_ohm);
    assert_close(s->touch_v, hand.chassis_v, 1e-9, 0);
    assert_close(s->line_neutral_v[PD_L1], cabs(hand.point_v), 1e-9, 0);
    assert_close(s->joint_w, heat(&hand, s->joint_ohm), 1e-9, 0);
    assert_int_equal(s->touch == PD_OVER && !s->disconnected, is_unseen(&hand));
}

static void test_bad_joint(void **state)
{
    (void)state;
    static const double supplies[] = {216.2, 230, 253};
    struct study s = {0};
    study_open_example(&s, "street-bad-joint");
    /* Open, it is over the limit at every supply, and seen. */
    for (int i = 0; i < 3; i++) {
        const struct lane_answer hand = sail_loft(supplies[i], INFINITY);
        const struct pd_scenario *const open =
            study_scenario(&s, "main", PD_LOADS_PRESENT, supplies[i]);
        assert_close(open->touch_v, hand.chassis_v, 1e-9, 0);
        assert_close(open->line_neutral_v[PD_L1], cabs(hand.point_v), 1e-9, 0);
        assert_true(open->touch_v > limit_v && open->line_neutral_v[PD_L1] > 253);
        assert_true(open->disconnected);
    }
    size_t joints = 0;
    for (size_t i = 0; i < s.a->scenario_count; i++)
        if (s.a->scenario[i].fault == PD_PEN_JOINT &&
            strcmp(s.study_case->network->node[s.a->scenario[i].section].section, "main") == 0) {
            check_joint(&s.a->scenario[i]);
            joints++;
        }
    assert_true(joints >= 2); /* one unseen, one hottest */
    /* Half-way, it is not; and it heats. The steps of the sweep come within 15 % and 10 % of the
     * worst. */
    struct most most = {0};
    for (int i = 0; i < 3; i++) {
        const struct most here = most_of(supplies[i]);
        most.unseen_v = fmax(most.unseen_v, here.unseen_v);
        most.joint_w = fmax(most.joint_w, here.joint_w);
    }
    const double hottest_w = s.a->scenario[s.a->hottest].joint_w;
    assert_int_equal(s.a->scenario[s.a->worst_unseen].fault, PD_PEN_JOINT);
    assert_true(s.a->residual_v > 0.85 * most.unseen_v && s.a->residual_v < 1.005 * most.unseen_v);
    assert_true(hottest_w > 0.9 * most.joint_w && hottest_w < 1.001 * most.joint_w);
    assert_true(told(&s, "PEN joint", "section 'main'", "does not see it"));
    study_close(&s);
}

/* Kiln House: Kirchhoff's current law at the house's PEN, P, and at the garage's neutral, N, which
 * hang together by the feed's neutral (link_s), and P on the service's PEN (pen_s). Each line:
 * V (1 + z (h + g)) = E + z h P + z g N, with h in the house and g in the garage, feed included. */
struct kiln {
    double met_v, garage_v[3];
};

static struct kiln kiln_house(double link_s, double complex pen_s)
{
    static const double house_a[3] = {12, 0, 8}, garage_a[3] = {32, 2, 8};
    const double complex z = (0.01 + 0.02 * I) + 0.060 * (0.446 + 0.071 * I);
    const double feed_ohm = 0.030 * 1.83;
    /* pp P + pn N = p; np P + nn N = n */
    double complex emf[3], g[3], h[3];
    double complex pp = -pen_s - link_s, pn = link_s, np = link_s, nn = -link_s, p = 0, n = 0;
    for (int k = 0; k < 3; k++) {
        emf[k] = top_v * cexp(-I * 2 * M_PI / 3 * k);
        h[k] = lane_load(house_a[k]);
        g[k] = 1 / (ohms(garage_a[k]) + feed_ohm);
        const double complex a = 1 / (1 + z * (h[k] + g[k]));
        pp += h[k] * (a * z * h[k] - 1);
        pn += h[k] * a * z * g[k];
        np += g[k] * a * z * h[k];
        nn += g[k] * (a * z * g[k] - 1);
        p -= h[k] * a * emf[k];
        n -= g[k] * a * emf[k];
    }
    const double complex determinant = pp * nn - pn * np;
    const double complex met_v = (p * nn - pn * n) / determinant;
    const double complex neutral_v = (pp * n - p * np) / determinant;
    struct kiln answer = {.met_v = cabs(met_v)};
    for (int k = 0; k < 3; k++) {
        const double complex line_v =
            (emf[k] + z * (h[k] * met_v + g[k] * neutral_v)) / (1 + z * (h[k] + g[k]));
        answer.garage_v[k] = cabs(line_v - neutral_v) * cabs(g[k]) * ohms(garage_a[k]);
    }
    return answer;
}

static void check_kiln(const struct pd_scenario *s, const struct kiln *hand)
{
    assert_close(s->touch_v, hand->met_v, 1e-9, 0);
    assert_close(s->met_v, hand->met_v, 1e-9, 0);
    for (int k = 0; k < 3; k++)
        assert_close(s->line_neutral_v[k], hand->garage_v[k], 1e-9, 0);
}

static void test_open_neutral(void **state)
{
    (void)state;
    const double complex pen_s = 1 / (0.060 * (0.353 + 0.004 * I));
    const double link_s = 1 / (0.030 * 1.83);
    const struct kiln healthy = kiln_house(link_s, pen_s), inside = kiln_house(0, pen_s),
                      outside = kiln_house(link_s, 0);
    struct study s = {0};
    study_open_example(&s, "house-open-neutral");
    const struct pd_scenario *const p = fault_scenario(&s, PD_OPEN_NEUTRAL, "garage feed", -1);
    check_kiln(study_scenario(&s, NULL, PD_LOADS_PRESENT, top_v), &healthy);
    check_kiln(p, &inside);
    /* Appliances are wrecked, and the chassis stays put. */
    assert_true(inside.garage_v[1] > 1.5 * 230 && inside.met_v < 1);
    assert_int_equal(p->touch, PD_WITHIN);
    assert_int_equal(p->sight[0].kind, PD_BLIND);
    /* The same loads behind an open PEN. */
    const struct pd_scenario *const open = study_scenario(&s, "service", PD_LOADS_PRESENT, top_v);
    check_kiln(open, &outside);
    assert_true(outside.met_v > 2 * limit_v);
    assert_int_equal(open->sight[0].kind, PD_SEES);
    assert_true(open->disconnected);
    study_close(&s);
}

/* Equal filters from line and neutral, 3.5 mA at 230 V each (IEC 61140, from memory), and nothing
 * else: the chassis is at the mean of the two. Half of the loop is in either, so what the line is
 * below U0 the neutral is above earth, and the mean is U0 / 2. Held at earth the chassis drives
 * what both filters carry, U0 through one of them. */
static void test_earthing_off(void **state)
{
    (void)state;
    const double filter_s = 0.0035 / 230;
    struct study s = {0};
    study_open_example(&s, "house-earthing-off");
    const struct pd_scenario *const p = fault_scenario(&s, PD_OPEN_EARTHING, NULL, -1);
    assert_close(p->touch_v, top_v / 2, 1e-9, 0);
    assert_close(p->prospective_a, top_v * filter_s, 1e-9, 0);
    assert_true(p->prospective_a < 0.004);
    assert_int_equal(p->touch, PD_OVER);
    /* Neutral and PEN are sound. */
    const double load_ohm = ohms(36);
    assert_close(p->line_neutral_v[PD_L1], top_v * load_ohm / (load_ohm + 0.3), 1e-9, 0);
    assert_int_equal(p->sight[0].kind, PD_BLIND);
    assert_false(p->disconnected);
    study_close(&s);
}

/* What would have shown it, and what would have held it. */
static void test_earthing_off_variants(void **state)
{
    (void)state;
    const double filter_s = 0.0035 / 230;
    struct study s = {0};
    struct folder folder;
    open_changed(&s, &folder, "house-earthing-off",
                 "detector,node,senses,limit_v,delay_s,disconnects\n"
                 "point,installation,pe-earth,50,0.5,live-and-pe\n",
                 NULL);
    const struct pd_scenario *p = fault_scenario(&s, PD_OPEN_EARTHING, NULL, -1);
    assert_close(p->sight[0].figure, top_v / 2, 1e-9, 0);
    assert_true(p->disconnected);
    study_close(&s);
    folder_remove(&folder);

    open_changed(&s, &folder, "house-earthing-off", NULL,
                 "electrode,node,resistance_ohm,season_factor\nrod,installation,200,1\n");
    p = fault_scenario(&s, PD_OPEN_EARTHING, NULL, -1);
    /* Two capacitors against the rod; the loop moves by what the rod takes of 0.15 ohm: 1e-3. */
    const double held_v = top_v * filter_s / cabs(2 * I * filter_s + 1 / 200.0);
    assert_close(p->touch_v, held_v, 2e-3, 0);
    assert_true(held_v < 1);
    assert_int_equal(p->touch, PD_WITHIN);
    study_close(&s);
    folder_remove(&folder);
}

/* Line's half of the loop, then load and fault (0.1 ohm, bolted: the study's own) in parallel, then
 * the ring to earth. */
static void test_line_to_pen(void **state)
{
    (void)state;
    const double ring_ohm = 1.8 * 1.4, line_ohm = 0.1, fault_ohm = 0.1;
    const double across_ohm = 1 / (1 / ohms(32) + 1 / fault_ohm);
    const double amps = top_v / (line_ohm + across_ohm + ring_ohm);
    struct study s = {0};
    study_open_example(&s, "house-line-to-pen");
    const struct pd_scenario *const p = fault_scenario(&s, PD_LINE_TO_PEN, "supply", PD_L1);
    assert_close(p->touch_v, amps * ring_ohm, 0.01, 0); /* at whatever load is the worst */
    assert_close(p->electrode_a, p->touch_v / ring_ohm, 1e-9, 0);
    assert_true(p->touch_v >= amps * ring_ohm * (1 - 1e-9));
    assert_int_equal(p->touch, PD_OVER);
    /* A fuse of 100 A carries its rated current without end: by definition of the rating. */
    assert_true(p->electrode_a < 100);
    /* The rule's electrode, and the open PEN that it is for. */
    assert_close(s.a->route[1].value, ring_ohm, 1e-12, 0);
    assert_true(ring_ohm < 70 * 230 / (32 * 183.0));
    const struct pd_scenario *const open = study_scenario(&s, "supply", PD_LOADS_PRESENT, top_v);
    assert_close(open->touch_v, top_v * ring_ohm / (line_ohm + ohms(32) + ring_ohm), 1e-9, 0);
    assert_int_equal(open->touch, PD_WITHIN);
    study_close(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_crossed),      cmocka_unit_test(test_crossed_pe_device),
        cmocka_unit_test(test_bad_joint),    cmocka_unit_test(test_open_neutral),
        cmocka_unit_test(test_earthing_off), cmocka_unit_test(test_earthing_off_variants),
        cmocka_unit_test(test_line_to_pen),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
