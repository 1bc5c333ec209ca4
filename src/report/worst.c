/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/worst.h"

#include <math.h>
#include <stdio.h>

#include "report/figure.h"
#include "report/plain.h"

const char *pd_worst_section(const struct pd_assessment *a, const struct pd_worst_break *brk)
{
    return brk->section == PD_NONE ? NULL : a->study_case->network->node[brk->section].section;
}

const char *pd_worst_nothing(const struct pd_assessment *a)
{
    if (!a->ranged)
        return "No load has a declared range (min, max): the states solved are all there are, and "
               "nobody knows the loads at the moment a PEN breaks.";
    if (a->study_case->mutual_ohm != NULL)
        return "None: the proof takes electrodes to stand alone, and here they lift each other's "
               "ground. What was found is a search, and the verdict does not take it for more.";
    return a->study_case->earthing == PD_TT
               ? "No PEN moves the chassis, and no metalwork that one moves is in reach."
               : "Open PENs were not run.";
}

const char *pd_worst_not_asked(const struct pd_assessment *a)
{
    const struct pd_case *const c = a->study_case;
    bool linear = true;
    for (size_t i = 0; i < c->network->load_count; i++)
        linear &= c->network->load[i].behaviour->linear;
    for (int i = 0; i < PD_ASKS; i++)
        if (a->answer[i].found != PD_FOUND_NOT_ASKED)
            return NULL;
    if (c->mutual_ohm != NULL)
        return "not asked: electrodes lift each other's ground";
    return linear ? NULL
                  : "not asked: some loads are not impedances, and what holds for the loads tried "
                    "need not hold for others; sweep shows what was tried";
}

struct place {
    char text[120];
};

static struct place place_of(const struct pd_assessment *a, const struct pd_worst_break *brk)
{
    struct place place = {"with no fault"};
    const char *const section = pd_worst_section(a, brk);
    if (section != NULL)
        snprintf(place.text, sizeof place.text, "with the PEN open in section '%.60s'",
                 pd_plain_short(section, 40).text);
    return place;
}

/* Rounded up: a bound must not be printed lower than it is. */
static struct pd_figure bound_figure(double bound_v)
{
    return pd_figure_v(ceil(bound_v * 10 - 1e-6) / 10);
}

struct pd_worst_words pd_worst_bound(const struct pd_assessment *a,
                                     const struct pd_worst_break *brk)
{
    struct pd_worst_words words;
    if (isfinite(brk->bound_v))
        snprintf(words.text, sizeof words.text, "%s V, %s, at any supply voltage.",
                 bound_figure(brk->bound_v).text, place_of(a, brk).text);
    else
        snprintf(words.text, sizeof words.text,
                 "no bound could be proved %s: with all loads at their high the cables would drop "
                 "too much of the supply. Declare narrower ranges.",
                 place_of(a, brk).text);
    return words;
}

struct pd_worst_words pd_worst_found(const struct pd_assessment *a,
                                     const struct pd_worst_break *brk)
{
    const struct pd_network *const network = a->study_case->network;
    struct pd_worst_words words;
    char gap[64] = "";
    size_t high = 0, low = 0, between = 0;
    for (size_t i = 0; i < network->load_count; i++) {
        const struct pd_load *const load = &network->load[i];
        if (load->low_a == load->high_a)
            continue;
        high += brk->load_a[i] == load->high_a;
        low += brk->load_a[i] == load->low_a;
        between += brk->load_a[i] != load->high_a && brk->load_a[i] != load->low_a;
    }
    if (isfinite(brk->bound_v))
        snprintf(gap, sizeof gap, ", a gap of %s V",
                 pd_figure(brk->bound_v - brk->attained_v, 2).text);
    snprintf(words.text, sizeof words.text,
             "%s V there%s. Of the loads with a range %zu at their high, %zu at their low, %zu "
             "between (which: --format json).",
             pd_figure_v(brk->attained_v).text, gap, high, low, between);
    return words;
}

struct pd_worst_words pd_worst_unseen_words(const struct pd_assessment *a)
{
    const size_t worst = pd_worst_unseen_bound(a);
    const double limit_v = a->study_case->limits.touch_v;
    const bool devices = a->study_case->detectors.count > 0 && a->study_case->earthing != PD_TT;
    struct pd_worst_words words;
    if (worst == PD_NONE)
        snprintf(words.text, sizeof words.text, "%s%.1f V: proved.",
                 devices ? "no load in range passes the limit unseen or too late, "
                         : "no load in range passes the limit, ",
                 limit_v);
    else if (isfinite(a->certified.brk[worst].unseen_bound_v))
        snprintf(words.text, sizeof words.text, "at most %s V%s, %s.",
                 bound_figure(a->certified.brk[worst].unseen_bound_v).text,
                 devices ? " where no device acts in time" : "",
                 place_of(a, &a->certified.brk[worst]).text);
    else
        snprintf(words.text, sizeof words.text, "no bound could be proved %s.",
                 place_of(a, &a->certified.brk[worst]).text);
    return words;
}

static const char *unit_of(enum pd_ask ask)
{
    static const char *const units[PD_ASKS] = {[PD_ASK_ELECTRODE] = " ohm",
                                               [PD_ASK_DEMAND] = " A per line",
                                               [PD_ASK_IMBALANCE] = " A",
                                               [PD_ASK_NEIGHBOURS] = ""};
    return units[ask];
}

/* What is kept to must not be rounded the wrong way. */
static struct pd_figure value_figure(const struct pd_answer_to *answer)
{
    if (answer->ask == PD_ASK_ELECTRODE)
        return pd_figure_ohm_most(answer->value);
    if (answer->ask == PD_ASK_NEIGHBOURS)
        return pd_figure(answer->value, 0);
    return pd_figure_a(floor(answer->value * 10) / 10);
}

/* Why the two differ: of the two published forms each has one installation alone on its neutral. */
static void add_rule(const struct pd_assessment *a, char *text, size_t size)
{
    if (isfinite(a->rule.electrode_max_ohm))
        snprintf(text, size,
                 " The rule's own figure is %s ohm: it has the installation's load alone, where "
                 "here cables limit it and neighbours' current flows in the electrode too.",
                 pd_figure_ohm_most(a->rule.electrode_max_ohm).text);
}

struct pd_worst_words pd_worst_answer(const struct pd_assessment *a,
                                      const struct pd_answer_to *answer)
{
    struct pd_worst_words words;
    char present[80] = "", flows[120] = "", rule[240] = "";
    if (isfinite(answer->present))
        snprintf(present, sizeof present, " (has %s%s)",
                 pd_figure(answer->present, answer->ask == PD_ASK_NEIGHBOURS ? 0 : 1).text,
                 unit_of(answer->ask));
    if (isfinite(answer->electrode_a))
        snprintf(flows, sizeof flows, "; up to %s A then flows in it: size its conductor for that",
                 pd_figure_a(answer->electrode_a).text);
    if (answer->ask == PD_ASK_ELECTRODE && answer->found == PD_FOUND)
        add_rule(a, rule, sizeof rule);
    if (isfinite(answer->value))
        snprintf(words.text, sizeof words.text, "%s %s%s%s%s.%s", pd_found_names[answer->found],
                 value_figure(answer).text, unit_of(answer->ask), present, flows, rule);
    else
        snprintf(words.text, sizeof words.text, "%s%s%s", pd_found_names[answer->found], present,
                 answer->found == PD_FOUND_ANY ? ": the limit is kept whatever it is" : "");
    return words;
}
