/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/audit_case.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "study/case_notes.h"

enum { VEHICLE, DEMANDS, LOADS = 1 + PD_LINES };

struct pd_site_case {
    struct pd_case c;
    struct pd_load load[LOADS]; /* as they are to be; those of no size are left out of the case */
    struct pd_electrode electrode;
    struct pd_earth_tie tie;
    struct pd_detector detector;
    size_t detector_node;
};

static const struct pd_behaviour *impedance(void)
{
    for (size_t i = 0; i < pd_behaviour_count; i++)
        if (strcmp(pd_behaviours[i]->name, "impedance") == 0)
            return pd_behaviours[i];
    return NULL;
}

static enum pd_status add_sections(struct pd_case *c, enum pd_site_earth earth)
{
    struct pd_errors *const none = NULL;
    const struct pd_section supply = {.name = "supply",
                                      .from = "substation",
                                      .to = "installation",
                                      .separate = earth == PD_EARTH_TN_S};
    const struct pd_section circuit = {
        .name = "point circuit", .from = "installation", .to = "point", .separate = true};
    enum pd_status status = pd_network_add_section(c->network, &supply, none);
    if (status == PD_OK)
        status = pd_network_add_section(c->network, &circuit, none);
    if (status == PD_OK)
        status = pd_network_close(c->network, none);
    return status;
}

static enum pd_status add_loads(struct pd_site_case *s, enum pd_phase charger)
{
    struct pd_network *const network = s->c.network;
    enum pd_status status = PD_OK;
    for (int i = 0; i < LOADS && status == PD_OK; i++) {
        char name[16];
        snprintf(name, sizeof name, "load%d", i);
        const struct pd_load load = {
            .name = name,
            .phase = i == VEHICLE ? charger : (enum pd_phase)(PD_ON_L1 + i - DEMANDS),
            .behaviour = impedance(),
            .power_factor = 1,
            .share = NAN,
            .least_a = NAN};
        if ((pd_phase_lines(load.phase) & ~network->lines) != 0)
            continue;
        status = pd_network_add_load(network, &load, i == VEHICLE ? "point" : "installation", NULL);
        s->load[i] = network->load[network->load_count - 1];
    }
    return status;
}

static enum pd_status make(struct pd_site_case *s, const struct pd_limits *limits,
                           enum pd_system system, enum pd_phase charger, enum pd_site_earth earth)
{
    static const enum pd_earthing earthings[PD_SITE_EARTHS] = {PD_TN_C_S, PD_TN_S, PD_TT, PD_TT};
    struct pd_case *const c = &s->c;
    enum pd_status status = pd_network_new(system, limits->nominal_v, &c->network);
    if (status == PD_OK)
        status = add_sections(c, earth);
    if (status == PD_OK)
        status = add_loads(s, charger);
    if (status != PD_OK)
        return status;
    c->limits = *limits;
    c->earthing = earthings[earth];
    c->installation = pd_network_find(c->network, "installation");
    c->charging_point = pd_network_find(c->network, "point");
    if (earth == PD_EARTH_TT_ALL)
        c->charging_point = c->installation;
    if (c->earthing == PD_TT)
        pd_network_isolate_pe(c->network, c->charging_point);
    c->supply_v = limits->nominal_v;
    c->neighbour_kw = NAN;
    c->electrodes.electrode = &s->electrode;
    c->tie = &s->tie;
    s->tie.node = c->earthing == PD_TT ? c->charging_point : c->installation;
    c->detectors.detector = &s->detector;
    c->detector_node = &s->detector_node;
    s->detector_node = c->charging_point;
    snprintf(s->detector.name, sizeof s->detector.name, "device");
    return PD_OK;
}

