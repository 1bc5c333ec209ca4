/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "report/audit.h"
#include "report/cautions.h"
#include "report/page.h"
#include "report/report.h"

enum { CONTRACTORS_SHOWN = 12, SENTENCES_SHOWN = 8 };

static bool goes_before(const struct pd_contractor *a, const struct pd_contractor *b)
{
    if (a->finding[PD_NOT_SUPPORTED] != b->finding[PD_NOT_SUPPORTED])
        return a->finding[PD_NOT_SUPPORTED] > b->finding[PD_NOT_SUPPORTED];
    if (a->finding[PD_INSUFFICIENT_EVIDENCE] != b->finding[PD_INSUFFICIENT_EVIDENCE])
        return a->finding[PD_INSUFFICIENT_EVIDENCE] > b->finding[PD_INSUFFICIENT_EVIDENCE];
    return strcmp(a->name, b->name) < 0;
}

size_t pd_audit_rank(const struct pd_tally *tally, const struct pd_contractor **ranked, size_t most)
{
    size_t count = 0;
    for (size_t i = 0; i < PD_CONTRACTORS; i++) {
        const struct pd_contractor *const c = &tally->contractor[i];
        size_t at = count;
        if (c->hash == 0 || (count == most && !goes_before(c, ranked[count - 1])))
            continue;
        if (count == most)
            at--;
        else
            count++;
        for (; at > 0 && goes_before(c, ranked[at - 1]); at--)
            ranked[at] = ranked[at - 1];
        ranked[at] = c;
    }
    return count;
}

/* Reasons by effect, the strongest first, then by how often. */
static size_t rank_reasons(const struct pd_audit_page *page, int *ranked)
{
    size_t count = 0;
    for (int i = 0; i < PD_AUDIT_REASONS; i++) {
        if (page->tally->reason[i] == 0)
            continue;
        const enum pd_effect effect =
            pd_audit_reason_row(page->audit, (enum pd_audit_reason)i)->effect;
        size_t at = count++;
        for (; at > 0; at--) {
            const int before = ranked[at - 1];
            const enum pd_effect its =
                pd_audit_reason_row(page->audit, (enum pd_audit_reason)before)->effect;
            if (its < effect ||
                (its == effect && page->tally->reason[before] >= page->tally->reason[i]))
                break;
            ranked[at] = before;
        }
        ranked[at] = i;
    }
    return count;
}

/* The sentence without a site's figures. */
static void general(const char *sentence, char *text, size_t size)
{
    size_t length = 0;
    for (; *sentence != '\0' && length + 5 < size; sentence++) {
        if (*sentence == '{') {
            memcpy(text + length, "...", 3);
            length += 3;
            sentence = strchr(sentence, '}');
        } else {
            text[length++] = *sentence;
        }
    }
    text[length] = '\0';
}

static void text_findings(struct pd_page *page, const struct pd_audit_page *p)
{
    static const enum pd_finding order[] = {PD_NOT_SUPPORTED, PD_INSUFFICIENT_EVIDENCE,
                                            PD_SUPPORTED, PD_NOT_READ};
    fprintf(page->out, "AUDIT  ");
    page->column = page->written = 7;
    char head[200];
    snprintf(head, sizeof head, "%.100s: %zu site%s against %s", p->sheet, p->tally->rows,
             p->tally->rows == 1 ? "" : "s", pd_audit_limits(p->audit)->set);
    pd_page_wrap(page, 7, head);
    pd_page_end_line(page);
    pd_page_end_line(page);
    for (size_t i = 0; i < sizeof order / sizeof order[0]; i++) {
        char count[24];
        snprintf(count, sizeof count, "%zu", p->tally->finding[order[i]]);
        page->column = 2;
        pd_page_wrap(page, 2, pd_finding_names[order[i]]);
        pd_page_right(page, 34, count);
        pd_page_end_line(page);
    }
    pd_page_end_line(page);
    pd_page_paragraph(page, 0, "", 0, pd_caution_short);
    pd_page_paragraph(page, 0, "", 0, "The cautions at the end are part of this answer.");
}

static void text_reasons(struct pd_page *page, const struct pd_audit_page *p)
{
    int ranked[PD_AUDIT_REASONS];
    const size_t count = rank_reasons(p, ranked);
    pd_page_heading(page, "REASONS, AND HOW MANY SITES");
    for (size_t i = 0; i < count; i++) {
        const enum pd_audit_reason reason = (enum pd_audit_reason)ranked[i];
        const struct pd_audit_row *const row = pd_audit_reason_row(p->audit, reason);
        char number[24], text[400];
        snprintf(number, sizeof number, "%zu", p->tally->reason[reason]);
        general(row->sentence, text, sizeof text);
        page->column = 2;
        pd_page_wrap(page, 2, pd_effect_names[row->effect]);
        pd_page_to(page, 11);
        pd_page_wrap(page, 11, pd_audit_code(reason));
        pd_page_right(page, 50, number);
        pd_page_end_line(page);
        if (i < SENTENCES_SHOWN)
            pd_page_paragraph(page, 11, "", 11, text);
    }
}

