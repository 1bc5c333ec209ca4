/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/describe.h"

#include <stdio.h>

#include "table/figure.h"

void pd_describe_place(const struct pd_assessment *a, const struct pd_scenario *s, char *text,
                       size_t size)
{
    const char *const loads = s->loads == PD_LOADS_CORNER ? "at the worst found in their ranges"
                                                          : pd_loads_names[s->loads];
    const struct pd_node *const node = a->study_case->network->node;
    const char *const section = s->section != PD_NONE ? node[s->section].section : "";
    char fault[120];
    switch (s->fault) {
    case PD_OPEN_PEN:
        snprintf(fault, sizeof fault, "with the PEN open in section '%.60s'", section);
        break;
    case PD_PEN_JOINT:
        snprintf(fault, sizeof fault, "with a PEN joint of %s ohm in section '%.60s'",
                 pd_figure_ohm(s->joint_ohm).text, section);
        break;
    case PD_CROSSED:
        snprintf(fault, sizeof fault, "with L%d and PEN changed over in section '%.60s'",
                 s->line + 1, section);
        break;
    case PD_HEALTHY:
    case PD_OPEN_NEUTRAL:
    case PD_LINE_TO_PEN:
    case PD_OPEN_EARTHING:
        snprintf(fault, sizeof fault, "%s",
                 s->fault == PD_HEALTHY ? "with no fault" : pd_fault_names[s->fault]);
        break;
    }
    snprintf(text, size, "%s, loads %s, supply %.1f V", fault, loads, s->supply_v);
}

/* Currents of devices are small. */
static int sense_decimals(const struct pd_detector *d)
{
    return d->senses == PD_SENSE_PE_CURRENT ? 3 : 1;
}

void pd_describe_blindness(const struct pd_assessment *a, const struct pd_scenario *s, char *text,
                           size_t size)
{
    const struct pd_case *const c = a->study_case;
    if (c->detectors.count == 0) {
        snprintf(text, size, "nothing watches for it");
        return;
    }
    size_t which = 0; /* the first, unless another would do but for closing again */
    for (size_t i = 0; i < c->detectors.count && s->recloses; i++)
        if (pd_sight_in_time_until_reset(&s->sight[i], c->limits.time_s))
            which = i;
    const struct pd_detector *const d = &c->detectors.detector[which];
    const struct pd_sight *const sight = &s->sight[which];
    if (sight->kind == PD_SIGHT_UNKNOWN)
        snprintf(text, size, "what '%.60s' sees is not determined", d->name);
    else if (sight->kind == PD_SEES && sight->recloses)
        snprintf(text, size,
                 "'%.60s' sees it but closes again by itself: with the PEN still open the chassis "
                 "may be made live again, over and over",
                 d->name);
    else if (sight->kind == PD_SEES)
        snprintf(text, size, "'%.60s' sees it but does not let go of PE in time", d->name);
    else if (pd_sense_has_band(d->senses))
        snprintf(text, size,
                 "'%.60s' does not see it: %.1f V line to neutral is inside %.1f to %.1f V",
                 d->name, sight->figure, pd_detector_window(d).low, pd_detector_window(d).high);
    else
        snprintf(text, size, "'%.60s' does not see it: %.*f %s against %.*f %s", d->name,
                 sense_decimals(d), sight->figure, pd_sense_unit(d->senses), sense_decimals(d),
                 pd_detector_window(d).high, pd_sense_unit(d->senses));
}

void pd_describe_hazard(const struct pd_assessment *a, size_t index, const char *lead, char *text,
                        size_t size)
{
    const struct pd_scenario *const s = &a->scenario[index];
    char where[200], blindness[240];
    pd_describe_place(a, s, where, sizeof where);
    pd_describe_blindness(a, s, blindness, sizeof blindness);
    snprintf(text, size, "%sthe chassis reaches %.1f V %s: over %.1f V, and %s.", lead, s->touch_v,
             where, a->study_case->limits.touch_v, blindness);
}
