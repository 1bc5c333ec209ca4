/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/cautions.h"
#include "report/figure.h"
#include "report/plain.h"
#include "report/replay.h"
#include "report/report.h"
#include "report/text.h"

static void write_answer(struct pd_page *page, const struct pd_replay *r,
                         const struct pd_notes *answer)
{
    const bool sure = r->incomplete_h == 0 && r->unchecked == 0;
    pd_page_wrap(page, 0, sure ? "REPLAY" : "REPLAY, NOT DETERMINED IN PART");
    pd_page_to(page, page->column + 2);
    pd_page_wrap(page, page->column, r->study_case->title);
    pd_page_end_line(page);
    pd_page_end_line(page);
    for (size_t i = 0; i < answer->count; i++)
        pd_page_paragraph(page, 2, "-", 4, answer->text[i]);
    pd_page_end_line(page);
    pd_page_paragraph(page, 0, "", 0, pd_caution_short);
    pd_page_paragraph(page, 0, "", 0, "The cautions at the end are part of this answer.");
}

/* The duration curve: at most so many rows. */
enum { CURVE_ROWS = 16, VOLT_END = 8, OVER_END = 18, UNSEEN_END = 32, BAR = 34 };

static void write_curve_row(struct pd_page *page, const struct pd_replay *r, size_t volts)
{
    char bar[PD_REPORT_WIDTH - BAR + 1] = "";
    const double width = PD_REPORT_WIDTH - BAR;
    const double over_h = r->over_curve_h[volts], unseen_h = r->unseen_curve_h[volts];
    const size_t over = (size_t)ceil(width * over_h / r->hours);
    const size_t unseen = (size_t)ceil(width * unseen_h / r->hours);
    memset(bar, '-', over);
    memset(bar, '#', unseen);
    pd_page_right(page, VOLT_END, pd_figure((double)volts, 0).text);
    pd_page_right(page, OVER_END, pd_figure(over_h, 2).text);
    pd_page_right(page, UNSEEN_END, r->watched ? pd_figure(unseen_h, 2).text : "");
    pd_page_to(page, BAR);
    pd_page_wrap(page, BAR, bar);
    pd_page_end_line(page);
}

static void write_curve(struct pd_page *page, const struct pd_replay *r)
{
    size_t most = 0, step = 10;
    while (most + 1 < PD_REPLAY_CURVE && r->over_curve_h[most] > 0)
        most++;
    while (most / step > CURVE_ROWS)
        step += 10;
    pd_page_heading(page, "DURATION CURVE: hours in which the worst section is over so many volts");
    pd_page_right(page, VOLT_END, "V");
    pd_page_right(page, OVER_END, "hours");
    pd_page_right(page, UNSEEN_END, r->watched ? "not disc." : "");
    pd_page_to(page, BAR);
    pd_page_wrap(page, BAR,
                 r->watched ? "of the record: - over, # not disconnected" : "of the record");
    pd_page_end_line(page);
    for (size_t volts = step; volts < most + step && volts < PD_REPLAY_CURVE; volts += step)
        write_curve_row(page, r, volts);
}

enum { SECTION = 22, TOUCH_END = 44, SUPPLY_END = 51, LINES = 53, SEEN = 69 };

static void write_lines(struct pd_page *page, const struct pd_replay *r,
                        const struct pd_scenario *s)
{
    char text[40] = "";
    size_t used = 0;
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((r->study_case->installation_lines & 1u << line) != 0)
            used += (size_t)snprintf(text + used, sizeof text - used, "%s%s", used > 0 ? "/" : "",
                                     pd_figure(s->line_neutral_v[line], 0).text);
    pd_page_to(page, LINES);
    pd_page_wrap(page, LINES, text);
}

