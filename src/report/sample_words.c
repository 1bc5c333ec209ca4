/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <inttypes.h>
#include <math.h>
#include <string.h>

#include "report/figure.h"
#include "report/sample.h"

const char *const pd_sample_alone_note =
    "Each number is drawn by itself: loads that rise together, as on a cold evening, are not made "
    "to. Neighbours at their high together are what the worst case is for.";
const char *const pd_sample_given_note =
    "Probabilities are given that a PEN has opened. How often one opens is not in them.";

struct pd_figure pd_sample_percent(double probability)
{
    struct pd_figure figure = {"-"};
    if (isfinite(probability))
        snprintf(figure.text, sizeof figure.text, "%.4g", 100 * probability + 0.0);
    return figure;
}

struct pd_sample_words pd_sample_odds_words(const struct pd_estimate *e)
{
    struct pd_sample_words words;
    snprintf(words.text, sizeof words.text, "%s %% (%s to %s %%)", pd_sample_percent(e->value).text,
             pd_sample_percent(e->low).text, pd_sample_percent(e->high).text);
    return words;
}

struct pd_sample_words pd_sample_headline(const struct pd_sample *sample)
{
    const struct pd_sample_odds *const odds = &sample->odds;
    struct pd_sample_words words = {"Not determined: the case is incomplete."};
    if (sample->missing)
        return words;
    if (!isfinite(odds->mean_v.value)) {
        snprintf(words.text, sizeof words.text, "Not determined: %s.",
                 sample->break_count == 0 ? "no section has a PEN that could open"
                                          : "no trial has a solution");
        return words;
    }
    snprintf(words.text, sizeof words.text,
             "%sWith the PEN open somewhere in the supply: over the limit of %s V in %.60s; over "
             "it with no device that lets go in time in %.60s.",
             odds->unknown.value > 0 ? "Not determined in part. " : "",
             pd_figure_v(sample->study_case->limits.touch_v).text,
             pd_sample_odds_words(&odds->over).text, pd_sample_odds_words(&odds->unseen).text);
    return words;
}

struct pd_sample_words pd_sample_method(const struct pd_sample *sample)
{
    const struct pd_sample_settings *const s = &sample->settings;
    struct pd_sample_words words;
    snprintf(words.text, sizeof words.text,
             "%zu trials, seed %" PRIu64
             ": %zu replicates of %zu points of Sobol's sequence in %zu "
             "dimensions%s, each with a random digital shift; 95 %% confidence limits by Student's "
             "t over the replicates.",
             s->trials, s->seed, s->replicates, s->trials / s->replicates, sample->sobol,
             sample->dimensions > sample->sobol ? " (pseudo-random in the others)" : "");
    const size_t length = strlen(words.text);
    if (pd_tt_beside_pme(sample->study_case))
        snprintf(words.text + length, sizeof words.text - length, " %s",
                 "Not in it: the voltage from this TT chassis to PME metalwork in reach, which "
                 "drifts; see assess.");
    return words;
}

struct pd_sample_words pd_sample_breaks(const struct pd_sample *sample)
{
    struct pd_sample_words words = {"the PEN open in the only section that has one"};
    if (sample->break_count != 1)
        snprintf(words.text, sizeof words.text,
                 "the PEN open in one of %zu sections, %s; every one is solved in every trial and "
                 "counted by its share",
                 sample->break_count,
                 sample->declared_breaks ? "by the break_weight of each"
                                         : "each as likely as the other, whatever its length");
    return words;
}

struct pd_sample_words pd_sample_spread(const struct pd_distribution *d)
{
    struct pd_sample_words words;
    const char *const name = pd_spread_names[d->kind];
    switch (d->kind) {
    case PD_SPREAD_NORMAL:
        snprintf(words.text, sizeof words.text,
                 "%s, mean %.5g, deviation %.5g, within %.5g to %.5g", name, d->centre, d->wide,
                 d->low, d->high);
        break;
    case PD_SPREAD_LOGNORMAL:
        snprintf(words.text, sizeof words.text, "%s, median %.5g, spread %.5g, within %.5g to %.5g",
                 name, d->centre, d->wide, d->low, d->high);
        break;
    case PD_SPREAD_DISCRETE:
    case PD_SPREAD_DATA:
        snprintf(words.text, sizeof words.text, "%s, %zu values, %.5g to %.5g", name, d->count,
                 d->low, d->high);
        break;
    case PD_SPREAD_FIXED:
    case PD_SPREAD_UNIFORM:
        snprintf(words.text, sizeof words.text, "%s, %.5g to %.5g", name, d->low, d->high);
        break;
    }
    return words;
}
