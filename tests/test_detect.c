/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"

#include <math.h>

#include "detect/detector.h"

static const unsigned three = 1u << PD_L1 | 1u << PD_L2 | 1u << PD_L3;

static struct pd_detector band_device(void)
{
    return (struct pd_detector){.name = "band",
                                .senses = PD_SENSE_LINE,
                                .low_v = 207,
                                .high_v = 253,
                                .limit_v = NAN,
                                .delay_s = 4,
                                .disconnects = PD_CUTS_LIVE_AND_PE,
                                .disconnects_known = true};
}

/* A stiff 230 V three-phase supply with the neutral displaced. */
static struct pd_view displaced(double complex displacement_v, unsigned lines)
{
    return (struct pd_view){.v = {[PD_L1] = 230,
                                  [PD_L2] = 230 * CMPLX(-0.5, -sqrt(0.75)),
                                  [PD_L3] = 230 * CMPLX(-0.5, sqrt(0.75)),
                                  [PD_N] = displacement_v},
                            .pe_v = displacement_v,
                            .lines = lines};
}

static void a_healthy_supply_is_left_alone(void **state)
{
    (void)state;
    const struct pd_detector band = band_device();
    const struct pd_view view = displaced(0, 1u << PD_L1);
    const struct pd_sight sight = pd_detector_look(&band, &view);
    assert_int_equal(sight.kind, PD_BLIND);
    assert_close(sight.figure, 230, 1e-12, 0);
    assert_false(pd_sight_in_time(&sight, 5));
}

static void one_line_is_blind_where_three_are_not(void **state)
{
    (void)state;
    /* A displacement at right angles to L1 leaves |L1 - N| in the band: 100j gives
     * sqrt(230^2 + 100^2) = 250.8 V; L2 then has |(-115 - 199.19j) - 100j| = 320.5 V. */
    struct pd_detector device = band_device();
    const struct pd_view view = displaced(CMPLX(0, 100), three);
    const struct pd_view single = displaced(CMPLX(0, 100), 1u << PD_L1);
    struct pd_sight sight = pd_detector_look(&device, &single);
    assert_int_equal(sight.kind, PD_BLIND);
    assert_close(sight.figure, 250.799, 0, 1e-3);
    device.senses = PD_SENSE_LINES;
    sight = pd_detector_look(&device, &view);
    assert_int_equal(sight.kind, PD_SEES);
    assert_close(sight.figure, 320.53, 0, 0.01);
    assert_true(pd_sight_in_time(&sight, 5));
}

static void one_line_among_three_is_judged_by_the_worst_choice(void **state)
{
    (void)state;
    const struct pd_detector device = band_device();
    const struct pd_view view = displaced(CMPLX(0, 100), three);
    assert_int_equal(pd_detector_look(&device, &view).kind, PD_BLIND);
}

static void tolerance_is_taken_at_the_worse_end(void **state)
{
    (void)state;
    struct pd_detector device = band_device();
    const struct pd_view view = displaced(24, 1u << PD_L1); /* 206 V line to neutral */
    assert_int_equal(pd_detector_look(&device, &view).kind, PD_SEES);
    device.tolerance_v = 2;
    assert_int_equal(pd_detector_look(&device, &view).kind, PD_BLIND);
}

static void a_wider_band_never_sees_more(void **state)
{
    (void)state;
    struct stream stream = {20261125};
    for (size_t i = 0; i < 20000 * soak(); i++) {
        struct pd_detector device = band_device();
        device.senses = i % 2 == 0 ? PD_SENSE_LINE : PD_SENSE_LINES;
        const struct pd_view view = displaced(
            CMPLX(stream_uniform(&stream, -250, 250), stream_uniform(&stream, -250, 250)), three);
        const bool narrow = pd_detector_look(&device, &view).kind == PD_SEES;
        device.low_v -= stream_uniform(&stream, 0, 50);
        device.high_v += stream_uniform(&stream, 0, 50);
        assert_true(narrow || pd_detector_look(&device, &view).kind == PD_BLIND);
    }
}

