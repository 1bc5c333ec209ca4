/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>

#include "report/assess_html.h"
#include "report/blind.h"
#include "report/electrode.h"
#include "report/street.h"
#include "report/sweep.h"

/* More devices than these are left to pendrift blind. */
enum { PLANES_SHOWN = 4 };

static void leave_out(struct pd_mirror *m, const char *heading, const char *why)
{
    pd_html_heading(&m->html, 3, heading);
    pd_html_paragraph(&m->html, NULL, why);
}

static void begin(struct pd_mirror *m, const char *heading)
{
    pd_html_heading(&m->html, 3, heading);
    pd_html_picture(&m->html);
}

static enum pd_status draw_street(struct pd_mirror *m, const struct pd_assessment *a)
{
    static const char heading[] = "The street with the break that decides";
    struct pd_street_lay lay;
    if (a->along.scenario >= a->scenario_count) {
        leave_out(m, heading,
                  a->study_case->missing.count > 0
                      ? "Left out. The case is incomplete, so nothing can be drawn."
                      : "Left out. No break of a PEN decides, or it did not come out the same when "
                        "it was solved again.");
        return PD_OK;
    }
    enum pd_status status = pd_street_lay(a->study_case, PD_STREET_WIDTH, &lay);
    if (status == PD_ERR_ARGUMENT) {
        leave_out(m, heading,
                  "Left out. The street is too large to be drawn on a page. The JSON, "
                  "under along, has the voltage of every node.");
        return PD_OK;
    }
    if (status != PD_OK)
        return status;
    pd_street_lay_free(&lay);
    begin(m, heading);
    status = pd_street_svg(m->html.out, a, "street");
    pd_html_picture_end(&m->html, pd_street_headline(a).text);
    return status;
}

static enum pd_status draw_planes(struct pd_mirror *m, const struct pd_pictured *p)
{
    static const char heading[] = "What the device does not see: the plane of neutral displacement";
    enum pd_status status = PD_OK;
    char prefix[24], text[900];
    if (p->blind == NULL) {
        snprintf(text, sizeof text, "Left out. %s", p->why[PD_PICTURED_PLANE]);
        leave_out(m, heading, text);
        return PD_OK;
    }
    for (size_t i = 0; i < p->blind->count && i < PLANES_SHOWN && status == PD_OK; i++) {
        const struct pd_blind_device *const device = &p->blind->device[i];
        if (device->view[PD_VIEW_DRAWN].kind != PD_REGION_KNOWN) {
            snprintf(text, sizeof text, "Left out. %s", pd_blind_headline(p->blind, device).text);
            leave_out(m, heading, text);
            continue;
        }
        begin(m, heading);
        snprintf(prefix, sizeof prefix, "plane%zu", i);
        status = pd_blind_svg_inlined(m->html.out, p->blind, i, prefix);
        snprintf(text, sizeof text, "%s %s Looked at by itself; more of it: pendrift blind.",
                 pd_blind_headline(p->blind, device).text, pd_blind_here(device).text);
        pd_html_picture_end(&m->html, text);
    }
    if (p->blind->count > PLANES_SHOWN)
        pd_html_paragraph(&m->html, "note", "Further devices are left to pendrift blind.");
    return status;
}

static enum pd_status draw_sweep(struct pd_mirror *m, const struct pd_sweep *sweep,
                                 const char *heading, const char *prefix, const char *why)
{
    char text[2000];
    if (sweep == NULL) {
        snprintf(text, sizeof text, "Left out. %s", why);
        leave_out(m, heading, text);
        return PD_OK;
    }
    if (sweep->within + sweep->over == 0) {
        leave_out(m, heading, "Left out. It is not determined at any point.");
        return PD_OK;
    }
    begin(m, heading);
    const enum pd_status status = pd_sweep_svg_inlined(m->html.out, sweep, heading, prefix);
    snprintf(text, sizeof text, "%s %s Computed: %s", pd_sweep_headline(sweep).text,
             pd_sweep_present(sweep).text, pd_sweep_method(sweep).text);
    pd_html_picture_end(&m->html, text);
    return status;
}

static enum pd_status draw_ground(struct pd_mirror *m, const struct pd_pictured *p)
{
    static const char heading[] = "The ground round the electrode";
    char text[900];
    if (p->ground == NULL) {
        snprintf(text, sizeof text, "Left out. %s", p->why[PD_PICTURED_GROUND]);
        leave_out(m, heading, text);
        return PD_OK;
    }
    begin(m, heading);
    const enum pd_status status = pd_electrode_svg_inlined(m->html.out, p->ground, "ground");
    snprintf(text, sizeof text, "'%s', alone in its ground: %s", p->ground_of,
             pd_electrode_headline(p->ground).text);
    pd_html_picture_end(&m->html, text);
    return status;
}

static enum pd_status draw_studies(struct pd_mirror *m, const struct pd_pictured *p)
{
    enum pd_status status = draw_planes(m, p);
    if (status == PD_OK)
        status = draw_sweep(m, p->electrode,
                            "Touch voltage against an electrode on the main earthing terminal",
                            "electrode", p->why[PD_PICTURED_ELECTRODE]);
    if (status == PD_OK)
        status = draw_sweep(m, p->split, "Touch voltage against the split over three lines",
                            "split", p->why[PD_PICTURED_SPLIT]);
    return status == PD_OK ? draw_ground(m, p) : status;
}

enum pd_status pd_assess_html_pictures(struct pd_mirror *m, const struct pd_assess_page *page)
{
    pd_html_section(&m->html, "pictures", "Pictures");
    enum pd_status status = draw_street(m, page->assessment);
    if (status == PD_OK && page->pictured != NULL)
        status = draw_studies(m, page->pictured);
    pd_html_section_end(&m->html);
    return status;
}
