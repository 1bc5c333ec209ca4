/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "case_folder.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The workshops and the farm of cases/, by Millman's theorem (any circuits textbook) written out
 * here: U_N = sum(Y_k E_k) / (sum(Y_k) + Y_E). */

enum { LINES = 3, LOADS_MOST = 6, EACH = -1 };

struct load {
    int line; /* 0 to 2, or EACH */
    double low, high;
    double complex unit; /* current of 1 A, or of 1 kW, at 230 V */
};

static double complex millman(const double complex emf[LINES], const double complex y_s[LINES],
                              double complex earth_s)
{
    double complex drive = 0, sum = earth_s;
    for (int k = 0; k < LINES; k++) {
        drive += emf[k] * y_s[k];
        sum += y_s[k];
    }
    return drive / sum;
}

static double complex lagging(double power_factor)
{
    return power_factor - I * sin(acos(power_factor));
}

/* Every load at its low or its high, each by itself: 2^count corners, against the 16 in which the
 * study moves the loads of a line together. */
static double worst_corner(const struct load *load, int count, const double complex emf[LINES])
{
    double worst_v = 0;
    for (unsigned corner = 0; corner < 1u << count; corner++) {
        double complex y_s[LINES] = {0};
        for (int i = 0; i < count; i++) {
            const double size = (corner >> i & 1u) != 0 ? load[i].high : load[i].low;
            for (int k = 0; k < LINES; k++)
                if (load[i].line == k || load[i].line == EACH)
                    y_s[k] += size * load[i].unit / 230;
        }
        worst_v = fmax(worst_v, cabs(millman(emf, y_s, 0)));
    }
    return worst_v;
}

static const double half_sqrt3 = 0.86602540378443865;

static void set_emfs(double volts, double complex emf[LINES])
{
    emf[0] = volts;
    emf[1] = volts * (-0.5 - half_sqrt3 * I);
    emf[2] = volts * (-0.5 + half_sqrt3 * I);
}

static void test_workshop_balanced(void **state)
{
    (void)state;
    const struct load load[LOADS_MOST] = {
        {EACH, 20, 24, 1},         {EACH, 0, 8, lagging(0.85)},
        {0, 0, 12, lagging(0.95)}, {1, 2, 9, conj(lagging(0.95))},
        {2, 1, 12, lagging(0.98)}, {EACH, 0, 16, lagging(0.99)},
    };
    double complex emf[LINES];
    set_emfs(253, emf);
    const double worst_v = worst_corner(load, 6, emf);
    struct study s = {0};
    study_open_example(&s, "workshop-balanced");
    assert_true(worst_v < 70);
    assert_close(s.a->route[0].value, worst_v, 1e-9, 0);
    assert_close(s.a->route[0].margin, 70 - worst_v, 1e-9, 0);
    /* No electrode is asked for: at no corner does it pass the limit without one. */
    assert_true(isinf(s.a->rule.electrode_max_ohm));
    /* In the network the cables, under 0.1 ohm beside loads of 7 ohm and more, take about 1 %. */
    assert_close(s.a->scenario[s.a->worst].touch_v, worst_v, 0.01, 0);
    study_close(&s);
}

/* The ovens' lowest load is what holds the neutral: at 0 A the rest leave it far out. */
static void test_workshop_ovens_off(void **state)
{
    (void)state;
    struct case_text text = {0};
    struct folder folder;
    struct study s = {0};
    case_text_read(&text, "workshop-balanced");
    folder_make(&folder);
    struct cell *cells;
    const size_t count = find_cells(text.table[2], &cells);
    for (size_t i = 0; i < count; i++)
        if (strcmp(cells[i].quantity, "ovens") == 0 &&
            strcmp(cells[i].column, "min_current_a") == 0) {
            char *const changed = replaced(text.table[2], cells[i].start, cells[i].end, "0");
            case_text_set(&text, "loads.csv", changed);
            free(changed);
            break;
        }
    free(cells);
    folder_fill(&folder, &text);
    study_open(&s, folder.path);
    assert_int_equal(s.a->overall, PD_NOT_ACCEPTABLE);
    assert_int_equal(s.a->route[0].result, PD_DOES_NOT_MEET);
    /* Lighting at 9 A on L2 against 1 A on L3 and nothing on L1: the corner that decides. */
    double complex emf[LINES];
    set_emfs(253, emf);
    const double complex y_s[LINES] = {0, 9 * conj(lagging(0.95)) / 230, lagging(0.98) / 230};
    assert_close(s.a->route[0].value, cabs(millman(emf, y_s, 0)), 1e-9, 0);
    study_close(&s);
    folder_remove(&folder);
    case_text_free(&text);
}

