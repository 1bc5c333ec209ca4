/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/cautions.h"
#include "report/plain.h"
#include "report/report.h"
#include "report/sample.h"
#include "report/text.h"

enum { MARGIN = 2, VALUES = 22, BREAKS = 20, DRAWN = 12 };

static void write_answer(struct pd_page *page, const struct pd_sample *sample)
{
    pd_page_paragraph(page, 0, "", 2, pd_sample_headline(sample).text);
    pd_page_paragraph(page, 0, "", 2, sample->study_case->title);
    pd_page_end_line(page);
    for (size_t i = 0; i < sample->study_case->missing.count; i++)
        pd_page_paragraph(page, MARGIN, "-", MARGIN + 2, sample->study_case->missing.text[i]);
    if (!sample->missing)
        pd_page_paragraph(page, MARGIN, "-", MARGIN + 2, pd_sample_given_note);
    for (size_t i = 0; i < sample->doubts.count; i++)
        pd_page_paragraph(page, MARGIN, "-", MARGIN + 2, sample->doubts.text[i]);
    pd_page_end_line(page);
    pd_page_paragraph(page, 0, "", 0, pd_caution_short);
    pd_page_paragraph(page, 0, "", 0, "The cautions at the end are part of this answer.");
}

enum { LEVEL = 12, VOLTAGE = 26, LOW = 40, HIGH = 52 };

static void write_quantiles(struct pd_page *page, const struct pd_sample *sample)
{
    pd_page_heading(page, "TOUCH VOLTAGE");
    pd_page_right(page, LEVEL, "part below");
    pd_page_right(page, VOLTAGE, "V");
    pd_page_right(page, LOW, "95 % from");
    pd_page_right(page, HIGH, "to");
    pd_page_end_line(page);
    for (size_t i = 0; i < PD_QUANTILES; i++) {
        char level[16];
        snprintf(level, sizeof level, "%.4g %%", 100 * pd_quantile_levels[i]);
        pd_page_right(page, LEVEL, level);
        pd_page_right(page, VOLTAGE, pd_figure(sample->quantile_v[i].value, 2).text);
        pd_page_right(page, LOW, pd_figure(sample->quantile_v[i].low, 2).text);
        pd_page_right(page, HIGH, pd_figure(sample->quantile_v[i].high, 2).text);
        pd_page_end_line(page);
    }
    pd_page_right(page, LEVEL, "mean");
    pd_page_right(page, VOLTAGE, pd_figure(sample->odds.mean_v.value, 2).text);
    pd_page_right(page, LOW, pd_figure(sample->odds.mean_v.low, 2).text);
    pd_page_right(page, HIGH, pd_figure(sample->odds.mean_v.high, 2).text);
    pd_page_end_line(page);
    pd_page_right(page, LEVEL, "largest met");
    pd_page_right(page, VOLTAGE, pd_figure(sample->odds.largest_v, 2).text);
    pd_page_end_line(page);
}

/* Two bars of the sample to a line. */
static void write_bar(struct pd_page *page, const struct pd_sample *sample, size_t bar,
                      double largest)
{
    enum { SHARE = 22, FROM = 24, MOST = 54 };
    char range[48], line[MOST + 1];
    const double share = sample->bar[bar] + sample->bar[bar + 1];
    const int length = largest > 0 ? (int)ceil(MOST * fmin(1, share / largest)) : 0;
    const double low = (double)bar * sample->bar_v, high = low + 2 * sample->bar_v;
    const double limit = sample->study_case->limits.touch_v;
    memset(line, '#', sizeof line);
    line[length] = '\0';
    snprintf(range, sizeof range, "%.4g to %.4g", low, high);
    pd_page_right(page, 15, range);
    pd_page_right(page, SHARE + 1, pd_figure(100 * share, 2).text);
    if (length > 0) {
        pd_page_to(page, FROM);
        pd_page_wrap(page, FROM, line);
    }
    if (limit >= low && limit < high) {
        pd_page_to(page, length > MOST - 6 ? page->column : FROM + MOST - 6);
        pd_page_wrap(page, FROM, "<limit");
    }
    pd_page_end_line(page);
}

static void write_histogram(struct pd_page *page, const struct pd_sample *sample)
{
    double largest = 0;
    size_t last = 0;
    for (size_t i = 0; i + 1 < PD_BARS; i += 2) {
        largest = fmax(largest, sample->bar[i] + sample->bar[i + 1]);
        if (sample->bar[i] + sample->bar[i + 1] > 0)
            last = i;
    }
    pd_page_end_line(page);
    pd_page_right(page, 15, "V");
    pd_page_right(page, 23, "%");
    pd_page_end_line(page);
    for (size_t i = 0; i <= last; i += 2)
        write_bar(page, sample, i, largest);
    if (sample->beyond > 0) {
        pd_page_right(page, 15, "above");
        pd_page_right(page, 23, pd_figure(100 * sample->beyond, 2).text);
        pd_page_end_line(page);
    }
}