static void earth_and_star_point_devices_see_the_displacement(void **state)
{
    (void)state;
    struct pd_detector device = band_device();
    device.limit_v = 50;
    for (int sense = PD_SENSE_PE; sense <= PD_SENSE_STAR_POINT; sense++) {
        device.senses = (enum pd_sense)sense;
        struct pd_view view = displaced(CMPLX(30, 41), three); /* 50.8 V */
        assert_int_equal(pd_detector_look(&device, &view).kind, PD_SEES);
        view = displaced(CMPLX(30, 39), three); /* 49.2 V */
        assert_int_equal(pd_detector_look(&device, &view).kind, PD_BLIND);
    }
    const struct pd_view single = displaced(CMPLX(200, 0), 1u << PD_L1);
    assert_int_equal(pd_detector_look(&device, &single).kind, PD_SIGHT_UNKNOWN);
}

static void what_is_not_known_is_not_seen(void **state)
{
    (void)state;
    struct pd_detector device = band_device();
    struct pd_view view = displaced(NAN, 1u << PD_L1);
    assert_int_equal(pd_detector_look(&device, &view).kind, PD_SIGHT_UNKNOWN);
    view = displaced(200, 1u << PD_L1);
    device.low_v = NAN;
    assert_int_equal(pd_detector_look(&device, &view).kind, PD_SIGHT_UNKNOWN);
    device = band_device();
    device.delay_s = NAN;
    struct pd_sight sight = pd_detector_look(&device, &view);
    assert_int_equal(sight.kind, PD_SEES);
    assert_false(pd_sight_in_time(&sight, 5));
    device = band_device();
    device.disconnects_known = false;
    sight = pd_detector_look(&device, &view);
    assert_false(pd_sight_in_time(&sight, 5));
    assert_false(pd_sight_in_time(&sight, NAN));
    view.lines = 0;
    assert_int_equal(pd_detector_look(&device, &view).kind, PD_SIGHT_UNKNOWN);
}

static void leaving_the_chassis_on_the_pen_saves_nobody(void **state)
{
    (void)state;
    const struct pd_view view = displaced(200, 1u << PD_L1);
    struct pd_detector device = band_device();
    for (int what = PD_CUTS_LINES; what <= PD_CUTS_LIVE_AND_PE; what++) {
        device.disconnects = (enum pd_disconnects)what;
        const struct pd_sight sight = pd_detector_look(&device, &view);
        assert_int_equal(pd_sight_in_time(&sight, 5), what == PD_CUTS_LIVE_AND_PE);
        assert_false(pd_sight_in_time(&sight, 3.9));
        assert_int_equal(pd_sight_in_time(&sight, 4), what == PD_CUTS_LIVE_AND_PE);
    }
}

static struct pd_detector earth_device(void)
{
    struct pd_detector device = band_device();
    device.senses = PD_SENSE_PE;
    device.low_v = device.high_v = NAN;
    device.limit_v = 50;
    device.reference_ohm = device.input_ohm = device.coupling = NAN;
    return device;
}

static void a_reference_electrode_divides_what_is_sensed(void **state)
{
    (void)state;
    /* By hand: 100 V on PE lift the reference electrode's ground by 20 V; of the 80 V left, 9 kohm
     * in series with 1 kohm have 72 V. */
    struct pd_detector device = earth_device();
    const struct pd_view view = displaced(100, 1u << PD_L1);
    assert_close(pd_detector_look(&device, &view).figure, 100, 1e-12, 0);
    device.coupling = 0.2;
    device.reference_ohm = 1000;
    device.input_ohm = 9000;
    assert_close(pd_detector_share(&device), 0.72, 1e-12, 0);
    assert_close(pd_detector_look(&device, &view).figure, 72, 1e-12, 0);
    device.limit_v = 71;
    assert_int_equal(pd_detector_look(&device, &view).kind, PD_SEES);
    device.limit_v = 73;
    assert_int_equal(pd_detector_look(&device, &view).kind, PD_BLIND);
    device.coupling = 1;
    device.limit_v = 1;
    assert_int_equal(pd_detector_look(&device, &view).kind, PD_BLIND);
}

static void half_a_divider_is_not_known(void **state)
{
    (void)state;
    struct pd_detector device = earth_device();
    const struct pd_view view = displaced(200, 1u << PD_L1);
    device.reference_ohm = 1000;
    assert_int_equal(pd_detector_look(&device, &view).kind, PD_SIGHT_UNKNOWN);
    device.reference_ohm = NAN;
    device.input_ohm = 1e6;
    assert_int_equal(pd_detector_look(&device, &view).kind, PD_SIGHT_UNKNOWN);
    device.reference_ohm = 0; /* no divider, whatever the input */
    assert_int_equal(pd_detector_look(&device, &view).kind, PD_SEES);
    device.input_ohm = NAN;
    assert_int_equal(pd_detector_look(&device, &view).kind, PD_SEES);
}

