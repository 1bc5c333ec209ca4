/* SPDX-License-Identifier: GPL-3.0-or-later */

/* What devices make of the engine's solutions, against a second decision written here from the raw
 * voltages: real and imaginary parts and squares, ties by their ohms, no function of detect/. */

#include "check.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "case_folder.h"
#include "study/run.h"

enum { TRIES = 100000, DEVICES = 24, BLIND = 0, SEES = 1, UNKNOWN = 2 };

static double square(double complex v)
{
    return creal(v) * creal(v) + cimag(v) * cimag(v);
}

/* -1 below, 0 inside, 1 above a range, on squares. */
static bool outside(double squared, double low, double high)
{
    return (low > 0 && squared < low * low) || squared > high * high;
}

struct decision {
    int kind;
    bool may;
};

static struct decision decide_lines(const struct pd_detector *d, const struct pd_view *raw)
{
    int present = 0, seen = 0, may = 0;
    for (int line = 0; line < 3; line++) {
        if ((raw->lines >> line & 1) == 0)
            continue;
        const double squared = square(raw->v[line] - raw->v[3]);
        present++;
        seen += outside(squared, d->low_v - d->tolerance_v, d->high_v + d->tolerance_v);
        may += outside(squared, d->low_v + d->tolerance_v, d->high_v - d->tolerance_v);
    }
    if (present == 0 || (d->senses == PD_SENSE_LINES && present < 3))
        return (struct decision){UNKNOWN, false};
    const bool sees = d->senses == PD_SENSE_LINES ? seen > 0 : seen == present;
    return (struct decision){sees ? SEES : BLIND, may > 0};
}

static struct decision decide_one(double squared, double limit, double tolerance)
{
    return (struct decision){outside(squared, 0, limit + tolerance) ? SEES : BLIND,
                             limit < tolerance || outside(squared, 0, limit - tolerance)};
}

static struct decision decide(const struct pd_case *c, const struct pd_run *run, size_t device)
{
    const struct pd_detector *const d = &c->detectors.detector[device];
    const size_t node = c->detector_node[device], pe = c->network->node[node].pe_node;
    struct pd_view raw = {.lines = c->installation_lines & c->network->node[node].lines};
    memcpy(raw.v, run->solution.v[node], sizeof raw.v);
    const double complex pe_v = pe == PD_NONE ? 0 : run->solution.v[pe][3];
    double complex ground_a = 0;
    for (size_t i = 0; i < c->electrodes.count; i++)
        if (c->network->node[c->tie[i].node].pe_node == pe && pe != PD_NONE)
            ground_a += pe_v / c->tie[i].resistance_ohm;
    if (d->senses == PD_SENSE_LINE || d->senses == PD_SENSE_LINES)
        return decide_lines(d, &raw);
    if (d->senses == PD_SENSE_PE_CURRENT)
        return decide_one(square(ground_a), d->limit_a, d->tolerance_a);
    if (d->senses == PD_SENSE_STAR_POINT)
        return raw.lines != 7
                   ? (struct decision){UNKNOWN, false}
                   : decide_one(square(3 * raw.v[3] - raw.v[0] - raw.v[1] - raw.v[2]) / 9,
                                d->limit_v, d->tolerance_v);
    const double complex reference_v = d->coupling * pe_v;
    const double complex drives_a = (pe_v - reference_v) / (d->reference_ohm + d->input_ohm);
    return decide_one(square(drives_a * d->input_ohm), d->limit_v, d->tolerance_v);
}

static struct pd_detector random_device(struct stream *stream, size_t number)
{
    struct pd_detector d = {.senses = (enum pd_sense)(number % PD_SENSES),
                            .low_v = stream_uniform(stream, 150, 229),
                            .high_v = stream_uniform(stream, 231, 300),
                            .limit_v = stream_uniform(stream, 5, 90),
                            .tolerance_v = stream_uniform(stream, 0, 8),
                            .limit_a = stream_uniform(stream, 0.1, 6),
                            .tolerance_a = stream_uniform(stream, 0, 0.1),
                            .reference_ohm = stream_uniform(stream, 0, 5000),
                            .input_ohm = stream_uniform(stream, 500, 1e5),
                            .coupling = stream_uniform(stream, 0, 1),
                            .delay_s = stream_uniform(stream, 0, 8),
                            .reset = (enum pd_reset)stream_below(stream, PD_RESETS),
                            .disconnects =
                                (enum pd_disconnects)stream_below(stream, PD_DISCONNECTS),
                            .disconnects_known = stream_below(stream, 8) != 0};
    return d;
}

