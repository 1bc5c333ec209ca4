/* SPDX-License-Identifier: GPL-3.0-or-later */

/* Load behaviours against their equations, worked out by hand, and against what every load must do:
 * definitions of power and power factor, IEC 60050-131 (from memory). Mixtures against measured
 * exponents of the open data (../shared/data/load-voltage). */

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "network/mixture.h"
#include "network/network.h"
#include "network/read.h"
#include "network/stage.h"
#include "table/table.h"

static const double nominal_v = 230;

static const struct pd_behaviour *behaviour_named(const char *name)
{
    for (size_t i = 0; i < pd_behaviour_count; i++)
        if (strcmp(pd_behaviours[i]->name, name) == 0)
            return pd_behaviours[i];
    fail_msg("there is no behaviour %s", name);
    return NULL;
}

/* An element from L1 to N with the behaviour's own default voltages, shares of 0.5, 0.2 and 0.3. */
static struct pd_element element_of(const struct pd_behaviour *behaviour, double current_a,
                                    double power_factor)
{
    struct pd_element element[3];
    const struct pd_load load = {.phase = PD_ON_L1,
                                 .behaviour = behaviour,
                                 .power_factor = power_factor,
                                 .low_v = NAN,
                                 .high_v = NAN,
                                 .part = {0.5, 0.2, 0.3}};
    assert_int_equal(pd_load_elements(&load, PD_SINGLE_PHASE, nominal_v, current_a, element), 1);
    return element[0];
}

static struct pd_draw draw_at(const struct pd_element *element, double complex voltage_v)
{
    struct pd_draw draw;
    element->behaviour->draw(&element->point, voltage_v, &draw);
    return draw;
}

static double complex current_at(const char *name, double current_a, double power_factor,
                                 double complex voltage_v)
{
    const struct pd_element element = element_of(behaviour_named(name), current_a, power_factor);
    return draw_at(&element, voltage_v).current_a;
}

static double complex polar(double magnitude, double angle)
{
    return CMPLX(magnitude * cos(angle), magnitude * sin(angle));
}

static void assert_current(double complex got, double real, double imaginary)
{
    assert_close(creal(got), real, 1e-12, 1e-12);
    assert_close(cimag(got), imaginary, 1e-12, 1e-12);
}

static void each_behaviour_follows_its_equation(void **state)
{
    (void)state;
    /* 10 A at 230 V, 0.8 lagging: 10 (0.8 - j0.6), by hand. */
    assert_current(current_at("impedance", 10, 0.8, 115), 4, -3);
    assert_current(current_at("current", 10, 0.8, CMPLX(0, 115)), 6, 8);
    assert_current(current_at("current", 10, 0.8, 11.5), 4, -3);             /* half of 0.1 Un */
    assert_current(current_at("power", 10, 0.8, 200), 9.2, -6.9);            /* 2300 VA / 200 V */
    assert_current(current_at("power", 10, 0.8, 80.5), 40.0 / 7, -30.0 / 7); /* half of 161 V */
    /* 0.9 Un: 0.5 x 0.9 + 0.2 + 0.3 / 0.9 = 0.983333; 0.35 and 0.15 Un, where the power share has
     * fallen back and the current share not yet: 0.5 x 0.35 + 0.2 + 0.3 (1/0.7)(0.35/0.7) =
     * 0.589286, and 0.366837. */
    assert_current(current_at("mixture", 10, 1, 207), 59.0 / 6, 0);
    assert_current(current_at("mixture", 10, 1, 80.5), 5.892857142857143, 0);
    assert_current(current_at("mixture", 10, 1, 34.5), 3.6683673469387755, 0);
    assert_current(current_at("charger", 32, 1, 250), 32, 0);
    assert_current(current_at("charger", 32, 1, 100), 32, 0);  /* on, whatever the window */
    assert_current(current_at("charger", 32, 1, 11.5), 16, 0); /* as the constant current */
    assert_current(current_at("inverter-current", 10, 0.8, 100), -8, 6);
    assert_current(current_at("inverter-current", 10, 0.8, 17.25), -4, 3); /* 0.075 Un: half */
    assert_current(current_at("inverter-current", 10, 0.8, 11.5), 0, 0);   /* 0.05 Un: none */
    assert_current(current_at("inverter-power", 16, 1, 200), -18.4, 0);    /* 3680 W / 200 V */
    assert_current(current_at("inverter-power", 16, 1, 100), -20, 0);      /* that at 184 V */
    assert_current(current_at("inverter-power", 16, 1, 17.25), -10, 0);
    assert_current(current_at("inverter-power", 16, 1, 0), 0, 0);
}

