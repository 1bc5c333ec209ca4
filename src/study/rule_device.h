/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_RULE_DEVICE_H
#define PENDRIFT_STUDY_RULE_DEVICE_H

#include "study/rule.h"

/* Decides a route that rests on a device (3, 4 or 5) from the case's detectors, as the rule asks:
 * what it senses, thresholds at the worse end of their tolerance, time, and what it disconnects.
 * The best of several devices counts. The room's own. */
void pd_rule_device(const struct pd_case *study_case, int lines, struct pd_route_answer *route);

#endif
