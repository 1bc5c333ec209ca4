/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/thresholds.h"

#include <stdio.h>

#include "report/figure.h"

static struct pd_figure figure(const struct pd_detector *d, double value)
{
    return d->senses == PD_SENSE_PE_CURRENT ? pd_figure(value, 3) : pd_figure_v(value);
}

struct pd_phrase pd_sensed_phrase(const struct pd_detector *d, double value)
{
    struct pd_phrase phrase;
    snprintf(phrase.text, sizeof phrase.text, "%s %s", figure(d, value).text,
             pd_sense_unit(d->senses));
    return phrase;
}

struct pd_phrase pd_threshold_phrase(const struct pd_detector *d)
{
    struct pd_phrase phrase;
    if (!pd_sense_has_band(d->senses))
        return pd_sensed_phrase(d, d->senses == PD_SENSE_PE_CURRENT ? d->limit_a : d->limit_v);
    snprintf(phrase.text, sizeof phrase.text, "%s to %s V", pd_figure_v(d->low_v).text,
             pd_figure_v(d->high_v).text);
    return phrase;
}

struct pd_phrase pd_tolerance_phrase(const struct pd_detector *d)
{
    return pd_sensed_phrase(d, d->senses == PD_SENSE_PE_CURRENT ? d->tolerance_a : d->tolerance_v);
}

const char *pd_disconnects_phrase(const struct pd_detector *d)
{
    static const char *const phrases[PD_DISCONNECTS] = {[PD_CUTS_LINES] = "the lines",
                                                        [PD_CUTS_LIVE] = "lines and neutral",
                                                        [PD_CUTS_LIVE_AND_PE] =
                                                            "lines, neutral and PE"};
    return d->disconnects_known ? phrases[d->disconnects] : "conductors not declared";
}