enum pd_status pd_site_case_new(const struct pd_limits *limits, enum pd_system system,
                                enum pd_phase charger, enum pd_site_earth earth,
                                struct pd_site_case **out)
{
    struct pd_site_case *s = *out = calloc(1, sizeof *s);
    if (s == NULL)
        return PD_ERR_MEMORY;
    const enum pd_status status = make(s, limits, system, charger, earth);
    if (status != PD_OK || s->load[VEHICLE].name == NULL)
        pd_site_case_free(out);
    return status;
}

void pd_site_case_free(struct pd_site_case **site_case)
{
    if (*site_case != NULL)
        pd_network_free(&(*site_case)->c.network);
    free(*site_case);
    *site_case = NULL;
}

const struct pd_case *pd_site_case_get(const struct pd_site_case *s)
{
    return &s->c;
}

bool pd_site_has_demands(const struct pd_site *site, enum pd_system system)
{
    const int lines = system == PD_SINGLE_PHASE ? 1 : system == PD_SPLIT_PHASE ? 2 : 3;
    for (int line = 0; line < lines; line++)
        if (isnan(site->number[PD_S_DEMAND_L1 + line]))
            return false;
    return true;
}

/* A load of no size is none: an installation of nothing but a charging point has no other. */
static void fill_loads(struct pd_site_case *s, const struct pd_site *site)
{
    struct pd_network *const network = s->c.network;
    network->load_count = 0;
    for (int i = 0; i < LOADS; i++) {
        struct pd_load *const load = &s->load[i];
        if (load->name == NULL)
            continue;
        const int line = i - DEMANDS;
        const double most_a =
            i == VEHICLE ? site->number[PD_S_CHARGER] : site->number[PD_S_DEMAND_L1 + line];
        const double least_a = i == VEHICLE ? 0 : site->number[PD_S_LEAST_L1 + line];
        if (!(most_a > 0))
            continue;
        load->present_a = load->high_a = most_a;
        load->low_a = isnan(least_a) ? most_a : fmin(least_a, most_a);
        network->load[network->load_count++] = *load;
    }
}

static void fill_detector(struct pd_site_case *s, const struct pd_site *site)
{
    struct pd_detector *const d = &s->detector;
    const int senses = site->choice[PD_S_SENSES];
    s->c.detectors.count = senses >= 0;
    if (senses < 0)
        return;
    d->senses = (enum pd_sense)senses;
    d->limit_a = d->tolerance_a = NAN; /* a sheet has no columns for these: as not declared */
    d->reference_ohm = d->input_ohm = d->coupling = d->reset_s = NAN;
    d->reset = (enum pd_reset)(site->choice[PD_S_RESET] + PD_RESET_MANUAL);
    d->low_v = site->number[PD_S_LOW];
    d->high_v = site->number[PD_S_HIGH];
    d->limit_v = site->number[PD_S_LIMIT];
    d->tolerance_v = isnan(site->number[PD_S_TOLERANCE]) ? 0 : site->number[PD_S_TOLERANCE];
    d->delay_s = site->number[PD_S_DELAY];
    d->disconnects_known = site->choice[PD_S_DISCONNECTS] >= 0;
    d->disconnects =
        d->disconnects_known ? (enum pd_disconnects)site->choice[PD_S_DISCONNECTS] : PD_CUTS_LINES;
}

void pd_site_case_fill(struct pd_site_case *s, const struct pd_site *site, bool loads,
                       double electrode_ohm, double rcd_a)
{
    s->c.network->load_count = 0;
    if (loads)
        fill_loads(s, site);
    fill_detector(s, site);
    s->c.demand_limit_a = site->number[PD_S_MANAGEMENT];
    s->c.electrodes.count = isfinite(electrode_ohm) ? 1 : 0;
    s->electrode.resistance_ohm = s->tie.resistance_ohm = electrode_ohm;
    s->electrode.season_factor = 1;
    s->c.rcd_a = rcd_a;
    s->c.reach_m = site->number[PD_S_REACH];
    s->c.installation_lines = pd_case_lines(&s->c);
}
