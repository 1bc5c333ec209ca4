/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "report/blind.h"
#include "report/cautions.h"
#include "report/figure.h"
#include "report/plain.h"
#include "report/report.h"
#include "report/scenario.h"
#include "report/text.h"

enum { MARGIN = 2, VALUES = 22, ROWS = 10 };

static void write_entry(struct pd_page *page, const char *label, const char *text)
{
    pd_page_paragraph(page, MARGIN, label, VALUES, text);
}

static void write_answer(struct pd_page *page, const struct pd_blind *blind)
{
    for (size_t i = 0; i < blind->count; i++)
        pd_page_paragraph(page, 0, "", 2, pd_blind_headline(blind, &blind->device[i]).text);
    if (blind->count == 0)
        pd_page_paragraph(page, 0, "", 2,
                          "Not determined: this case declares no detector, so that nothing would "
                          "see an open PEN. Declare one in detectors.csv, or try one by itself: "
                          "pendrift blind --senses line-neutral.");
    pd_page_paragraph(page, 0, "", 2, pd_blind_title(blind));
    pd_page_end_line(page);
    if (blind->study_case != NULL)
        for (size_t i = 0; i < blind->study_case->missing.count; i++)
            pd_page_paragraph(page, MARGIN, "-", MARGIN + 2, blind->study_case->missing.text[i]);
    pd_page_paragraph(page, 0, "", 0, pd_caution_short);
    pd_page_paragraph(page, 0, "", 0, "The cautions at the end are part of this answer.");
}

static void write_worst_point(struct pd_page *page, const struct pd_blind_device *device)
{
    const struct pd_region_worst *const worst = &device->worst;
    char text[256];
    int used =
        snprintf(text, sizeof text, "%s V to earth at %s degrees, supply %s V; there",
                 pd_figure_v(worst->worst_v).text, pd_figure(pd_blind_angle_deg(worst->at), 1).text,
                 pd_figure_v(worst->supply_v).text);
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((device->reach.lines & 1u << line) != 0)
            used += snprintf(
                text + used, sizeof text - (size_t)used, "%s L%d-N %s V",
                text[used - 1] == 'V' ? "," : "", line + 1,
                pd_figure_v(cabs(worst->supply_v * device->reach.unit_emf[line] - worst->at)).text);
    write_entry(page, "furthest unseen", text);
}

enum { SUPPLY = 12, UP_TO = 26, SHARE = 42, HAZARD = 64 };

static void write_view(struct pd_page *page, const struct pd_region *region)
{
    pd_page_right(page, SUPPLY, pd_figure_v(region->supply_v).text);
    pd_page_right(page, UP_TO, pd_figure_v(region->worst_v).text);
    pd_page_right(page, SHARE, pd_figure(100 * region->unseen_share, 2).text);
    pd_page_right(page, HAZARD, pd_figure(100 * region->hazard_share, 2).text);
    if (region->sees_health) {
        pd_page_to(page, HAZARD + 2);
        pd_page_wrap(page, HAZARD + 2, "trips in health");
    }
    pd_page_end_line(page);
}

/* One row for each supply voltage that differs as printed, ascending. */
static void write_views(struct pd_page *page, const struct pd_blind_device *device)
{
    pd_page_right(page, SUPPLY, "supply V");
    pd_page_right(page, UP_TO, "unseen to V");
    pd_page_right(page, SHARE, "unseen %");
    pd_page_right(page, HAZARD, "unseen, over limit %");
    pd_page_end_line(page);
    double last_v = -1;
    for (;;) {
        const struct pd_region *next = NULL;
        for (size_t i = 0; i < PD_BLIND_VIEWS; i++) {
            const struct pd_region *const view = &device->view[i];
            if (view->supply_v > last_v + 0.05 && (next == NULL || view->supply_v < next->supply_v))
                next = view;
        }
        if (next == NULL)
            return;
        write_view(page, next);
        last_v = next->supply_v;
    }
}

enum { TOUCH = 10, FAULT = 12, SECTION = 27, LOADS = 49, AT = 66, FIGURE = 78 };

static void write_scenario(struct pd_page *page, const struct pd_assessment *assessment,
                           size_t index)
{
    const struct pd_scenario *const s = &assessment->scenario[index];
    const char *const section = pd_scenario_section(assessment, s);
    pd_page_right(page, TOUCH, pd_figure_v(s->touch_v).text);
    pd_page_to(page, FAULT);
    pd_page_wrap(page, FAULT, pd_plain_short(pd_fault_names[s->fault], SECTION - FAULT - 1).text);
    pd_page_to(page, SECTION);
    pd_page_wrap(page, SECTION,
                 pd_plain_short(section != NULL ? section : "-", LOADS - SECTION - 1).text);
    pd_page_to(page, LOADS);
    pd_page_wrap(page, LOADS, pd_loads_names[s->loads]);
    pd_page_right(page, AT, pd_figure_v(s->supply_v).text);
    pd_page_right(page, FIGURE, pd_figure_v(s->sight[0].figure_v).text);
    pd_page_end_line(page);
}