/* 10, 2 and 5 kW: V_N 94.706 V at 21.79 degrees, lines 146.34, 310.00 and 260.95 V (derived from
 * Millman's theorem, recomputed: CHECKS). */
static void test_workshop_unbalanced(void **state)
{
    (void)state;
    struct study s = {0};
    study_open_example(&s, "workshop-unbalanced");
    const struct pd_scenario *const now = study_scenario(&s, "service", PD_LOADS_PRESENT, 230);
    assert_close(now->touch_v, 94.706, 0, 0.0006);
    assert_close(now->line_neutral_v[PD_L1], 146.34, 0, 0.006);
    assert_close(now->line_neutral_v[PD_L2], 310.00, 0, 0.006);
    assert_close(now->line_neutral_v[PD_L3], 260.95, 0, 0.006);
    assert_close(now->met_v, now->touch_v, 0, 0);

    const double kw = 1000.0 / 230;
    const struct load load[LOADS_MOST] = {
        {0, 0.5, 3, kw}, {1, 1, 4, kw}, {2, 1, 6, kw}, {0, 0, 7.36, kw}};
    double complex emf[LINES];
    set_emfs(253, emf);
    const double worst_v = worst_corner(load, 4, emf);
    assert_close(s.a->route[0].value, worst_v, 1e-9, 0);
    assert_close(s.a->residual_v, worst_v, 1e-9, 0); /* the supply is stiff */

    /* At the electrode asked for, no corner passes 70 V, and one reaches it. */
    const double needs_ohm = s.a->route[1].limit;
    double most_v = 0;
    for (unsigned corner = 0; corner < 8; corner++) {
        const double complex y_s[LINES] = {(corner & 1 ? 10.36 : 0.5) * kw / 230,
                                           (corner & 2 ? 4 : 1) * kw / 230,
                                           (corner & 4 ? 6 : 1) * kw / 230};
        most_v = fmax(most_v, cabs(millman(emf, y_s, 1 / needs_ohm)));
    }
    assert_close(most_v, 70, 1e-9, 0);
    study_close(&s);
}

/* Solves a x = b for three unknowns, by Cramer's rule; only the last is wanted. */
static double complex third_unknown(double complex a[3][3], const double complex b[3])
{
    double complex determinant[2];
    for (int which = 0; which < 2; which++) {
        double complex m[3][3];
        for (int i = 0; i < 3; i++)
            for (int k = 0; k < 3; k++)
                m[i][k] = which == 1 && k == 2 ? b[i] : a[i][k];
        determinant[which] = m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) -
                             m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0]) +
                             m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0]);
    }
    return determinant[1] / determinant[0];
}

/* The farm behind its open PEN, Kirchhoff's current law at L1, L2 and the neutral against the star
 * point, from which the neutral is 60 ohm of rod and 5 ohm of the star point's electrode away. */
