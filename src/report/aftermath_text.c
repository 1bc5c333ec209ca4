/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "report/aftermath.h"
#include "report/cautions.h"
#include "report/figure.h"
#include "report/person.h"
#include "report/text.h"

enum {
    MARGIN = 2,
    TIME = 9,
    WHAT = 11,
    CHASSIS = 18,
    METAL = 27,
    LINE = 34,
    EACH = 8,
    LOW = 58,
    HIGH = 64,
    OVER = 69,
    ZONE = 71
};

static void write_answer(struct pd_page *page, const struct pd_aftermath *a)
{
    const struct pd_aftermath_words part[] = {pd_aftermath_metalwork(a), pd_aftermath_neighbours(a),
                                              pd_aftermath_body(a)};
    pd_page_paragraph(page, 0, "", 2, pd_aftermath_headline(a).text);
    pd_page_end_line(page);
    pd_page_paragraph(page, 0, "", 0, a->study_case->title);
    if (a->determined)
        pd_page_paragraph(page, 0, "", 0, pd_aftermath_start(a).text);
    for (size_t i = 0; i < sizeof part / sizeof part[0]; i++)
        if (part[i].text[0] != '\0')
            pd_page_paragraph(page, MARGIN, "-", MARGIN + 2, part[i].text);
    for (size_t i = 0; i < a->study_case->missing.count; i++)
        pd_page_paragraph(page, MARGIN, "missing:", MARGIN + 2, a->study_case->missing.text[i]);
    pd_page_end_line(page);
    pd_page_paragraph(page, 0, "", 0, pd_caution_short);
    pd_page_paragraph(page, 0, "", 0, "The cautions at the end are part of this answer.");
}

static void write_at(struct pd_page *page, int column, const char *text)
{
    pd_page_to(page, column);
    pd_page_wrap(page, column, text);
}

static void write_columns(struct pd_page *page)
{
    pd_page_right(page, TIME, "time s");
    write_at(page, WHAT, "what happens, and the voltages from then on");
    pd_page_end_line(page);
    pd_page_right(page, CHASSIS, "chassis");
    pd_page_right(page, METAL, "metalw.");
    for (int line = PD_L1; line < PD_LINES; line++) {
        static const char *const names[] = {"L1-N", "L2-N", "L3-N"};
        pd_page_right(page, LINE + EACH * line, names[line]);
    }
    write_at(page, LOW - 4, "neighbours");
    pd_page_right(page, OVER, "over");
    write_at(page, ZONE, "person");
    pd_page_end_line(page);
}

static void write_figures(struct pd_page *page, const struct pd_interval *at)
{
    char count[24];
    snprintf(count, sizeof count, "%zu", at->over_count);
    pd_page_right(page, CHASSIS, pd_figure_v(at->chassis_v).text);
    pd_page_right(page, METAL, pd_figure_v(at->metalwork_v).text);
    for (int line = PD_L1; line < PD_LINES; line++)
        pd_page_right(page, LINE + EACH * line, pd_figure_v(at->line_neutral_v[line]).text);
    pd_page_right(page, LOW, pd_figure(at->lowest_v, 0).text);
    pd_page_right(page, HIGH, pd_figure(at->highest_v, 0).text);
    pd_page_right(page, OVER, at->highest == PD_NONE ? "-" : count);
    const char *const zone = at->zone.known ? pd_zone_names[at->zone.most] : "-";
    write_at(page, ZONE, zone);
    pd_page_end_line(page);
}

static void write_interval(struct pd_page *page, const struct pd_aftermath *a, size_t i)
{
    const struct pd_interval *const at = &a->interval[i];
    bool first = true;
    for (size_t k = 0; k < a->event_count; k++) {
        if (a->event[k].interval != i)
            continue;
        char time[24] = "";
        if (first)
            snprintf(time, sizeof time, "%.2f", a->event[k].time_s);
        first = false;
        pd_page_right(page, TIME, time);
        write_at(page, WHAT, pd_aftermath_event(a, &a->event[k]).text);
        pd_page_end_line(page);
    }
    if (!at->known) {
        char text[PD_NOTE_MAX + 32];
        snprintf(text, sizeof text, "not determined from here: %s", a->why);
        pd_page_paragraph(page, WHAT, "", WHAT, text);
        return;
    }
    write_figures(page, at);
    if (at->doubtful != PD_NONE) {
        char text[200];
        snprintf(
            text, sizeof text,
            "device '%.60s' may or may not act here, within its tolerance: taken as not acting",
            a->study_case->detectors.detector[at->doubtful].name);
        pd_page_paragraph(page, WHAT, "", WHAT, text);
    }
}

static void write_timeline(struct pd_page *page, const struct pd_aftermath *a)
{
    pd_page_heading(page, "IN ORDER OF TIME");
    write_columns(page);
    for (size_t i = 0; i < a->interval_count; i++)
        write_interval(page, a, i);
    const double end_s = a->interval[a->interval_count - 1].end_s;
    if (isfinite(end_s)) {
        static const char *const what[PD_ENDINGS] = {
            [PD_ENDING_SETTLED] = "end: nothing more is due",
            [PD_ENDING_HORIZON] = "end of what was followed; more is due",
            [PD_ENDING_OSCILLATES] = "and so on, again and again",
            [PD_ENDING_BOUND] = "stopped here: too much happens",
            [PD_ENDING_UNKNOWN] = "not determined"};
        pd_page_right(page, TIME, pd_figure(end_s, 2).text);
        write_at(page, WHAT, what[a->ending]);
        pd_page_end_line(page);
    }
    pd_page_paragraph(page, MARGIN, "", MARGIN,
                      "Volts, rms: chassis and the rest of the metalwork to earth; line to neutral "
                      "at the installation; the neighbours' lowest and highest line to neutral, "
                      "and how many lines are over the supply range. person: worst zone (IEC TS "
                      "60479-1) of who has held it since the break.");
}

static void write_notes(struct pd_page *page, const struct pd_notes *notes)
{
    for (size_t i = 0; i < notes->count; i++)
        pd_page_paragraph(page, MARGIN, "-", MARGIN + 2, notes->text[i]);
}

enum pd_status pd_aftermath_text(FILE *out, const struct pd_aftermath *a)
{
    struct pd_page page = {.out = out};
    write_answer(&page, a);
    if (a->interval_count > 0)
        write_timeline(&page, a);
    pd_page_heading(&page, "WHAT THIS TAKES");
    pd_page_paragraph(&page, MARGIN, "", MARGIN, pd_aftermath_note);
    write_notes(&page, &a->assumptions);
    write_notes(&page, &a->study_case->assumptions);
    if (a->body_source[0] != '\0') {
        pd_page_paragraph(&page, MARGIN, "-", MARGIN + 2, a->body_source);
        pd_page_paragraph(&page, MARGIN, "-", MARGIN + 2, a->curve_source);
        pd_page_paragraph(&page, MARGIN, "", MARGIN, pd_person_warning);
    }
    pd_text_limits(&page, &a->study_case->limits);
    pd_text_cautions(&page);
    return ferror(out) ? PD_ERR_FILE : PD_OK;
}
