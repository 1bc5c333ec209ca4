/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "case_folder.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "lane.h"

/* The cases that show loads that are not impedances, each figure by hand: what a load draws is
 * written out here from its definition, put into Millman's theorem (any circuits textbook) as the
 * admittance that it is at the voltage it has, and that is repeated until nothing moves. Nothing of
 * src/ is used. Cables: reference/cables.csv (IEEE European test feeder and IEC 60228, seen). */

enum { ROUNDS = 2000, LINES = 3 };
static const double supplies[] = {216.2, 230, 253};
enum { SUPPLIES = 3 };
static const double limit_v = 70, nominal_v = 230;

static bool in_band(double volts)
{
    return volts >= 207 && volts <= 253;
}

/* A copy of an example with one row of loads.csv in place of another, or taken out (""). */
static void open_changed(struct study *study, struct folder *folder, const char *name,
                         const char *row, const char *by)
{
    struct case_text text = {0};
    case_text_read(&text, name);
    const char *const found = strstr(text.table[2], row);
    assert_non_null(found);
    const size_t start = (size_t)(found - text.table[2]);
    char *const changed = replaced(text.table[2], start, start + strlen(row), by);
    case_text_set(&text, "loads.csv", changed);
    free(changed);
    folder_make(folder);
    folder_fill(folder, &text);
    study_open(study, folder->path);
    case_text_free(&text);
}

static void close_changed(struct study *study, struct folder *folder)
{
    study_close(study);
    folder_remove(folder);
}

static const double complex r16 = 1.15 + 0.088 * I; /* service-16-two-core, a km */

/* Osier Row and Fuller Row, which has no house 4. */
static struct lane row(size_t houses)
{
    static const struct lane_house house[] = {{1, 24, 0.012 * (1.15 + 0.088 * I)},
                                              {2, 2, 0.018 * (1.15 + 0.088 * I)},
                                              {0, 14, 0.014 * (1.15 + 0.088 * I)}};
    return (struct lane){
        .line_ohm = (0.01 + 0.02 * I) + 0.090 * (0.166 + 0.068 * I),
        .pen_ohm = 0.090 * (0.138 + 0.01 / 3 * I),
        .service_ohm = 0.015 * r16,
        .point_ohm = 0.010 * 3.08,
        .house = house,
        .count = houses,
    };
}

static void check(const struct pd_scenario *s, const struct lane_answer *hand)
{
    assert_int_equal(s->standing, PD_SOLVED);
    assert_close(s->touch_v, hand->chassis_v, 1e-8, 0);
    assert_close(s->line_neutral_v[PD_L1], cabs(hand->point_v), 1e-8, 0);
}

/* |I| = 32 A whatever the voltage, down to a tenth of nominal: where the vehicle would be if it did
 * not let go. */
static struct lane_answer held_on(const struct lane *lane, double supply_v)
{
    double complex vehicle_s = lane_load(32);
    struct lane_answer p = {0};
    for (int i = 0; i < ROUNDS; i++) {
        p = lane_solve(lane, supply_v, lane_load(6), vehicle_s, INFINITY);
        vehicle_s = 0.7 * vehicle_s + 0.3 * 32 / fmax(cabs(p.point_v), 23);
    }
    assert_close(creal(vehicle_s), 32 / fmax(cabs(p.point_v), 23), 1e-9, 0);
    return p;
}

static void test_vehicle_lets_go(void **state)
{
    (void)state;
    const struct lane lane = row(3);
    struct study s = {0};
    study_open_example(&s, "vehicle-lets-go");
    for (int i = 0; i < SUPPLIES; i++) {
        /* On, it is far below its window; off, the island settles without it. */
        const struct lane_answer on = held_on(&lane, supplies[i]);
        const struct lane_answer off = lane_solve(&lane, supplies[i], lane_load(6), 0, INFINITY);
        const struct pd_scenario *const p =
            study_scenario(&s, "main", PD_LOADS_PRESENT, supplies[i]);
        assert_true(cabs(on.point_v) < 195.5);
        check(p, &off);
        assert_int_equal(p->let_go, 1);
        assert_int_equal(p->touch, PD_OVER);
        assert_int_equal(p->sight[0].kind, in_band(cabs(off.point_v)) ? PD_BLIND : PD_SEES);
        assert_int_equal(study_scenario(&s, NULL, PD_LOADS_PRESENT, supplies[i])->let_go, 0);
    }
    assert_close(s.a->residual_v, lane_solve(&lane, 253, lane_load(6), 0, INFINITY).chassis_v, 1e-8,
                 0);
    study_close(&s);
}

