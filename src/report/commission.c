/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/commission.h"

#include <math.h>
#include <stdio.h>

#include "report/figure.h"
#include "report/plain.h"

const char *const pd_commission_rules[PD_COMMISSION_RULES] = {
    "Never open, loosen or disturb a PEN conductor, here or further up: no step asks for it, and "
    "none "
    "needs it.",
    "The circuit is isolated, locked off and proved dead; every voltage and current below comes "
    "from "
    "an isolated, adjustable source on the device's own terminals, its sensing leads taken off the "
    "supply.",
    "Read what is applied with an instrument whose own error is small beside the 0.5 V (2 % of a "
    "current) that the steps keep clear of the tolerance.",
    "After each step that disconnects, prove by measurement that lines, neutral and protective "
    "conductor of the outlet are open, each of them, as far as the device is said to open it.",
};

const char *pd_expected_phrase(enum pd_expected expected)
{
    return expected == PD_ACTS ? "disconnects" : "stays closed";
}

static struct pd_phrase all_lines(const struct pd_step *step, const char *first)
{
    struct pd_phrase phrase;
    size_t used = (size_t)snprintf(phrase.text, sizeof phrase.text, "%s", first);
    for (int line = PD_L1; line < PD_LINES; line++)
        if (isfinite(step->line_v[line]))
            used += (size_t)snprintf(phrase.text + used, sizeof phrase.text - used,
                                     "%sL%d to neutral %s V", used > 0 ? ", " : "", line + 1,
                                     pd_figure_v(step->line_v[line]).text);
    return phrase;
}

struct pd_phrase pd_step_phrase(const struct pd_test_sheet *sheet, const struct pd_step *step)
{
    const struct pd_detector *const d = &sheet->study_case->detectors.detector[step->detector];
    struct pd_phrase phrase;
    switch (d->senses) {
    case PD_SENSE_LINE:
        snprintf(phrase.text, sizeof phrase.text, "line to neutral %s V",
                 pd_figure_v(step->value).text);
        return phrase;
    case PD_SENSE_LINES:
        return all_lines(step, "");
    case PD_SENSE_STAR_POINT:
        snprintf(phrase.text, sizeof phrase.text, "neutral %s V off",
                 pd_figure_v(step->value).text);
        return all_lines(step, phrase.text);
    case PD_SENSE_PE:
        snprintf(phrase.text, sizeof phrase.text, "PE to reference terminal %s V%s%s%s",
                 pd_figure_v(step->value).text, pd_detector_share(d) < 1 ? " (PE at " : "",
                 pd_detector_share(d) < 1 ? pd_figure_v(step->pe_v).text : "",
                 pd_detector_share(d) < 1 ? " V)" : "");
        return phrase;
    case PD_SENSE_PE_CURRENT:
        snprintf(phrase.text, sizeof phrase.text, "earthing conductor %s A",
                 pd_figure(step->value, 3).text);
        return phrase;
    }
    return (struct pd_phrase){"-"};
}

struct pd_phrase pd_left_live_phrase(const struct pd_case *c, size_t detector)
{
    static const char *const kept[PD_DISCONNECTS] = {
        [PD_CUTS_LINES] = "Its neutral and its protective conductor stay connected: on an open PEN "
                          "the chassis stays where the PEN is.",
        [PD_CUTS_LIVE] =
            "Its protective conductor stays connected: on an open PEN the chassis stays "
            "where the PEN is.",
        [PD_CUTS_LIVE_AND_PE] = "The chassis is let go."};
    const struct pd_detector *const d = &c->detectors.detector[detector];
    const bool whole =
        c->charging_point != c->installation && c->detector_node[detector] == c->installation;
    struct pd_phrase phrase;
    snprintf(phrase.text, sizeof phrase.text, "In service its supply side stays live. %s %s",
             d->disconnects_known ? kept[d->disconnects]
                                  : "What it disconnects is not declared: find out before relying "
                                    "on it.",
             whole ? "Everything upstream of it stays supplied."
                   : "The rest of the installation stays supplied, and its metalwork stays bonded "
                     "to the PEN.");
    return phrase;
}

struct pd_phrase pd_back_phrase(const struct pd_detector *d)
{
    struct pd_phrase phrase;
    switch (d->reset) {
    case PD_RESET_MANUAL:
        snprintf(phrase.text, sizeof phrase.text,
                 "Back to nominal it must stay open until somebody closes it.");
        break;
    case PD_RESET_AUTOMATIC:
        snprintf(phrase.text, sizeof phrase.text,
                 "Back to nominal it closes by itself%s%s%s. It would do so with a PEN still open: "
                 "the chassis is then live again.",
                 isfinite(d->reset_s) ? " after " : "",
                 isfinite(d->reset_s) ? pd_figure_s(d->reset_s).text : "",
                 isfinite(d->reset_s) ? " s" : "");
        break;
    case PD_RESET_UNDECLARED:
        snprintf(phrase.text, sizeof phrase.text,
                 "Back to nominal: write down whether it closes by itself, and after how long; the "
                 "case does not say (column reset).");
        break;
    }
    return phrase;
}
