/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "study/run.h"

/* The faults that are shown beside the verdict: present and high loads, at the declared supply and
 * the highest, of each place the worst. */

/* Leakage of a charging point to its protective conductor, ampere: the most that equipment with a
 * plug may have, 3.5 mA (IEC 61140, from memory), through equal filter capacitors from line and
 * neutral. */
static const double leakage_a = 0.0035;

size_t pd_run_shown_room(const struct pd_run *run)
{
    size_t room = 0;
    for (int kind = 0; kind < PD_FAULTS; kind++) {
        const struct pd_fault_row *const row = pd_fault_row((enum pd_fault_kind)kind);
        struct pd_fault_list list = {0};
        if (!row->judged && (run->faults & 1u << kind) != 0 &&
            row->list(run->study_case, &list) == PD_OK)
            room += list.count;
        pd_fault_list_free(&list);
    }
    return room;
}

/* Off the main earthing conductor, the terminal and its own electrode hang on the filters of what
 * is plugged in: with B from a line and B from the neutral, and G to earth, V = jB (V_line + V_N) /
 * (2jB + G). A person who touches it can take at most what flows at V = 0. Filters on several lines
 * cancel; what is plugged in at the moment may hang on any one, so the worst line counts. */
static void fill_floating_chassis(const struct pd_run *run, double scale, struct pd_scenario *s)
{
    const struct pd_case *const c = run->study_case;
    const double complex *const v = run->solution.v[c->charging_point];
    const double b_s = leakage_a / c->network->nominal_v;
    const double ohm = pd_case_electrode(c, c->installation);
    const double complex tied_s = 2 * b_s * I + (isfinite(ohm) ? 1 / ohm : 0);
    double drive_a = 0;
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((c->installation_lines & 1u << line) != 0)
            drive_a = fmax(drive_a, scale * b_s * cabs(v[line] + v[PD_N]));
    s->met_v = s->touch_v = drive_a / cabs(tied_s);
    s->met = CMPLX(NAN, NAN); /* of the chassis, and no displacement of the neutral */
    s->prospective_a = drive_a;
    s->electrode_a = isfinite(ohm) ? s->met_v / ohm : 0;
    s->floating = false;
    s->touch = pd_judge(s->touch_v, c->limits.touch_v);
}

/* A device that senses PE looks at the chassis that floats, not at the PEN. */
static void look_again(const struct pd_run *run, struct pd_scenario *s, struct pd_sight *sight)
{
    const struct pd_case *const c = run->study_case;
    s->disconnected = false;
    for (size_t i = 0; i < c->detectors.count; i++) {
        if (c->detectors.detector[i].senses == PD_SENSE_PE) {
            struct pd_view view = pd_run_view(run, i);
            view.pe_v = s->touch_v;
            sight[i] = pd_detector_look(&c->detectors.detector[i], &view);
        }
        s->disconnected |= pd_sight_in_time(&sight[i], c->limits.time_s);
    }
}

static void fill(const struct pd_run *run, const struct pd_fault *fault, enum pd_loads loads,
                 double supply_v, struct pd_scenario *s, struct pd_sight *sight)
{
    pd_run_fill(run, fault, loads, supply_v, s, sight);
    if (fault->kind != PD_OPEN_EARTHING || s->standing != PD_SOLVED)
        return;
    fill_floating_chassis(run, supply_v / run->solved_v, s);
    look_again(run, s, sight);
}

/* The worst of a place so far. */
struct place {
    struct pd_scenario worst;
    struct pd_sight *sight, *scratch; /* [detectors.count] */
    bool taken;
};

static void keep(const struct pd_run *run, struct place *place, const struct pd_scenario *s)
{
    const size_t detectors = run->study_case->detectors.count;
    if (place->taken && !pd_is_worse(s, &place->worst))
        return;
    if (detectors > 0)
        memcpy(place->sight, place->scratch, detectors * sizeof *place->sight);
    place->worst = *s;
    place->worst.sight = place->sight;
    place->taken = true;
}

static enum pd_status run_place(struct pd_run *run, const struct pd_fault *fault,
                                struct place *place)
{
    enum pd_status status = PD_OK;
    for (size_t state = 0; state < run->states->main_count && status == PD_OK; state++) {
        if (run->states->kind[state] == PD_LOADS_LOW)
            continue;
        for (size_t level = 0; level < run->supply_count && status == PD_OK; level++) {
            if (level != 0 && level != run->top)
                continue;
            status = pd_run_factor(run, pd_load_state(run->states, state), run->supply_v[level],
                                   &fault->bridge);
            if (status == PD_OK)
                status = pd_run_solve(run, fault);
            struct pd_scenario s;
            fill(run, fault, run->states->kind[state], run->supply_v[level], &s, place->scratch);
            keep(run, place, &s);
        }
    }
    return status;
}

static enum pd_status run_row(struct pd_run *run, const struct pd_fault_row *row,
                              struct place *place, struct pd_assessment *a)
{
    struct pd_fault_list list = {0};
    enum pd_status status = row->list(run->study_case, &list);
    for (size_t i = 0; i < list.count && status == PD_OK; i++) {
        place->taken = false;
        status = run_place(run, &list.fault[i], place);
        if (status == PD_OK && place->taken)
            pd_assessment_add(a, &place->worst, run->study_case->detectors.count);
    }
    pd_fault_list_free(&list);
    return status;
}

enum pd_status pd_run_shown(struct pd_run *run, struct pd_assessment *a)
{
    const size_t detectors = run->study_case->detectors.count;
    struct place place = {.sight = calloc(detectors + 1, sizeof *place.sight),
                          .scratch = calloc(detectors + 1, sizeof *place.scratch)};
    enum pd_status status = place.sight != NULL && place.scratch != NULL ? PD_OK : PD_ERR_MEMORY;
    for (int kind = 0; kind < PD_FAULTS && status == PD_OK; kind++) {
        const struct pd_fault_row *const row = pd_fault_row((enum pd_fault_kind)kind);
        if (!row->judged && (run->faults & 1u << kind) != 0)
            status = run_row(run, row, &place, a);
    }
    free(place.sight);
    free(place.scratch);
    return status;
}
