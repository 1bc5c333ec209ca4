/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "table/figure.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct pd_figure pd_figure(double value, int decimals)
{
    struct pd_figure figure = {"-"};
    if (!isfinite(value))
        return figure;
    /* What lies half-way is rounded away from 0, also where some compiler's rounding has put it a
     * hair below. */
    snprintf(figure.text, sizeof figure.text, fabs(value) < 1e9 ? "%.*f" : "%.*g", decimals,
             value * (1 + 1e-12));
    if (figure.text[0] == '-' && strspn(figure.text + 1, "0.") == strlen(figure.text + 1))
        memmove(figure.text, figure.text + 1, strlen(figure.text)); /* no "-0.0" */
    return figure;
}

struct pd_figure pd_figure_v(double value_v)
{
    return pd_figure(value_v, 1);
}

struct pd_figure pd_figure_a(double value_a)
{
    return pd_figure(value_a, 1);
}

struct pd_figure pd_figure_ma(double value_a)
{
    return pd_figure(1000 * value_a, fabs(value_a) < 0.01 ? 1 : 0);
}

struct pd_figure pd_figure_s(double value_s)
{
    struct pd_figure figure = pd_figure(value_s, fabs(value_s) < 0.1 ? 3 : 2);
    if (strchr(figure.text, '.') == NULL)
        return figure;
    size_t length = strlen(figure.text);
    while (figure.text[length - 1] == '0')
        length--;
    figure.text[length - (figure.text[length - 1] == '.')] = '\0';
    return figure;
}

static int ohm_decimals(double value_ohm)
{
    const double size = fabs(value_ohm);
    if (!isfinite(size))
        return 2;
    if (size >= 100)
        return 0;
    if (size >= 10)
        return 1;
    if (size >= 0.1 || size == 0)
        return 2;
    return size >= 1e-6 ? 2 - (int)floor(log10(size)) : 9;
}

struct pd_figure pd_figure_ohm(double value_ohm)
{
    return pd_figure(value_ohm, ohm_decimals(value_ohm));
}

static double round_down(double value, int decimals)
{
    const double scale = pow(10, decimals);
    return floor(value * scale) / scale;
}

struct pd_figure pd_figure_ohm_most(double value_ohm)
{
    const int decimals = ohm_decimals(value_ohm);
    return pd_figure(round_down(value_ohm, decimals), decimals);
}

static int order(double a, double b)
{
    return (a > b) - (a < b);
}

struct pd_figure_pair pd_figure_pair(double value, double limit, double margin, const char *unit)
{
    const bool ohms = strcmp(unit, "ohm") == 0;
    const int least[] = {ohms ? ohm_decimals(value) : 1, ohms ? ohm_decimals(limit) : 1};
    const int coarser = least[0] < least[1] ? least[0] : least[1];
    struct pd_figure_pair pair;
    for (int more = 0;; more++) {
        const double most = ohms ? round_down(limit, least[1] + more) : limit;
        pair.value = pd_figure(value, least[0] + more);
        pair.limit = pd_figure(most, least[1] + more);
        pair.margin = pd_figure(margin, coarser + more);
        if (more >= 9 || !isfinite(value) || !isfinite(limit))
            return pair;
        if (order(strtod(pair.value.text, NULL), strtod(pair.limit.text, NULL)) ==
            order(value, limit))
            return pair;
    }
}
