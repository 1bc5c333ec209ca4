/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/contacts.h"

#include <math.h>

struct pd_contacts pd_contacts_of(const struct pd_case *c, size_t detector)
{
    const bool apart = c->charging_point != c->installation;
    const struct pd_detector *const d = &c->detectors.detector[detector];
    struct pd_contacts contacts = {
        .whole = apart && c->detector_node[detector] == c->installation,
        .loads_off = apart,
        .chassis_let_go = d->disconnects == PD_CUTS_LIVE_AND_PE,
    };
    contacts.rest_on_pen = !(contacts.whole && contacts.chassis_let_go);
    return contacts;
}

bool pd_contacts_before(const struct pd_case *c, size_t detector, size_t node)
{
    return pd_network_same_installation(c->network, c->detector_node[detector], node);
}

void pd_contacts_untie(struct pd_run *run, size_t detector)
{
    const struct pd_contacts contacts = pd_contacts_of(run->study_case, detector);
    for (size_t i = 0; i < run->study_case->electrodes.count; i++)
        if (contacts.chassis_let_go && contacts.loads_off &&
            pd_contacts_before(run->study_case, detector, run->tie[i].node))
            run->tie[i].resistance_ohm = INFINITY;
}

bool pd_contacts_held(const struct pd_run *run, size_t detector)
{
    const struct pd_detector *const d = &run->study_case->detectors.detector[detector];
    const struct pd_view view = pd_run_view(run, detector);
    return (pd_sense_has_band(d->senses) || d->senses == PD_SENSE_STAR_POINT) &&
           pd_detector_look(d, &view).kind == PD_SEES;
}