static void the_table_says_what_each_does(void **state)
{
    (void)state;
    assert_int_equal(pd_behaviour_count, 7);
    assert_string_equal(pd_behaviours[0]->name, "impedance"); /* that of a load that names none */
    for (size_t i = 0; i < pd_behaviour_count; i++) {
        const struct pd_behaviour *const b = pd_behaviours[i];
        const struct pd_element element = element_of(b, 10, 0.9);
        bool proportional = true;
        for (double part = 0.02; part < 1.2; part *= 1.1) {
            const double complex once = draw_at(&element, part * nominal_v).current_a;
            const double complex twice = draw_at(&element, 2 * part * nominal_v).current_a;
            proportional &= cabs(twice - 2 * once) < 1e-9;
        }
        assert_int_equal(b->linear, proportional);
        assert_int_equal(b->generates, creal(draw_at(&element, nominal_v).current_a) < 0);
        assert_true(strlen(b->equation) > 10 && strlen(b->source) > 10);
        assert_true(isnan(b->low_part) || (b->low_part > 0 && b->low_part < 1));
        assert_true(isnan(b->high_part) || b->high_part > 1);
        assert_int_equal(b->window, !isnan(b->high_part));
        for (size_t k = 0; k < i; k++)
            assert_string_not_equal(b->name, pd_behaviours[k]->name);
    }
}

/* Where a behaviour passes from one regime to another, in parts of nominal voltage. */
static const double edges[] = {0.002, 0.05, 0.1, 0.7, 0.8, 2};
enum { EDGES = sizeof edges / sizeof edges[0] };

/* dI over a step h, by central difference against the derivatives. */
static void compare_step(const struct pd_element *element, double complex voltage_v,
                         double complex step_v)
{
    const struct pd_draw draw = draw_at(element, voltage_v);
    const double complex after = draw_at(element, voltage_v + step_v).current_a;
    const double complex before = draw_at(element, voltage_v - step_v).current_a;
    const double complex want = (after - before) / (2 * cabs(step_v));
    const double complex unit = step_v / cabs(step_v);
    const double complex got = draw.by_v_s * unit + draw.by_conj_s * conj(unit);
    assert_close(creal(got), creal(want), 0, 1e-6);
    assert_close(cimag(got), cimag(want), 0, 1e-6);
}

static void derivatives_are_those_of_finite_differences(void **state)
{
    (void)state;
    struct stream stream = {20};
    print_message("seed %llu\n", (unsigned long long)stream.state);
    for (size_t i = 0; i < pd_behaviour_count; i++)
        for (size_t edge = 0; edge + 1 < EDGES; edge++)
            for (size_t try = 0; try < 50 * soak(); try++) {
                const double pf = stream_uniform(&stream, -1, 1) > 0 ? 0.7 : -0.95;
                const struct pd_element element = element_of(pd_behaviours[i], 10, pf);
                const double complex voltage_v = polar(
                    nominal_v * stream_uniform(&stream, edges[edge] + 1e-4, edges[edge + 1] - 1e-4),
                    stream_uniform(&stream, 0, 2 * M_PI));
                compare_step(&element, voltage_v, 1e-4);
                compare_step(&element, voltage_v, CMPLX(0, 1e-4));
            }
}

