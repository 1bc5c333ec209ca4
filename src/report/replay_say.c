/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>

#include "report/figure.h"
#include "report/replay.h"

struct phrase {
    char text[256];
};

const char *pd_replay_section_name(const struct pd_case *c, size_t section)
{
    return section < c->network->node_count ? c->network->node[section].section : "-";
}

/* "12.3 %"; a part that is neither nothing nor all is not rounded to either. */
static struct phrase percent(double part_h, double all_h)
{
    const double percent = 100 * part_h / all_h;
    struct phrase p;
    if (part_h > 0 && percent < 0.1)
        snprintf(p.text, sizeof p.text, "under 0.1 %%");
    else if (part_h < all_h && percent > 99.9)
        snprintf(p.text, sizeof p.text, "over 99.9 %%");
    else
        snprintf(p.text, sizeof p.text, "%.1f %%", percent);
    return p;
}

/* "12.3 % of 24.0 h" */
static struct phrase part(double part_h, double all_h)
{
    struct phrase p;
    snprintf(p.text, sizeof p.text, "%.32s of %.1f h", percent(part_h, all_h).text, all_h);
    return p;
}

/* "at most 251.3 V at 07:30 in section 'service19', supply 253.0 V" */
static struct phrase at_most(const struct pd_replay *r, const struct pd_replay_peak *peak)
{
    struct phrase p;
    if (!peak->checked)
        snprintf(p.text, sizeof p.text, "at most how much is not determined");
    else
        snprintf(p.text, sizeof p.text, "at most %s V at %s%s in section '%.60s', supply %s V",
                 pd_figure_v(peak->touch_v).text, peak->time, r->time_unit,
                 pd_replay_section_name(r->study_case, peak->section),
                 pd_figure_v(peak->supply_v).text);
    return p;
}

static struct phrase subject(const struct pd_replay *r)
{
    struct phrase p;
    if (r->settings.place == PD_REPLAY_POINT)
        snprintf(p.text, sizeof p.text, "the charging point's chassis");
    else if (r->settings.place == PD_REPLAY_NODE)
        snprintf(p.text, sizeof p.text, "the protective conductor at '%.60s'",
                 r->study_case->network->node[r->settings.node].name);
    else
        snprintf(p.text, sizeof p.text, "the metalwork of some house");
    return p;
}

/* The most of any section. */
static double floating_h(const struct pd_replay *r)
{
    double most_h = 0;
    for (size_t i = 0; i < r->section_count; i++)
        most_h = fmax(most_h, r->section[i].floating_h);
    return most_h;
}

static enum pd_status say_unknown(const struct pd_replay *r, struct pd_notes *notes)
{
    enum pd_status status = PD_OK;
    if (r->unchecked > 0)
        status = pd_notes_add(notes,
                              "Not determined: %zu of the highest voltages, which were solved "
                              "again and are not borne out.",
                              r->unchecked);
    if (status == PD_OK && r->incomplete_h > 0)
        status = pd_notes_add(notes,
                              "Not determined, with the PEN open in some section: %s. What is said "
                              "of the rest is the least that it can be.",
                              part(r->incomplete_h, r->hours).text);
    if (status == PD_OK && floating_h(r) > 0)
        status = pd_notes_add(notes,
                              "In up to %s of a section that is because no load and no "
                              "electrode ties the neutral beyond the break: it has no "
                              "potential.",
                              part(floating_h(r), r->hours).text);
    if (status == PD_OK && r->unknown_moments > 0)
        status =
            pd_notes_add(notes, "%zu of %zu moments have an empty cell and are not determined.",
                         r->unknown_moments, r->moments);
    return status;
}

static enum pd_status say_over(const struct pd_replay *r, struct pd_notes *notes)
{
    const char *const of_sections =
        r->section_count > 1 ? "in the worst of its sections, " : "in that section, ";
    if (r->worst_count == 0)
        return PD_OK;
    if (r->over_h == 0)
        return pd_notes_add(notes,
                            "Had the PEN opened at any moment of this record that is determined, "
                            "%s%s would have stayed within %.1f V: %s.",
                            of_sections, subject(r).text, r->study_case->limits.touch_v,
                            at_most(r, &r->worst[0]).text);
    return pd_notes_add(notes,
                        "If the PEN opened at a random moment of this record, %s%s would be over "
                        "%.1f V in %s: %s.",
                        of_sections, subject(r).text, r->study_case->limits.touch_v,
                        part(r->over_h, r->hours).text, at_most(r, &r->worst[0]).text);
}

