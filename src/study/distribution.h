/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_DISTRIBUTION_H
#define PENDRIFT_STUDY_DISTRIBUTION_H

#include <stddef.h>

#include "table/override.h"

/* How a number of a case is spread, for sampling: distributions of one variable, drawn by their
 * inverse (Devroye, Non-Uniform Random Variate Generation, 1986, chapter II, from memory). */

enum pd_distribution_kind {
    PD_SPREAD_FIXED,     /* one value */
    PD_SPREAD_UNIFORM,   /* low to high */
    PD_SPREAD_NORMAL,    /* mean, deviation; cut off at low and high */
    PD_SPREAD_LOGNORMAL, /* median, spread: the deviation as a factor; cut off at low and high */
    PD_SPREAD_DISCRETE,  /* values with weights */
    PD_SPREAD_DATA       /* each value of a column as likely as the other */
};
enum { PD_SPREADS = 6 };
extern const char *const pd_spread_names[PD_SPREADS];

struct pd_distribution {
    enum pd_distribution_kind kind;
    double low, high;    /* the ends; of fixed both are the value */
    double centre, wide; /* mean and deviation, or median and spread */
    double below, above; /* the probability below low and up to high of the whole curve */
    double *value;       /* [count] discrete and data, ascending; owned */
    double *up_to;       /* [count] discrete: the probability of this value and those before it */
    size_t count;
};

void pd_distribution_free(struct pd_distribution *distribution);

/* Of a normal or lognormal one: fills `below` and `above` from its ends. False where next to
 * nothing (less than 1e-9) of the curve lies between them. */
bool pd_distribution_cut(struct pd_distribution *distribution);

/* The value below which the part u of it lies, 0 < u < 1: increasing in u. */
double pd_distribution_value(const struct pd_distribution *distribution, double u);

/* One row of distributions.csv. */
struct pd_spread_row {
    struct pd_address at;
    struct pd_distribution distribution;
    size_t line;
};
struct pd_spread_rows {
    struct pd_spread_row *row;
    size_t count;
};
void pd_spread_rows_free(struct pd_spread_rows *rows);

/* Reads distributions.csv: table, row, column; distribution; low, high; mean, deviation; median,
 * spread; values, weights (with ';' between them); file (beside the table), data_column. What a
 * distribution does not use is an error, and so is a number that two rows are for. Appends to
 * *rows, which the caller frees. Returns as pd_table_read. */
enum pd_status pd_spread_rows_read(const char *folder, struct pd_spread_rows *rows,
                                   struct pd_errors *errors);

#endif
