/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_FIGURE_H
#define PENDRIFT_REPORT_FIGURE_H

/* The rules are where the sentences of the studies can reach them too. */
#include "table/figure.h"

#endif
