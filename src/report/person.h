/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_PERSON_H
#define PENDRIFT_REPORT_PERSON_H

#include "study/assess.h"

/* What the deciding scenarios do to a person, in words: the same in text and in CSV comments. */

struct pd_person_words {
    char text[320];
};

/* "Saltwater-wet skin, footing 0 ohm, ..." */
struct pd_person_words pd_person_who(const struct pd_assessment *assessment);

/* "176.0 V drive 452 mA through 389 ohm of a person". */
struct pd_person_words pd_person_current(const struct pd_shock *shock);

/* "after 5 s (limit set): AC-4.2 to AC-4.3, at the worst the heart ...". Empty where that moment
 * has no time. */
struct pd_person_words pd_person_moment(const struct pd_shock *shock, enum pd_moment moment);

/* "AC-3", "AC-4.2 to AC-4.3", "not determined". */
struct pd_person_words pd_person_zone(const struct pd_zone *zone);

#endif
