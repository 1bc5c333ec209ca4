/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_EXPLAIN_H
#define PENDRIFT_REPORT_EXPLAIN_H

#include <stdio.h>

#include "study/explain.h"
#include "study/lesson.h"

/* An explanation on paper: its sections in order, steps numbered through. Each function writes to
 * `out`, does not flush or close it, and returns PD_OK, PD_ERR_FILE or PD_ERR_MEMORY as those of
 * report.h do. Each has all the cautions. */
enum pd_status pd_explain_text(FILE *out, const struct pd_explanation *explanation);

/* One object, "schema": 1; "sections" of "parts", each a paragraph, a step or a table. */
enum pd_status pd_explain_json(FILE *out, const struct pd_explanation *explanation);

/* A page to teach with, complete in itself: cautions, verdict, the lesson of the same case to step
 * through, pictures, the working. */
enum pd_status pd_explain_html(FILE *out, const struct pd_explanation *explanation,
                               const struct pd_lesson *lesson);

#endif
