/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/case_notes.h"

#include <math.h>
#include <stdio.h>

#include "study/load_states.h"
#include "study/manage.h"
#include "table/figure.h"

unsigned pd_case_lines(const struct pd_case *c)
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
    size_t placed = 0;
    for (size_t i = 0; i < c->electrodes.count; i++)
        placed += isfinite(c->electrodes.electrode[i].x_m) ? 1 : 0;
    if (status == PD_OK && placed > 0 && placed < c->electrodes.count)
        status = pd_notes_add(&c->assumptions,
                              "Electrodes without x_m and y_m are taken to stand far from all "
                              "others: neither lifts the other's ground.");
    if (status == PD_OK && c->earthing == PD_TT && c->mutual_ohm != NULL)
        status = pd_notes_add(
            &c->assumptions,
            "The ground round the charging point's own electrode is lifted by the electrodes that "
            "have a place beside it, and by nothing else: other PME electrodes and buried "
            "metalwork "
            "nearby are not in the figures.");
    else if (status == PD_OK && c->earthing == PD_TT)
        status = pd_notes_add(
            &c->assumptions, "The ground round the charging point's own electrode is taken as "
                             "remote earth: what it picks up from PME electrodes and buried "
                             "metalwork nearby is not in the figures. Keep it well clear of them.");
    if (status == PD_OK && c->earthing == PD_TT && c->charging_point == c->installation)
        status = pd_notes_add(&c->assumptions,
                              "The whole installation is taken to be on that electrode, so none of "
                              "its metalwork drifts with a PEN. A neighbour's may be in reach, and "
                              "is not in the figures.");
    return status;
}

/* What is taken for granted of a device that measures PE to a reference electrode. */
static enum pd_status note_reference(struct pd_case *c, const struct pd_detector *d)
{
    const char *const name = d->name;
    if (d->senses != PD_SENSE_PE || d->reference_ohm == 0)
        return PD_OK;
    if (isnan(d->reference_ohm) && isnan(d->input_ohm))
        return pd_notes_add(&c->assumptions,
                            "Detector '%.60s': neither reference_ohm nor input_ohm is given, so it "
                            "is taken for an ideal voltmeter; a poor reference electrode on a "
                            "low input impedance would see less.",
                            name);
    if (isnan(d->reference_ohm) || isnan(d->input_ohm))
        return pd_notes_add(&c->assumptions,
                            "Detector '%.60s': %s is not given, so what it senses is not known, "
                            "and it is taken to see nothing for certain.",
                            name, isnan(d->input_ohm) ? "input_ohm" : "reference_ohm");
    return PD_OK;
}

static enum pd_status note_detector(struct pd_case *c, const struct pd_detector *d)
{
    const bool current = d->senses == PD_SENSE_PE_CURRENT;
    enum pd_status status = PD_OK;
    if ((current ? d->tolerance_a : d->tolerance_v) == 0)
        status = pd_notes_add(&c->assumptions,
                              "Detector '%s': thresholds taken as exact "
                              "(tolerance_%s 0 or not given).",
                              d->name, current ? "a" : "v");
    if (status == PD_OK)
        status = note_reference(c, d);
    if (status == PD_OK && d->senses == PD_SENSE_PE && isnan(d->coupling))
        status = pd_notes_add(&c->assumptions,
                              "Detector '%.60s': its reference electrode is taken to stand at "
                              "remote earth (coupling 0 or not given), clear of every other "
                              "electrode and of buried metalwork.",
                              d->name);
    if (status == PD_OK && d->reset == PD_RESET_UNDECLARED)
        status = pd_notes_add(&c->assumptions,
                              "Detector '%.60s': once it has acted it is taken to stay open until "
                              "somebody closes it (reset not given).",
                              d->name);
    return status;
}

static enum pd_status note_detectors(struct pd_case *c)
{
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < c->detectors.count && status == PD_OK; i++)
        status = note_detector(c, &c->detectors.detector[i]);
    return status;
}

static enum pd_status note_loads(struct pd_case *c)
{
    enum pd_status status = PD_OK;
    bool ranged = false;
    c->ranges_note = c->assumptions.count;
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
    return status;
}

/* What the behaviours of loads take for granted. */
static enum pd_status note_behaviours(struct pd_case *c)
{
    size_t windows = 0, flexible = 0;
    for (size_t i = 0; i < c->network->load_count; i++) {
        const struct pd_load *const load = &c->network->load[i];
        windows += load->behaviour->window && !(load->low_v > 0 && load->high_v > 0);
        flexible += !load->behaviour->linear;
    }
    enum pd_status status = PD_OK;
    if (windows > 0)
        status =
            pd_notes_add(&c->assumptions,
                         "%zu charger%s or inverter%s let go outside the usual voltage window "
                         "(common practice; interface protection from memory): one that holds "
                         "on longer may be worse. Give low_v and high_v from the maker's sheet.",
                         windows, windows == 1 ? "" : "s", windows == 1 ? "" : "s");
    if (status == PD_OK && flexible > 0)
        status =
            pd_notes_add(&c->assumptions,
                         "Loads that are not impedances are known near nominal voltage only; "
                         "far from it, on a drifting neutral, their behaviour is extrapolated.");
    return status;
}

