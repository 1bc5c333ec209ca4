/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_MANAGE_H
#define PENDRIFT_STUDY_MANAGE_H

#include "study/case.h"

/* Load management: `demand_limit` holds the current of each line of the installation, and its
 * vehicles give way to everything else. */

/* Whether a load of the installation is one that gives way: it hangs on the charging point's own
 * node (pd_case_vehicle) or its behaviour is `charger`, and it does not generate. */
bool pd_gives_way(const struct pd_case *study_case, const struct pd_load *load);

/* Brings the vehicles of load_a[load_count], ampere at nominal voltage, down to what the case's
 * limit leaves; nothing where it has none. Other loads stay as they are, also where they alone pass
 * the limit: then the vehicles on that line get nothing.
 *
 * 1. Line currents are added as phasors, each load at its own power factor and in the direction of
 *    the voltages it hangs on, so that a vehicle is left no less than a device that measures the
 *    line would leave it. Too little here would flatter the touch voltage.
 * 2. What is left is dealt out in proportion to the vehicles' shares (pd_load.share, 1 where not
 *    given), never more than a vehicle asks for; what one does not need, or cannot have because
 *    another of its lines is full, goes to the rest. A vehicle on several lines has the same
 *    current in each, held by the fullest. Vehicles of share 0 divide what the others leave.
 * 3. A vehicle that would be reduced below its least_a is paused (0 A): one at a time, the smallest
 *    share first, of equal ones that which stands first in loads.csv, and the rest is dealt out
 *    anew. One that was paused starts again, the last paused first, where the pausing of others
 *    left room for it.
 * 4. So each vehicle that is reduced and not paused is on a line whose sum is the limit.
 * 5. A device that measures what the supply delivers leaves the vehicles more while inverters give:
 *    their current on a line is added to the limit there, so that the vehicles are never taken for
 *    less than they may be.
 *
 * Common practice of load management, no source. PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_manage(const struct pd_case *study_case, double *load_a);

#endif
