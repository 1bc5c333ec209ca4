/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/ticks.h"

#include <math.h>

/* exp10, by a table-free road that gives whole powers of ten their exact values. */
static double power_of_ten(int exponent)
{
    return exponent < 0 ? 1 / pow(10, -exponent) : pow(10, exponent);
}

/* Multiples k of `unit` / `parts` lie in between: first and last k. A tick that misses an end by
 * rounding alone counts. */
static void multiples(double low, double high, double step, double *first, double *last)
{
    *first = ceil(low / step - 1e-9);
    *last = floor(high / step + 1e-9);
}

struct pd_ticks pd_ticks_linear(double low, double high, size_t most)
{
    static const int mantissas[] = {1, 2, 5};
    struct pd_ticks ticks = {.count = 0};
    if (!isfinite(low) || !isfinite(high) || !(high - low > 1e-9 * fmax(fabs(low), fabs(high))) ||
        !isfinite(high - low) || most < 2)
        return ticks;
    most = most < PD_TICKS_MAX ? most : PD_TICKS_MAX;
    const int start = (int)floor(log10((high - low) / (double)most)) - 1;
    for (int i = 0;; i++) {
        const int exponent = start + i / 3;
        const double step = mantissas[i % 3] * power_of_ten(exponent);
        double first, last;
        multiples(low, high, step, &first, &last);
        if (last - first + 1 > (double)most)
            continue;
        for (double k = first; k <= last; k++) {
            ticks.at[ticks.count] = exponent < 0 ? k * mantissas[i % 3] / pow(10, -exponent)
                                                 : k * step; /* 0.3, not 3 * 0.1 */
            ticks.labelled[ticks.count++] = true;
        }
        ticks.decimals = exponent < 0 ? -exponent : 0;
        return ticks;
    }
}

struct pd_ticks pd_ticks_log(double low, double high)
{
    struct pd_ticks ticks = {.count = 0};
    if (!isfinite(low) || !isfinite(high) || !(low > 0) || !(high > low))
        return ticks;
    const double decades = log10(high / low);
    const int every = 1 + (int)(decades / 20);
    for (int exponent = (int)floor(log10(low)); power_of_ten(exponent) <= high * (1 + 1e-9);
         exponent++)
        for (int mantissa = 1; mantissa <= 9; mantissa++) {
            const double at = mantissa * power_of_ten(exponent);
            if (at < low * (1 - 1e-9) || at > high * (1 + 1e-9) || (mantissa > 1 && decades > 6) ||
                exponent % every != 0 || ticks.count == PD_TICKS_MAX)
                continue;
            ticks.at[ticks.count] = at;
            ticks.labelled[ticks.count++] =
                mantissa == 1 || (decades < 2 && (mantissa == 2 || mantissa == 5));
        }
    return ticks;
}
