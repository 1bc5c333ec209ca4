/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_FOOT_H
#define PENDRIFT_REPORT_FOOT_H

#include "report/svg.h"

/* The foot of every picture: the cautions, in words, where nobody can crop them by an option. */

/* The height it takes across a picture of that width, pixels. */
double pd_foot_height(double width);

/* Draws it with its top edge at `top`, across the whole width of the picture. */
void pd_foot_draw(struct pd_svg *svg, double top);

#endif
