/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/text.h"

#include <math.h>

#include "report/figure.h"
#include "report/plain.h"
#include "report/scenario.h"

enum { FAULT = 2, CHASSIS = 26, METALWORK = 42, BETWEEN = 56, SECTION = 58, SECTION_WIDTH = 22 };

static void write_heads(struct pd_page *page)
{
    pd_page_to(page, FAULT);
    pd_page_wrap(page, FAULT, "worst of each");
    pd_page_right(page, CHASSIS, "chassis V");
    pd_page_right(page, METALWORK, "PME metalwork V");
    pd_page_right(page, BETWEEN, "between V");
    pd_page_to(page, SECTION);
    pd_page_wrap(page, SECTION, "in section");
    pd_page_end_line(page);
}

static void write_fault(struct pd_page *page, const struct pd_assessment *assessment,
                        enum pd_fault_kind kind)
{
    const size_t worst = assessment->tt.worst[kind];
    pd_page_to(page, FAULT);
    pd_page_wrap(page, FAULT, pd_fault_names[kind]);
    if (worst >= assessment->scenario_count) {
        pd_page_to(page, CHASSIS - 9);
        pd_page_wrap(page, CHASSIS - 9,
                     kind == PD_OPEN_EARTHING ? "not the conductor of this chassis"
                     : (assessment->faults & 1u << kind) == 0
                         ? "not run"
                         : "has no place here, or could not be solved");
        pd_page_end_line(page);
        return;
    }
    const struct pd_scenario *const s = &assessment->scenario[worst];
    const char *const section = pd_scenario_section(assessment, s);
    pd_page_right(page, CHASSIS, pd_figure_v(pd_scenario_figure(s, s->touch_v)).text);
    pd_page_right(page, METALWORK, pd_figure_v(pd_scenario_figure(s, s->met_v)).text);
    pd_page_right(page, BETWEEN, pd_figure_v(pd_scenario_figure(s, s->reach_v)).text);
    if (section != NULL) {
        pd_page_to(page, SECTION);
        pd_page_wrap(page, SECTION, pd_plain_short(section, SECTION_WIDTH).text);
    }
    pd_page_end_line(page);
}

static void write_earth_fault(struct pd_page *page, const struct pd_case *c, const struct pd_tt *tt)
{
    char line[320];
    if (!isfinite(tt->fault_a)) {
        pd_page_paragraph(page, 2, "", 2, "A line to the chassis: not determined without R_A.");
        return;
    }
    snprintf(line, sizeof line,
             "A line to the chassis, supply healthy: up to %s V on it until the RCD acts; at least "
             "%s A flow, and an RCD of %s mA %s.",
             pd_figure_v(tt->fault_v).text, pd_figure(tt->fault_a, 2).text,
             pd_figure(1000 * c->rcd_a, 0).text,
             tt->no_trip == PD_OVER     ? "trips"
             : tt->no_trip == PD_WITHIN ? "does not trip for sure: the chassis stays live"
                                        : "may or may not trip: not determined");
    pd_page_paragraph(page, 2, "", 2, line);
}

static void write_reach(struct pd_page *page, const struct pd_case *c)
{
    char line[320];
    if (!pd_tt_beside_pme(c))
        return;
    if (isfinite(c->reach_m))
        snprintf(line, sizeof line,
                 "Nearest PME metalwork to the charging point or a vehicle at it: %.3g m, at least "
                 "%.3g m asked for (common practice, 2 m and 2.5 m, from memory).",
                 c->reach_m, pd_tt_reach_m);
    else
        snprintf(line, sizeof line,
                 "Nearest PME metalwork to the charging point or a vehicle at it: not declared, so "
                 "simultaneous contact is not determined.");
    pd_page_paragraph(page, 2, "", 2, line);
}

void pd_text_tt(struct pd_page *page, const struct pd_assessment *assessment)
{
    if (!assessment->tt.applies || assessment->scenario_count == 0)
        return;
    pd_page_heading(page, "THE CHARGING POINT ON ITS OWN ELECTRODE (TT)");
    write_heads(page);
    for (int kind = 0; kind < PD_FAULTS; kind++)
        write_fault(page, assessment, (enum pd_fault_kind)kind);
    write_earth_fault(page, assessment->study_case, &assessment->tt);
    write_reach(page, assessment->study_case);
}
