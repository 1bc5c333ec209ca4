/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_CASE_COUPLING_H
#define PENDRIFT_STUDY_CASE_COUPLING_H

#include "study/case.h"

/* Fills the case's mutual_ohm where two or more electrodes have a place: they lift each other's
 * ground. What cannot be known goes to `missing`. PD_OK, PD_ERR_INPUT (electrodes that lie in one
 * another), PD_ERR_MEMORY. The room's own. */
enum pd_status pd_case_couple(struct pd_case *study_case, struct pd_errors *errors);

#endif
