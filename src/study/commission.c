/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/commission.h"

#include <math.h>
#include <stdlib.h>

#include "study/describe.h"
#include "study/run.h"
#include "table/grow.h"

/* How far beyond the end of the tolerance a step stands, so that a meter can tell. */
static const double margin_v = 0.5, margin_part = 0.02;

/* How long to wait for a device that must not act: twice its delay, and no less than this. */
static const double least_wait_s = 10;

struct setting_out {
    struct pd_test_sheet *sheet;
    size_t detector;
    unsigned lines; /* at the device's node */
};

static const struct pd_detector *device_of(const struct setting_out *s)
{
    return &s->sheet->study_case->detectors.detector[s->detector];
}

/* The device as its terminals have it: what lies between them and the ground is not in the test. */
static struct pd_detector at_terminals(const struct pd_detector *detector)
{
    struct pd_detector d = *detector;
    d.reference_ohm = d.coupling = 0;
    return d;
}

/* A line's EMF direction, for voltages that are applied in their usual sequence. */
static double complex direction(const struct setting_out *s, int line)
{
    const double complex emf = s->sheet->study_case->network->source.unit_emf[line];
    return emf / cabs(emf);
}

/* What the device has on its terminals in a step. */
static struct pd_view apply(const struct setting_out *s, const struct pd_step *step)
{
    const struct pd_detector *const d = device_of(s);
    struct pd_view view = {.lines = s->lines};
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((s->lines & 1u << line) != 0)
            view.v[line] =
                direction(s, line) * (isnan(step->line_v[line]) ? 0 : step->line_v[line]);
    if (d->senses == PD_SENSE_PE)
        view.pe_v = step->value;
    else if (d->senses == PD_SENSE_PE_CURRENT)
        view.electrode_a = step->value;
    else if (d->senses == PD_SENSE_STAR_POINT)
        for (int line = PD_L1; line < PD_LINES; line++)
            view.v[line] = s->sheet->study_case->network->nominal_v * direction(s, line);
    if (d->senses == PD_SENSE_STAR_POINT)
        view.v[PD_N] = step->value;
    return view;
}

/* Keeps the step where the device's own decision is what is expected of it. */
static enum pd_status keep(const struct setting_out *s, const struct pd_step *step)
{
    const struct pd_detector d = at_terminals(device_of(s));
    const struct pd_view view = apply(s, step);
    const struct pd_sight sight = pd_detector_look(&d, &view);
    const bool good = step->expected == PD_ACTS ? sight.kind == PD_SEES
                                                : sight.kind != PD_SIGHT_UNKNOWN && !sight.may_trip;
    if (!good) {
        s->sheet->complete = false;
        return pd_notes_add(&s->sheet->untested,
                            "'%.60s': no step can be set out at %.4g %s; its thresholds are not "
                            "declared, or its tolerance leaves no room between them.",
                            d.name, step->value, pd_sense_unit(d.senses));
    }
    struct pd_step *const larger = pd_grow(s->sheet->step, s->sheet->count, sizeof *larger);
    if (larger == NULL)
        return PD_ERR_MEMORY;
    s->sheet->step = larger;
    larger[s->sheet->count++] = *step;
    return PD_OK;
}

static struct pd_step new_step(const struct setting_out *s, int line, double value,
                               enum pd_expected expected)
{
    const struct pd_detector *const d = device_of(s);
    const double delay_s = isnan(d->delay_s) ? 0 : d->delay_s;
    struct pd_step step = {.detector = s->detector,
                           .value = value,
                           .line = line,
                           .line_v = {NAN, NAN, NAN},
                           .expected = expected,
                           .within_s =
                               expected == PD_ACTS ? d->delay_s : fmax(least_wait_s, 2 * delay_s),
                           .pe_v = NAN};
    if (d->senses == PD_SENSE_PE)
        step.pe_v = value / pd_detector_share(d);
    return step;
}

/* A band: each threshold of each line, the other lines at nominal. A device of one line that may be
 * on any has them all on the same voltage: it is fed from one source. */
static enum pd_status set_out_band(const struct setting_out *s, int line)
{
    const struct pd_detector *const d = device_of(s);
    const double away_v = d->tolerance_v + margin_v;
    const struct {
        double value_v;
        enum pd_expected expected;
    } points[] = {{d->low_v + away_v, PD_STAYS_CLOSED},
                  {d->low_v - away_v, PD_ACTS},
                  {d->high_v - away_v, PD_STAYS_CLOSED},
                  {d->high_v + away_v, PD_ACTS}};
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < sizeof points / sizeof points[0] && status == PD_OK; i++) {
        if (points[i].value_v < 0)
            continue; /* a band that reaches down to 0 V has no lower threshold */
        struct pd_step step = new_step(s, line, points[i].value_v, points[i].expected);
        for (int other = PD_L1; other < PD_LINES; other++)
            if ((s->lines & 1u << other) != 0)
                step.line_v[other] = d->senses == PD_SENSE_LINE || other == line
                                         ? points[i].value_v
                                         : s->sheet->study_case->network->nominal_v;
        status = keep(s, &step);
    }
    return status;
}

/* A displacement of the neutral towards L1, as line-neutral voltages of a nominal supply. */
static void displace(const struct setting_out *s, struct pd_step *step)
{
    const struct pd_view view = apply(s, step);
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((s->lines & 1u << line) != 0)
            step->line_v[line] = cabs(view.v[line] - view.v[PD_N]);
}

