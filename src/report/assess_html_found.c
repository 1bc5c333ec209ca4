/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "report/assess_html.h"
#include "report/worst.h"

static void text_cell(struct pd_mirror *m, const char *path)
{
    const char *const text = pd_mirror_string(m, path);
    pd_html_cell(&m->html, text != NULL ? text : "not determined");
}

/* Null in the JSON both where none is needed and where it is not known: the answer tells which. */
static void ohm_cell(struct pd_mirror *m, const char *reading, double max_ohm)
{
    const struct pd_mirror_path path = pd_mirror_path("verdict.%s.electrode.max_ohm", reading);
    pd_html_cell_begin(&m->html, false);
    if (max_ohm == 0)
        pd_html_text(&m->html, "no electrode alone would do");
    else
        pd_mirror_quantity(m, path.text, isnan(max_ohm) ? "not determined" : "no electrode needed");
    pd_html_cell_end(&m->html);
}

static void write_readings(struct pd_mirror *m, const struct pd_assessment *a)
{
    static const char *const headings[] = {"Question", "The rule", "The network"};
    pd_html_section(&m->html, "readings", "Two readings");
    pd_html_paragraph(&m->html, NULL,
                      "The rule: what the limit set's method asks of the installation alone. The "
                      "network: what the model says with neighbours, load ranges and every break.");
    pd_html_table(&m->html, "What each reading answers", headings, 3);
    pd_html_row(&m->html);
    pd_html_row_head(&m->html, "earth electrode");
    text_cell(m, "verdict.rule.electrode.answer");
    text_cell(m, "verdict.network.electrode.answer");
    pd_html_row_end(&m->html);
    pd_html_row(&m->html);
    pd_html_row_head(&m->html, "ohms that would do, at most");
    ohm_cell(m, "rule", a->rule.electrode_max_ohm);
    ohm_cell(m, "network", a->network.electrode_max_ohm);
    pd_html_row_end(&m->html);
    pd_html_row(&m->html);
    pd_html_row_head(&m->html, "built-in detection");
    text_cell(m, "verdict.rule.detection.answer");
    text_cell(m, "verdict.network.detection.answer");
    pd_html_row_end(&m->html);
    pd_html_table_end(&m->html);
    static const struct pd_mirror_row rows[] = {
        {"largest touch voltage over the limit that nothing disconnects in time",
         "verdict.network.residual_v", "not determined"},
        {"main earthing terminal of the installation alone, PEN open", "verdict.rule.alone_v",
         NULL},
        {"electrode by the voltage divider", "verdict.rule.divider_ohm", NULL},
        {"electrode by the annex's form with a voltage factor (from memory, low confidence)",
         "verdict.rule.annex_ohm", NULL},
    };
    pd_mirror_properties(m, "Figures behind them", rows, sizeof rows / sizeof rows[0]);
    pd_html_section_end(&m->html);
}

static void route_figure(struct pd_mirror *m, size_t route, const char *key, double value,
                         const char *shown)
{
    const struct pd_mirror_path unit = pd_mirror_path("routes[%zu].unit", route);
    const struct pd_mirror_path path = pd_mirror_path("routes[%zu].%s", route, key);
    const char *const name = pd_mirror_string(m, unit.text);
    char text[80];
    snprintf(text, sizeof text, "%s%s%.8s", shown,
             name != NULL && name[0] != '\0' ? "\xc2\xa0" : "", name != NULL ? name : "");
    pd_html_cell_begin(&m->html, true);
    if (isfinite(value))
        pd_html_figure(&m->html, path.text, value, text);
    else
        pd_html_text(&m->html, "-");
    pd_html_cell_end(&m->html);
}

/* Value, limit and margin with as many decimals as show on which side the value lies. */
static void write_route(struct pd_mirror *m, size_t i)
{
    const double value = pd_mirror_number(m, pd_mirror_path("routes[%zu].value", i).text);
    const double limit = pd_mirror_number(m, pd_mirror_path("routes[%zu].limit", i).text);
    const double margin = pd_mirror_number(m, pd_mirror_path("routes[%zu].margin", i).text);
    const char *const unit = pd_mirror_string(m, pd_mirror_path("routes[%zu].unit", i).text);
    const struct pd_figure_pair pair =
        pd_figure_pair(value, limit, margin, unit != NULL ? unit : "");
    char head[120];
    snprintf(head, sizeof head, "%zu. %.100s", i + 1,
             pd_mirror_string(m, pd_mirror_path("routes[%zu].name", i).text));
    pd_html_row(&m->html);
    pd_html_row_head(&m->html, head);
    text_cell(m, pd_mirror_path("routes[%zu].result", i).text);
    route_figure(m, i, "value", value, pair.value.text);
    route_figure(m, i, "limit", limit, pair.limit.text);
    route_figure(m, i, "margin", margin, pair.margin.text);
    pd_html_row_end(&m->html);
}

