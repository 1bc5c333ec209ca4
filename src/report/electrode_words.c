/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "report/electrode.h"
#include "report/figure.h"
#include "table/names.h"

const char *const pd_electrode_practicable_names[] = {[PD_PRACTICABLE_UNKNOWN] = "not determined",
                                                      [PD_PRACTICABLE] = "practicable",
                                                      [PD_NOT_PRACTICABLE] = "not practicable"};
const char *const pd_electrode_picture_names[PD_ELECTRODE_PICTURES] = {
    [PD_PICTURE_CONTOUR] = "contour", [PD_PICTURE_PROFILE] = "profile"};

struct pd_electrode_words pd_electrode_layout(const struct pd_layout *layout)
{
    struct pd_electrode_words words;
    if (layout->count == 1)
        snprintf(words.text, sizeof words.text, "one rod of %.3g m", layout->length_m);
    else
        snprintf(words.text, sizeof words.text, "%zu rods of %.3g m, %.3g m apart %s of %.3g m%s",
                 layout->count, layout->length_m, layout->spacing_m,
                 layout->shape == PD_SQUARE ? "round a square" : "in a line", layout->land_m,
                 layout->shape == PD_SQUARE ? " a side" : "");
    return words;
}

struct pd_electrode_words pd_electrode_shape(const struct pd_electrode_question *q)
{
    struct pd_electrode_words words;
    char thick[48] = "", deep[48] = "";
    const struct pd_shape_size *const size = &q->size;
    const bool solid = q->shape == PD_PLATE || q->shape == PD_FOUNDATION;
    if (!solid)
        snprintf(thick, sizeof thick, ", %g mm %s", 1000 * size->diameter_m,
                 q->shape == PD_STRIP ? "wide" : "thick");
    if (size->depth_m > 0)
        snprintf(deep, sizeof deep, ", %g m deep", size->depth_m);
    if (q->shape == PD_ROD || q->shape == PD_SQUARE) {
        const double sides =
            q->shape == PD_SQUARE ? (double)size->count / 4 : (double)size->count - 1;
        const struct pd_layout layout = {.shape = q->shape,
                                         .count = size->count,
                                         .length_m = size->length_m,
                                         .spacing_m = size->spacing_m,
                                         .land_m = sides * size->spacing_m};
        snprintf(words.text, sizeof words.text, "%.300s%s%s", pd_electrode_layout(&layout).text,
                 thick, deep);
    } else {
        snprintf(words.text, sizeof words.text, "%s of %g m%s%s%s", pd_shape_names[q->shape],
                 size->length_m,
                 solid                 ? " square"
                 : q->shape == PD_RING ? " across"
                                       : "",
                 thick, deep);
    }
    return words;
}

struct pd_electrode_words pd_electrode_soil(const struct pd_electrode_question *q)
{
    struct pd_electrode_words words = {"soil not determined"};
    const struct pd_soil *const soil = &q->soil;
    if (!pd_soil_good(soil))
        return words;
    if (pd_soil_layered(soil))
        snprintf(words.text, sizeof words.text, "%.4g ohm-m down to %.3g m, %.4g ohm-m below",
                 soil->upper_ohm_m, soil->upper_m, soil->lower_ohm_m);
    else if (q->kind.name[0] != '\0' && q->kind.low_ohm_m < q->kind.high_ohm_m)
        snprintf(words.text, sizeof words.text, "%s, %g to %g ohm-m, taken at %g ohm-m",
                 q->kind.name, q->kind.low_ohm_m, q->kind.high_ohm_m, soil->upper_ohm_m);
    else
        snprintf(words.text, sizeof words.text, "%s%s%.4g ohm-m", q->kind.name,
                 q->kind.name[0] != '\0' ? ", " : "", soil->upper_ohm_m);
    return words;
}

struct pd_electrode_words pd_electrode_season(const struct pd_electrode_answer *answer)
{
    const struct pd_season *const season = &answer->question.season;
    struct pd_electrode_words words;
    struct pd_season measured;
    if (isfinite(season->factor)) {
        snprintf(words.text, sizeof words.text, "%.3g times the resistance now%s%s%s%s",
                 season->factor, season->name[0] != '\0' ? ": " : ", as given", season->name,
                 season->name[0] != '\0' ? ", " : "", season->source);
        return words;
    }
    if (pd_season_measured(&measured) != PD_OK)
        measured.factor = NAN;
    snprintf(words.text, sizeof words.text,
             "not determined: give --season, a factor or one of the published ones. One electrode "
             "that was measured each month varied %.3g-fold in a year",
             measured.factor);
    return words;
}

/* What a want comes to. */
static void say_want(const struct pd_electrode_answer *answer, struct pd_electrode_words *words)
{
    const struct pd_electrode_question *const q = &answer->question;
    const bool season = isfinite(q->season.factor);
    const char *const wanted = pd_figure_ohm(q->want_ohm).text;
    char want[40];
    snprintf(want, sizeof want, "%s ohm", wanted);
    if (answer->practicable == PD_PRACTICABLE_UNKNOWN || answer->best == PD_NONE) {
        snprintf(words->text, sizeof words->text, "NOT DETERMINED what %s would take here: %s.",
                 want,
                 q->surveyed && !pd_soil_good(&q->soil)
                     ? q->survey.why
                     : "the numerical method gives no figure to lean on");
        return;
    }
    const struct pd_layout *const best = &answer->layout[answer->best];
    const double ohm = season ? best->figure.dry_ohm : best->figure.ohm;
    const char *const when = season ? "in the dry season" : "as the soil is now";
    if (answer->practicable == PD_PRACTICABLE)
        snprintf(words->text, sizeof words->text, "%s takes %.300s: %s ohm %s.%s", want,
                 pd_electrode_layout(best).text, pd_figure_ohm(ohm).text, when,
                 season ? "" : " Dry season NOT DETERMINED.");
    else
        snprintf(words->text, sizeof words->text,
                 "%s is NOT PRACTICABLE HERE: the lowest is %s ohm %s, by %.300s.", want,
                 pd_figure_ohm(ohm).text, when, pd_electrode_layout(best).text);
}

struct pd_electrode_words pd_electrode_headline(const struct pd_electrode_answer *answer)
{
    const struct pd_electrode_question *const q = &answer->question;
    struct pd_electrode_words words;
    if (!isnan(q->want_ohm)) {
        say_want(answer, &words);
        return words;
    }
    char dry[80] = "dry season NOT DETERMINED";
    if (isfinite(answer->figure.dry_ohm))
        snprintf(dry, sizeof dry, "%s ohm in the dry season",
                 pd_figure_ohm(answer->figure.dry_ohm).text);
    if (isfinite(answer->figure.ohm))
        snprintf(words.text, sizeof words.text, "%s ohm now, %s: %.300s.",
                 pd_figure_ohm(answer->figure.ohm).text, dry, pd_electrode_shape(q).text);
    else
        snprintf(words.text, sizeof words.text, "NOT DETERMINED: %s.",
                 q->surveyed && !pd_soil_good(&q->soil)
                     ? q->survey.why
                     : "the numerical method gives no figure to lean on");
    return words;
}
