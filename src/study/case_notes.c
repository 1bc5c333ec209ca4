/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/case_notes.h"

static unsigned lines_of_installation(const struct pd_case *c)
{
    unsigned lines = 0;
    for (size_t i = 0; i < c->network->load_count; i++)
        if (pd_case_own(c, c->network->load[i].node))
            lines |= pd_phase_lines(c->network->load[i].phase);
    const unsigned service = c->network->node[c->installation].lines;
    return service != c->network->lines || lines == 0 ? service : lines;
}

static enum pd_status note_electrodes(struct pd_case *c)
{
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < c->electrodes.count && status == PD_OK; i++)
        if (pd_case_own(c, c->tie[i].node) && !c->electrodes.electrode[i].season_declared)
            status = pd_notes_add(&c->assumptions,
                                  "Electrode '%s': no season_factor, so the reading is taken for "
                                  "the dry season too.",
                                  c->electrodes.electrode[i].name);
    if (status == PD_OK && c->earthing == PD_TT)
        status = pd_notes_add(
            &c->assumptions, "The ground round the charging point's own electrode is taken as "
                             "remote earth: what it picks up from PME electrodes and buried "
                             "metalwork nearby is not in the figures. Keep it well clear of them.");
    return status;
}

static enum pd_status note_detectors(struct pd_case *c)
{
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < c->detectors.count && status == PD_OK; i++)
        if (c->detectors.detector[i].tolerance_v == 0)
            status = pd_notes_add(&c->assumptions,
                                  "Detector '%s': thresholds taken as exact "
                                  "(tolerance_v 0 or not given).",
                                  c->detectors.detector[i].name);
    return status;
}

static enum pd_status note_loads(struct pd_case *c)
{
    enum pd_status status = PD_OK;
    bool ranged = false;
    for (size_t i = 0; i < c->network->load_count; i++)
        ranged |= c->network->load[i].low_a != c->network->load[i].high_a;
    if (!ranged)
        status = pd_notes_add(
            &c->assumptions, "No load has a declared range: the figures hold for these loads only. "
                             "Give min and max columns in loads.csv.");
    else
        status = pd_notes_add(&c->assumptions,
                              "Load ranges are searched at their ends, line by line, and between "
                              "the ends for what a device may miss: a search, not a proof.");
    if (status == PD_OK && c->demand_limit_a > 0 && c->charging_point == c->installation)
        status = pd_notes_add(&c->assumptions,
                              "demand_limit is not applied: no load hangs on a charging_point node "
                              "of its own, so none is known to give way.");
    return status;
}

/* With no current of its own an installation drifts nowhere: that says nothing about the one that
 * will be there when the vehicle charges. */
static enum pd_status check_own_load(struct pd_case *c)
{
    for (size_t i = 0; i < c->network->load_count; i++)
        if (pd_case_own(c, c->network->load[i].node) && c->network->load[i].high_a > 0)
            return PD_OK;
    return pd_notes_add(&c->missing,
                        "No load in the installation '%s' takes any current: give its loads, the "
                        "vehicle's too, in loads.csv.",
                        c->network->node[c->installation].name);
}

enum pd_status pd_case_finish(struct pd_case *c)
{
    c->installation_lines = lines_of_installation(c);
    enum pd_status status = check_own_load(c);
    if (status == PD_OK)
        status = note_loads(c);
    if (status == PD_OK)
        status = note_electrodes(c);
    return status == PD_OK ? note_detectors(c) : status;
}