/* The same vehicle as an impedance: seen, and nothing is left. */
static void test_vehicle_as_impedance(void **state)
{
    (void)state;
    const struct lane lane = row(3);
    struct study s = {0};
    struct folder folder;
    open_changed(&s, &folder, "vehicle-lets-go", "charger,32,195.5,264.5", "impedance,32,,");
    for (int i = 0; i < SUPPLIES; i++) {
        const struct lane_answer hand =
            lane_solve(&lane, supplies[i], lane_load(6), lane_load(32), INFINITY);
        const struct pd_scenario *const p =
            study_scenario(&s, "main", PD_LOADS_PRESENT, supplies[i]);
        check(p, &hand);
        assert_true(cabs(hand.point_v) < 207 && p->disconnected);
    }
    assert_int_equal(s.a->overall, PD_ACCEPTABLE);
    close_changed(&s, &folder);
}

/* An inverter of |I| = 16 A is the admittance -16 A / |V|. */
static struct lane_answer at_noon(const struct lane *lane, double supply_v, double joint_ohm)
{
    double complex solar_s = -lane_load(16);
    struct lane_answer p = {0};
    for (int i = 0; i < ROUNDS; i++) {
        p = lane_solve(lane, supply_v, lane_load(3) + solar_s, lane_load(32), joint_ohm);
        solar_s = 0.5 * solar_s - 0.5 * 16 / cabs(p.board_v);
    }
    assert_close(-creal(solar_s) * cabs(p.board_v), 16, 1e-12, 0);
    return p;
}

static void test_inverter(void **state)
{
    (void)state;
    const struct lane lane = row(2);
    struct study s = {0};
    study_open_example(&s, "house-inverter");
    for (int i = 0; i < SUPPLIES; i++) {
        const struct lane_answer open = at_noon(&lane, supplies[i], INFINITY);
        const struct lane_answer sound = at_noon(&lane, supplies[i], 0);
        const struct pd_scenario *const p =
            study_scenario(&s, "main", PD_LOADS_PRESENT, supplies[i]);
        check(p, &open);
        check(study_scenario(&s, NULL, PD_LOADS_PRESENT, supplies[i]), &sound);
        assert_int_equal(p->let_go, 0);
        assert_true(cabs(open.board_v) > 184 && cabs(open.board_v) < 262.2);
        assert_true(in_band(cabs(open.point_v)) && open.chassis_v > limit_v);
        assert_int_equal(p->sight[0].kind, PD_BLIND);
    }
    assert_close(s.a->residual_v, at_noon(&lane, 253, INFINITY).chassis_v, 1e-8, 0);
    study_close(&s);
}

/* The same house at night. */
static void test_inverter_at_night(void **state)
{
    (void)state;
    const struct lane lane = row(2);
    struct study s = {0};
    struct folder folder;
    open_changed(&s, &folder, "house-inverter", "solar,house1,L1,inverter-current,16,184,262.2\n",
                 "");
    for (int i = 0; i < SUPPLIES; i++) {
        const struct lane_answer hand =
            lane_solve(&lane, supplies[i], lane_load(3), lane_load(32), INFINITY);
        const struct pd_scenario *const p =
            study_scenario(&s, "main", PD_LOADS_PRESENT, supplies[i]);
        check(p, &hand);
        assert_true(cabs(hand.point_v) < 207 && p->disconnected);
    }
    assert_int_equal(s.a->overall, PD_ACCEPTABLE);
    close_changed(&s, &folder);
}

/* One loop: (E - V) / 0.3 = V / R - P / V, so V^2 (1/0.3 + 1/R) - V E / 0.3 - P = 0. Of the island
 * only V / R = I remains, with I at most what P is at 184 V: 10 A in 11.5 ohm. */
static void test_inverter_lets_go(void **state)
{
    (void)state;
    const double load_ohm = nominal_v * nominal_v / 4600, power_w = 1840;
    assert_true(power_w / 184 * load_ohm < 184);
    struct study s = {0};
    study_open_example(&s, "house-inverter-lets-go");
    for (int i = 0; i < SUPPLIES; i++) {
        const double a = 1 / 0.3 + 1 / load_ohm, b = supplies[i] / 0.3;
        const double healthy_v = (b + sqrt(b * b + 4 * a * power_w)) / (2 * a);
        const struct pd_scenario *const sound =
            study_scenario(&s, NULL, PD_LOADS_PRESENT, supplies[i]);
        assert_close(sound->line_neutral_v[PD_L1], healthy_v, 1e-9, 0);
        assert_close(sound->touch_v, (supplies[i] - healthy_v) / 2, 1e-7, 0);
        assert_int_equal(sound->let_go, 0);
        const struct pd_scenario *const open =
            study_scenario(&s, "supply", PD_LOADS_PRESENT, supplies[i]);
        assert_int_equal(open->let_go, 1);
        assert_close(open->touch_v, supplies[i], 1e-9, 0);
        assert_close(open->line_neutral_v[PD_L1], 0, 0, 1e-9);
        assert_true(open->disconnected);
    }
    study_close(&s);
}

