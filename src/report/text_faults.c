/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/text.h"

#include <math.h>

#include "report/figure.h"
#include "report/plain.h"
#include "report/scenario.h"

struct phrase {
    char text[480];
};

/* "253.0 V on the chassis, L1 to neutral 252.4 V, in section 'service'; no device acts in time" */
static struct phrase worst_phrase(const struct pd_assessment *assessment,
                                  const struct pd_scenario *scenario)
{
    const char *const section = pd_scenario_section(assessment, scenario);
    const bool devices = assessment->study_case->detectors.count > 0;
    struct phrase phrase;
    char where[200] = "", lines[120] = "";
    size_t used = 0;
    if (section != NULL)
        snprintf(where, sizeof where, ", in section '%.160s'", pd_plain_short(section, 30).text);
    for (int line = PD_L1; line < PD_LINES; line++)
        if (isfinite(scenario->line_neutral_v[line]) && used < sizeof lines)
            used += (size_t)snprintf(lines + used, sizeof lines - used, ", L%d to neutral %s V",
                                     line + 1, pd_figure_v(scenario->line_neutral_v[line]).text);
    snprintf(phrase.text, sizeof phrase.text, "%s V on the chassis%s%s%s",
             pd_figure_v(scenario->touch_v).text, lines, where,
             scenario->touch != PD_OVER ? ": within the limit"
             : scenario->disconnected   ? ": disconnected in time"
             : devices                  ? ": over the limit, and no device acts in time"
                                        : ": over the limit, and nothing watches for it");
    return phrase;
}

static void write_prospective(struct pd_page *page, const struct pd_scenario *scenario)
{
    char line[120];
    if (!isfinite(scenario->prospective_a))
        return;
    snprintf(line, sizeof line, "Through a person it can drive %s mA at the most.",
             pd_figure_ma(scenario->prospective_a).text);
    pd_page_paragraph(page, 6, "", 6, line);
}

static void write_fault(struct pd_page *page, const struct pd_assessment *assessment,
                        enum pd_fault_kind kind)
{
    const size_t worst = assessment->shown[kind];
    pd_page_paragraph(page, 2, "", 2, pd_fault_names[kind]);
    pd_page_paragraph(page, 6, "", 6, pd_fault_what(kind));
    if (worst >= assessment->scenario_count) {
        pd_page_paragraph(page, 6, "", 6, "Has no place in this case, or could not be solved.");
        return;
    }
    pd_page_paragraph(page, 6, "", 6, worst_phrase(assessment, &assessment->scenario[worst]).text);
    write_prospective(page, &assessment->scenario[worst]);
}

/* The heat of a PEN joint gone bad is news of its own. */
static void write_hottest(struct pd_page *page, const struct pd_assessment *assessment)
{
    if (assessment->hottest >= assessment->scenario_count)
        return;
    const struct pd_scenario *const scenario = &assessment->scenario[assessment->hottest];
    const char *const section = pd_scenario_section(assessment, scenario);
    char line[320];
    snprintf(line, sizeof line,
             "The hottest bad joint: %s W in one of %s ohm in section '%.160s', loads %s.",
             pd_figure(scenario->joint_w, 0).text, pd_figure_ohm(scenario->joint_ohm).text,
             pd_plain_short(section != NULL ? section : "", 40).text,
             pd_loads_names[scenario->loads]);
    pd_page_paragraph(page, 2, "", 2, line);
}

void pd_text_faults(struct pd_page *page, const struct pd_assessment *assessment)
{
    if (assessment->scenario_count == 0)
        return;
    pd_page_heading(page, "OTHER NEUTRAL FAULTS (beside the verdict)");
    for (int kind = 0; kind < PD_FAULTS; kind++)
        if (!pd_fault_judged((enum pd_fault_kind)kind) && (assessment->faults & 1u << kind) != 0)
            write_fault(page, assessment, (enum pd_fault_kind)kind);
    write_hottest(page, assessment);
}