static int worse_first(const void *a, const void *b)
{
    const struct pd_sample_break *const p = *(const struct pd_sample_break *const *)a,
                                        *const q = *(const struct pd_sample_break *const *)b;
    const double x = p->share * p->odds.over.value, y = q->share * q->odds.over.value;
    if (x != y)
        return x > y ? -1 : 1;
    return p->section < q->section ? -1 : p->section > q->section;
}

static void write_break(struct pd_page *page, const struct pd_sample *sample,
                        const struct pd_sample_break *at)
{
    const char *const section = sample->study_case->network->node[at->section].section;
    page->column = MARGIN;
    pd_page_wrap(page, MARGIN, pd_plain_short(section, 22).text);
    pd_page_right(page, 34, pd_sample_percent(at->share).text);
    pd_page_right(page, 46, pd_sample_percent(at->odds.over.value).text);
    pd_page_right(page, 58, pd_sample_percent(at->odds.unseen.value).text);
    pd_page_right(page, 68, pd_figure_v(at->odds.mean_v.value).text);
    pd_page_right(page, 79, pd_figure_v(at->odds.largest_v).text);
    pd_page_end_line(page);
}

/* The breaks that do most harm first. */
static enum pd_status write_breaks(struct pd_page *page, const struct pd_sample *sample)
{
    const struct pd_sample_break **const at = calloc(sample->break_count + 1, sizeof *at);
    if (at == NULL)
        return PD_ERR_MEMORY;
    for (size_t i = 0; i < sample->break_count; i++)
        at[i] = &sample->at[i];
    qsort(at, sample->break_count, sizeof *at, worse_first);
    pd_page_heading(page, "BY PLACE OF THE BREAK");
    page->column = MARGIN;
    pd_page_wrap(page, MARGIN, "PEN open in");
    pd_page_right(page, 34, "share %");
    pd_page_right(page, 46, "over %");
    pd_page_right(page, 58, "unseen %");
    pd_page_right(page, 68, "mean V");
    pd_page_right(page, 79, "largest V");
    pd_page_end_line(page);
    for (size_t i = 0; i < sample->break_count && i < BREAKS; i++)
        write_break(page, sample, at[i]);
    if (sample->break_count > BREAKS) {
        char text[64];
        snprintf(text, sizeof text, "%zu more: --format csv", sample->break_count - BREAKS);
        pd_page_paragraph(page, MARGIN, "", MARGIN, text);
    }
    free(at);
    return PD_OK;
}

static void write_record(struct pd_page *page, const struct pd_sample *sample)
{
    char text[160];
    pd_page_heading(page, "COMPUTED");
    pd_page_paragraph(page, MARGIN, "method", VALUES, pd_sample_method(sample).text);
    pd_page_paragraph(page, MARGIN, "break", VALUES, pd_sample_breaks(sample).text);
    snprintf(text, sizeof text, "over the limit in some section in %zu, over and unseen in %zu",
             sample->odds.over_trials, sample->odds.unseen_trials);
    pd_page_paragraph(page, MARGIN, "trials", VALUES, text);
    pd_page_paragraph(page, MARGIN, "independence", VALUES, pd_sample_alone_note);
    pd_page_heading(page, "DRAWN");
    for (size_t i = 0; i < sample->dimensions && i < DRAWN; i++) {
        pd_page_paragraph(page, MARGIN, pd_plain_short(sample->drawn[i].name, 34).text, 38,
                          pd_sample_spread(&sample->drawn[i].distribution).text);
    }
    if (sample->dimensions > DRAWN) {
        snprintf(text, sizeof text, "%zu more: --format json", sample->dimensions - DRAWN);
        pd_page_paragraph(page, MARGIN, "", MARGIN, text);
    }
    pd_page_paragraph(
        page, MARGIN, "", MARGIN,
        "What distributions.csv does not name is uniform over its declared range; the "
        "supply over the limit set's; electrodes as in the dry season.");
}

enum pd_status pd_sample_text(FILE *out, const struct pd_sample *sample)
{
    struct pd_page page = {.out = out};
    enum pd_status status = PD_OK;
    write_answer(&page, sample);
    if (!sample->missing) {
        write_quantiles(&page, sample);
        write_histogram(&page, sample);
        status = write_breaks(&page, sample);
        write_record(&page, sample);
    }
    pd_text_limits(&page, &sample->study_case->limits);
    pd_text_cautions(&page);
    return status == PD_OK && ferror(out) ? PD_ERR_FILE : status;
}
