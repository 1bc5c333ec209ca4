/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_CASE_REFERENCE_H
#define PENDRIFT_STUDY_CASE_REFERENCE_H

#include "study/case.h"

/* Works out the coupling of every device whose reference electrode has a place: the part of its
 * protective conductor's potential that the ground has there, from the electrodes of the case that
 * have a place too (earthing/mutual.h), dry season.
 *
 * All electrodes that hang on the same PEN, wherever it is opened, are taken to be at that
 * potential, which is the most that the ground can then have at any place: electrodes on the intact
 * side are near earth and hold it down (maximum principle of potential theory). The device sees
 * less than the ground would leave it, never more. What cannot be known goes to `missing`, and the
 * coupling is then 1: such a device is not counted on.
 *
 * Needs ties and devices to have their nodes. PD_OK or PD_ERR_MEMORY. The room's own. */
enum pd_status pd_case_reference(struct pd_case *study_case);

#endif
