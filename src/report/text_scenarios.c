/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/text.h"

#include <math.h>

#include "report/figure.h"
#include "report/plain.h"
#include "report/scenario.h"

/* Columns at which a cell ends, but for the first two, where it begins. */
enum { BREAK = 2, LOADS = 24, SUPPLY = 40, MET = 48, TOUCH = 56, LINES = 64, LINE_WIDTH = 8 };
enum { BREAK_WIDTH = LOADS - BREAK - 1, SECTION_ROWS = 8 };

static void write_column_heads(struct pd_page *page, unsigned lines)
{
    static const char *const line_names[PD_LINES] = {"L1-N V", "L2-N V", "L3-N V"};
    pd_page_to(page, BREAK);
    pd_page_wrap(page, BREAK, "PEN open in");
    pd_page_to(page, LOADS);
    pd_page_wrap(page, LOADS, "loads");
    pd_page_right(page, SUPPLY, "supply V");
    pd_page_right(page, MET, "MET V");
    pd_page_right(page, TOUCH, "touch V");
    int column = LINES;
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((lines & 1u << line) != 0) {
            pd_page_right(page, column, line_names[line]);
            column += LINE_WIDTH;
        }
    pd_page_end_line(page);
}

static void write_volts(struct pd_page *page, int column, double value_v)
{
    pd_page_right(page, column, pd_figure_v(value_v).text);
}

struct phrase {
    char text[320];
};

static struct phrase sight_phrase(const struct pd_detector *detector, const struct pd_sight *sight,
                                  double limit_s)
{
    struct phrase phrase;
    const char *what = "blind";
    char seen[96];
    if (sight->kind == PD_SIGHT_UNKNOWN) {
        what = "not determined";
    } else if (sight->kind == PD_SEES) {
        const char *const but = !sight->saves_touch                ? ", leaves PE connected"
                                : sight->recloses                  ? ", closes again by itself"
                                : pd_sight_in_time(sight, limit_s) ? ""
                                                                   : ", too late";
        if (isfinite(sight->time_s))
            snprintf(seen, sizeof seen, "sees it in %s s%s", pd_figure_s(sight->time_s).text, but);
        else
            snprintf(seen, sizeof seen, "sees it, delay not declared");
        what = seen;
    }
    snprintf(phrase.text, sizeof phrase.text, "%.160s: %s", pd_plain_short(detector->name, 40).text,
             what);
    return phrase;
}

static void write_sights(struct pd_page *page, const struct pd_assessment *assessment,
                         const struct pd_scenario *scenario)
{
    const struct pd_detectors *const detectors = &assessment->study_case->detectors;
    if (!pd_scenario_sure(scenario)) {
        pd_page_paragraph(page, BREAK + 2, "", BREAK + 2,
                          scenario->standing != PD_SOLVED ? "not solved: not determined"
                                                          : "no load or electrode ties the "
                                                            "neutral: no potential is defined");
        return;
    }
    if (scenario->let_go > 0) {
        char line[80];
        snprintf(line, sizeof line, "let go outside the voltage window: %zu of chargers, inverters",
                 scenario->let_go);
        pd_page_paragraph(page, BREAK + 2, "", BREAK + 2, line);
    }
    if (detectors->count == 0 || scenario->fault == PD_HEALTHY)
        return;
    page->column = BREAK + 2;
    for (size_t i = 0; i < detectors->count; i++) {
        const struct phrase phrase = sight_phrase(&detectors->detector[i], &scenario->sight[i],
                                                  assessment->study_case->limits.time_s);
        pd_page_wrap(page, BREAK + 2, phrase.text);
        if (i + 1 < detectors->count)
            pd_page_wrap(page, BREAK + 2, ";");
        page->column++;
    }
    pd_page_end_line(page);
}

static void write_scenario(struct pd_page *page, const struct pd_assessment *assessment,
                           size_t index)
{
    const struct pd_scenario *const scenario = &assessment->scenario[index];
    const char *const section = pd_scenario_section(assessment, scenario);
    pd_page_to(page, BREAK);
    pd_page_wrap(page, BREAK,
                 pd_plain_short(section != NULL ? section : "(healthy)", BREAK_WIDTH).text);
    pd_page_to(page, LOADS);
    pd_page_wrap(page, LOADS, pd_loads_names[scenario->loads]);
    write_volts(page, SUPPLY, scenario->supply_v);
    write_volts(page, MET, pd_scenario_figure(scenario, scenario->met_v));
    write_volts(page, TOUCH, pd_scenario_figure(scenario, scenario->touch_v));
    int column = LINES;
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((assessment->study_case->installation_lines & 1u << line) != 0) {
            write_volts(page, column, pd_scenario_figure(scenario, scenario->line_neutral_v[line]));
            column += LINE_WIDTH;
        }
    pd_page_end_line(page);
    write_sights(page, assessment, scenario);
}

/* A scenario that decides something, and what. */
struct deciding {
    const char *what;
    size_t index;
};

/* One that decides several things is shown once, under all of them. */
static void write_deciding(struct pd_page *page, const struct pd_assessment *assessment)
{
    struct deciding deciding[] = {
        {"largest touch voltage", assessment->worst},
        {"largest that nothing disconnects in time", assessment->worst_unseen},
        {"largest at present loads", pd_scenario_worst_present(assessment, PD_OPEN_PEN)},
        {"healthy supply", pd_scenario_worst_present(assessment, PD_HEALTHY)},
    };
    const size_t count = sizeof deciding / sizeof deciding[0];
    for (size_t i = 0; i < count; i++) {
        const size_t index = deciding[i].index;
        if (index >= assessment->scenario_count)
            continue;
        pd_page_to(page, 0);
        pd_page_wrap(page, 0, deciding[i].what);
        for (size_t k = i + 1; k < count; k++)
            if (deciding[k].index == index) {
                pd_page_wrap(page, 0, "; ");
                page->column++;
                pd_page_wrap(page, 0, deciding[k].what);
                deciding[k].index = PD_NONE;
            }
        pd_page_end_line(page);
        write_scenario(page, assessment, index);
    }
}

static enum pd_status write_sections(struct pd_page *page, const struct pd_assessment *assessment)
{
    size_t worst[SECTION_ROWS], count;
    if (pd_scenario_sections(assessment, worst, SECTION_ROWS, &count) != PD_OK)
        return PD_ERR_MEMORY;
    if (count < 2)
        return PD_OK;
    pd_page_paragraph(page, 0, "", 0, "each section at its worst");
    for (size_t i = 0; i < count && i < SECTION_ROWS; i++)
        write_scenario(page, assessment, worst[i]);
    if (count > SECTION_ROWS) {
        char line[80];
        snprintf(line, sizeof line, "%zu more: --format csv", count - SECTION_ROWS);
        pd_page_paragraph(page, BREAK, "", BREAK, line);
    }
    return PD_OK;
}

enum pd_status pd_text_scenarios(struct pd_page *page, const struct pd_assessment *assessment)
{
    pd_page_heading(page, "SCENARIOS THAT DECIDE");
    if (assessment->scenario_count == 0) {
        pd_page_paragraph(page, BREAK, "", BREAK, "none could be computed");
        return PD_OK;
    }
    write_column_heads(page, assessment->study_case->installation_lines);
    write_deciding(page, assessment);
    if (assessment->study_case->detectors.count == 0)
        pd_page_paragraph(page, 0, "", 0, "No detection device is declared.");
    return write_sections(page, assessment);
}
