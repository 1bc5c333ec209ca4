/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <stdlib.h>

#include "report/assess_html.h"
#include "report/report.h"
#include "report/scenario.h"

/* The worst of so many breaks is shown; the JSON has every scenario. */
enum { SCENARIOS_SHOWN = 30 };

static const struct pd_mirror_column columns[] = {
    {"PEN broken in", "section", "(no fault)", NULL},
    {"fault", "fault", NULL, NULL},
    {"loads", "loads", NULL, NULL},
    {">supply V", "supply_v", NULL, NULL},
    {">MET V", "met_v", "not determined", NULL},
    {">touch V", "touch_v", "not determined", NULL},
    {">L1-N V", "line_neutral_v[0]", NULL, NULL},
    {">L2-N V", "line_neutral_v[1]", NULL, NULL},
    {">L3-N V", "line_neutral_v[2]", NULL, NULL},
    {">electrode A", "electrode_a", NULL, NULL},
    {"over the limit", "over_limit", "not determined", NULL},
    {"disconnected in time", "disconnected_in_time", NULL, "over_limit"},
};

static enum pd_status write_scenarios(struct pd_mirror *m, const struct pd_assessment *a)
{
    size_t worst[SCENARIOS_SHOWN], count = 0;
    pd_html_section(&m->html, "scenarios", "Scenarios");
    static const struct pd_mirror_row rows[] = {
        {"sections opened, one at a time", "counts.sections_opened", NULL},
        {"scenarios that the verdict rests on", "counts.judged", NULL},
        {"of these over the limit", "counts.over_limit", NULL},
        {"of these not disconnected in time", "counts.not_disconnected", NULL},
        {"of these let go in time, but closed again by itself", "counts.closes_again", NULL},
        {"not solved", "counts.not_solved", NULL},
        {"scenarios in all", "counts.scenarios", NULL},
    };
    pd_mirror_properties(m, "What was computed", rows, sizeof rows / sizeof rows[0]);
    const enum pd_status status = pd_scenario_sections(a, worst, SCENARIOS_SHOWN, &count);
    const struct pd_mirror_items items = {"scenarios", worst,
                                          count < SCENARIOS_SHOWN ? count : SCENARIOS_SHOWN};
    pd_mirror_table(m, "The worst scenario of each broken section, the worst first", &items,
                    columns, sizeof columns / sizeof columns[0]);
    if (count > 0)
        pd_html_paragraph(&m->html, "note",
                          count > SCENARIOS_SHOWN
                              ? "Only the worst sections are shown; the JSON (--format json) has "
                                "every scenario of every section."
                              : "The JSON (--format json) has every scenario of every section.");
    pd_html_section_end(&m->html);
    return status;
}

static void write_assumptions(struct pd_mirror *m)
{
    pd_html_section(&m->html, "assumed", "Assumed, and quoted from memory");
    if (pd_mirror_length(m, "assumptions") == 0)
        pd_html_paragraph(&m->html, NULL, "Nothing had to be assumed.");
    pd_mirror_list(m, "assumptions");
    pd_html_heading(&m->html, 3, "How sure the published figures are");
    pd_html_list(&m->html);
    const char *const status = pd_mirror_string(m, "limits.status");
    char text[600];
    snprintf(text, sizeof text, "limits: %.80s (%.400s)", status != NULL ? status : "not known",
             pd_mirror_string(m, "limits.source") != NULL ? pd_mirror_string(m, "limits.source")
                                                          : "no source");
    pd_html_item(&m->html, text);
    for (size_t i = 0; i < pd_mirror_length(m, "person.sources"); i++) {
        const char *const source =
            pd_mirror_string(m, pd_mirror_path("person.sources[%zu]", i).text);
        if (source != NULL && source[0] != '\0')
            pd_html_item(&m->html, source);
    }
    pd_html_item(&m->html,
                 "the annex's form of the electrode formula: from memory, low confidence");
    pd_html_item(&m->html, "how far PME metalwork must be from a charging point on TT: common "
                           "practice, from memory");
    pd_html_list_end(&m->html);
    pd_html_section_end(&m->html);
}

static void write_inputs(struct pd_mirror *m)
{
    static const struct pd_mirror_column digests[] = {
        {"file", "file", NULL, NULL},
        {"SHA-256", "sha256", "not an ordinary file", NULL},
    };
    const struct pd_mirror_items items = {"inputs", NULL, pd_mirror_length(m, "inputs")};
    pd_mirror_table(m, "Every table that was read, with its digest (sha256sum shows the same)",
                    &items, digests, sizeof digests / sizeof digests[0]);
}

enum pd_status pd_assess_html_record(struct pd_mirror *m, const struct pd_assess_page *page)
{
    char version[80];
    const enum pd_status status = write_scenarios(m, page->assessment);
    write_assumptions(m);
    pd_html_section(&m->html, "record", "How to make this report again");
    pd_html_verbatim(&m->html, page->command);
    snprintf(version, sizeof version, "By pendrift %s, on the tables below.", pd_version);
    pd_html_paragraph(&m->html, NULL, version);
    write_inputs(m);
    pd_html_section_end(&m->html);
    return status;
}