static void currents_are_continuous(void **state)
{
    (void)state;
    const double low[] = {NAN, 150, 18.4}; /* default, within, and below an inverter's 0.1 Un */
    for (size_t i = 0; i < pd_behaviour_count; i++)
        for (size_t k = 0; k < sizeof low / sizeof low[0]; k++) {
            struct pd_element element = element_of(pd_behaviours[i], 10, 0.7);
            if (isfinite(low[k]))
                element.point.low_v = low[k];
            const double at[] = {
                0.05 * nominal_v, 0.1 * nominal_v, 0.7 * nominal_v, 0.8 * nominal_v, 150, 18.4};
            for (size_t j = 0; j < sizeof at / sizeof at[0]; j++) {
                const double complex above =
                    draw_at(&element, polar(at[j] * (1 + 1e-12), 2)).current_a;
                const double complex below =
                    draw_at(&element, polar(at[j] * (1 - 1e-12), 2)).current_a;
                assert_close(cabs(above - below), 0, 0, 1e-8);
            }
        }
}

static void all_are_the_same_size_at_nominal_voltage(void **state)
{
    (void)state;
    for (size_t i = 0; i < pd_behaviour_count; i++) {
        const struct pd_element element = element_of(pd_behaviours[i], 10, 0.8);
        const double sign = pd_behaviours[i]->generates ? -1 : 1;
        assert_current(draw_at(&element, nominal_v).current_a, sign * 8, -sign * 6);
        const double complex y_s = pd_element_admittance(&element);
        assert_close(creal(y_s), sign * 8 / nominal_v, 1e-12, 0);
        assert_close(cimag(y_s), -sign * 6 / nominal_v, 1e-12, 0);
    }
}

static double complex power_at(const struct pd_element *element, double complex voltage_v)
{
    return voltage_v * conj(draw_at(element, voltage_v).current_a);
}

static void what_is_constant_stays_constant(void **state)
{
    (void)state;
    struct stream stream = {21};
    const struct pd_element impedance = element_of(behaviour_named("impedance"), 10, 0.8);
    const struct pd_element current = element_of(behaviour_named("current"), 10, 0.8);
    const struct pd_element charger = element_of(behaviour_named("charger"), 10, 0.8);
    const struct pd_element power = element_of(behaviour_named("power"), 10, 0.8);
    const struct pd_element inverter = element_of(behaviour_named("inverter-power"), 10, 0.8);
    for (size_t i = 0; i < 500; i++) {
        const double part = stream_uniform(&stream, 0.81, 2);
        const double complex v = polar(part * nominal_v, stream_uniform(&stream, 0, 2 * M_PI));
        assert_close(creal(power_at(&impedance, v)), 1840 * part * part, 1e-12, 0);
        assert_close(cabs(draw_at(&current, v).current_a), 10, 1e-12, 0);
        assert_close(cabs(draw_at(&charger, v).current_a), 10, 1e-12, 0);
        assert_close(creal(power_at(&power, v)), 1840, 1e-12, 0);
        assert_close(cimag(power_at(&power, v)), 1380, 1e-12, 0);
        assert_close(creal(power_at(&inverter, v)), -1840, 1e-12, 0);
    }
}

static void power_factor_leads_or_lags(void **state)
{
    (void)state;
    assert_current(pd_turn(1), 1, 0);
    assert_current(pd_turn(-1), 1, 0);
    assert_current(pd_turn(0.6), 0.6, -0.8);
    assert_current(pd_turn(-0.6), 0.6, 0.8);
    assert_true(isnan(cimag(pd_turn(1.001))) && isnan(cimag(pd_turn(-2))));
    for (size_t i = 0; i < pd_behaviour_count; i++) {
        const struct pd_element lag = element_of(pd_behaviours[i], 10, 0.8);
        const struct pd_element lead = element_of(pd_behaviours[i], 10, -0.8);
        for (double part = 0.06; part < 2; part += 0.05) {
            /* Lagging: a load takes reactive power, a generator gives it. */
            const double sign = pd_behaviours[i]->generates ? -1 : 1;
            const double complex one = power_at(&lag, polar(part * nominal_v, 1));
            const double complex other = power_at(&lead, polar(part * nominal_v, 1));
            assert_true(sign * creal(one) > 0 && sign * creal(other) > 0);
            assert_close(cimag(one) / creal(one), 0.75, 1e-9, 0);
            assert_close(cimag(other) / creal(other), -0.75, 1e-9, 0);
        }
    }
}

