/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "case_folder.h"

#include <complex.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "network/transformer.h"
#include "study/load_states.h"

/* The supply and what stands beside the installation, against hand calculations written here:
 * transformers, unbalanced voltages, neighbours after diversity, backup. */

struct supplied {
    struct folder folder;
    struct case_text text;
    struct study study;
};

static void start(struct supplied *s, const char *facts, const char *sections, const char *loads,
                  const char *electrodes)
{
    char text[800];
    *s = (struct supplied){0};
    snprintf(text, sizeof text,
             "quantity,value,unit\nlimit_set,gb-outdoor-charging,-\nearthing,TN-C-S,-\n%s", facts);
    case_text_set(&s->text, "case.csv", text);
    case_text_set(&s->text, "sections.csv", sections);
    case_text_set(&s->text, "loads.csv", loads);
    case_text_set(&s->text, "electrodes.csv", electrodes);
    folder_make(&s->folder);
    folder_fill(&s->folder, &s->text);
    study_open(&s->study, s->folder.path);
}

static void end(struct supplied *s)
{
    study_close(&s->study);
    folder_remove(&s->folder);
    case_text_free(&s->text);
}

/* How many assumptions have the text in them. */
static size_t noted(const struct supplied *s, const char *part)
{
    const struct pd_notes *const notes = &s->study.study_case->assumptions;
    size_t count = 0;
    for (size_t i = 0; i < notes->count; i++) {
        count += strstr(notes->text[i], part) != NULL;
        assert_true(strlen(notes->text[i]) < PD_NOTE_MAX - 1); /* not cut */
    }
    return count;
}

static bool check_row(const struct pd_transformer *t, void *context)
{
    size_t *const rows = context;
    const double complex z_ohm = pd_transformer_ohm(t);
    /* The definition, the other way round: at rated current Z drops its percentage of the phase
     * voltage (IEC 60076-1), and R loses its percentage of the rating. */
    const double volts = t->phases == 3 ? t->secondary_v / sqrt(3) : t->secondary_v;
    const double rated_a = 1000 * t->rating_kva / t->phases / volts;
    assert_true(t->phases == 1 || t->phases == 3);
    assert_close(100 * cabs(z_ohm) * rated_a / volts, t->impedance_percent, 1e-12, 0);
    assert_close(100 * t->phases * rated_a * rated_a * creal(z_ohm) / (1000 * t->rating_kva),
                 t->resistance_percent, 1e-12, 0);
    assert_true(cimag(z_ohm) > 0);
    assert_true(t->source[0] != '\0');
    if (strcmp(t->name, "three-phase-500-kva") == 0) {
        /* 500 kVA: 0.005 + j0.017 ohm, as printed (CHECKS, seen). */
        assert_close(creal(z_ohm), 0.005, 0, 0.0005);
        assert_close(cimag(z_ohm), 0.017, 0, 0.0005);
    }
    ++*rows;
    return true;
}

static bool stop_at_second(const struct pd_transformer *t, void *context)
{
    (void)t;
    return ++*(size_t *)context < 2;
}

static void test_transformers(void **state)
{
    (void)state;
    struct pd_errors errors = {0};
    size_t rows = 0, seen = 0;
    assert_int_equal(pd_transformers_each(check_row, &rows, &errors), PD_OK);
    assert_true(rows >= 8);
    assert_int_equal(pd_transformers_each(stop_at_second, &seen, &errors), PD_OK);
    assert_int_equal(seen, 2);
    /* More resistance than impedance is no transformer. */
    const struct pd_transformer wrong = {
        .rating_kva = 500, .secondary_v = 433, .impedance_percent = 4, .resistance_percent = 5};
    assert_true(isnan(cimag(pd_transformer_ohm(&wrong))));
}

/* 25 kVA, 4.5 %, 3.6 %, 433 V: 0.27 + j0.2025 ohm of base 7.49956 ohm. 100 A of resistance on each
 * line, nothing else in the way: 230 V times 2.3 / |2.3 + Z|, whether the ohms come from the table
 * or are given. */
