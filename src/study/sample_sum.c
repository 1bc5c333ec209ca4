/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdlib.h>

#include "study/sample_work.h"

const double pd_quantile_levels[PD_QUANTILES] = {0.05, 0.25, 0.5, 0.75, 0.9, 0.95, 0.99, 0.999};

/* About `value`, by how one figure differs from replicate to replicate. */
static struct pd_estimate estimate(double value, const double *figure, size_t count)
{
    double mean = 0, square = 0;
    for (size_t i = 0; i < count; i++)
        mean += figure[i] / (double)count;
    for (size_t i = 0; i < count; i++)
        square += (figure[i] - mean) * (figure[i] - mean);
    const double deviation = sqrt(square / (double)(count - 1));
    const double half =
        gsl_cdf_tdist_Pinv(0.975, (double)(count - 1)) * deviation / sqrt((double)count);
    return (struct pd_estimate){value, value - half, value + half};
}

static double mean_of(const double *figure, size_t count)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++)
        sum += figure[i];
    return sum / (double)count;
}

/* A probability: its limits lie in 0 to 1, and none seen in n trials is not none at all: then the
 * upper limit is 3/n (the rule of three, Hanley and Lippman-Hand 1983, from memory). The same for
 * none that was not. */
static struct pd_estimate probability(const double *figure, size_t count, size_t trials)
{
    struct pd_estimate e = estimate(mean_of(figure, count), figure, count);
    const double least = 3 / (double)trials;
    e.low = fmax(0, e.low);
    e.high = fmin(1, e.high);
    if (e.value == 0)
        e.high = fmin(1, fmax(e.high, least));
    if (e.value == 1)
        e.low = fmax(0, fmin(e.low, 1 - least));
    return e;
}

enum figure { OVER, UNSEEN, UNKNOWN, MEAN, FIGURES };

/* One figure of a replicate: of one column, or of all by share where column is PD_NONE. */
static double figure_of(const struct pd_sample_work *w, size_t replicate, size_t column,
                        enum figure which)
{
    const struct pd_count *const count = w->replicate[replicate].count;
    double sum = 0, determined = 0, all = 0;
    for (size_t k = column == PD_NONE ? 0 : column;
         k < (column == PD_NONE ? w->columns : column + 1); k++) {
        const double share = column == PD_NONE ? w->column_share[k] : 1;
        const size_t n = which == OVER     ? count[k].over
                         : which == UNSEEN ? count[k].unseen
                                           : w->each - count[k].determined;
        if (share == 0)
            continue;
        sum += share * (which == MEAN ? count[k].sum_v : (double)n);
        determined += share * (double)count[k].determined;
        all += share * (double)w->each;
    }
    return which == MEAN ? sum / determined : sum / all;
}

static void fill_odds(const struct pd_sample_work *w, size_t column, double *figure,
                      struct pd_sample_odds *odds)
{
    const size_t count = w->replicates;
    struct pd_estimate *const out[FIGURES] = {[OVER] = &odds->over,
                                              [UNSEEN] = &odds->unseen,
                                              [UNKNOWN] = &odds->unknown,
                                              [MEAN] = &odds->mean_v};
    for (int which = 0; which < FIGURES; which++) {
        for (size_t i = 0; i < count; i++)
            figure[i] = figure_of(w, i, column, (enum figure)which);
        *out[which] = which == MEAN ? estimate(mean_of(figure, count), figure, count)
                                    : probability(figure, count, count * w->each);
    }
    odds->largest_v = NAN;
    for (size_t i = 0; i < count; i++)
        for (size_t k = 0; k < w->columns; k++)
            if ((column == PD_NONE || k == column) && w->replicate[i].count[k].determined > 0 &&
                w->column_share[k] > 0)
                odds->largest_v = fmax(odds->largest_v, w->replicate[i].count[k].largest_v);
}

/* The voltage below which the part `level` of the bins' weight lies, evenly spread within a bin. */
static double quantile(const double *bin, double level)
{
    double all = 0, below = 0;
    for (size_t i = 0; i <= PD_BINS; i++)
        all += bin[i];
    for (size_t i = 0; i < PD_BINS; i++) {
        if (bin[i] > 0 && below + bin[i] >= level * all)
            return pd_bin_v * ((double)i + (level * all - below) / bin[i]);
        below += bin[i];
    }
    return NAN; /* above the bins, or nothing is determined */
}