static void pe_current_is_what_flows_into_the_ground(void **state)
{
    (void)state;
    struct pd_detector device = band_device();
    device.senses = PD_SENSE_PE_CURRENT;
    device.low_v = device.high_v = NAN;
    device.limit_a = 0.5;
    device.tolerance_a = 0.1;
    struct pd_view view = displaced(200, 1u << PD_L1);
    assert_int_equal(pd_detector_look(&device, &view).kind,
                     PD_BLIND); /* no electrode, no current */
    assert_string_equal(pd_sense_unit(device.senses), "A");
    view.electrode_a = CMPLX(0.36, 0.48); /* 0.6 A: on the far end, not beyond it */
    assert_int_equal(pd_detector_look(&device, &view).kind, PD_BLIND);
    assert_true(pd_detector_look(&device, &view).may_trip);
    view = pd_view_scaled(&view, 1.001);
    assert_int_equal(pd_detector_look(&device, &view).kind, PD_SEES);
    view.electrode_a = 0.399;
    assert_false(pd_detector_look(&device, &view).may_trip);
    device.limit_a = NAN;
    assert_int_equal(pd_detector_look(&device, &view).kind, PD_SIGHT_UNKNOWN);
}

/* 207 V +- 2 V, 253 V +- 2 V: sure to act below 205 V and above 255 V, may act below 209 V and
 * above 251 V. */
static void both_ends_of_the_tolerance_are_looked_at(void **state)
{
    (void)state;
    static const struct {
        double voltage_v;
        bool sure, may;
    } points[] = {{204.9, true, true},  {205, false, true},  {208.9, false, true},
                  {209, false, false},  {230, false, false}, {251, false, false},
                  {251.1, false, true}, {255, false, true},  {255.1, true, true}};
    struct pd_detector device = band_device();
    device.tolerance_v = 2;
    for (size_t i = 0; i < sizeof points / sizeof points[0]; i++) {
        const struct pd_view view = {.v = {[PD_L1] = points[i].voltage_v}, .lines = 1u << PD_L1};
        const struct pd_sight sight = pd_detector_look(&device, &view);
        assert_int_equal(sight.kind == PD_SEES, points[i].sure);
        assert_int_equal(sight.may_trip, points[i].may);
    }
}

static void a_device_that_closes_again_disconnects_nobody(void **state)
{
    (void)state;
    struct pd_detector device = band_device();
    const struct pd_view view = displaced(200, 1u << PD_L1);
    for (int reset = PD_RESET_UNDECLARED; reset <= PD_RESET_AUTOMATIC; reset++) {
        device.reset = (enum pd_reset)reset;
        const struct pd_sight sight = pd_detector_look(&device, &view);
        assert_int_equal(sight.kind, PD_SEES);
        assert_int_equal(pd_sight_in_time(&sight, 5), reset != PD_RESET_AUTOMATIC);
        assert_int_equal(pd_sight_in_time_until_reset(&sight, 5), reset == PD_RESET_AUTOMATIC);
        assert_false(pd_sight_in_time_until_reset(&sight, 3.9));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_healthy_supply_is_left_alone),
        cmocka_unit_test(one_line_is_blind_where_three_are_not),
        cmocka_unit_test(one_line_among_three_is_judged_by_the_worst_choice),
        cmocka_unit_test(tolerance_is_taken_at_the_worse_end),
        cmocka_unit_test(a_wider_band_never_sees_more),
        cmocka_unit_test(earth_and_star_point_devices_see_the_displacement),
        cmocka_unit_test(what_is_not_known_is_not_seen),
        cmocka_unit_test(leaving_the_chassis_on_the_pen_saves_nobody),
        cmocka_unit_test(a_reference_electrode_divides_what_is_sensed),
        cmocka_unit_test(half_a_divider_is_not_known),
        cmocka_unit_test(pe_current_is_what_flows_into_the_ground),
        cmocka_unit_test(both_ends_of_the_tolerance_are_looked_at),
        cmocka_unit_test(a_device_that_closes_again_disconnects_nobody),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
