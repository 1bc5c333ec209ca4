/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "report/cautions.h"
#include "report/electrode.h"
#include "report/figure.h"
#include "report/report.h"
#include "report/text.h"
#include "table/names.h"

enum { MARGIN = 2, VALUES = 16 };

static void write_entry(struct pd_page *page, const char *label, const char *text)
{
    pd_page_paragraph(page, MARGIN, label, VALUES, text);
}

static void write_survey(struct pd_page *page, const struct pd_survey_fit *fit)
{
    char text[400];
    pd_page_heading(page, "SURVEY");
    snprintf(text, sizeof text, "%s: %s", pd_survey_answer_names[fit->answer], fit->why);
    write_entry(page, "answer", text);
    snprintf(text, sizeof text, "%s ohm-m, standard error %s %%, misfit %s %% rms",
             pd_figure(fit->uniform_ohm_m, 1).text, pd_figure(100 * fit->uniform_error, 1).text,
             pd_figure(fit->uniform_misfit, 1).text);
    write_entry(page, "uniform", text);
    if (!isfinite(fit->layered_misfit))
        return;
    snprintf(text, sizeof text,
             "%s ohm-m (%s %%) down to %s m (%s %%), %s ohm-m (%s %%) below; misfit %s %% rms; "
             "standard errors in brackets",
             pd_figure(fit->layered.upper_ohm_m, 1).text, pd_figure(100 * fit->upper_error, 1).text,
             pd_figure(fit->layered.upper_m, 2).text, pd_figure(100 * fit->depth_error, 1).text,
             pd_figure(fit->layered.lower_ohm_m, 1).text, pd_figure(100 * fit->lower_error, 1).text,
             pd_figure(fit->layered_misfit, 1).text);
    write_entry(page, "two layers", text);
    if (!isfinite(fit->f))
        return;
    snprintf(text, sizeof text, "F %s, two layers need more than %s (95 %%)",
             pd_figure(fit->f, 1).text, pd_figure(fit->f_needed, 1).text);
    write_entry(page, "choice", text);
}

static void write_figure(struct pd_page *page, const struct pd_electrode_answer *answer,
                         enum pd_shape shape)
{
    const struct pd_electrode_figure *const figure = &answer->figure;
    const struct pd_formula *const formula = pd_shape_formula(shape);
    char text[512];
    pd_page_heading(page, "RESISTANCE");
    if (isfinite(figure->handbook_ohm))
        snprintf(text, sizeof text, "%s ohm. %s (%s). For %s.",
                 pd_figure_ohm(figure->handbook_ohm).text, formula->form, formula->source,
                 formula->range);
    else
        snprintf(text, sizeof text, "none: %s",
                 pd_soil_layered(&answer->question.soil)
                     ? "the formulas here are for uniform soil; the numerical method is the answer"
                     : formula->range);
    write_entry(page, "handbook", text);
    snprintf(text, sizeof text, "%s ohm, estimated error %s %%. Segments at one potential%s.",
             pd_figure_ohm(figure->numerical_ohm).text, pd_figure(100 * figure->error, 2).text,
             pd_soil_layered(&answer->question.soil) ? ", images in two layers" : "");
    write_entry(page, "numerical", text);
    if (isfinite(figure->handbook_ohm) && isfinite(figure->numerical_ohm)) {
        snprintf(text, sizeof text, "%s %%, numerical over handbook; the higher figure decides",
                 pd_figure(100 * (figure->numerical_ohm / figure->handbook_ohm - 1), 1).text);
        write_entry(page, "difference", text);
    }
    if (isfinite(answer->low_ohm)) {
        snprintf(text, sizeof text, "%s ohm at the low end, %g ohm-m",
                 pd_figure_ohm(answer->low_ohm).text, answer->question.kind.low_ohm_m);
        write_entry(page, "range of soil", text);
    }
}

enum { KIND = 2, RODS = 18, LENGTH = 26, SPACING = 36, LAND = 46, NOW = 57, DRY = 68, DOES = 78 };

static void write_layout(struct pd_page *page, const struct pd_layout *layout)
{
    page->column = KIND;
    pd_page_wrap(page, KIND, layout->shape == PD_SQUARE ? "square" : "line");
    char count[24];
    snprintf(count, sizeof count, "%zu", layout->count);
    pd_page_right(page, RODS, count);
    pd_page_right(page, LENGTH, pd_figure(layout->length_m, 1).text);
    pd_page_right(page, SPACING, pd_figure(layout->spacing_m, 1).text);
    pd_page_right(page, LAND, pd_figure(layout->land_m, 1).text);
    pd_page_right(page, NOW, pd_figure_ohm(layout->figure.ohm).text);
    pd_page_right(page, DRY, pd_figure_ohm(layout->figure.dry_ohm).text);
    pd_page_right(page, DOES, layout->meets ? "yes" : "no");
    pd_page_end_line(page);
}

static void write_layouts(struct pd_page *page, const struct pd_electrode_answer *answer)
{
    char text[400];
    pd_page_heading(page, "WAYS TO SET OUT RODS");
    page->column = KIND;
    pd_page_wrap(page, KIND, "set out in a");
    pd_page_right(page, RODS, "rods");
    pd_page_right(page, LENGTH, "each m");
    pd_page_right(page, SPACING, "apart m");
    pd_page_right(page, LAND, "land m");
    pd_page_right(page, NOW, "ohm now");
    pd_page_right(page, DRY, "ohm dry");
    pd_page_right(page, DOES, "does");
    pd_page_end_line(page);
    for (size_t i = 0; i < answer->layout_count; i++)
        write_layout(page, &answer->layout[i]);
    snprintf(text, sizeof text,
             "Each row is the fewest rods that do, or the most that there is room for: up to %d in "
             "a line of %g m, %d round a square of %g m a side, %g m deep, as common practice has "
             "it (no source); spacing the rod's length or twice that unless it is given. Your "
             "plot may allow less. Land: the line's length or the square's side.",
             PD_LAYOUT_LINE_MOST, pd_layout_line_m, PD_LAYOUT_SQUARE_MOST, pd_layout_side_m,
             pd_layout_longest_m);
    pd_page_paragraph(page, MARGIN, "", MARGIN, text);
}

