/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_UNSEEN_H
#define PENDRIFT_STUDY_UNSEEN_H

#include "study/run.h"

/* The largest touch voltage over the limit, anywhere in the supply range, that no device acts on in
 * time, and the supply voltage there; 0 where there is none. touch_v and view[detectors.count] are
 * at the supply voltage last factored; of a network that is not linear only that one is looked at.
 * The room's own. */
double pd_worst_unseen(const struct pd_run *run, double complex touch_v, const struct pd_view *view,
                       double *supply_v);

/* Whether any device of the case disconnects the chassis in time, of view[detectors.count] with all
 * voltages `scale` times theirs. */
bool pd_device_acts(const struct pd_case *study_case, const struct pd_view *view, double scale);

#endif