static void inverters_feed_in_and_are_bounded(void **state)
{
    (void)state;
    static const char *const names[] = {"inverter-current", "inverter-power"};
    const double most_a[] = {16, 16 / 0.8};
    struct stream stream = {22};
    for (size_t i = 0; i < 2; i++) {
        const struct pd_element element = element_of(behaviour_named(names[i]), 16, 0.9);
        for (size_t k = 0; k < 2000; k++) {
            const double part =
                k % 2 == 0 ? stream_uniform(&stream, 0, 0.11) : stream_uniform(&stream, 0, 2);
            const double complex v = polar(part * nominal_v, stream_uniform(&stream, 0, 7));
            const struct pd_draw draw = draw_at(&element, v);
            const double watts = creal(v * conj(draw.current_a));
            assert_true(part <= 0.05 ? watts == 0 : watts < 0);
            assert_true(cabs(draw.current_a) <= most_a[i] * (1 + 1e-12));
            /* The slope is bounded too: all within 0.05 Un, at most twice the chord at its end. */
            const double steepest_s = 2 * most_a[i] / (0.05 * nominal_v);
            assert_true(cabs(draw.by_v_s) <= steepest_s && cabs(draw.by_conj_s) <= steepest_s);
        }
        assert_true(draw_at(&element, 0).current_a == 0);
    }
}

static void fall_backs_stay_finite_at_zero(void **state)
{
    (void)state;
    for (size_t i = 0; i < pd_behaviour_count; i++) {
        const struct pd_element element = element_of(pd_behaviours[i], 10, 0.9);
        const struct pd_draw draw = draw_at(&element, 0);
        assert_true(draw.current_a == 0);
        assert_true(isfinite(cabs(draw.by_v_s)) && draw.by_conj_s == 0);
        assert_true(creal(draw.by_v_s) >= 0); /* never a negative resistance there */
    }
}

static void elements_have_the_voltage_of_their_connection(void **state)
{
    (void)state;
    const struct {
        enum pd_phase phase;
        enum pd_system system;
        size_t count;
        double volts;
        int from, to;
    } rows[] = {
        {PD_ON_L1, PD_SINGLE_PHASE, 1, 230, PD_L1, PD_N},
        {PD_ON_L12, PD_SPLIT_PHASE, 1, 460, PD_L1, PD_L2},
        {PD_ON_L23, PD_THREE_PHASE, 1, 398.3716857, PD_L2, PD_L3}, /* 230 sqrt 3 */
        {PD_ON_L31, PD_THREE_PHASE, 1, 398.3716857, PD_L3, PD_L1},
        {PD_ON_L123, PD_THREE_PHASE, 3, 230, PD_L1, PD_N},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct pd_element element[3];
        struct pd_load load = {.phase = rows[i].phase,
                               .behaviour = behaviour_named("inverter-power"),
                               .power_factor = -0.8,
                               .low_v = NAN,
                               .high_v = NAN};
        const size_t count = pd_load_elements(&load, rows[i].system, nominal_v, 7, element);
        assert_int_equal(count, rows[i].count);
        assert_int_equal(element[0].from, rows[i].from);
        for (size_t k = 0; k < count; k++) {
            assert_int_equal(element[k].from, rows[i].from + (int)k);
            assert_int_equal(element[k].to, rows[i].to);
            assert_ptr_equal(element[k].behaviour, load.behaviour);
            assert_close(element[k].point.nominal_v, rows[i].volts, 1e-9, 0);
            assert_close(element[k].point.low_v, 0.8 * rows[i].volts, 1e-9, 0);
            assert_close(element[k].point.high_v, 1.14 * rows[i].volts, 1e-9, 0);
            assert_close(element[k].point.current_a, 7, 0, 0);
            assert_current(element[k].point.turn, 0.8, 0.6);
        }
        load.low_v = 180;
        load.high_v = 0; /* as in a load of zeros: the default */
        pd_load_elements(&load, rows[i].system, nominal_v, 7, element);
        assert_close(element[0].point.low_v, 180, 0, 0);
        assert_close(element[0].point.high_v, 1.14 * rows[i].volts, 1e-9, 0);
    }
}

