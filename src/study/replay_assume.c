/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "study/replay_work.h"

/* The names of loads without a column, as many as fit. */
static size_t list_absent(const struct pd_network *network, const struct pd_profile_load *load,
                          char *text, size_t size)
{
    size_t absent = 0, used = 0;
    text[0] = '\0';
    for (size_t i = 0; i < network->load_count; i++) {
        if (load[i].given)
            continue;
        if (used + strlen(network->load[i].name) + 8 < size)
            used += (size_t)snprintf(text + used, size - used, "%s'%s'", absent > 0 ? ", " : "",
                                     network->load[i].name);
        else if (used + 5 < size && text[used - 1] != '.')
            used += (size_t)snprintf(text + used, size - used, " ...");
        absent++;
    }
    return absent;
}

static enum pd_status assume_loads(const struct pd_case *c, const struct pd_profile_load *load,
                                   struct pd_notes *notes)
{
    char absent[200];
    const size_t count = list_absent(c->network, load, absent, sizeof absent);
    enum pd_status status =
        pd_notes_add(notes, "A column of the record is in the unit in which loads.csv gives the "
                            "load: kW or ampere, at nominal voltage.");
    if (status == PD_OK && count > 0)
        status = pd_notes_add(notes,
                              "%zu load%s ha%s no column and keep%s the present value of "
                              "loads.csv throughout: %s.",
                              count, count == 1 ? "" : "s", count == 1 ? "s" : "ve",
                              count == 1 ? "s" : "", absent);
    if (status == PD_OK && isfinite(c->demand_limit_a))
        status = pd_notes_add(notes, "demand_limit is not applied: a measured series is what load "
                                     "management has left, and a vehicle without a column is not "
                                     "brought down.");
    if (status == PD_OK && isfinite(c->neighbour_kw))
        status = pd_notes_add(notes, "neighbour_demand is not applied: a series is what diversity "
                                     "has left.");
    return status;
}

/* Loads that go where their declared range does not. */
static enum pd_status assume_ranges(const struct pd_case *c, const struct pd_profile_load *load,
                                    struct pd_notes *notes)
{
    size_t outside = 0, first = 0;
    for (size_t i = 0; i < c->network->load_count; i++) {
        const struct pd_load *const own = &c->network->load[i];
        if (!load[i].given || !(load[i].least_a < own->low_a || load[i].most_a > own->high_a) ||
            own->low_a == own->high_a)
            continue;
        first = outside++ == 0 ? i : first;
    }
    if (outside == 0)
        return PD_OK;
    const struct pd_load *const own = &c->network->load[first];
    return pd_notes_add(notes,
                        "The record takes %zu load%s outside the range declared in loads.csv, such "
                        "as '%s': %.3g to %.3g A, declared %.3g to %.3g A. 'assess' has not looked "
                        "there.",
                        outside, outside == 1 ? "" : "s", own->name, load[first].least_a,
                        load[first].most_a, own->low_a, own->high_a);
}

static enum pd_status assume_supply(const struct pd_replay_work *w, struct pd_notes *notes)
{
    static const char *const words[PD_REPLAY_SUPPLIES] = {
        [PD_REPLAY_RANGE] = "Each moment is judged over the whole supply range, %.1f to %.1f V: "
                            "over the limit where it is anywhere in it.",
        [PD_REPLAY_DECLARED] = "Each moment is judged at the declared supply voltage only, %.1f V: "
                               "at the top of the range voltages are higher.",
        [PD_REPLAY_TOP] = "Each moment is judged at the top of the supply range only, %.1f V: a "
                          "device may see less at another.",
    };
    double low_v = w->judged_v[0];
    for (size_t i = 1; i < w->judged_count; i++)
        low_v = fmin(low_v, w->judged_v[i]);
    char text[PD_NOTE_MAX];
    snprintf(text, sizeof text, words[w->settings->supply], low_v, w->top_v);
    return pd_notes_add(notes, "%s", text);
}

static enum pd_status assume_place(const struct pd_replay_work *w, struct pd_notes *notes)
{
    if (w->settings->place == PD_REPLAY_POINT)
        return PD_OK;
    return pd_notes_add(notes, "What devices disconnect is not told: they let go of the charging "
                               "point, not of other metalwork.");
}

enum pd_status pd_replay_assume(const struct pd_replay_work *w, const struct pd_profile_load *load)
{
    const struct pd_case *const c = w->study_case;
    struct pd_notes *const notes = &w->replay->assumptions;
    enum pd_status status = assume_loads(c, load, notes);
    if (status == PD_OK)
        status = assume_ranges(c, load, notes);
    if (status == PD_OK)
        status = assume_supply(w, notes);
    if (status == PD_OK)
        status = assume_place(w, notes);
    if (status == PD_OK)
        status = pd_notes_add(notes, "Feet stand on remote earth; electrodes have their dry-season "
                                     "resistance.");
    if (status == PD_OK && w->replay->gaps > 0)
        status = pd_notes_add(notes, "%zu gap%s of %.1f h in all %s not filled.", w->replay->gaps,
                              w->replay->gaps == 1 ? "" : "s", (double)w->gap_ms / 3600e3,
                              w->replay->gaps == 1 ? "is" : "are");
    for (size_t i = 0; i < c->assumptions.count && status == PD_OK; i++)
        if (i != c->ranges_note)
            status = pd_notes_add(notes, "%s", c->assumptions.text[i]);
    return status;
}
