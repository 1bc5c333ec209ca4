/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TESTS_LESSON_CASE_H
#define PENDRIFT_TESTS_LESSON_CASE_H

#include <stdbool.h>

#include "case_folder.h"
#include "study/lesson.h"

/* A small three-phase case to make lessons of, and the same written once more with its loads and
 * electrode as a state of the lesson has them: what assess finds there is what the lesson must
 * show. */

/* The case as declared, with ranges of load, a rod of 20 ohm (30 in the dry season), a device. */
void lesson_case_declare(struct folder *folder);

/* The case that a state stands for, without ranges. Shares, ohm and breaks are worked out anew from
 * what the header of a lesson promises. */
void lesson_case_write(struct folder *folder, const struct pd_lesson *lesson,
                       const size_t at[PD_LESSON_AXES]);

/* The scenario of it that the state stands for. */
const struct pd_scenario *lesson_case_scenario(const struct study *study,
                                               const struct pd_lesson *lesson,
                                               const size_t at[PD_LESSON_AXES]);

#endif
