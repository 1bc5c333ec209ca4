/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_ELECTRODE_WANT_H
#define PENDRIFT_STUDY_ELECTRODE_WANT_H

#include "study/electrode.h"

/* The figures of a shape in the question's soil, with so many segments (earthing/ground.h);
 * `ground` (may be NULL: freed here) becomes what was solved. PD_OK, PD_ERR_ARGUMENT (cannot be
 * laid), PD_ERR_MEMORY. */
enum pd_status pd_electrode_figure(const struct pd_electrode_question *question,
                                   enum pd_shape shape, const struct pd_shape_size *size,
                                   size_t segments, struct pd_electrode_figure *figure,
                                   struct pd_ground **ground);

/* Fills the layouts, the ladder and whether it is practicable. */
enum pd_status pd_electrode_want(struct pd_electrode_answer *answer, pd_progress_function *progress,
                                 void *context);

#endif