/* The device that disconnects first; else one that sees it. */
static const char *seen_by(const struct pd_replay *r, const struct pd_scenario *s)
{
    const struct pd_detectors *const detectors = &r->study_case->detectors;
    const char *seen = s->touch == PD_OVER ? "nothing" : "-";
    double first_s = INFINITY;
    for (size_t i = 0; i < detectors->count; i++)
        if (pd_sight_in_time(&s->sight[i], r->study_case->limits.time_s) &&
            s->sight[i].time_s < first_s) {
            first_s = s->sight[i].time_s;
            seen = detectors->detector[i].name;
        }
    return seen;
}

static void write_peak(struct pd_page *page, const struct pd_replay *r,
                       const struct pd_replay_peak *peak)
{
    const char *const section = pd_replay_section_name(r->study_case, peak->section);
    page->column = 2;
    pd_page_wrap(page, 2, pd_plain_short(peak->time, SECTION - 3).text);
    pd_page_to(page, SECTION);
    pd_page_wrap(page, SECTION, pd_plain_short(section, TOUCH_END - SECTION - 8).text);
    if (!peak->checked) {
        pd_page_to(page, TOUCH_END - 6);
        pd_page_wrap(page, TOUCH_END, "not determined");
        pd_page_end_line(page);
        return;
    }
    pd_page_right(page, TOUCH_END, pd_figure_v(peak->touch_v).text);
    pd_page_right(page, SUPPLY_END, pd_figure_v(peak->supply_v).text);
    if (r->watched) {
        write_lines(page, r, &peak->scenario);
        pd_page_to(page, SEEN);
        pd_page_wrap(page, SEEN, pd_plain_short(seen_by(r, &peak->scenario), 11).text);
    } else {
        pd_page_to(page, LINES);
        pd_page_wrap(page, LINES, r->study_case->network->node[peak->node].name);
    }
    pd_page_end_line(page);
}

static void write_peaks(struct pd_page *page, const struct pd_replay *r, const char *heading,
                        const struct pd_replay_peak *peak, size_t count)
{
    if (count == 0)
        return;
    pd_page_heading(page, heading);
    page->column = 2;
    pd_page_wrap(page, 2, r->time_unit[0] != '\0' ? "time," : "time");
    pd_page_wrap(page, 2, r->time_unit);
    pd_page_to(page, SECTION);
    pd_page_wrap(page, SECTION, "PEN open in");
    pd_page_right(page, TOUCH_END, "touch V");
    pd_page_right(page, SUPPLY_END, "supply");
    pd_page_to(page, LINES);
    pd_page_wrap(page, LINES, r->watched ? "line-neutral V" : "at");
    if (r->watched) {
        pd_page_to(page, SEEN);
        pd_page_wrap(page, SEEN, "let go by");
    }
    pd_page_end_line(page);
    for (size_t i = 0; i < count; i++)
        write_peak(page, r, &peak[i]);
}

enum { SECTIONS_SHOWN = 25, H_OVER = 30, H_UNSEEN = 40, H_UNKNOWN = 50, MOST_END = 59, WHEN = 61 };

static void write_section(struct pd_page *page, const struct pd_replay *r,
                          const struct pd_replay_section *s)
{
    const char *const name = pd_replay_section_name(r->study_case, s->section);
    page->column = 2;
    pd_page_wrap(page, 2, pd_plain_short(name, H_OVER - 11).text);
    pd_page_right(page, H_OVER, pd_figure(s->over_h, 2).text);
    pd_page_right(page, H_UNSEEN, r->watched ? pd_figure(s->unseen_h, 2).text : "");
    pd_page_right(page, H_UNKNOWN, pd_figure(s->unknown_h, 2).text);
    pd_page_right(page, MOST_END, pd_figure_v(s->touch.checked ? s->touch.touch_v : NAN).text);
    pd_page_to(page, WHEN);
    pd_page_wrap(page, WHEN, s->touch.there ? pd_plain_short(s->touch.time, 19).text : "-");
    pd_page_end_line(page);
}

