/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_ELECTRODE_H
#define PENDRIFT_STUDY_ELECTRODE_H

#include <stdbool.h>
#include <stddef.h>

#include "earthing/ground.h"
#include "earthing/season.h"
#include "earthing/shape.h"
#include "earthing/soil.h"
#include "earthing/survey.h"
#include "study/assess.h"
#include "table/status.h"

/* An electrode sized from soil and shape: what one has, and what it takes to get one down to a
 * wanted resistance. */

struct pd_electrode_question {
    struct pd_soil soil;      /* figures NaN: not known */
    struct pd_soil_kind kind; /* of a published kind of soil: soil is its high end; name "" else */
    struct pd_survey_fit survey; /* soil is its answer, NaN where it has none */
    bool surveyed;
    enum pd_shape shape;
    struct pd_shape_size size; /* soil_ohm_m unused; NaN where not given */
    bool length_given, spacing_given;
    double want_ohm;         /* NaN: nothing is wanted */
    struct pd_season season; /* factor NaN: not declared; name "" where it was a number */
    double separation_share; /* NaN: not asked */
};

/* Resistances of one electrode, ohm. The numerical figure is for the soil as it is, layers too; the
 * handbook's only for uniform soil and within its range. The higher of them decides: each is
 * meant to be above the truth, and nobody should lean on the difference. */
struct pd_electrode_figure {
    double handbook_ohm, numerical_ohm;
    double error;   /* of the numerical figure, relative, estimated */
    double ohm;     /* what decides, soil as given; NaN where the numerical figure is doubtful */
    double dry_ohm; /* the same times the season's factor; NaN where that is not declared */
};

/* How rods may be set out to get there. */
struct pd_layout {
    enum pd_shape shape; /* PD_ROD in a line, PD_SQUARE round a hollow square */
    size_t count;
    double length_m, spacing_m;
    double land_m; /* the line's length, or the square's side */
    struct pd_electrode_figure figure;
    bool meets; /* dry season where declared, else as the soil is; false where not known */
};

/* What the search stays within; common practice, no source. */
extern const double pd_layout_section_m;    /* rods come in sections so long */
extern const double pd_layout_longest_m;    /* as deep as one drives them */
extern const double pd_layout_line_m;       /* the longest line, */
extern const double pd_layout_side_m;       /* and side of a square, that a plot has room for */
extern const double pd_layout_little_share; /* a further rod that lowers it by less does little */
enum { PD_LAYOUT_LINE_MOST = 10, PD_LAYOUT_SQUARE_MOST = 36, PD_LAYOUTS = 32 };

enum pd_practicable { PD_PRACTICABLE_UNKNOWN, PD_PRACTICABLE, PD_NOT_PRACTICABLE };

struct pd_electrode_answer {
    struct pd_electrode_question question;
    struct pd_electrode_figure figure; /* of the shape asked for; NaN where a want is asked */
    double low_ohm;                    /* at the low end of a published kind of soil, NaN else */
    struct pd_ground *ground;          /* of the shape, or of the best layout; NULL where none */
    double separation_m;               /* NaN: not asked or beyond 200 m */

    /* with a want: for each arrangement and rod length the fewest rods that do; where none do, the
     * most that there is room for */
    struct pd_layout layout[PD_LAYOUTS];
    size_t layout_count;
    size_t best;                                  /* fewest metres of rod; PD_NONE */
    struct pd_layout ladder[PD_LAYOUT_LINE_MOST]; /* the best one's rods in a line, one by one */
    size_t ladder_count;
    size_t little_from; /* the rod from which on another lowers it by less than the little share; 0:
                           none of the ladder */
    enum pd_practicable practicable;
};

/* Answers in *out, which the caller frees. A question without soil, or a numerical figure that is
 * doubtful, is a good call whose figures are NaN. PD_OK; PD_ERR_ARGUMENT where the shape's sizes
 * are missing or no such shape can be laid; PD_ERR_MEMORY; PD_ERR_INTERRUPTED where `progress` (may
 * be NULL) said so. */
enum pd_status pd_electrode_answer(const struct pd_electrode_question *question,
                                   pd_progress_function *progress, void *context,
                                   struct pd_electrode_answer **out);
void pd_electrode_answer_free(struct pd_electrode_answer **answer);

/* Whether what was asked for has no answer. */
bool pd_electrode_answer_unknown(const struct pd_electrode_answer *answer);

/* The potential of the ground on the surface, over the electrode's own, at most 1 (a sheet's grid
 * of wires leaves a little more between them), x from its middle along the line of rods and y
 * across it; the touch voltage there over the electrode's potential is 1 less this. NaN where there
 * is no ground or the place is beyond 200 m. */
double pd_electrode_ground_share(const struct pd_electrode_answer *answer, double x_m, double y_m);

#endif