/* Fills the case's list with random devices at nodes of the installation. */
static void set_devices(struct pd_case *c, struct stream *stream)
{
    for (size_t i = 0; i < DEVICES; i++) {
        c->detectors.detector[i] = random_device(stream, i);
        c->detector_node[i] = stream_below(stream, 2) == 0 ? c->installation : c->charging_point;
    }
}

struct tally {
    size_t tried, of_kind[3], may, in_time;
};

static void compare(const struct pd_run *run, const struct pd_fault *fault, struct tally *tally)
{
    const struct pd_case *const c = run->study_case;
    struct pd_sight sight[DEVICES];
    struct pd_scenario s;
    bool in_time = false;
    pd_run_fill(run, fault, PD_LOADS_PRESENT, run->solved_v, &s, sight);
    if (s.standing != PD_SOLVED || s.floating)
        return;
    for (size_t i = 0; i < DEVICES; i++) {
        const struct pd_detector *const d = &c->detectors.detector[i];
        const struct decision want = decide(c, run, i);
        assert_int_equal(sight[i].kind, want.kind == SEES    ? PD_SEES
                                        : want.kind == BLIND ? PD_BLIND
                                                             : PD_SIGHT_UNKNOWN);
        assert_int_equal(sight[i].may_trip, want.may);
        in_time |= want.kind == SEES && d->disconnects_known && d->disconnects == 2 &&
                   d->delay_s <= c->limits.time_s && d->reset != PD_RESET_AUTOMATIC;
        tally->of_kind[want.kind]++;
        tally->may += want.may;
    }
    assert_int_equal(s.disconnected, in_time);
    tally->in_time += in_time;
    tally->tried++;
}

static void try_case(const char *name, size_t tries, struct stream *stream, struct tally *tally)
{
    struct study study = {0};
    struct pd_load_states states = {0};
    struct pd_run run;
    double load_a[64];
    study_open_example(&study, name);
    struct pd_case *const c = study.study_case;
    if (c->earthing == PD_TT) /* the house has a rod too, which is none of the point's */
        c->tie[0].node = c->installation;
    pd_detectors_free(&c->detectors);
    free(c->detector_node);
    c->detectors = (struct pd_detectors){calloc(DEVICES, sizeof *c->detectors.detector), DEVICES};
    c->detector_node = calloc(DEVICES, sizeof *c->detector_node);
    assert_int_equal(pd_load_states_new(c, &states), PD_OK);
    assert_int_equal(pd_run_new(c, &states, (1u << PD_FAULTS) - 1, &run), PD_OK);
    assert_true(c->network->load_count <= 64);
    for (const size_t end = tally->tried + tries; tally->tried < end;) {
        set_devices(c, stream);
        for (size_t i = 0; i < c->network->load_count; i++)
            load_a[i] = stream_uniform(stream, 0, 60);
        assert_int_equal(pd_run_factor(&run, load_a, stream_uniform(stream, 200, 260), NULL),
                         PD_OK);
        for (size_t b = 0; b < run.main.count && tally->tried < end; b++) {
            assert_int_equal(pd_run_solve(&run, &run.main.fault[b]), PD_OK);
            compare(&run, &run.main.fault[b], tally);
        }
    }
    pd_run_free(&run);
    pd_load_states_free(&states);
    study_close(&study);
}

static void decisions_agree_with_raw_voltages(void **state)
{
    (void)state;
    static const char *const names[] = {"street", "house-solar-battery", "house-rod-12-ohm",
                                        "workshop-unbalanced", "house-tt-point"};
    enum { NAMES = sizeof names / sizeof names[0] };
    struct stream stream = {20261126};
    struct tally tally = {0};
    for (size_t i = 0; i < NAMES; i++)
        try_case(names[i], TRIES / NAMES * soak(), &stream, &tally);
    print_message("seed 20261126: %zu scenarios; of %d devices each seen %zu, blind %zu, unknown "
                  "%zu, may trip %zu; disconnected in time %zu\n",
                  tally.tried, (int)DEVICES, tally.of_kind[SEES], tally.of_kind[BLIND],
                  tally.of_kind[UNKNOWN], tally.may, tally.in_time);
    for (int kind = 0; kind < 3; kind++) /* none of the three may be missing from the test */
        assert_true(tally.of_kind[kind] > TRIES / 10);
    assert_true(tally.tried >= TRIES && tally.in_time > TRIES / 10 &&
                tally.in_time < tally.tried - TRIES / 100);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(decisions_agree_with_raw_voltages),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
