/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_ANSWERS_H
#define PENDRIFT_STUDY_ANSWERS_H

#include "study/worst.h"

/* Questions turned round: how far may one thing go so that the worst case over all loads in their
 * ranges, of every break between the installation and the substation, still keeps the chassis
 * within the limit? */
enum pd_ask {
    PD_ASK_ELECTRODE, /* the largest resistance of the electrode on the main earthing terminal, in
                         place of the installation's own, ohm */
    PD_ASK_DEMAND,    /* the highest limit of load management, ampere per line */
    PD_ASK_IMBALANCE, /* the greatest imbalance of the installation, ampere: the most that its own
                         loads can differ from line to line (on one line: draw) when all of their
                         ranges are narrowed about the present by one share */
    PD_ASK_NEIGHBOURS /* how many neighbours there must at least, or may at most, be: those there
                         are count in proportion, each as it is declared */
};
enum { PD_ASKS = 4 };
extern const char *const pd_ask_names[PD_ASKS]; /* "electrode" ... */

enum pd_found {
    PD_FOUND,
    PD_FOUND_LEAST,    /* the value is the least that does, not the most */
    PD_FOUND_ANY,      /* whatever the value, the limit is kept */
    PD_FOUND_NONE,     /* cannot be met: no value keeps it */
    PD_FOUND_UNSOLVED, /* a state has no answer, or the proof does not reach */
    PD_FOUND_CROOKED,  /* the worst case does not run one way: no single value says it */
    PD_FOUND_NOT_ASKED /* nothing to ask: no range, no vehicle, no neighbour, TT, loads not linear
                        */
};
enum { PD_FOUNDS = 7 };
extern const char *const pd_found_names[PD_FOUNDS];

struct pd_answer_to {
    enum pd_ask ask;
    enum pd_found found;
    double value;       /* in the unit of the question; NaN where there is none */
    double present;     /* the case's own; INFINITY: none; NaN: none declared */
    double bound_v;     /* the certified worst case at the value; NaN */
    double attained_v;  /* the worst found there */
    double electrode_a; /* ELECTRODE: the most that then flows in it, limit over resistance */
};

/* What a question is answered by: sets the thing asked about, for which *trial is the caller's.
 * Returns the worst case found, V; NaN where a state has no answer. */
typedef double pd_worst_at(double x, void *trial);

/* Finds x between `low` and `high` (`by_log`: both above 0, halved by their logarithms) where `at`
 * comes to limit_v, by Brent's method (GSL) to a relative 1e-9. First looks at 9 places whether it
 * runs one way, within 1e-6 V. *value: the last x that keeps the limit; see enum pd_found. */
enum pd_found pd_root_of(pd_worst_at *at, void *trial, double low, double high, bool by_log,
                         double limit_v, double *value);

#endif