static void assert_no_figure(const struct pd_element *element, double complex voltage_v)
{
    const double complex current_a = draw_at(element, voltage_v).current_a;
    assert_false(isfinite(creal(current_a)) && isfinite(cimag(current_a)));
}

static void nan_stays_nan(void **state)
{
    (void)state;
    for (size_t i = 0; i < pd_behaviour_count; i++)
        for (double part = 0.02; part < 1.5; part += 0.04) {
            const struct pd_behaviour *const b = pd_behaviours[i];
            const double complex v = polar(part * nominal_v, 1);
            const struct pd_element good = element_of(b, 10, 0.9);
            struct pd_element load[3];
            const struct pd_load of_nan = {
                .behaviour = b, .power_factor = 0.9, .part = {0.5, 0.2, 0.3}};
            const bool gives_nothing = b->generates && part <= 0.05;
            assert_no_figure(&good, CMPLX(NAN, 1));
            assert_no_figure(&good, CMPLX(1, NAN));
            pd_load_elements(&of_nan, PD_SINGLE_PHASE, NAN, 10, load);
            assert_no_figure(load, v);
            if (gives_nothing)
                continue;
            const struct pd_element current = element_of(b, NAN, 0.9);
            const struct pd_element factor = element_of(b, 10, NAN);
            assert_no_figure(&current, v);
            assert_no_figure(&factor, v);
        }
    const char *const names[] = {"current", "power", "inverter-power"};
    for (size_t i = 0; i < 3; i++) {
        struct pd_element element = element_of(behaviour_named(names[i]), 10, 1);
        element.point.low_v = NAN;
        assert_no_figure(&element, 100);
        assert_no_figure(&element, 230);
    }
}

/* The exponent of power against voltage round nominal: P goes as V^n. */
static double exponent(const double part[3])
{
    struct pd_element element = element_of(behaviour_named("mixture"), 10, 1);
    memcpy(element.point.part, part, sizeof element.point.part);
    const double above = creal(power_at(&element, 1.001 * nominal_v));
    const double below = creal(power_at(&element, 0.999 * nominal_v));
    return log(above / below) / log(1.001 / 0.999);
}

static void mixtures_add_up(void **state)
{
    (void)state;
    struct pd_mixtures mixtures = {0};
    assert_int_equal(pd_mixtures_add_reference(&mixtures, NULL), PD_OK);
    assert_true(mixtures.count >= 6);
    assert_int_equal(pd_names_count(mixtures.names), mixtures.count);
    for (size_t i = 0; i < mixtures.count; i++) {
        const struct pd_mixture *const m = &mixtures.mixture[i];
        assert_close(m->part[0] + m->part[1] + m->part[2], 1, 0, 1e-12);
        assert_close(exponent(m->part), 2 * m->part[0] + m->part[1], 0, 1e-5);
        assert_true(strlen(m->devices) > 0 && strlen(m->source) > 10);
    }
    pd_mixtures_free(&mixtures);
    assert_null(mixtures.mixture);
}

/* A device of the measured set. */
struct measured {
    char name[64];
    double least, mean, most;
};

struct measurements {
    struct measured device[64];
    size_t count;
};

static enum pd_status take_device(const struct pd_row *row, void *context, struct pd_errors *errors)
{
    struct measurements *const all = context;
    const struct pd_range any = {-10, 10, NULL};
    assert_true(all->count < 64);
    struct measured *const device = &all->device[all->count++];
    snprintf(device->name, sizeof device->name, "%s", pd_row_text(row, 0));
    assert_true(pd_row_number(row, 2, any, &device->least, errors));
    assert_true(pd_row_number(row, 3, any, &device->mean, errors));
    assert_true(pd_row_number(row, 4, any, &device->most, errors));
    return PD_OK;
}

static const struct measured *device_named(const struct measurements *all, const char *name)
{
    for (size_t i = 0; i < all->count; i++)
        if (strcmp(all->device[i].name, name) == 0)
            return &all->device[i];
    fail_msg("there is no measured device %s", name);
    return NULL;
}

