/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_CONTACTS_H
#define PENDRIFT_STUDY_CONTACTS_H

#include "study/run.h"

/* What a device's contacts stand before, and what is no longer on the supply when they open. The
 * room's own. */
struct pd_contacts {
    bool whole;     /* before the installation, not only before the charging point */
    bool loads_off; /* the loads behind them are known; where the point has no node of its own they
                       are taken to stay */
    bool chassis_let_go; /* the chassis is off the PEN */
    bool rest_on_pen;    /* the rest of the installation's metalwork is still on it */
};
struct pd_contacts pd_contacts_of(const struct pd_case *study_case, size_t detector);

/* Whether they stand before a node. */
bool pd_contacts_before(const struct pd_case *study_case, size_t detector, size_t node);

/* Takes the electrodes that go with the protective conductor off run->tie. */
void pd_contacts_untie(struct pd_run *run, size_t detector);

/* Whether the device, open, still has what it senses before its contacts, and sees it in
 * run->solution: then one that closes again by itself stays open. What it senses of PE goes with
 * PE. */
bool pd_contacts_held(const struct pd_run *run, size_t detector);

#endif
