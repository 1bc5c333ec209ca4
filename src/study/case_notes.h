/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_CASE_NOTES_H
#define PENDRIFT_STUDY_CASE_NOTES_H

#include "study/case.h"

/* What a case that has been put together leaves to be said. The room's own. */

/* Finds which lines the installation uses, and notes what is assumed and what is missing. PD_OK or
 * PD_ERR_MEMORY. */
enum pd_status pd_case_finish(struct pd_case *study_case);

/* The lines of the installation under study: those that its service brings, or where that brings
 * all, those that its loads use. */
unsigned pd_case_lines(const struct pd_case *study_case);

#endif