static void test_transformer_in_case(void **state)
{
    (void)state;
    const double base_ohm = 433.0 * 433 / 25000;
    const double r_ohm = 0.036 * base_ohm, x_ohm = 0.027 * base_ohm; /* 3.6, 2.7, 4.5 */
    const double want_v = 230 * 2.3 / hypot(2.3 + r_ohm, x_ohm);
    char given[200];
    snprintf(given, sizeof given, "system,three-phase,-\nsource_r,%.17g,ohm\nsource_x,%.17g,ohm\n",
             r_ohm, x_ohm);
    const char *const facts[] = {"system,three-phase,-\ntransformer,three-phase-25-kva,-\n", given};
    for (size_t i = 0; i < 2; i++) {
        struct supplied s;
        start(&s, facts[i], NULL, "load,node,phase,current_a\nall,installation,L123,100\n", NULL);
        const struct pd_scenario *const healthy =
            study_scenario(&s.study, NULL, PD_LOADS_PRESENT, 230);
        for (int line = PD_L1; line < PD_LINES; line++)
            assert_close(healthy->line_neutral_v[line], want_v, 1e-9, 0);
        assert_int_equal(noted(&s, "Transformer three-phase-25-kva: 0.27 + j0.202 ohm"), 1 - i);
        end(&s);
    }
}

/* 10, 2 and 5 kW behind an open PEN on a stiff supply of 240, 225 and 230 V: Millman's theorem, any
 * circuits textbook. At 253 V each is a tenth higher. */
static void test_unbalanced_supply(void **state)
{
    (void)state;
    const double volts[3] = {240, 225, 230}, kw[3] = {10, 2, 5};
    double complex drive = 0, sum = 0;
    for (int k = 0; k < 3; k++) {
        const double y_s = 1000 * kw[k] / (230 * 230);
        drive += y_s * volts[k] * cexp(-2 * M_PI / 3 * k * I);
        sum += y_s;
    }
    const double complex neutral_v = drive / sum;
    struct supplied s;
    start(&s, "system,three-phase,-\nsupply_voltage_l1,240,V\nsupply_voltage_l2,225,V\n", NULL,
          "load,node,phase,power_kw\na,installation,L1,10\nb,installation,L2,2\n"
          "c,installation,L3,5\n",
          NULL);
    const struct pd_scenario *const open =
        study_scenario(&s.study, "supply", PD_LOADS_PRESENT, 230);
    assert_close(open->touch_v, cabs(neutral_v), 1e-9, 0);
    for (int k = 0; k < 3; k++)
        assert_close(open->line_neutral_v[k],
                     cabs(volts[k] * cexp(-2 * M_PI / 3 * k * I) - neutral_v), 1e-9, 0);
    assert_close(study_scenario(&s.study, "supply", PD_LOADS_PRESENT, 253)->touch_v,
                 1.1 * cabs(neutral_v), 1e-9, 0);
    /* The rule's own reading is on the same voltages, at the top of the range. */
    assert_close(s.study.a->route[0].value, 1.1 * cabs(neutral_v), 1e-9, 0);
    const struct pd_scenario *const healthy = study_scenario(&s.study, NULL, PD_LOADS_PRESENT, 230);
    assert_close(healthy->line_neutral_v[PD_L1], 240, 1e-9, 0);
    assert_close(healthy->line_neutral_v[PD_L3], 230, 1e-9, 0);
    assert_int_equal(noted(&s, "Unbalanced supply"), 1);
    end(&s);
}

/* Against supply_voltage, not against nominal; equal voltages are no imbalance. */
static void test_supply_voltage_of_lines(void **state)
{
    (void)state;
    struct supplied s;
    start(&s, "system,split-phase,-\nsupply_voltage,240,V\nsupply_voltage_l2,228,V\n", NULL,
          "load,node,phase,current_a\na,installation,L12,10\n", NULL);
    const struct pd_scenario *const declared =
        study_scenario(&s.study, NULL, PD_LOADS_PRESENT, 240);
    assert_close(declared->line_neutral_v[PD_L1], 240, 1e-9, 0);
    assert_close(declared->line_neutral_v[PD_L2], 228, 1e-9, 0);
    end(&s);
    start(&s, "system,single-phase,-\nsupply_voltage,240,V\nsupply_voltage_l1,240,V\n", NULL,
          "load,node,current_a\na,installation,10\n", NULL);
    assert_int_equal(noted(&s, "Unbalanced"), 0);
    end(&s);
}

