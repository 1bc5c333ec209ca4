/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_ELECTRODE_H
#define PENDRIFT_REPORT_ELECTRODE_H

#include <stdio.h>

#include "study/electrode.h"

/* An electrode sized, on paper. Each function writes to `out`, does not flush or close it, and
 * returns PD_OK, PD_ERR_FILE or PD_ERR_MEMORY as those of report.h do. Each has all the cautions.
 */

/* For people: the answer, then what it rests on. */
enum pd_status pd_electrode_text(FILE *out, const struct pd_electrode_answer *answer);

/* For programs: one object, "schema": 1; null where a figure is not known. */
enum pd_status pd_electrode_json(FILE *out, const struct pd_electrode_answer *answer);

/* For a spreadsheet: with a want its layouts, else the ground along a line from the electrode. */
enum pd_status pd_electrode_csv(FILE *out, const struct pd_electrode_answer *answer);

/* Pictures of the ground's potential over the electrode's own: lines of equal potential on the
 * surface with a vehicle parked beside it, or the fall along a line. */
enum pd_electrode_picture { PD_PICTURE_CONTOUR, PD_PICTURE_PROFILE };
enum { PD_ELECTRODE_PICTURES = 2 };
extern const char *const pd_electrode_picture_names[PD_ELECTRODE_PICTURES];
enum pd_status pd_electrode_svg(FILE *out, const struct pd_electrode_answer *answer,
                                enum pd_electrode_picture picture);

/* The lines of equal potential, to go into a page of HTML that says the rest, the cautions too.
 * answer->ground must be there. */
enum pd_status pd_electrode_svg_inlined(FILE *out, const struct pd_electrode_answer *answer,
                                        const char *prefix);

/* Parts of sentences that several of them say. */
struct pd_electrode_words {
    char text[480];
};

/* The answer in a sentence or two. */
struct pd_electrode_words pd_electrode_headline(const struct pd_electrode_answer *answer);
/* "8 rods of 2.4 m, 4.8 m apart in a line of 33.6 m" */
struct pd_electrode_words pd_electrode_layout(const struct pd_layout *layout);
/* "one rod of 2.4 m, 16 mm" */
struct pd_electrode_words pd_electrode_shape(const struct pd_electrode_question *question);
/* "100 ohm-m", "100 ohm-m down to 2 m, 400 ohm-m below" */
struct pd_electrode_words pd_electrode_soil(const struct pd_electrode_question *question);
/* What the season is, or that none is declared and what was measured elsewhere. */
struct pd_electrode_words pd_electrode_season(const struct pd_electrode_answer *answer);

extern const char *const pd_electrode_practicable_names[PD_NOT_PRACTICABLE + 1];

#endif
