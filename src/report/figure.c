/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/figure.h"

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
    snprintf(figure.text, sizeof figure.text, fabs(value) < 1e9 ? "%.*f" : "%.*g", decimals, value);
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

static int ohm_decimals(double value_ohm)
{
    const double size = fabs(value_ohm);
    if (size >= 100)
        return 0;
    if (size >= 10)
        return 1;
    return size >= 0.1 || size == 0 ? 2 : size >= 0.01 ? 4 : 6;
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
    const double smaller = isfinite(value) ? fmin(value, limit) : limit;
    const bool ohms = strcmp(unit, "ohm") == 0;
    struct pd_figure_pair pair;
    for (int decimals = ohms ? ohm_decimals(smaller) : 1;; decimals++) {
        pair.value = pd_figure(value, decimals);
        pair.limit =
            ohms ? pd_figure(round_down(limit, decimals), decimals) : pd_figure(limit, decimals);
        pair.margin = pd_figure(margin, decimals);
        if (decimals >= 9 || !isfinite(value) || !isfinite(limit))
            return pair;
        if (order(strtod(pair.value.text, NULL), strtod(pair.limit.text, NULL)) ==
            order(value, limit))
            return pair;
    }
}