/* As strong as the loads: V = sqrt(P R) = 230 V, within its window, at any angle. */
static void test_inverter_island(void **state)
{
    (void)state;
    struct study s = {0};
    struct folder folder;
    assert_close(sqrt(4600 * nominal_v * nominal_v / 4600), 230, 1e-12, 0);
    open_changed(&s, &folder, "house-inverter-lets-go", "inverter-power,1.84",
                 "inverter-power,4.6");
    for (int i = 0; i < SUPPLIES; i++) {
        const struct pd_scenario *const p =
            study_scenario(&s, "supply", PD_LOADS_PRESENT, supplies[i]);
        assert_int_equal(p->standing, PD_AMBIGUOUS);
        assert_true(isnan(p->touch_v));
        assert_int_equal(p->touch, PD_UNKNOWN);
    }
    assert_int_equal(s.a->overall, PD_OVERALL_UNKNOWN);
    assert_true(isnan(s.a->residual_v));
    close_changed(&s, &folder);
}

/* A load of shares of impedance, current and power on a stiff supply. Power is held down to 161 V
 * (0.7 of nominal) and current to 23 V; below, the load is an impedance. */
struct mixed {
    int line;
    double amps, impedance_part, current_part, power_part;
};

static double chord(const struct mixed *load, double volts)
{
    const double held_v = fmax(volts, 161), steady_v = fmax(volts, 23);
    return load->amps * (load->impedance_part / nominal_v + load->current_part / steady_v +
                         load->power_part * nominal_v / (held_v * held_v));
}

struct rest {
    double complex neutral_v;
    double line_neutral_v[LINES];
    double left_a; /* of Kirchhoff's current law */
};

/* Millman's theorem with the loads as the admittances that they are where the neutral is, half a
 * step at a time, from a place to start. */
static struct rest settle(const struct mixed *load, size_t count, double supply_v, double earth_s,
                          double complex start_v)
{
    struct rest rest = {.neutral_v = start_v};
    for (int round = 0; round < ROUNDS; round++) {
        double complex drive = 0, sum = earth_s;
        for (size_t i = 0; i < count; i++) {
            const double complex emf = supply_v * cexp(-I * 2 * M_PI / 3 * load[i].line);
            const double y_s = chord(&load[i], cabs(emf - rest.neutral_v));
            drive += y_s * emf;
            sum += y_s;
        }
        rest.left_a = cabs(drive - sum * rest.neutral_v);
        rest.neutral_v += (drive / sum - rest.neutral_v) / 2;
    }
    assert_true(rest.left_a < 1e-9);
    for (int k = 0; k < LINES; k++)
        rest.line_neutral_v[k] = cabs(supply_v * cexp(-I * 2 * M_PI / 3 * k) - rest.neutral_v);
    return rest;
}

enum { LOOM_LOADS = 4, FLAT_LOADS = 5 };
static const struct mixed loom[LOOM_LOADS] = {
    {0, 8, 1, 0, 0}, {0, 20, 0, 0, 1}, {1, 20, 0, 0, 1}, {2, 3, 1, 0, 0}};

/* Started near L1 and near L2 the neutral comes to rest in two places, each by Kirchhoff's law: the
 * device lets go in one and is blind in the other. */
