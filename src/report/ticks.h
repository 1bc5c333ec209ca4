/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_TICKS_H
#define PENDRIFT_REPORT_TICKS_H

#include <stdbool.h>
#include <stddef.h>

/* Where an axis has its figures: round numbers. */

enum { PD_TICKS_MAX = 64 };

struct pd_ticks {
    double at[PD_TICKS_MAX];
    bool labelled[PD_TICKS_MAX]; /* a log axis has lines without figures between its decades */
    size_t count;
    int decimals; /* that the figures of a linear axis need */
};

/* The multiples of 1, 2 or 5 times a power of ten that lie in [low, high], at most `most` of them
 * (2 to PD_TICKS_MAX), the finest such step. None where low < high does not hold, or either is not
 * finite, or they are too close to count by. */
struct pd_ticks pd_ticks_linear(double low, double high, size_t most);

/* The same for a logarithmic axis: the decades in [low, high], low > 0, with 2 to 9 between them
 * where there are at most six; over fewer than two decades 2 and 5 have figures too. */
struct pd_ticks pd_ticks_log(double low, double high);

#endif