/* Between the least and the greatest measured, and within 0.05 of the mean of the means. */
static void compare_mixture(const struct measurements *all, const struct pd_mixture *mixture)
{
    char devices[sizeof mixture->devices];
    double least = INFINITY, most = -INFINITY, sum = 0, count = 0;
    snprintf(devices, sizeof devices, "%s", mixture->devices);
    for (char *rest = devices, *name; (name = strtok_r(rest, " ", &rest)) != NULL;) {
        const struct measured *const device = device_named(all, name);
        least = fmin(least, device->least);
        most = fmax(most, device->most);
        sum += device->mean;
        count += 1;
    }
    const double n = exponent(mixture->part);
    assert_true(n >= least - 1e-5 && n <= most + 1e-5);
    assert_close(n, sum / count, 0, 0.05);
}

static void mixtures_are_those_measured(void **state)
{
    (void)state;
    static const struct pd_column columns[] = {
        {"load", true},    {"samples", true},  {"npv_min", true},   {"npv_mean", true},
        {"npv_max", true}, {"nqv_mean", true}, {"P0_mean_W", true}, {"Q0_mean_var", true},
        {"V0_min", true},  {"V0_max", true},
    };
    const char *const data = getenv("PENDRIFT_DATA");
    char path[4096];
    snprintf(path, sizeof path, "%s/load-voltage/summary.csv",
             data != NULL ? data : "../shared/data");
    if (access(path, R_OK) != 0) {
        print_message("skipped: no %s (PENDRIFT_DATA)\n", path);
        skip();
    }
    struct measurements all = {.count = 0};
    struct pd_mixtures mixtures = {0};
    assert_int_equal(pd_table_read(path, "summary.csv", columns, 10, take_device, &all, NULL),
                     PD_OK);
    assert_int_equal(pd_mixtures_add_reference(&mixtures, NULL), PD_OK);
    for (size_t i = 0; i < mixtures.count; i++)
        compare_mixture(&all, &mixtures.mixture[i]);
    pd_mixtures_free(&mixtures);
}

struct stages {
    size_t count;
    double below, above; /* the first to be passed on each side */
};

static bool take_stage(const struct pd_stage *stage, void *context)
{
    /* EREC G98 (from memory): 184 V 2.5 s; 262.2 V 1.0 s; 273.7 V 0.5 s. */
    const double below_v[] = {184, NAN, NAN}, above_v[] = {NAN, 262.2, 273.7};
    const double time_s[] = {2.5, 1.0, 0.5};
    struct stages *const stages = context;
    assert_true(stages->count < 3);
    const size_t i = stages->count++;
    assert_int_equal(isnan(stage->below_part), isnan(below_v[i]));
    assert_int_equal(isnan(stage->above_part), isnan(above_v[i]));
    if (!isnan(below_v[i]))
        assert_close(stage->below_part * 230, below_v[i], 1e-12, 0);
    if (!isnan(above_v[i]))
        assert_close(stage->above_part * 230, above_v[i], 1e-12, 0);
    assert_close(stage->time_s, time_s[i], 0, 0);
    assert_string_equal(stage->status, "from memory");
    stages->below = fmax(stages->below, stage->below_part);
    stages->above = fmin(stages->above, stage->above_part);
    return true;
}

static bool stop_at_once(const struct pd_stage *stage, void *context)
{
    (void)stage;
    ++*(size_t *)context;
    return false;
}

static void stages_agree_with_the_inverters_window(void **state)
{
    (void)state;
    struct stages stages = {.below = -INFINITY, .above = INFINITY};
    size_t calls = 0;
    assert_int_equal(pd_stages_each(take_stage, &stages, NULL), PD_OK);
    assert_int_equal(stages.count, 3);
    assert_close(behaviour_named("inverter-current")->low_part, stages.below, 0, 0);
    assert_close(behaviour_named("inverter-current")->high_part, stages.above, 0, 0);
    assert_close(behaviour_named("inverter-power")->low_part, stages.below, 0, 0);
    assert_close(behaviour_named("inverter-power")->high_part, stages.above, 0, 0);
    assert_int_equal(pd_stages_each(stop_at_once, &calls, NULL), PD_OK);
    assert_int_equal(calls, 1);
}