static void text_worst(struct pd_page *page, const struct pd_audit_page *p)
{
    if (p->tally->worsts == 0)
        return;
    pd_page_heading(page,
                    "NOT SUPPORTED, WORST FIRST: THE TERMINAL'S VOLTAGE, PEN OPEN, SITE ALONE");
    for (size_t i = 0; i < p->tally->worsts; i++) {
        const struct pd_worst_site *const w = &p->tally->worst[i];
        char volts[24], where[200];
        snprintf(volts, sizeof volts, "%.1f V", w->alone_v);
        snprintf(where, sizeof where, "%s (line %zu%s%s)", w->site, w->line,
                 w->contractor[0] != '\0' ? ", " : "", w->contractor);
        pd_page_right(page, 11, volts);
        pd_page_to(page, 13);
        pd_page_wrap(page, 13, where);
        pd_page_end_line(page);
    }
}

/* What is most often wrong with a contractor's sites; NULL where nothing is. */
static const char *most_often(const struct pd_audit_page *p, const struct pd_contractor *c)
{
    int most = -1;
    for (int i = 0; i < PD_AUDIT_REASONS; i++) {
        const enum pd_effect effect =
            pd_audit_reason_row(p->audit, (enum pd_audit_reason)i)->effect;
        if ((effect == PD_AGAINST || effect == PD_DOUBT) && c->reason[i] > 0 &&
            (most < 0 || c->reason[i] > c->reason[most]))
            most = i;
    }
    return most < 0 ? NULL : pd_audit_code((enum pd_audit_reason)most);
}

static size_t sites_of(const struct pd_contractor *c)
{
    size_t sites = 0;
    for (int i = 0; i < PD_FINDINGS; i++)
        sites += c->finding[i];
    return sites;
}

static void text_contractors(struct pd_page *page, const struct pd_audit_page *p)
{
    const struct pd_contractor *ranked[CONTRACTORS_SHOWN];
    const size_t count = pd_audit_rank(p->tally, ranked, CONTRACTORS_SHOWN);
    pd_page_heading(page, "CONTRACTORS");
    for (size_t i = 0; i < count; i++) {
        const struct pd_contractor *const c = ranked[i];
        const char *const most = most_often(p, c);
        char text[300];
        snprintf(text, sizeof text,
                 "%zu site%s: %zu not supported, %zu insufficient evidence, %zu supported%s%s%s",
                 sites_of(c), sites_of(c) == 1 ? "" : "s", c->finding[PD_NOT_SUPPORTED],
                 c->finding[PD_INSUFFICIENT_EVIDENCE], c->finding[PD_SUPPORTED],
                 most != NULL ? "; most often " : "", most != NULL ? most : "",
                 pd_tally_copied(p->tally, c->name) != 0 ? "; READINGS COPIED" : "");
        pd_page_paragraph(page, 2, c->name[0] != '\0' ? c->name : "(not named)", 28, text);
    }
    if (p->tally->contractors > count || p->tally->beyond > 0)
        pd_page_paragraph(page, 2, "", 2, "Further contractors are in the rows only.");
}

static void text_columns(struct pd_page *page, const struct pd_audit_page *p)
{
    char list[1200] = "";
    for (size_t i = 0; i < PD_SITE_COLUMNS; i++) {
        if (p->map->cell_of[i] != PD_NONE)
            continue;
        const size_t used = strlen(list);
        snprintf(list + used, sizeof list - used, "%s%s", used > 0 ? ", " : "", pd_site_column(i));
    }
    if (list[0] != '\0') {
        pd_page_heading(page, "COLUMNS THAT THE SHEET DOES NOT HAVE");
        pd_page_paragraph(page, 2, "", 2, list);
    }
    for (size_t i = 0; i < p->near->count && i < PD_ERRORS_KEPT; i++)
        pd_page_paragraph(page, 2, "", 2, p->near->kept[i].text);
}

void pd_audit_text(FILE *out, const struct pd_audit_page *p)
{
    struct pd_page page = {.out = out};
    text_findings(&page, p);
    text_reasons(&page, p);
    text_worst(&page, p);
    text_contractors(&page, p);
    text_columns(&page, p);
    pd_page_heading(&page, "CAUTIONS");
    char limits[160];
    snprintf(limits, sizeof limits, "Limit set %s: figures %s.", pd_audit_limits(p->audit)->set,
             pd_audit_limits(p->audit)->status);
    pd_page_paragraph(&page, 2, "-", 4, limits);
    for (size_t i = 0; i < PD_CAUTIONS; i++)
        pd_page_paragraph(&page, 2, "-", 4, pd_cautions[i]);
}