static enum pd_status set_out_limit(const struct setting_out *s)
{
    const struct pd_detector *const d = device_of(s);
    const bool current = d->senses == PD_SENSE_PE_CURRENT;
    const double limit = current ? d->limit_a : d->limit_v;
    const double away =
        current ? d->tolerance_a + margin_part * d->limit_a : d->tolerance_v + margin_v;
    enum pd_status status = PD_OK;
    for (int which = PD_STAYS_CLOSED; which <= PD_ACTS && status == PD_OK; which++) {
        struct pd_step step = new_step(s, -1, which == PD_ACTS ? limit + away : limit - away,
                                       (enum pd_expected)which);
        if (d->senses == PD_SENSE_STAR_POINT)
            displace(s, &step);
        status = keep(s, &step);
    }
    return status;
}

static enum pd_status set_out(const struct setting_out *s)
{
    const struct pd_detector *const d = device_of(s);
    enum pd_status status = PD_OK;
    if (!pd_sense_has_band(d->senses))
        return set_out_limit(s);
    for (int line = PD_L1; line < PD_LINES && status == PD_OK; line++) {
        if ((s->lines & 1u << line) == 0)
            continue;
        status = set_out_band(s, line);
        if (d->senses == PD_SENSE_LINE)
            break;
    }
    return status;
}

static enum pd_status say_worst(const struct pd_assessment *a, struct pd_test_sheet *sheet)
{
    char sentence[PD_HAZARD_MAX];
    if (a->worst_unseen != PD_NONE) {
        pd_describe_hazard(a, a->worst_unseen, "In the network ", sentence, sizeof sentence);
        return pd_notes_add(&sheet->unproved, "%s", sentence);
    }
    if (isfinite(a->residual_v))
        return pd_notes_add(&sheet->unproved,
                            "In this case as declared no open PEN leaves the chassis over %.1f V "
                            "unseen: that is worked out, not tested.",
                            a->study_case->limits.touch_v);
    return pd_notes_add(&sheet->unproved, "Whether the devices see what an open PEN does in this "
                                          "case is not determined.");
}

static enum pd_status say_unproved(const struct pd_assessment *a, struct pd_test_sheet *sheet)
{
    const struct pd_detectors *const detectors = &a->study_case->detectors;
    enum pd_status status = say_worst(a, sheet);
    if (status == PD_OK && a->shown[PD_CROSSED] != PD_NONE &&
        pd_is_hazard(&a->scenario[a->shown[PD_CROSSED]])) {
        char sentence[PD_HAZARD_MAX];
        pd_describe_hazard(a, a->shown[PD_CROSSED], "And ", sentence, sizeof sentence);
        status = pd_notes_add(&sheet->unproved, "%s", sentence);
    }
    if (status == PD_OK)
        status = pd_notes_add(&sheet->unproved,
                              "Thresholds and times on the device's own terminals say nothing of "
                              "what the network puts there when a PEN opens elsewhere, with "
                              "neighbours on the same neutral.");
    for (size_t i = 0; i < detectors->count && status == PD_OK; i++)
        if (detectors->detector[i].senses == PD_SENSE_PE)
            status = pd_notes_add(&sheet->unproved,
                                  "'%.60s': its reference electrode, what that has to earth and "
                                  "how far it stands from other electrodes are not in the steps; "
                                  "measure it, and after dry weather again.",
                                  detectors->detector[i].name);
        else if (detectors->detector[i].senses == PD_SENSE_PE_CURRENT)
            status = pd_notes_add(&sheet->unproved,
                                  "'%.60s': with the electrode off or dried out there is no "
                                  "current, and it sees nothing; the steps do not show that.",
                                  detectors->detector[i].name);
    return status;
}

static enum pd_status fill(const struct pd_assessment *a, struct pd_test_sheet *sheet)
{
    const struct pd_case *const c = a->study_case;
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < c->detectors.count && status == PD_OK && c->network != NULL; i++) {
        const size_t node = c->detector_node[i];
        const struct setting_out s = {.sheet = sheet,
                                      .detector = i,
                                      .lines =
                                          node != PD_NONE && node < c->network->node_count
                                              ? c->installation_lines & c->network->node[node].lines
                                              : 0};
        status = set_out(&s);
    }
    for (size_t i = 0; i < c->missing.count && status == PD_OK; i++)
        status = pd_notes_add(&sheet->untested, "%s", c->missing.text[i]);
    return status == PD_OK && c->detectors.count > 0 ? say_unproved(a, sheet) : status;
}

enum pd_status pd_commission(const struct pd_assessment *assessment, struct pd_test_sheet **out)
{
    struct pd_test_sheet *const sheet = *out = calloc(1, sizeof *sheet);
    if (sheet == NULL)
        return PD_ERR_MEMORY;
    sheet->study_case = assessment->study_case;
    sheet->complete = assessment->study_case->missing.count == 0;
    const enum pd_status status = fill(assessment, sheet);
    if (status != PD_OK)
        pd_test_sheet_free(out);
    return status;
}

void pd_test_sheet_free(struct pd_test_sheet **sheet)
{
    if (sheet == NULL || *sheet == NULL)
        return;
    free((*sheet)->step);
    pd_notes_free(&(*sheet)->untested);
    pd_notes_free(&(*sheet)->unproved);
    free(*sheet);
    *sheet = NULL;
}
