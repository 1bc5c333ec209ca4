/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_LESSON_STOPS_H
#define PENDRIFT_STUDY_LESSON_STOPS_H

#include "study/lesson.h"

/* The stops of a lesson, and the states that it steps through. The room's own. */

/* Fills axes, strides and `count`. PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_lesson_stops(struct pd_lesson *lesson, size_t section);

/* Whether a tie is one of those that the electrode's stops stand in place of. */
bool pd_lesson_replaces(const struct pd_case *study_case, const struct pd_earth_tie *tie);

/* Chooses the presets from the answers. */
void pd_lesson_choose(struct pd_lesson *lesson);

#endif