static enum pd_status fill_quantiles(const struct pd_sample_work *w, double *figure,
                                     struct pd_sample *sample)
{
    double *const pooled = calloc(PD_BINS + 1, sizeof *pooled);
    if (pooled == NULL)
        return PD_ERR_MEMORY;
    for (size_t i = 0; i < w->replicates; i++)
        for (size_t k = 0; k <= PD_BINS; k++)
            pooled[k] += w->replicate[i].bin[k];
    for (int q = 0; q < PD_QUANTILES; q++) {
        for (size_t i = 0; i < w->replicates; i++)
            figure[i] = quantile(w->replicate[i].bin, pd_quantile_levels[q]);
        sample->quantile_v[q] =
            estimate(quantile(pooled, pd_quantile_levels[q]), figure, w->replicates);
        sample->quantile_v[q].low = fmax(0, sample->quantile_v[q].low);
    }
    double all = 0;
    for (size_t k = 0; k <= PD_BINS; k++)
        all += pooled[k];
    const size_t wide = (size_t)fmax(1, sample->bar_v / pd_bin_v + 0.5);
    for (size_t k = 0; k <= PD_BINS && all > 0; k++)
        *(k / wide < PD_BARS ? &sample->bar[k / wide] : &sample->beyond) += pooled[k] / all;
    free(pooled);
    return PD_OK;
}

/* Round bars that reach as far as the largest voltage met with. */
static double bar_width(double largest_v)
{
    static const double widths[] = {0.1, 0.2, 0.5, 1, 2, 5, 10, 20};
    for (size_t i = 0; i < sizeof widths / sizeof widths[0]; i++)
        if (!(largest_v >= widths[i] * PD_BARS))
            return widths[i];
    return 25;
}

/* Fewer events than so many in a replicate, on the mean, are too few for its scatter to be known.
 * Common practice, no source. */
enum { EVENTS_LEAST = 10 };

static enum pd_status doubt(struct pd_sample *sample, size_t trials, const char *what)
{
    if (trials >= EVENTS_LEAST * sample->settings.replicates)
        return PD_OK;
    return pd_notes_add(&sample->doubts,
                        "%s in %zu of %zu trials only: too few for limits to lean on. Sample more "
                        "(-n), or ask for the worst case.",
                        what, trials, sample->settings.trials);
}

static enum pd_status fill_doubts(struct pd_sample *sample)
{
    const struct pd_sample_odds *const odds = &sample->odds;
    enum pd_status status = doubt(sample, odds->over_trials, "Over the limit");
    if (status == PD_OK)
        status = doubt(sample, odds->unseen_trials, "Over the limit and unseen");
    if (status == PD_OK && odds->unknown.value > 0)
        status = pd_notes_add(&sample->doubts,
                              "%.3g %% of the weight is not determined: loads that leave no "
                              "solution or more than one, or a neutral that nothing ties. It is in "
                              "no other figure, and may be over the limit.",
                              100 * odds->unknown.value);
    if (status == PD_OK && sample->dimensions > sample->sobol)
        status =
            pd_notes_add(&sample->doubts,
                         "%zu numbers are drawn; the %zu that spread most by Sobol's sequence, "
                         "the rest pseudo-random.",
                         sample->dimensions, sample->sobol);
    return status;
}

enum pd_status pd_sample_sum(const struct pd_sample_work *w, struct pd_sample *sample)
{
    double *const figure = calloc(w->replicates, sizeof *figure);
    if (figure == NULL)
        return PD_ERR_MEMORY;
    fill_odds(w, PD_NONE, figure, &sample->odds);
    for (size_t i = 0; i < sample->break_count; i++) {
        struct pd_sample_odds *const odds = &sample->at[i].odds;
        fill_odds(w, w->column[i], figure, odds);
        for (size_t r = 0; r < w->replicates; r++) {
            odds->over_trials += w->replicate[r].count[w->column[i]].over;
            odds->unseen_trials += w->replicate[r].count[w->column[i]].unseen;
        }
    }
    for (size_t r = 0; r < w->replicates; r++) {
        sample->odds.over_trials += w->replicate[r].over_trials;
        sample->odds.unseen_trials += w->replicate[r].unseen_trials;
    }
    sample->bar_v = bar_width(sample->odds.largest_v);
    enum pd_status status = fill_quantiles(w, figure, sample);
    if (status == PD_OK)
        status = fill_doubts(sample);
    free(figure);
    return status;
}
