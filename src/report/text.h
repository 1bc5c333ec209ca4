/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_TEXT_H
#define PENDRIFT_REPORT_TEXT_H

#include "report/page.h"
#include "study/assess.h"

/* The blocks of a text report that have a file of their own. */

/* The scenarios that decide, and for a street the worst of each section. PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_text_scenarios(struct pd_page *page, const struct pd_assessment *assessment);

/* What is left once a device has acted, of the scenarios that decide. */
void pd_text_after(struct pd_page *page, const struct pd_assessment *assessment);

/* The faults that are shown beside the verdict. */
void pd_text_faults(struct pd_page *page, const struct pd_assessment *assessment);

/* What the scenarios that decide do to a person. */
void pd_text_person(struct pd_page *page, const struct pd_assessment *assessment);

/* What each fault does to a charging point on TT, and its own earth fault. */
void pd_text_tt(struct pd_page *page, const struct pd_assessment *assessment);

/* The installation's own electrodes: what ground and season make of them. PD_OK or PD_ERR_MEMORY.
 */
enum pd_status pd_text_earth(struct pd_page *page, const struct pd_assessment *assessment);

/* The certified worst case, and the questions turned round. */
void pd_text_worst(struct pd_page *page, const struct pd_assessment *assessment);

/* What was computed, for which arrangement, against which limits, on which assumptions. */
void pd_text_record(struct pd_page *page, const struct pd_assessment *assessment);

/* The installation under study and what it has. */
void pd_text_arrangement(struct pd_page *page, const struct pd_case *study_case);

/* The limit set, where it comes from and how sure it is. */
void pd_text_limits(struct pd_page *page, const struct pd_limits *limits);

/* The cautions, with which every text report ends. */
void pd_text_cautions(struct pd_page *page);

#endif
