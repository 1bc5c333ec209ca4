/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "report/cautions.h"
#include "report/commission.h"
#include "report/figure.h"
#include "report/plain.h"
#include "report/report.h"
#include "report/text.h"

/* Columns: where the first two begin, where the others end. */
enum { NUMBER = 4, APPLY = 6, EXPECT = 38, WITHIN = 60, READING = 70, TIME = 79 };

static void write_table_head(struct pd_page *page)
{
    pd_page_right(page, NUMBER, "no");
    pd_page_to(page, APPLY);
    pd_page_wrap(page, APPLY, "apply");
    pd_page_to(page, EXPECT);
    pd_page_wrap(page, EXPECT, "it");
    pd_page_right(page, WITHIN, "time s");
    pd_page_right(page, READING, "applied");
    pd_page_right(page, TIME, "took s");
    pd_page_end_line(page);
}

static void write_step(struct pd_page *page, const struct pd_test_sheet *sheet, size_t i)
{
    const struct pd_step *const step = &sheet->step[i];
    const struct pd_phrase phrase = pd_step_phrase(sheet, step);
    const bool fits = pd_plain_length(phrase.text) < EXPECT - APPLY;
    char number[24], within[48];
    snprintf(number, sizeof number, "%zu", i + 1);
    snprintf(within, sizeof within, "%s%s",
             !isfinite(step->within_s)   ? ""
             : step->expected == PD_ACTS ? "<= "
                                         : "for ",
             pd_figure(step->within_s, 2).text);
    pd_page_right(page, NUMBER, number);
    pd_page_to(page, APPLY);
    pd_page_wrap(page, APPLY + 2, phrase.text);
    if (!fits)
        pd_page_end_line(page);
    pd_page_to(page, EXPECT);
    pd_page_wrap(page, EXPECT, pd_expected_phrase(step->expected));
    pd_page_right(page, WITHIN, within);
    pd_page_right(page, READING, "_______");
    pd_page_right(page, TIME, "_______");
    pd_page_end_line(page);
}

static void write_device(struct pd_page *page, const struct pd_test_sheet *sheet, size_t detector)
{
    const struct pd_detector *const d = &sheet->study_case->detectors.detector[detector];
    char line[320];
    snprintf(line, sizeof line, "DEVICE %.120s", pd_plain_short(d->name, 60).text);
    pd_page_heading(page, line);
    snprintf(line, sizeof line, "senses %s, %.80s, tolerance %.40s, delay %s s; disconnects %s",
             pd_sense_names[d->senses], pd_threshold_phrase(d).text, pd_tolerance_phrase(d).text,
             pd_figure_s(d->delay_s).text, pd_disconnects_phrase(d));
    pd_page_paragraph(page, 2, "", 2, line);
    if (isnan(d->delay_s))
        pd_page_paragraph(page, 2, "", 2,
                          "Its delay is not declared: write down the time it takes.");
    write_table_head(page);
    for (size_t i = 0; i < sheet->count; i++)
        if (sheet->step[i].detector == detector)
            write_step(page, sheet, i);
    pd_page_paragraph(page, 2, "", 2, pd_back_phrase(d).text);
    pd_page_paragraph(page, 2, "", 2, pd_left_live_phrase(sheet->study_case, detector).text);
}

static void write_notes(struct pd_page *page, const char *heading, const struct pd_notes *notes)
{
    if (notes->count == 0)
        return;
    pd_page_heading(page, heading);
    for (size_t i = 0; i < notes->count; i++)
        pd_page_paragraph(page, 2, "-", 4, notes->text[i]);
}

static void write_record(struct pd_page *page)
{
    static const char *const labels[] = {"tested by", "date", "source, meter", "signature"};
    pd_page_heading(page, "RECORD");
    for (size_t i = 0; i < sizeof labels / sizeof labels[0]; i++)
        pd_page_paragraph(page, 2, labels[i], 20, "______________________________");
}

enum pd_status pd_commission_text(FILE *out, const struct pd_test_sheet *sheet)
{
    const struct pd_case *const c = sheet->study_case;
    struct pd_page page = {.out = out};
    pd_page_wrap(&page, 0, "COMMISSIONING SHEET");
    pd_page_to(&page, page.column + 2);
    pd_page_wrap(&page, page.column, c->title);
    pd_page_end_line(&page);
    pd_page_end_line(&page);
    pd_page_paragraph(&page, 0, "", 0, pd_caution_short);
    pd_page_heading(&page, "BEFORE AND DURING");
    for (size_t i = 0; i < PD_COMMISSION_RULES; i++)
        pd_page_paragraph(&page, 2, "!", 4, pd_commission_rules[i]);
    for (size_t i = 0; i < c->detectors.count; i++)
        write_device(&page, sheet, i);
    if (c->detectors.count == 0)
        pd_page_paragraph(&page, 0, "", 0,
                          "No detection device is declared: there is nothing to test.");
    write_notes(&page, "NOT TESTED", &sheet->untested);
    write_notes(&page, "WHAT THIS DOES NOT PROVE", &sheet->unproved);
    write_record(&page);
    pd_text_cautions(&page);
    return ferror(out) ? PD_ERR_FILE : PD_OK;
}
