/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_REPLAY_H
#define PENDRIFT_REPORT_REPLAY_H

#include <stdio.h>

#include "study/replay.h"

/* A replay on paper. As report.h promises: PD_OK, PD_ERR_FILE, PD_ERR_MEMORY; the cautions in each.
 */

/* For people: what is not determined, the answer, the curve, the worst moments, the sections. */
enum pd_status pd_report_replay_text(FILE *out, const struct pd_replay *replay);

/* One object, "schema": 1; its keys are in README.md. */
enum pd_status pd_report_replay_json(FILE *out, const struct pd_replay *replay);

/* The duration curve as a picture. */
enum pd_status pd_report_replay_svg(FILE *out, const struct pd_replay *replay);

/* A row for each moment, or for each moment and section, written while the record is read: the
 * cautions at the head, the answer in '#' lines at the end, of which the last says that the table
 * is whole. */
void pd_report_replay_csv_head(FILE *out, const struct pd_case *study_case, bool every);
void pd_report_replay_csv_moment(FILE *out, const struct pd_case *study_case,
                                 const struct pd_replay_moment *moment);
void pd_report_replay_csv_answer(FILE *out, const struct pd_case *study_case,
                                 const struct pd_replay_answer *answer);
enum pd_status pd_report_replay_csv_end(FILE *out, const struct pd_replay *replay);

/* The answer in sentences, what is not determined first. PD_OK or PD_ERR_MEMORY; free *answer. */
enum pd_status pd_replay_answer_notes(const struct pd_replay *replay, struct pd_notes *answer);

/* The sections of a replay in the order of how much they matter: what nothing disconnects, then
 * what is over the limit, then the touch voltage. order[section_count]. PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_replay_order(const struct pd_replay *replay, size_t *order);

/* The section's name. */
const char *pd_replay_section_name(const struct pd_case *study_case, size_t section);

#endif
