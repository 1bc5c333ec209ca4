/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_BLIND_PLANE_H
#define PENDRIFT_REPORT_BLIND_PLANE_H

#include "report/plot.h"
#include "study/blind.h"

/* Draws the plane of neutral displacement of one detector into a frame: the shape that EMFs and
 * earth span, what of it is not seen, the touch limit, the worst point, the case's scenarios. A
 * frame without a picture says why. */
void pd_blind_plane(struct pd_svg *svg, const struct pd_blind *blind,
                    const struct pd_blind_device *device, struct pd_box box);

#endif