static enum pd_status say_unseen(const struct pd_replay *r, struct pd_notes *notes)
{
    if (!r->watched || r->over_h == 0)
        return PD_OK;
    if (r->study_case->detectors.count == 0)
        return pd_notes_add(notes, "Nothing watches for it: no device is declared.");
    if (r->worst_unseen_count == 0)
        return pd_notes_add(notes,
                            "Each time a declared device disconnects it, PE included, within "
                            "%s s.",
                            pd_figure_s(r->study_case->limits.time_s).text);
    return pd_notes_add(notes, "In %s no declared device disconnects it in time: %s.",
                        part(r->unseen_h, r->hours).text, at_most(r, &r->worst_unseen[0]).text);
}

static enum pd_status say_mean(const struct pd_replay *r, struct pd_notes *notes)
{
    double over_h = 0, unseen_h = 0;
    const double all_h = r->hours * (double)r->section_count;
    for (size_t i = 0; i < r->section_count; i++) {
        over_h += r->section[i].over_h;
        unseen_h += r->section[i].unseen_h;
    }
    if (r->section_count < 2 || r->over_h == 0)
        return PD_OK;
    if (!r->watched)
        return pd_notes_add(notes, "In a section taken at random as well: over the limit in %s.",
                            percent(over_h, all_h).text);
    return pd_notes_add(notes,
                        "In a section taken at random as well: over the limit in %s, not "
                        "disconnected in %s.",
                        percent(over_h, all_h).text, percent(unseen_h, all_h).text);
}

static enum pd_status say_declared(const struct pd_replay *r, struct pd_notes *notes)
{
    if (r->settings.supply == PD_REPLAY_DECLARED || r->over_h == 0 || isnan(r->declared_over_h))
        return PD_OK;
    return pd_notes_add(notes,
                        "At the declared supply voltage alone, %s V, it would be over the "
                        "limit in %s.",
                        pd_figure_v(r->study_case->supply_v).text,
                        part(r->declared_over_h, r->hours).text);
}

enum pd_status pd_replay_answer_notes(const struct pd_replay *r, struct pd_notes *notes)
{
    static enum pd_status (*const say[])(const struct pd_replay *, struct pd_notes *) = {
        say_unknown, say_over, say_unseen, say_mean, say_declared};
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < sizeof say / sizeof say[0] && status == PD_OK; i++)
        status = say[i](r, notes);
    return status;
}

struct placed {
    const struct pd_replay_section *section;
    size_t index;
};

static int descending(double a, double b)
{
    return (a < b) - (a > b);
}

/* Voltages alike to the microvolt are equal: their order is that of the case. */
static int by_weight(const void *left, const void *right)
{
    const struct placed *const a = left, *const b = right;
    int order = descending(a->section->unseen_h, b->section->unseen_h);
    if (order == 0)
        order = descending(a->section->over_h, b->section->over_h);
    if (order == 0)
        order = descending(a->section->unknown_h, b->section->unknown_h);
    if (order == 0)
        order = descending(floor(1e6 * a->section->touch.touch_v + 0.5),
                           floor(1e6 * b->section->touch.touch_v + 0.5));
    return order != 0 ? order : (a->index > b->index) - (a->index < b->index);
}

enum pd_status pd_replay_order(const struct pd_replay *r, size_t *order)
{
    struct placed *const placed = calloc(r->section_count + 1, sizeof *placed);
    if (placed == NULL)
        return PD_ERR_MEMORY;
    for (size_t i = 0; i < r->section_count; i++)
        placed[i] = (struct placed){&r->section[i], i};
    qsort(placed, r->section_count, sizeof *placed, by_weight);
    for (size_t i = 0; i < r->section_count; i++)
        order[i] = placed[i].index;
    free(placed);
    return PD_OK;
}