static double farm_met(double parlour_a, double vehicle_a, double house_a, double dryer_a)
{
    const double complex line_s = 1 / ((0.04 + 0.05 * I) + 0.160 * 0.641);
    const double complex vehicle_s = vehicle_a > 0 ? 1 / (230 / vehicle_a + 2 * 0.045 * 1.83) : 0;
    const double complex y1 = parlour_a * lagging(0.9) / 230 + vehicle_s;
    const double complex y2 = house_a * lagging(0.98) / 230;
    const double complex y12 = dryer_a * lagging(0.85) / 460;
    double complex a[3][3] = {{line_s + y1 + y12, -y12, -y1},
                              {-y12, line_s + y2 + y12, -y2},
                              {-y1, -y2, y1 + y2 + 1 / 65.0}};
    const double complex b[3] = {253 * line_s, -253 * line_s, 0};
    return cabs(third_unknown(a, b)) * 60 / 65;
}

static void test_farm(void **state)
{
    (void)state;
    double worst_v = 0;
    for (unsigned corner = 0; corner < 16; corner++)
        worst_v = fmax(worst_v, farm_met(corner & 1 ? 35 : 0, corner & 2 ? 32 : 0,
                                         corner & 4 ? 40 : 1, corner & 8 ? 25 : 0));
    /* The house alone on L2 turns out a shade worse than L1 full against it. */
    assert_close(worst_v, farm_met(0, 0, 40, 0), 0, 0);
    struct study s = {0};
    study_open_example(&s, "farm-split-phase");
    const struct pd_scenario *const worst = &s.a->scenario[s.a->worst];
    assert_close(worst->touch_v, worst_v, 1e-9, 0);
    assert_int_equal(worst->loads, PD_LOADS_CORNER);
    assert_true(worst->disconnected);
    assert_close(worst->sight[0].figure, worst->touch_v, 0, 0);
    assert_close(s.a->route[2].value, 0.5, 0, 0);

    /* Without cables: the electrode that leaves 70 V of the worst corner. */
    const double complex y1 = (35 * lagging(0.9) + 32) / 230, y2 = 1 * lagging(0.98) / 230;
    const double needs_ohm = s.a->route[1].limit;
    assert_close(cabs(253 * (y1 - y2) / (y1 + y2 + 1 / needs_ohm)), 70, 1e-9, 0);

    /* As loaded now: 20 A and 32 A against 12 A, the dryer at 15 A; over 70 V, and seen. */
    const struct pd_scenario *const now = study_scenario(&s, "line", PD_LOADS_PRESENT, 253);
    assert_close(now->touch_v, farm_met(20, 32, 12, 15), 1e-9, 0);
    assert_int_equal(now->sight[0].kind, PD_SEES);
    study_close(&s);
}

/* 120/240 V split phase, 100 W and 200 W, neutral open: 160 V and 80 V (lecture notes, seen), as a
 * whole case. */
static void test_split_phase_published(void **state)
{
    (void)state;
    struct case_text text = {0};
    struct folder folder;
    struct study s = {0};
    case_text_set(&text, "case.csv",
                  "quantity,value,unit\nlimit_set,own,-\ntouch_limit,50,V\n"
                  "nominal_voltage,120,V\nearthing,TN-C-S,-\nsystem,split-phase,-\n");
    case_text_set(&text, "loads.csv",
                  "load,node,phase,power_kw\none,installation,L1,0.1\ntwo,installation,L2,0.2\n");
    folder_make(&folder);
    folder_fill(&folder, &text);
    study_open(&s, folder.path);
    const struct pd_scenario *const open = study_scenario(&s, "supply", PD_LOADS_PRESENT, 120);
    assert_close(open->line_neutral_v[PD_L1], 160, 1e-9, 0);
    assert_close(open->line_neutral_v[PD_L2], 80, 1e-9, 0);
    assert_close(open->touch_v, 40, 1e-9, 0);
    assert_int_equal(s.a->overall, PD_NOT_ACCEPTABLE);
    study_close(&s);
    folder_remove(&folder);
    case_text_free(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_workshop_balanced),     cmocka_unit_test(test_workshop_ovens_off),
        cmocka_unit_test(test_workshop_unbalanced),   cmocka_unit_test(test_farm),
        cmocka_unit_test(test_split_phase_published),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
