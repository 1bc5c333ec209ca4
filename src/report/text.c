/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/text.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

#include "report/cautions.h"
#include "report/figure.h"
#include "report/report.h"

static void write_verdict(struct pd_page *page, const struct pd_assessment *assessment, bool color)
{
    static const char *const colors[PD_OVERALLS] = {[PD_ACCEPTABLE] = "\033[1;32m",
                                                    [PD_RESIDUAL_HAZARD] = "\033[1;33m",
                                                    [PD_NOT_ACCEPTABLE] = "\033[1;31m",
                                                    [PD_OVERALL_UNKNOWN] = "\033[1;33m"};
    char word[32] = "";
    const char *const name = pd_overall_names[assessment->overall];
    for (size_t i = 0; name[i] != '\0' && i + 1 < sizeof word; i++)
        word[i] = (char)toupper((unsigned char)name[i]);
    fputs(color ? colors[assessment->overall] : "", page->out);
    pd_page_wrap(page, 0, word);
    fputs(color ? "\033[0m" : "", page->out);
    pd_page_to(page, page->column + 2);
    pd_page_wrap(page, page->column, assessment->study_case->title);
    pd_page_end_line(page);
}

static void write_notes(struct pd_page *page, const char *mark, const struct pd_notes *notes)
{
    for (size_t i = 0; i < notes->count; i++)
        pd_page_paragraph(page, 2, mark, 4, notes->text[i]);
}

static void write_reasons(struct pd_page *page, const struct pd_assessment *assessment)
{
    pd_page_end_line(page);
    write_notes(page, "-", &assessment->because);
    pd_page_end_line(page);
    pd_page_paragraph(page, 0, "", 0, pd_caution_short);
    pd_page_paragraph(page, 0, "", 0, "The cautions at the end are part of this answer.");
}

enum { RULE_COLUMN = 24, NETWORK_COLUMN = 52 };

static void write_row(struct pd_page *page, const char *label, const char *rule,
                      const char *network)
{
    page->column = 2;
    pd_page_wrap(page, 2, label);
    pd_page_to(page, RULE_COLUMN);
    pd_page_wrap(page, RULE_COLUMN, rule);
    pd_page_to(page, NETWORK_COLUMN);
    pd_page_wrap(page, NETWORK_COLUMN, network);
    pd_page_end_line(page);
}

struct phrase {
    char text[64];
};

static struct phrase what_would_do(const struct pd_reading *reading)
{
    const double ohm = reading->electrode_max_ohm;
    struct phrase phrase = {"not determined"};
    if (ohm == 0)
        snprintf(phrase.text, sizeof phrase.text, "no electrode alone");
    else if (isfinite(ohm))
        snprintf(phrase.text, sizeof phrase.text, "%s ohm or less", pd_figure_ohm_most(ohm).text);
    else if (!isnan(ohm))
        snprintf(phrase.text, sizeof phrase.text, "no electrode needed");
    return phrase;
}

static void write_readings(struct pd_page *page, const struct pd_assessment *assessment)
{
    const struct pd_reading *const rule = &assessment->rule, *const network = &assessment->network;
    pd_page_end_line(page);
    pd_page_to(page, 0);
    pd_page_wrap(page, 0, "TWO READINGS");
    pd_page_to(page, RULE_COLUMN);
    pd_page_wrap(page, RULE_COLUMN, "the rule");
    pd_page_to(page, NETWORK_COLUMN);
    pd_page_wrap(page, NETWORK_COLUMN, "the network");
    pd_page_end_line(page);
    write_row(page, "earth electrode", pd_answer_names[rule->electrode],
              pd_answer_names[network->electrode]);
    write_row(page, "ohms that would do", what_would_do(rule).text, what_would_do(network).text);
    write_row(page, "built-in detection", pd_answer_names[rule->detection],
              pd_answer_names[network->detection]);
}

static void write_route_figures(struct pd_page *page, const struct pd_route *route)
{
    if (!isfinite(route->value) && !isfinite(route->limit))
        return;
    const struct pd_figure_pair pair =
        pd_figure_pair(route->value, route->limit, route->margin, route->unit);
    const char *const blank = route->unit[0] != '\0' ? " " : "";
    char line[256], has[64] = "", margin[64] = "";
    if (isfinite(route->value))
        snprintf(has, sizeof has, "has %s%s%.4s, ", pair.value.text, blank, route->unit);
    if (isfinite(route->margin))
        snprintf(margin, sizeof margin, ", margin %s%s%.4s", pair.margin.text, blank, route->unit);
    snprintf(line, sizeof line, "%slimit %s%s%.4s%s", has, pair.limit.text, blank, route->unit,
             margin);
    pd_page_paragraph(page, 6, "", 6, line);
}

static void write_routes(struct pd_page *page, const struct pd_assessment *assessment)
{
    pd_page_heading(page, "ROUTES");
    if (assessment->study_case->missing.count > 0) {
        pd_page_paragraph(page, 2, "", 2, "not determined: the case is incomplete");
        return;
    }
    for (size_t i = 0; i < PD_ROUTES; i++) {
        const struct pd_route *const route = &assessment->route[i];
        char name[96];
        snprintf(name, sizeof name, "%d %s", (int)route->kind, pd_route_names[route->kind]);
        page->column = 2;
        pd_page_wrap(page, 4, name);
        if (page->column > PD_REPORT_WIDTH - 18)
            pd_page_end_line(page);
        pd_page_right(page, PD_REPORT_WIDTH, pd_result_names[route->result]);
        pd_page_end_line(page);
        write_route_figures(page, route);
        if (route->why[0] != '\0')
            pd_page_paragraph(page, 6, "", 6, route->why);
        if (route->scenario[0] != '\0')
            pd_page_paragraph(page, 6, "decided by:", 18, route->scenario);
    }
}

enum pd_status pd_report_text(FILE *out, const struct pd_assessment *assessment,
                              const struct pd_report_style *style)
{
    struct pd_page page = {.out = out};
    write_verdict(&page, assessment, style->color);
    write_reasons(&page, assessment);
    write_readings(&page, assessment);
    pd_text_worst(&page, assessment);
    write_routes(&page, assessment);
    enum pd_status status = pd_text_earth(&page, assessment);
    if (status == PD_OK)
        status = pd_text_scenarios(&page, assessment);
    pd_text_person(&page, assessment);
    pd_text_tt(&page, assessment);
    pd_text_after(&page, assessment);
    pd_text_faults(&page, assessment);
    pd_text_record(&page, assessment);
    pd_text_cautions(&page);
    return ferror(out) ? PD_ERR_FILE : status;
}