static void write_route_reasons(struct pd_mirror *m, size_t i)
{
    const char *const why = pd_mirror_string(m, pd_mirror_path("routes[%zu].because", i).text);
    const char *const by = pd_mirror_string(m, pd_mirror_path("routes[%zu].scenario", i).text);
    if ((why == NULL || why[0] == '\0') && by == NULL)
        return;
    pd_html_row(&m->html);
    pd_html_row_head(&m->html, pd_mirror_path("%zu", i + 1).text);
    pd_html_cell(&m->html, why != NULL ? why : "");
    pd_html_cell(&m->html, by != NULL ? by : "-");
    pd_html_row_end(&m->html);
}

static void write_routes(struct pd_mirror *m, const struct pd_assessment *a)
{
    static const char *const headings[] = {"Route", "Result", ">Has", ">Limit", ">Margin"};
    static const char *const reasons[] = {"Route", "Reason", "Decided by"};
    const size_t count = pd_mirror_length(m, "routes");
    pd_html_section(&m->html, "routes", "Routes of the rule");
    if (a->study_case->missing.count > 0) {
        pd_html_paragraph(&m->html, NULL, "Not determined: the case is incomplete.");
        pd_html_section_end(&m->html);
        return;
    }
    pd_html_table(&m->html, "Each route held against the rule; a margin above zero is to the good",
                  headings, 5);
    for (size_t i = 0; i < count; i++)
        write_route(m, i);
    pd_html_table_end(&m->html);
    pd_html_table(&m->html, "Why", reasons, 3);
    for (size_t i = 0; i < count; i++)
        write_route_reasons(m, i);
    pd_html_table_end(&m->html);
    pd_html_section_end(&m->html);
}

/* More breaks than these are left to the JSON. */
enum { BREAKS_SHOWN = 25 };

/* Whether a break comes before another: the larger bound first, none being the largest of all; of
 * equal ones the higher that was found. */
static bool comes_before(const struct pd_mirror *m, size_t one, size_t other)
{
    double v[2][2];
    const size_t of[2] = {one, other};
    for (int i = 0; i < 2; i++) {
        v[i][0] = pd_mirror_number(m, pd_mirror_path("worst_case.breaks[%zu].bound_v", of[i]).text);
        v[i][1] =
            pd_mirror_number(m, pd_mirror_path("worst_case.breaks[%zu].attained_v", of[i]).text);
        v[i][0] = isfinite(v[i][0]) ? v[i][0] : INFINITY;
    }
    return v[0][0] != v[1][0] ? v[0][0] > v[1][0] : v[0][1] > v[1][1];
}

/* Those to show, in order: each is put in where it belongs, and what falls off the end is left out.
 */
static size_t choose_breaks(const struct pd_mirror *m, size_t item[BREAKS_SHOWN])
{
    const size_t count = pd_mirror_length(m, "worst_case.breaks");
    size_t chosen = 0;
    for (size_t i = 0; i < count; i++) {
        size_t at = chosen;
        while (at > 0 && comes_before(m, i, item[at - 1]))
            at--;
        if (at == BREAKS_SHOWN)
            continue;
        chosen += chosen < BREAKS_SHOWN;
        memmove(&item[at + 1], &item[at], (chosen - at - 1) * sizeof *item);
        item[at] = i;
    }
    return chosen;
}

static void write_breaks(struct pd_mirror *m)
{
    static const struct pd_mirror_column columns[] = {
        {"PEN open in", "section", "(no fault)", NULL},
        {"proved by", "method", NULL, NULL},
        {">at most V", "bound_v", "no bound", NULL},
        {">found V", "attained_v", NULL, NULL},
        {">gap V", "gap_v", "-", NULL},
        {">over the limit and not disconnected, at most V", "unseen_bound_v", "no bound", NULL},
    };
    size_t item[BREAKS_SHOWN];
    const size_t count = choose_breaks(m, item);
    const struct pd_mirror_items items = {"worst_case.breaks", item, count};
    pd_mirror_table(m, "Certified worst case of each break, the largest first", &items, columns,
                    sizeof columns / sizeof columns[0]);
    if (count < pd_mirror_length(m, "worst_case.breaks"))
        pd_html_paragraph(&m->html, "note",
                          "Only the largest are shown; the JSON, under worst_case, has every "
                          "break, and the loads at which the worst is attained.");
}