static const char *const street = "section,from,to,line_r_ohm,pen_r_ohm,neutral\n"
                                  "main,substation,joint,0.01,0.01,pen\n"
                                  "service,joint,house,0.01,0.01,pen\n";

/* Neighbours of 0.46 to 9.2, 4.6 and 2.3 kW (2 A to 40, 20 and 10 A at 230 V), the last at a power
 * factor of 0.5, so 0.23 to 1.15 kW: lows 1.15, highs 14.95 kW together. Not dwellings: the
 * three-phase pump, the inverter, the house itself. */
static const char *const neighbours =
    "load,node,phase,behaviour,current_a,min_current_a,max_current_a,power_factor\n"
    "one,joint,L1,,20,2,40,1\ntwo,joint,L2,,10,2,20,1\nthree,joint,L3,,10,2,10,0.5\n"
    "pump,joint,L123,,50,50,60,1\nroof,joint,L1,inverter-current,0,0,16,1\n"
    "house,house,L1,,10,1,60,1\n";

static double state_a(const struct pd_load_states *states, size_t state, size_t load)
{
    return pd_load_state(states, state)[load];
}

static void test_neighbours(void **state)
{
    (void)state;
    struct supplied s;
    struct pd_load_states states = {0};
    start(&s, "system,three-phase,-\ninstallation,house,-\nneighbour_demand,2,kW\n", street,
          neighbours, NULL);
    assert_int_equal(pd_load_states_new(s.study.study_case, &states), PD_OK);
    const double low_a[6] = {2, 2, 2, 50, 0, 1}, high_a[6] = {40, 20, 10, 60, 16, 60};
    const double kw_per_a[3] = {0.23, 0.23, 0.115};
    /* High: 3 dwellings at 2 kW are 6 kW, of what is above the lows 4.85 out of 13.8. */
    const double part = (6 - 1.15) / (14.95 - 1.15);
    double mean_kw = 0;
    for (size_t i = 0; i < 6; i++) {
        const bool dwelling = i < 3;
        assert_close(state_a(&states, PD_LOADS_LOW, i), low_a[i], 0, 0);
        assert_close(state_a(&states, PD_LOADS_HIGH, i),
                     dwelling ? low_a[i] + part * (high_a[i] - low_a[i]) : high_a[i], 1e-12, 0);
        if (dwelling)
            mean_kw += kw_per_a[i] * state_a(&states, PD_LOADS_HIGH, i) / 3;
    }
    assert_close(mean_kw, 2, 1e-12, 0);
    /* As they are they come to 8.05 kW, and stay. */
    assert_close(state_a(&states, PD_LOADS_PRESENT, 0), 20, 0, 0);
    /* The corners: those with L1 alone or with L3 pass 2 kW (9.2 + 0.46 + 0.23 = 9.89 kW); L2 alone
     * (0.46 + 4.6 + 0.23 = 5.29 kW) does not and stays. */
    size_t lowered = 0, kept = 0;
    for (size_t i = states.main_count; i < states.count; i++) {
        const double *const at = pd_load_state(&states, i);
        double kw = 0;
        for (size_t k = 0; k < 3; k++) {
            kw += kw_per_a[k] * at[k];
            assert_true(at[k] >= low_a[k] && at[k] <= high_a[k]);
        }
        assert_true(kw <= 6 * (1 + 1e-12));
        lowered += kw > 5.999999;
        kept += at[0] == 2 && at[1] == 20 && at[2] == 2;
    }
    assert_true(lowered > 0 && kept > 0);
    pd_load_states_free(&states);
    assert_int_equal(noted(&s, "3 neighbours, a load each, are held to 2 kW in the mean, down from "
                               "4.98 kW"),
                     1);
    assert_int_equal(noted(&s, "a break at the wrong moment"), 1);
    end(&s);
}

