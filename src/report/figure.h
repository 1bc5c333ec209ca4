/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_FIGURE_H
#define PENDRIFT_REPORT_FIGURE_H

/* Numbers as people read them, the same everywhere. What is not finite is "-". */
struct pd_figure {
    char text[32];
};

struct pd_figure pd_figure(double value, int decimals);

/* Voltages and currents: one decimal. */
struct pd_figure pd_figure_v(double value_v);
struct pd_figure pd_figure_a(double value_a);

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