static void answer_figure(struct pd_mirror *m, size_t i, const char *key, int decimals, bool down)
{
    static const char *const units[PD_ASKS] = {[PD_ASK_ELECTRODE] = "\xc2\xa0ohm",
                                               [PD_ASK_DEMAND] = "\xc2\xa0"
                                                                 "A per line",
                                               [PD_ASK_IMBALANCE] = "\xc2\xa0"
                                                                    "A",
                                               [PD_ASK_NEIGHBOURS] = ""};
    const struct pd_mirror_path path = pd_mirror_path("turned_round[%zu].%s", i, key);
    const double value = pd_mirror_number(m, path.text), scale = pow(10, decimals);
    const struct pd_figure figure = i == PD_ASK_ELECTRODE
                                        ? (down ? pd_figure_ohm_most(value) : pd_figure_ohm(value))
                                    : down ? pd_figure(floor(value * scale) / scale, decimals)
                                           : pd_figure(value, decimals);
    char shown[64];
    snprintf(shown, sizeof shown, "%s%s", figure.text, units[i]);
    pd_html_cell_begin(&m->html, true);
    if (isfinite(value))
        pd_html_figure(&m->html, path.text, value, shown);
    else
        pd_html_text(&m->html, "-");
    pd_html_cell_end(&m->html);
}

static void plain_figure(struct pd_mirror *m, size_t i, const char *key)
{
    pd_html_cell_begin(&m->html, true);
    pd_mirror_figure(m, pd_mirror_path("turned_round[%zu].%s", i, key).text, "-");
    pd_html_cell_end(&m->html);
}

/* What is kept to is rounded to the safe side. */
static void write_answers(struct pd_mirror *m)
{
    static const char *const headings[] = {"What keeps the worst case within the limit",
                                           "Answer",
                                           ">Value",
                                           ">Present",
                                           ">Then at most V",
                                           ">Found V",
                                           ">Through the electrode A"};
    if (pd_mirror_length(m, "turned_round") != PD_ASKS)
        return;
    pd_html_table(&m->html, "Turned round", headings, sizeof headings / sizeof headings[0]);
    for (size_t i = 0; i < PD_ASKS; i++) {
        const int decimals = i == PD_ASK_NEIGHBOURS ? 0 : 1;
        const char *const asked =
            pd_mirror_string(m, pd_mirror_path("turned_round[%zu].asked", i).text);
        pd_html_row(&m->html);
        pd_html_row_head(&m->html, asked != NULL ? asked : "");
        text_cell(m, pd_mirror_path("turned_round[%zu].found", i).text);
        answer_figure(m, i, "value", decimals, i != PD_ASK_NEIGHBOURS);
        answer_figure(m, i, "present", decimals, false);
        plain_figure(m, i, "bound_v");
        plain_figure(m, i, "attained_v");
        plain_figure(m, i, "electrode_a");
        pd_html_row_end(&m->html);
    }
    pd_html_table_end(&m->html);
}

static void write_bound(struct pd_mirror *m)
{
    pd_html_paragraph_begin(&m->html);
    if (pd_mirror_at(m, "worst_case.bound_v") != NULL) {
        pd_html_text(&m->html, "Whatever the loads within their ranges and the supply voltage, the "
                               "touch voltage is at most ");
        pd_mirror_quantity(m, "worst_case.bound_v", NULL);
        pd_html_text(&m->html, "; ");
        pd_mirror_quantity(m, "worst_case.attained_v", NULL);
        pd_html_text(&m->html, " was found.");
    } else {
        pd_html_text(&m->html, "Not for every break could a bound be proved, as cables may drop "
                               "too much of the supply; narrower load ranges help.");
    }
    pd_html_text(&m->html, pd_mirror_true(m, "worst_case.proved")
                               ? " The verdict can rest on this proof."
                               : " The verdict does not rest on this proof.");
    pd_html_paragraph_end(&m->html);
}

static void write_worst(struct pd_mirror *m, const struct pd_assessment *a)
{
    pd_html_section(&m->html, "worst", "Worst case, proved over all loads in their ranges");
    if (a->study_case->missing.count > 0) {
        pd_html_paragraph(&m->html, NULL, "Not determined: the case is incomplete.");
    } else if (pd_mirror_at(m, "worst_case") == NULL) {
        pd_html_paragraph(&m->html, NULL, pd_worst_nothing(a));
    } else {
        write_bound(m);
        write_breaks(m);
        write_answers(m);
    }
    pd_html_section_end(&m->html);
}

void pd_assess_html_found(struct pd_mirror *m, const struct pd_assessment *a)
{
    write_readings(m, a);
    write_routes(m, a);
    write_worst(m, a);
}