static void test_neighbours_not_lowered(void **state)
{
    (void)state;
    static const struct {
        const char *kw, *loads, *note;
        double high_a; /* of the first neighbour */
    } rows[] = {
        {"5",
         "load,node,phase,current_a,min_current_a,max_current_a\nnext,joint,L1,10,1,20\n"
         "house,house,L1,10,1,60\n",
         "is 4.6 kW in the mean.", 20},
        /* Low is as far down as a declared range goes. */
        {"2",
         "load,node,phase,current_a,min_current_a,max_current_a\nnext,joint,L1,10,10,20\n"
         "house,house,L1,10,1,60\n",
         "held to 2.3 kW in the mean, down from 4.6 kW declared (their declared low is no less)",
         10},
        {"2",
         "load,node,phase,current_a,min_current_a,max_current_a\nnext,joint,L1,10,10,10\n"
         "house,house,L1,10,1,60\n",
         "no range to come down in", 10},
        {"2",
         "load,node,phase,current_a,min_current_a,max_current_a\npump,joint,L123,50,10,60\n"
         "house,house,L1,10,1,60\n",
         "neighbour_demand is not applied", 60},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct supplied s;
        struct pd_load_states states = {0};
        char facts[200];
        snprintf(facts, sizeof facts,
                 "system,three-phase,-\ninstallation,house,-\nneighbour_demand,%s,kW\n",
                 rows[i].kw);
        start(&s, facts, street, rows[i].loads, NULL);
        assert_int_equal(pd_load_states_new(s.study.study_case, &states), PD_OK);
        assert_close(state_a(&states, PD_LOADS_HIGH, 0), rows[i].high_a, 1e-12, 0);
        assert_close(state_a(&states, PD_LOADS_HIGH, 1), 60, 0, 0);
        if (noted(&s, rows[i].note) != 1)
            fail_msg("row %zu: no note '%s'", i, rows[i].note);
        pd_load_states_free(&states);
        end(&s);
    }
}

/* Rods of 150 and 300 ohm, season factor 1.3: 195 and 390 ohm together 130 ohm. */
static void test_backup(void **state)
{
    (void)state;
    static const char *const load = "load,node,current_a\nvehicle,installation,32\n";
    static const char *const rods = "electrode,node,resistance_ohm,season_factor\n"
                                    "a,installation,150,1.3\nb,installation,300,1.3\n";
    struct supplied s;
    start(&s, "system,single-phase,-\nbackup,changeover,-\n", NULL, load, rods);
    assert_int_equal(noted(&s, "the PME earth cannot be relied on, and the local electrode at "
                               "'installation' is what remains. It has 130 ohm"),
                     1);
    assert_int_equal(noted(&s, "in parallel with the PME earth"), 1);
    end(&s);
    start(&s, "system,single-phase,-\nbackup,changeover,-\n", NULL, load, NULL);
    assert_int_equal(noted(&s, "It is missing"), 1);
    assert_int_equal(noted(&s, "in parallel with the PME earth"), 0);
    end(&s);
    start(&s, "system,single-phase,-\nbackup,changeover,-\n", NULL, load,
          "electrode,node,resistance_ohm\na,installation,\n");
    assert_int_equal(noted(&s, "It is of unknown resistance"), 1);
    assert_int_equal(s.study.a->overall, PD_OVERALL_UNKNOWN);
    end(&s);
    start(&s, "system,single-phase,-\nbackup,none,-\n", NULL, load, rods);
    assert_int_equal(noted(&s, "Backup"), 0);
    end(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_transformers),
        cmocka_unit_test(test_transformer_in_case),
        cmocka_unit_test(test_unbalanced_supply),
        cmocka_unit_test(test_supply_voltage_of_lines),
        cmocka_unit_test(test_neighbours),
        cmocka_unit_test(test_neighbours_not_lowered),
        cmocka_unit_test(test_backup),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