static enum pd_status write_sections(struct pd_page *page, const struct pd_replay *r)
{
    size_t *const order = calloc(r->section_count + 1, sizeof *order);
    if (order == NULL || pd_replay_order(r, order) != PD_OK) {
        free(order);
        return PD_ERR_MEMORY;
    }
    pd_page_heading(page, "SECTIONS: hours with the PEN open there, and the highest touch voltage");
    page->column = 2;
    pd_page_wrap(page, 2, "PEN open in");
    pd_page_right(page, H_OVER, "over");
    pd_page_right(page, H_UNSEEN, r->watched ? "not disc." : "");
    pd_page_right(page, H_UNKNOWN, "not det.");
    pd_page_right(page, MOST_END, "most V");
    pd_page_to(page, WHEN);
    pd_page_wrap(page, WHEN, "at");
    pd_page_end_line(page);
    for (size_t i = 0; i < r->section_count && i < SECTIONS_SHOWN; i++)
        write_section(page, r, &r->section[order[i]]);
    if (r->section_count > SECTIONS_SHOWN) {
        char more[80];
        snprintf(more, sizeof more, "%zu more in --format json, the worst come first",
                 r->section_count - SECTIONS_SHOWN);
        pd_page_paragraph(page, 2, "", 2, more);
    }
    free(order);
    return PD_OK;
}

static void write_entry(struct pd_page *page, const char *label, const char *text)
{
    pd_page_paragraph(page, 2, label, 22, text);
}

static void write_record(struct pd_page *page, const struct pd_replay *r)
{
    char line[200];
    pd_page_heading(page, "RECORD");
    snprintf(line, sizeof line, "%.150s", r->settings.profile_name);
    write_entry(page, "file", line);
    snprintf(line, sizeof line, "%zu, from %s%s to %s%s", r->moments, r->first, r->time_unit,
             r->last, r->time_unit);
    write_entry(page, "moments", line);
    snprintf(line, sizeof line, "%.2f h, step %.4g min; gaps %zu, %.2f h", r->hours, 60 * r->step_h,
             r->gaps, r->gap_h);
    write_entry(page, "time", line);
    snprintf(line, sizeof line, "%zu section%s, one at a time", r->section_count,
             r->section_count == 1 ? "" : "s");
    write_entry(page, "PEN opened in", line);
    snprintf(line, sizeof line, "%.2f h in some section; moments with an empty cell %zu",
             r->incomplete_h, r->unknown_moments);
    write_entry(page, "not determined", line);
    snprintf(line, sizeof line,
             "every moment and section by the batch engine; those named above by the tree engine "
             "too: largest residual %.1e, engines apart by at most %.1e V, not borne out %zu",
             r->largest_residual, r->largest_apart_v, r->unchecked);
    write_entry(page, "solved", line);
    pd_page_heading(page, "ASSUMED");
    for (size_t i = 0; i < r->assumptions.count; i++)
        pd_page_paragraph(page, 2, "-", 4, r->assumptions.text[i]);
}

enum pd_status pd_report_replay_text(FILE *out, const struct pd_replay *r)
{
    struct pd_page page = {.out = out};
    struct pd_notes answer = {0};
    enum pd_status status = pd_replay_answer_notes(r, &answer);
    if (status == PD_OK)
        write_answer(&page, r, &answer);
    pd_notes_free(&answer);
    if (status != PD_OK)
        return status;
    write_curve(&page, r);
    if (r->watched && r->study_case->detectors.count > 0)
        write_peaks(&page, r, "WORST MOMENTS THAT NO DEVICE DISCONNECTS", r->worst_unseen,
                    r->worst_unseen_count);
    write_peaks(&page, r, "WORST MOMENTS", r->worst, r->worst_count);
    status = write_sections(&page, r);
    write_record(&page, r);
    pd_text_arrangement(&page, r->study_case);
    pd_text_limits(&page, &r->study_case->limits);
    pd_text_cautions(&page);
    return ferror(out) ? PD_ERR_FILE : status;
}
