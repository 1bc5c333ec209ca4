/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/assess_html.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#include "report/cautions.h"
#include "report/json_parts.h"
#include "report/plain.h"

/* Verdict and cautions side by side where there is room: both are to be on the first screen, and on
 * the first sheet of paper. */
static const char style[] =
    "body{max-width:64rem}h1{font-size:1.4rem}.verdict{font-size:2.3rem;margin:.2rem 0}\n"
    ".short{color:var(--alert);font-weight:bold;margin:.4rem 0 .8rem;max-width:none}\n"
    ".first{display:grid;grid-template-columns:minmax(0,1fr);gap:0 1.6rem}\n"
    "@media screen and (min-width:56rem){.first{grid-template-columns:minmax(0,1fr) "
    "minmax(0,1fr)}}\n"
    ".first h2{margin-top:.4rem}.first li{margin-bottom:.35rem}.first .alert{margin:.3rem "
    "0;font-size:.9rem}"
    ".first .alert ul{margin:.2rem 0;padding-left:1.1rem}\n"
    ".first .alert li{margin:.1rem 0}\n"
    "nav ul{list-style:none;padding:0;display:flex;flex-wrap:wrap;gap:.2rem 1.2rem;"
    "max-width:none}\n"
    "caption{color:var(--ink);font-weight:bold;padding:.6rem 0 .2rem}\n"
    "thead th{font-weight:normal;color:var(--faint);vertical-align:bottom}"
    "thead th.right{white-space:normal}\n"
    "@media screen{figure{overflow-x:auto}figure svg{min-width:42rem}}\n"
    "@media print{html{font-size:10pt}tbody tr:first-child{break-before:avoid}"
    "table:not(:has(tr:nth-child(14))){break-inside:avoid}.first{display:block}.first "
    ".alert{font-size:9pt}table{font-size:8.5pt}"
    "th,td{padding-right:.6rem}.wide{overflow:visible}#pictures figure{max-width:165mm}"
    "figure svg{max-height:205mm}nav{display:none}}\n";

static struct pd_plain upper(const char *word)
{
    struct pd_plain plain = pd_plain(word);
    for (char *at = plain.text; *at != '\0'; at++)
        *at = (char)toupper((unsigned char)*at);
    return plain;
}

static void write_reasons(struct pd_mirror *m)
{
    pd_html_section(&m->html, "why", "Why");
    pd_mirror_list(m, "verdict.because");
    if (pd_mirror_length(m, "verdict.missing") > 0) {
        pd_html_heading(&m->html, 3, "What is missing");
        pd_mirror_list(m, "verdict.missing");
    }
    pd_html_section_end(&m->html);
}

static void write_first(struct pd_mirror *m)
{
    const char *const verdict = pd_mirror_string(m, "verdict.overall");
    const char *const title = pd_mirror_string(m, "case");
    pd_html_heading(&m->html, 1, title != NULL ? title : "");
    pd_html_paragraph(&m->html, "verdict", upper(verdict != NULL ? verdict : "").text);
    pd_html_paragraph(&m->html, "short", pd_caution_short);
    pd_html_group(&m->html, "first");
    write_reasons(m);
    pd_html_alert(&m->html, "Cautions");
    pd_mirror_list(m, "cautions");
    pd_html_alert_end(&m->html);
    pd_html_group_end(&m->html);
}

static void write_contents(struct pd_mirror *m)
{
    static const char *const to[][2] = {
        {"given", "The case as given"}, {"readings", "Two readings"},
        {"routes", "Routes"},           {"worst", "Worst case"},
        {"after", "After a device"},    {"person", "A person"},
        {"faults", "Other faults"},     {"pictures", "Pictures"},
        {"scenarios", "Scenarios"},     {"record", "Record"}};
    pd_html_links(&m->html, "Parts of this report", to, sizeof to / sizeof to[0]);
}

static enum pd_status write_page(struct pd_mirror *m, FILE *out, const struct pd_assess_page *page)
{
    char description[600];
    snprintf(description, sizeof description,
             "Touch voltage at a charging point when the PEN opens: %s. %s",
             pd_overall_names[page->assessment->overall], pd_caution_short);
    const struct pd_html_head head = {
        .title = pd_mirror_string(m, "case"), .description = description, .style = style};
    pd_html_begin(&m->html, out, &head);
    write_first(m);
    write_contents(m);
    pd_assess_html_case(m, page->assessment->study_case);
    pd_assess_html_found(m, page->assessment);
    pd_assess_html_beside(m);
    enum pd_status status = pd_assess_html_pictures(m, page);
    if (status == PD_OK)
        status = pd_assess_html_record(m, page);
    pd_html_end(&m->html);
    return status;
}

enum pd_status pd_assess_html(FILE *out, const struct pd_assess_page *page)
{
    json_t *const root = pd_json_assessment(page->assessment);
    struct pd_mirror mirror = {.root = root};
    if (root == NULL)
        return PD_ERR_MEMORY;
    const enum pd_status status = write_page(&mirror, out, page);
    json_decref(root);
    if (status != PD_OK || mirror.failed)
        return status != PD_OK ? status : PD_ERR_MEMORY;
    return ferror(out) ? PD_ERR_FILE : PD_OK;
}
