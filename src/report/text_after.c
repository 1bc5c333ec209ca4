/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/text.h"

#include <math.h>

#include "report/figure.h"
#include "report/plain.h"
#include "report/scenario.h"
#include "report/thresholds.h"

enum { MARGIN = 6, VALUES = 26 };

struct phrase {
    char text[400];
};

/* "PEN open in 'service 1', loads high, supply 253.0 V" */
static struct phrase scenario_phrase(const struct pd_assessment *assessment,
                                     const struct pd_scenario *scenario)
{
    const char *const section = pd_scenario_section(assessment, scenario);
    struct phrase phrase;
    snprintf(phrase.text, sizeof phrase.text, "%s in '%.160s', loads %s, supply %s V",
             scenario->fault == PD_PEN_JOINT ? "bad PEN joint" : "PEN open",
             pd_plain_short(section != NULL ? section : "", 40).text,
             pd_loads_names[scenario->loads], pd_figure_v(scenario->supply_v).text);
    return phrase;
}

static struct phrase device_phrase(const struct pd_assessment *assessment,
                                   const struct pd_after *after)
{
    struct phrase phrase = {"none acts"};
    char time[48] = "at a time not declared";
    if (after->detector == PD_NONE)
        return phrase;
    const struct pd_detector *const d =
        &assessment->study_case->detectors.detector[after->detector];
    if (isfinite(after->time_s))
        snprintf(time, sizeof time, "after %s s", pd_figure_s(after->time_s).text);
    snprintf(phrase.text, sizeof phrase.text, "'%.160s' disconnects %s of the %s, %s",
             pd_plain_short(d->name, 40).text, pd_disconnects_phrase(d),
             after->whole ? "installation" : "charging point", time);
    return phrase;
}

static struct phrase potential_phrase(bool let_go, double voltage_v)
{
    struct phrase phrase = {"let go of the PEN, nothing drives it"};
    if (!let_go && isfinite(voltage_v))
        snprintf(phrase.text, sizeof phrase.text, "still bonded to the drifting PEN: %s V",
                 pd_figure_v(voltage_v).text);
    else if (!let_go)
        snprintf(phrase.text, sizeof phrase.text,
                 "still bonded to the drifting PEN, at a voltage not determined");
    return phrase;
}

static struct phrase supply_phrase(const struct pd_after *after)
{
    struct phrase phrase = {"none in the installation"};
    size_t used = 0;
    if (after->whole)
        return phrase;
    const char *const point = after->detector != PD_NONE ? "none at the charging point; " : "";
    used += (size_t)snprintf(phrase.text, sizeof phrase.text, "%sthe %sinstallation has", point,
                             after->detector != PD_NONE ? "rest of the " : "");
    bool any = false;
    for (int line = PD_L1; line < PD_LINES; line++)
        if (isfinite(after->line_neutral_v[line])) {
            used += (size_t)snprintf(phrase.text + used, sizeof phrase.text - used,
                                     "%s L%d to neutral %s V", any ? "," : "", line + 1,
                                     pd_figure_v(after->line_neutral_v[line]).text);
            any = true;
        }
    if (!any)
        snprintf(phrase.text + used, sizeof phrase.text - used, " a voltage not determined");
    return phrase;
}

static void write_again(struct pd_page *page, const struct pd_assessment *assessment,
                        const struct pd_after *after)
{
    const struct pd_detector *const d =
        &assessment->study_case->detectors.detector[after->detector];
    char line[320], when[64] = "by itself";
    if (d->reset != PD_RESET_AUTOMATIC)
        return;
    if (isfinite(d->reset_s))
        snprintf(when, sizeof when, "by itself after %s s", pd_figure_s(d->reset_s).text);
    snprintf(line, sizeof line,
             after->held_open ? "%s, but not while these loads hold what it senses out of its "
                                "band; with others it does, and the chassis is live again"
                              : "%s: the chassis is live again, until the device acts anew",
             when);
    pd_page_paragraph(page, MARGIN, "it closes", VALUES, line);
}

static void write_after(struct pd_page *page, const struct pd_assessment *assessment,
                        const char *what, const struct pd_after *after)
{
    if (after->scenario >= assessment->scenario_count)
        return;
    pd_page_paragraph(page, 0, "", 2, what);
    pd_page_paragraph(page, 2, "", 4,
                      scenario_phrase(assessment, &assessment->scenario[after->scenario]).text);
    pd_page_paragraph(page, MARGIN, "device", VALUES, device_phrase(assessment, after).text);
    pd_page_paragraph(page, MARGIN, "chassis", VALUES,
                      potential_phrase(after->chassis_let_go, after->chassis_v).text);
    pd_page_paragraph(page, MARGIN, "other metalwork", VALUES,
                      potential_phrase(!after->rest_on_pen, after->rest_v).text);
    pd_page_paragraph(page, MARGIN, "supply left", VALUES, supply_phrase(after).text);
    if (after->detector == PD_NONE)
        return;
    write_again(page, assessment, after);
    if (!after->loads_off)
        pd_page_paragraph(page, MARGIN, "", MARGIN,
                          "The charging point has no node of its own in this case, so its load is "
                          "taken to stay on; give it one to have the rest worked out without it.");
}

void pd_text_after(struct pd_page *page, const struct pd_assessment *assessment)
{
    const struct pd_after *const seen = &assessment->after_seen;
    const struct pd_after *const unseen = &assessment->after_unseen;
    if (assessment->study_case->detectors.count == 0 ||
        (seen->scenario >= assessment->scenario_count &&
         unseen->scenario >= assessment->scenario_count))
        return;
    pd_page_heading(page, "WHAT IS LEFT ONCE A DEVICE HAS ACTED");
    write_after(page, assessment, "largest touch voltage that is disconnected in time", seen);
    write_after(page, assessment, "largest that nothing disconnects in time", unseen);
}
