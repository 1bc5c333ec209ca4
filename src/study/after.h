/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_AFTER_H
#define PENDRIFT_STUDY_AFTER_H

#include "study/run.h"

/* What is left once a device has acted. The room's own.
 *
 * Fills *after for the assessment's scenario `index` (PD_NONE: none). The loads of what the device
 * disconnects are put to 0 A, the electrodes that go with a protective conductor taken off, and the
 * scenario's fault solved again at its supply voltage. Where several devices see it, the first to
 * disconnect the chassis in time acts, else the fastest; what others do later is left out. A
 * scenario whose load state is not kept, or which has no answer without those loads, leaves NaN.
 * PD_OK, PD_ERR_MEMORY, PD_ERR_INTERRUPTED. */
enum pd_status pd_run_after(struct pd_run *run, const struct pd_assessment *assessment,
                            size_t index, struct pd_after *after);

/* The fault of a scenario of an open PEN or a PEN joint. */
struct pd_fault pd_after_fault(const struct pd_scenario *scenario);

#endif