static void write_ladder(struct pd_page *page, const struct pd_electrode_answer *answer)
{
    char text[160];
    const struct pd_layout *const first = &answer->ladder[0];
    snprintf(text, sizeof text, "ONE ROD MORE (%.3g m long, %.3g m apart, in a line)",
             first->length_m, first->spacing_m);
    pd_page_heading(page, text);
    for (size_t i = 0; i < answer->ladder_count; i++) {
        const double ohm = answer->ladder[i].figure.ohm;
        snprintf(text, sizeof text, "%zu", answer->ladder[i].count);
        pd_page_right(page, RODS - 12, text);
        snprintf(text, sizeof text, "%s ohm", pd_figure_ohm(ohm).text);
        pd_page_right(page, RODS, text);
        if (i > 0) {
            snprintf(text, sizeof text, "%s %% lower",
                     pd_figure(100 * (1 - ohm / answer->ladder[i - 1].figure.ohm), 1).text);
            pd_page_right(page, LAND - 14, text);
        }
        pd_page_end_line(page);
    }
    if (answer->little_from > 0)
        snprintf(
            text, sizeof text,
            "Diminishing return: from rod %zu on, another lowers it by less than %g %%. Whether "
            "there is room is another matter.",
            answer->little_from, 100 * pd_layout_little_share);
    else
        snprintf(text, sizeof text, "Every further rod so far lowers it by %g %% or more.",
                 100 * pd_layout_little_share);
    pd_page_paragraph(page, MARGIN, "", MARGIN, text);
}

static void write_ground(struct pd_page *page, const struct pd_electrode_answer *answer)
{
    static const double from_m[] = {0.5, 1, 2, 3, 5, 10, 20, 50};
    pd_page_heading(page, "THE GROUND ROUND IT, percent of the electrode's potential");
    pd_page_right(page, 18, "from middle m");
    pd_page_right(page, 30, "ground %");
    pd_page_right(page, 44, "touch there %");
    pd_page_right(page, 66, "step, 1 m outwards %");
    pd_page_end_line(page);
    for (size_t i = 0; i < sizeof from_m / sizeof from_m[0]; i++) {
        const double here = pd_electrode_ground_share(answer, 0, from_m[i]);
        const double further = pd_electrode_ground_share(answer, 0, from_m[i] + 1);
        pd_page_right(page, 18, pd_figure(from_m[i], 1).text);
        pd_page_right(page, 30, pd_figure(100 * here, 1).text);
        pd_page_right(page, 44, pd_figure(100 * (1 - here), 1).text);
        pd_page_right(page, 66, pd_figure(100 * fabs(here - further), 1).text);
        pd_page_end_line(page);
    }
    pd_page_paragraph(page, MARGIN, "", MARGIN,
                      "On the surface, square to a line of rods, as the soil is. Touch: what is "
                      "bonded to the electrode against the ground there.");
}

static void write_separation(struct pd_page *page, const struct pd_electrode_answer *answer)
{
    const double percent = 100 * answer->question.separation_share;
    char text[480];
    if (isnan(percent))
        return;
    pd_page_heading(page, "SEPARATION");
    if (isfinite(answer->separation_m))
        snprintf(text, sizeof text,
                 "%s m from its middle the ground is down to %g %% of this electrode's potential. "
                 "A reference electrode there reads a voltage to earth %g %% too low; an electrode "
                 "there takes on %g %% of this one's voltage.",
                 pd_figure(answer->separation_m, 1).text, percent, percent, percent);
    else
        snprintf(text, sizeof text,
                 "not determined: within 200 m the ground is nowhere down to %g %% of this "
                 "electrode's potential, or there is no figure for it",
                 percent);
    pd_page_paragraph(page, MARGIN, "", MARGIN, text);
}

enum pd_status pd_electrode_text(FILE *out, const struct pd_electrode_answer *answer)
{
    struct pd_page page = {.out = out};
    const struct pd_electrode_question *const q = &answer->question;
    const bool wants = !isnan(q->want_ohm), has_best = answer->best != PD_NONE;
    pd_page_paragraph(&page, 0, "", 2, pd_electrode_headline(answer).text);
    pd_page_end_line(&page);
    write_entry(&page, "soil", pd_electrode_soil(q).text);
    if (q->kind.name[0] != '\0')
        write_entry(&page, "from", q->kind.source);
    write_entry(&page, "dry season", pd_electrode_season(answer).text);
    pd_page_end_line(&page);
    pd_page_paragraph(&page, 0, "", 0, pd_caution_short);
    pd_page_paragraph(&page, 0, "", 0, "The cautions at the end are part of this answer.");
    if (q->surveyed)
        write_survey(&page, &q->survey);
    if (wants && answer->layout_count > 0)
        write_layouts(&page, answer);
    if (wants && answer->ladder_count > 0)
        write_ladder(&page, answer);
    if (!wants || has_best)
        write_figure(&page, answer, has_best ? answer->layout[answer->best].shape : q->shape);
    if (answer->ground != NULL)
        write_ground(&page, answer);
    write_separation(&page, answer);
    pd_text_cautions(&page);
    return ferror(out) ? PD_ERR_FILE : PD_OK;
}