static void write_scenarios(struct pd_page *page, const struct pd_blind_device *device)
{
    const struct pd_blind_words here = pd_blind_here(device);
    if (here.text[0] == '\0')
        return;
    pd_page_end_line(page);
    pd_page_paragraph(page, MARGIN, "", MARGIN, here.text);
    if (device->unknown_count > 0) {
        char text[96];
        snprintf(text, sizeof text, "Not determined in %zu scenarios.", device->unknown_count);
        pd_page_paragraph(page, MARGIN, "", MARGIN, text);
    }
    if (device->unseen_count == 0)
        return;
    pd_page_right(page, TOUCH, "touch V");
    pd_page_to(page, FAULT);
    pd_page_wrap(page, FAULT, "fault");
    pd_page_to(page, SECTION);
    pd_page_wrap(page, SECTION, "in section");
    pd_page_to(page, LOADS);
    pd_page_wrap(page, LOADS, "loads");
    pd_page_right(page, AT, "supply V");
    pd_page_right(page, FIGURE, "it reads V");
    pd_page_end_line(page);
    const size_t shown = device->unseen_count < ROWS ? device->unseen_count : ROWS;
    for (size_t i = 0; i < shown; i++)
        write_scenario(page, device->assessment, device->unseen[i]);
    if (device->unseen_count > shown) {
        char text[96];
        snprintf(text, sizeof text, "and %zu more: --format json has them all",
                 device->unseen_count - shown);
        pd_page_paragraph(page, MARGIN, "", MARGIN, text);
    }
    if (device->unseen_count > device->judged_count)
        pd_page_paragraph(page, MARGIN, "", MARGIN,
                          "Those of crossed, open-neutral, line-to-pen and open-earthing stand "
                          "beside the verdict and are not in the picture.");
}

static void write_device(struct pd_page *page, const struct pd_blind_device *device)
{
    char head[PD_NAME_MAX + 16];
    snprintf(head, sizeof head, "DETECTOR %s", device->detector->name);
    pd_page_heading(page, head);
    write_entry(page, "watches", pd_blind_watches(device->detector).text);
    if (device->worst.kind == PD_REGION_KNOWN) {
        write_worst_point(page, device);
        write_views(page, device);
    } else {
        write_entry(page, "blind region", pd_blind_kind_name(device->worst.kind));
    }
    write_scenarios(page, device);
}

static void write_plane(struct pd_page *page, const struct pd_blind *blind)
{
    char text[256];
    pd_page_heading(page, "THE PLANE");
    snprintf(text, sizeof text,
             "Where the drifting neutral may stand to remote earth, on a %s supply of %s to %s V. "
             "Every chassis on the PEN stands there with it.",
             pd_system_names[blind->system], pd_figure_v(blind->low_v).text,
             pd_figure_v(blind->high_v).text);
    pd_page_paragraph(page, MARGIN, "", MARGIN, text);
    pd_page_paragraph(page, MARGIN, "", MARGIN, pd_blind_hull_note);
    pd_page_paragraph(page, MARGIN, "", MARGIN, pd_blind_share_note);
    if (blind->count > 0 && blind->study_case != NULL)
        pd_page_paragraph(page, MARGIN, "", MARGIN, pd_blind_alone_note);
    pd_page_heading(page, "WHERE EACH SENSE STANDS");
    for (size_t sense = 0; sense < PD_SENSES; sense++)
        pd_page_paragraph(page, MARGIN, pd_sense_names[sense], VALUES,
                          pd_blind_sense_stands((enum pd_sense)sense));
}

enum pd_status pd_blind_text(FILE *out, const struct pd_blind *blind)
{
    struct pd_page page = {.out = out};
    write_answer(&page, blind);
    for (size_t i = 0; i < blind->count; i++)
        write_device(&page, &blind->device[i]);
    write_plane(&page, blind);
    pd_text_limits(&page, &blind->limits);
    if (blind->own_touch) {
        char text[96];
        snprintf(text, sizeof text, "In place of the set's touch voltage: %s V, as given here.",
                 pd_figure_v(blind->touch_v).text);
        pd_page_paragraph(&page, MARGIN, "", MARGIN, text);
    }
    pd_text_cautions(&page);
    return ferror(out) ? PD_ERR_FILE : PD_OK;
}
