/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/cautions.h"

const char *const pd_caution_short =
    "LETHAL VOLTAGES: an aid to competent people, no design approval; never open or disturb a PEN "
    "to test anything.";

const char *const pd_cautions[PD_CAUTIONS] = {
    "The voltages in question kill. Treat every conductor, and all metalwork bonded to it, as live "
    "until competent people have proved it dead.",
    "This is an aid to competent people. It is not a design approval, and no answer of it makes an "
    "installation safe.",
    "The current edition of the wiring rules, the distributor's requirements and licensed practice "
    "decide, whatever is written here.",
    "Never open, loosen or disturb a PEN conductor to test anything: it puts dangerous voltages on "
    "metalwork here and in other people's premises.",
    "A supply that looks TN-S at the cut-out may be PME further up. Ask the distributor.",
    "An electrode's resistance varies with the season: a measured value holds for the day of the "
    "test and may be several times higher in dry or frozen ground.",
    "Limits quoted from memory must be checked against the current standard and the local rules "
    "before anyone leans on them.",
    "The answer is only as good as the case: a load, cable, electrode or repair that was not "
    "declared is not in it.",
};
