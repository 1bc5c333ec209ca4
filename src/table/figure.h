/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TABLE_FIGURE_H
#define PENDRIFT_TABLE_FIGURE_H

/* Numbers as people read them, the same in every sentence and table. What is not finite is "-".
 * More digits than these stand only where figures are compared that would look alike
 * (pd_figure_pair), along a curve or a list of quantiles, and in CSV and JSON. */
struct pd_figure {
    char text[32];
};

struct pd_figure pd_figure(double value, int decimals);

/* Voltages, limits and thresholds too, and currents: one decimal. */
struct pd_figure pd_figure_v(double value_v);
struct pd_figure pd_figure_a(double value_a);

/* Currents through a person or a filter, in mA: whole, below 10 mA one decimal. */
struct pd_figure pd_figure_ma(double value_a);

/* Times: as many decimals as it takes, at most two, below 0.1 s three. */
struct pd_figure pd_figure_s(double value_s);

/* Resistances: three digits. */
struct pd_figure pd_figure_ohm(double value_ohm);

/* A resistance not to be passed: rounded down, so that who keeps to what is printed keeps to what
 * was calculated. */
struct pd_figure pd_figure_ohm_most(double value_ohm);

/* A value and its limit, alike: with as many decimals as it takes to show on which side of the
 * limit the value lies. */
struct pd_figure_pair {
    struct pd_figure value, limit, margin;
};
struct pd_figure_pair pd_figure_pair(double value, double limit, double margin, const char *unit);

#endif
