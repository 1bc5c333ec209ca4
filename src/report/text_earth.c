/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>

#include "report/figure.h"
#include "report/text.h"
#include "study/earth.h"

enum { INDENT = 20 };

static void write_line(struct pd_page *page, const char *first, const char *text)
{
    pd_page_paragraph(page, first[0] != '\0' ? 2 : INDENT, first, INDENT, text);
}

static void write_season(struct pd_page *page, const struct pd_earth *earth)
{
    const struct pd_electrode *const e = earth->electrode;
    char text[400];
    if (e->season_declared)
        snprintf(text, sizeof text,
                 "%s ohm %s; declared: %g times that in the dry season, %s ohm. The verdict rests "
                 "on that.",
                 pd_figure_ohm(e->resistance_ohm).text, e->calculated ? "calculated" : "as read",
                 e->season_factor, pd_figure_ohm(earth->dry_ohm).text);
    else
        snprintf(text, sizeof text,
                 "%s ohm %s; no season_factor is declared. As much as the one that rose %g-fold "
                 "in its year (%s) it would be %s ohm.",
                 pd_figure_ohm(e->resistance_ohm).text, e->calculated ? "calculated" : "as read",
                 earth->year.factor, earth->year.source, pd_figure_ohm(earth->year_ohm).text);
    write_line(page, e->name, text);
}

static void write_asked(struct pd_page *page, const struct pd_earth *earth)
{
    const struct pd_electrode *const e = earth->electrode;
    char text[300];
    if (!isfinite(earth->most_now_ohm))
        return;
    snprintf(text, sizeof text,
             "The rule asks for at most %s ohm in the dry season: here that is a reading of at "
             "most %s ohm now%s.",
             pd_figure_ohm_most(earth->most_ohm).text, pd_figure_ohm_most(earth->most_now_ohm).text,
             e->season_declared ? "" : ", or less, as no season is declared");
    write_line(page, "", text);
    if (!isfinite(e->size.soil_ohm_m))
        return;
    snprintf(text, sizeof text,
             "What that takes in this ground: pendrift electrode --soil %.3g --season %g --want %s",
             e->size.soil_ohm_m, e->season_factor, pd_figure_ohm_most(earth->most_ohm).text);
    write_line(page, "", text);
}

static void write_other_ground(struct pd_page *page, const struct pd_earth *earth)
{
    char text[1200];
    size_t used = (size_t)snprintf(
        text, sizeof text,
        "The same %s in other ground, ohm, same season:", pd_shape_names[earth->electrode->shape]);
    for (size_t k = 0; k < earth->kinds && used < sizeof text; k++) {
        const struct pd_earth_kind *const kind = &earth->kind[k];
        const bool one = kind->low_ohm == kind->high_ohm;
        used += (size_t)snprintf(text + used, sizeof text - used, "%s %s %s%s%s", k > 0 ? "," : "",
                                 kind->soil.name, pd_figure_ohm(kind->low_ohm).text,
                                 one ? "" : " to ", one ? "" : pd_figure_ohm(kind->high_ohm).text);
    }
    if (used < sizeof text)
        snprintf(text + used, sizeof text - used, " (handbook ranges, reference/soils.csv).");
    write_line(page, "", text);
}

static void write_ground(struct pd_page *page, const struct pd_earth *earth)
{
    const struct pd_electrode *const e = earth->electrode;
    char text[200];
    if (!e->shaped) {
        write_line(page, "",
                   "What its ground is cannot be said: give its shape and sizes beside the "
                   "reading.");
        return;
    }
    snprintf(text, sizeof text, "Its ground, by %s: %s ohm-m, and %s in the dry season.",
             e->calculated ? "what is declared" : "shape and reading",
             pd_figure_ohm(e->size.soil_ohm_m).text,
             pd_figure_ohm(e->size.soil_ohm_m * e->season_factor).text);
    write_line(page, "", text);
}

enum pd_status pd_text_earth(struct pd_page *page, const struct pd_assessment *a)
{
    bool headed = false, compared = false;
    for (size_t i = 0; i < a->study_case->electrodes.count; i++) {
        struct pd_earth earth;
        if (!pd_earth_own(a->study_case, i) ||
            !isfinite(a->study_case->electrodes.electrode[i].resistance_ohm))
            continue;
        const enum pd_status status = pd_earth_find(a, i, &earth);
        if (status != PD_OK)
            return status;
        if (!headed)
            pd_page_heading(page, "THE INSTALLATION'S ELECTRODES, THEIR GROUND AND THE SEASON");
        headed = true;
        write_season(page, &earth);
        write_asked(page, &earth);
        write_ground(page, &earth);
        if (earth.electrode->shaped && !compared) /* once shows how much the ground matters */
            write_other_ground(page, &earth);
        compared |= earth.electrode->shaped;
    }
    return PD_OK;
}