static void test_constant_power(void **state)
{
    (void)state;
    struct study s = {0};
    study_open_example(&s, "street-constant-power");
    for (int i = 0; i < SUPPLIES; i++) {
        const struct rest one = settle(loom, LOOM_LOADS, supplies[i], 0, supplies[i]);
        const struct rest other =
            settle(loom, LOOM_LOADS, supplies[i], 0, supplies[i] * cexp(-I * 2 * M_PI / 3));
        const bool alike = cabs(one.neutral_v - other.neutral_v) < 1e-6;
        const struct pd_scenario *const p =
            study_scenario(&s, "main", PD_LOADS_PRESENT, supplies[i]);
        assert_int_equal(p->standing, alike ? PD_SOLVED : PD_AMBIGUOUS);
        assert_int_equal(p->touch, alike ? PD_OVER : PD_UNKNOWN);
        assert_int_equal(p->sight[0].kind, alike ? PD_SEES : PD_SIGHT_UNKNOWN);
        if (alike) {
            assert_close(p->touch_v, cabs(one.neutral_v), 1e-8, 0);
            assert_close(p->line_neutral_v[PD_L1], one.line_neutral_v[0], 1e-8, 0);
            continue;
        }
        assert_true(isnan(p->touch_v));
        assert_true(cabs(one.neutral_v) > limit_v && cabs(other.neutral_v) > limit_v);
        assert_true(one.line_neutral_v[0] < 207);
        assert_int_equal(in_band(other.line_neutral_v[0]), supplies[i] == 230);
    }
    assert_true(s.a->unsolved > 0);
    assert_int_equal(s.a->unseen, 0);
    assert_true(isnan(s.a->residual_v));
    assert_non_null(strstr(s.a->because.text[0], "more than one solution"));
    study_close(&s);
}

/* Shares of the named mixtures: reference/mixtures.csv. */
static const struct mixed flats[FLAT_LOADS] = {{0, 16, 0, 1, 0},
                                               {0, 10, 0.35, 0.15, 0.5},
                                               {1, 20, 0.7, 0.1, 0.2},
                                               {2, 10, 0.35, 0.15, 0.5},
                                               {2, 2, 0, 0.05, 0.95}};

static void test_flats(void **state)
{
    (void)state;
    struct study s = {0};
    study_open_example(&s, "flat-mixtures");
    for (int i = 0; i < SUPPLIES; i++) {
        const struct rest rest = settle(flats, FLAT_LOADS, supplies[i], 0, 0);
        const struct pd_scenario *const p =
            study_scenario(&s, "service", PD_LOADS_PRESENT, supplies[i]);
        assert_int_equal(p->standing, PD_SOLVED);
        assert_close(p->touch_v, cabs(rest.neutral_v), 1e-8, 0);
        assert_close(p->line_neutral_v[PD_L1], rest.line_neutral_v[0], 1e-8, 0);
        assert_true(p->touch_v > limit_v);
    }
    assert_close(s.a->residual_v, cabs(settle(flats, FLAT_LOADS, 253, 0, 0).neutral_v), 1e-8, 0);
    /* An electrode that would do, by the network: it leaves 70 V. */
    const double ohm = s.a->network.electrode_max_ohm;
    assert_close(cabs(settle(flats, FLAT_LOADS, 253, 1 / ohm, 0).neutral_v), 70, 1e-4, 0);
    study_close(&s);
}

/* The same loads as so many ohms: what the rule reads, and what the network would say of them. */
static void test_flats_as_ohms(void **state)
{
    (void)state;
    static const char loads[] = "load,node,phase,current_a\nvehicle,point,L1,16\n"
                                "flat 1,flat1,L1,10\nflat 2,flat2,L2,20\n"
                                "flat 3,flat3,L3,10\ncorridors,intake,L3,2\n";
    /* 26, 20 and 12 A: |26 + 20 a^2 + 12 a| = sqrt of the sum of squares less products. */
    const double by_hand_v =
        253 * sqrt(26 * 26 + 20 * 20 + 12 * 12 - 26 * 20 - 20 * 12 - 12 * 26) / (26 + 20 + 12);
    struct case_text text = {0};
    struct study s = {0};
    struct folder folder;
    study_open_example(&s, "flat-mixtures");
    assert_true(by_hand_v < limit_v);
    assert_close(s.a->route[0].value, by_hand_v, 1e-9, 0);
    study_close(&s);

    case_text_read(&text, "flat-mixtures");
    case_text_set(&text, "loads.csv", loads);
    folder_make(&folder);
    folder_fill(&folder, &text);
    study_open(&s, folder.path);
    assert_int_equal(s.a->overall, PD_ACCEPTABLE);
    assert_close(s.a->scenario[s.a->worst].touch_v, by_hand_v, 1e-9, 0);
    close_changed(&s, &folder);
    case_text_free(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_vehicle_lets_go),  cmocka_unit_test(test_vehicle_as_impedance),
        cmocka_unit_test(test_inverter),         cmocka_unit_test(test_inverter_at_night),
        cmocka_unit_test(test_inverter_lets_go), cmocka_unit_test(test_inverter_island),
        cmocka_unit_test(test_constant_power),   cmocka_unit_test(test_flats),
        cmocka_unit_test(test_flats_as_ohms),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