/* What load management takes for granted; or that it does nothing here. */
static enum pd_status note_management(struct pd_case *c)
{
    bool shares = false, generates = false;
    size_t vehicles = 0;
    for (size_t i = 0; i < c->network->load_count; i++) {
        const struct pd_load *const load = &c->network->load[i];
        vehicles += pd_gives_way(c, load);
        shares |= !isnan(load->share) || !isnan(load->least_a);
        generates |= load->behaviour->generates && pd_case_own(c, load->node);
    }
    if (!(c->demand_limit_a > 0))
        return shares ? pd_notes_add(&c->assumptions, "share and least_a have nothing to divide: "
                                                      "case.csv gives no demand_limit.")
                      : PD_OK;
    if (vehicles == 0)
        return pd_notes_add(&c->assumptions,
                            "demand_limit is not applied: no load hangs on a charging_point node "
                            "of its own or has the behaviour charger, so none is known to give "
                            "way.");
    enum pd_status status = PD_OK;
    if (vehicles > 1)
        status = pd_notes_add(&c->assumptions,
                              "%zu loads give way to demand_limit together, by their shares; where "
                              "not all can have their least current, the smallest share is paused "
                              "first, of equal ones the first in loads.csv.",
                              vehicles);
    if (status == PD_OK && generates)
        status = pd_notes_add(&c->assumptions,
                              "The inverters' current is added to demand_limit: a device that "
                              "measures what the supply delivers leaves the vehicle that much more "
                              "while they give.");
    return status;
}

/* How the neighbours' demand after diversity changes what their loads declare. */
static enum pd_status note_neighbours(struct pd_case *c)
{
    size_t dwellings = 0;
    double low_kw = 0, high_kw = 0;
    if (!(c->neighbour_kw > 0))
        return PD_OK;
    for (size_t i = 0; i < c->network->load_count; i++) {
        const struct pd_load *const load = &c->network->load[i];
        const double kw_per_a = pd_neighbour_kw_per_a(c, load);
        dwellings += kw_per_a > 0;
        low_kw += kw_per_a * load->low_a;
        high_kw += kw_per_a * load->high_a;
    }
    if (dwellings == 0)
        return pd_notes_add(&c->assumptions, "neighbour_demand is not applied: no single-phase "
                                             "load hangs outside the installation.");
    low_kw /= (double)dwellings;
    high_kw /= (double)dwellings;
    if (high_kw <= c->neighbour_kw || high_kw <= low_kw)
        return pd_notes_add(&c->assumptions,
                            "neighbour_demand changes nothing: the declared high of %zu "
                            "neighbours, a load each, is %.3g kW in the mean%s.",
                            dwellings, high_kw,
                            high_kw <= c->neighbour_kw ? "" : " and has no range to come down in");
    const enum pd_status status = pd_notes_add(
        &c->assumptions,
        "Neighbours after diversity: with loads high or at the worst found in their ranges, "
        "%zu neighbours, a load each, are held to %.3g kW in the mean, down from %.3g kW "
        "declared%s. Usual for design: about 2 kW; seen at 100 houses: 1.5 kW.",
        dwellings, low_kw > c->neighbour_kw ? low_kw : c->neighbour_kw, high_kw,
        low_kw > c->neighbour_kw ? " (their declared low is no less)" : "");
    return status != PD_OK ? status
                           : pd_notes_add(&c->assumptions,
                                          "A demand after diversity is a mean over time and over "
                                          "many dwellings: a break at the wrong moment, or a main "
                                          "of few dwellings, may meet more, and that is then not "
                                          "in the figures. Leave neighbour_demand out to see it.");
}

/* In island operation nothing of the distributor's is there to rely on. The figures are for
 * operation on the supply; this says what they are not for. */
static enum pd_status note_backup(struct pd_case *c)
{
    char electrode[80] = "is of unknown resistance";
    const double ohm = pd_case_electrode(c, c->installation);
    if (!c->backup)
        return PD_OK;
    if (isinf(ohm))
        snprintf(electrode, sizeof electrode, "is missing: the case has none at that terminal");
    else if (isfinite(ohm))
        snprintf(electrode, sizeof electrode, "has %s ohm in the dry season",
                 pd_figure_ohm(ohm).text);
    const enum pd_status status = pd_notes_add(
        &c->assumptions,
        "Backup operation is not computed. Behind the changeover the installation is an island: "
        "the PME earth cannot be relied on, and the local electrode at '%.60s' is what remains. "
        "It %s.",
        c->network->node[c->installation].name, electrode);
    if (status != PD_OK || isinf(ohm))
        return status;
    return pd_notes_add(&c->assumptions,
                        "On the supply that electrode stands in parallel with the PME earth at the "
                        "main earthing terminal. With a PEN open it holds the terminal down only "
                        "as far as its ohms let it; what would do for an island is seldom low "
                        "enough for that, and it is counted at what it is.");
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
    static enum pd_status (*const steps[])(struct pd_case *) = {
        check_own_load,  note_loads,      note_behaviours, note_management,
        note_neighbours, note_electrodes, note_backup,     note_detectors};
    enum pd_status status = PD_OK;
    c->installation_lines = pd_case_lines(c);
    for (size_t i = 0; i < sizeof steps / sizeof steps[0] && status == PD_OK; i++)
        status = steps[i](c);
    return status;
}