static struct pd_network *read_loads(const char *text)
{
    char path[] = "/tmp/pendrift-behaviour-XXXXXX";
    struct pd_network *network = NULL;
    struct pd_errors errors = {0};
    const struct pd_section section = {.name = "supply", .from = "substation", .to = "house"};
    const int file = mkstemp(path);
    assert_true(file >= 0);
    assert_int_equal(write(file, text, strlen(text)), (ssize_t)strlen(text));
    assert_int_equal(close(file), 0);
    assert_int_equal(pd_network_new(PD_THREE_PHASE, nominal_v, &network), PD_OK);
    assert_int_equal(pd_network_add_section(network, &section, &errors), PD_OK);
    assert_int_equal(pd_network_close(network, &errors), PD_OK);
    const enum pd_status status = pd_loads_read(path, NULL, network, &errors);
    if (errors.count > 0)
        print_error("%zu: %s: %s\n", errors.kept[0].line, errors.kept[0].column,
                    errors.kept[0].text);
    assert_int_equal(status, PD_OK);
    remove(path);
    return network;
}

static void loads_are_read_with_their_behaviour(void **state)
{
    (void)state;
    struct pd_network *network =
        read_loads("load,node,phase,current_a,power_kw,behaviour,low_v,high_v,mixture,"
                   "impedance_part,current_part,power_part\n"
                   "kettle,house,L1,10,,,,,,,,\n"
                   "lamp,house,L2,1,,current,23,,,,,\n"
                   "pump,house,L23,10,,power,,,,,,\n"
                   "flat,house,L3,20,,mixture,150,,,0.2,0.3,0.5\n"
                   "hall,house,L3,20,,mixture,,,heating,,,\n"
                   "car,house,L123,32,,charger,190,260,,,,\n"
                   "roof,house,L12,,8,inverter-power,300,450,,,,\n");
    const struct pd_load *const load = network->load;
    assert_int_equal(network->load_count, 7);
    const char *const names[] = {"impedance", "current", "power",         "mixture",
                                 "mixture",   "charger", "inverter-power"};
    for (size_t i = 0; i < 7; i++)
        assert_string_equal(load[i].behaviour->name, names[i]);
    assert_true(isnan(load[0].low_v) && isnan(load[0].high_v) && isnan(load[2].low_v));
    assert_close(load[1].low_v, 23, 0, 0);
    assert_close(load[3].low_v, 150, 0, 0);
    assert_close(load[3].part[0] + 10 * load[3].part[1] + 100 * load[3].part[2], 53.2, 1e-12, 0);
    assert_close(load[4].part[0] + 10 * load[4].part[1] + 100 * load[4].part[2], 1.09, 1e-12, 0);
    assert_close(load[5].low_v, 190, 0, 0);
    assert_close(load[5].high_v, 260, 0, 0);
    assert_close(load[6].high_v, 450, 0, 0);
    assert_close(load[6].present_a, 8000 / (230 * sqrt(3)), 1e-12, 0);
    pd_network_free(&network);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_behaviour_follows_its_equation),
        cmocka_unit_test(the_table_says_what_each_does),
        cmocka_unit_test(derivatives_are_those_of_finite_differences),
        cmocka_unit_test(currents_are_continuous),
        cmocka_unit_test(all_are_the_same_size_at_nominal_voltage),
        cmocka_unit_test(what_is_constant_stays_constant),
        cmocka_unit_test(power_factor_leads_or_lags),
        cmocka_unit_test(inverters_feed_in_and_are_bounded),
        cmocka_unit_test(fall_backs_stay_finite_at_zero),
        cmocka_unit_test(elements_have_the_voltage_of_their_connection),
        cmocka_unit_test(nan_stays_nan),
        cmocka_unit_test(mixtures_add_up),
        cmocka_unit_test(mixtures_are_those_measured),
        cmocka_unit_test(stages_agree_with_the_inverters_window),
        cmocka_unit_test(loads_are_read_with_their_behaviour),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
