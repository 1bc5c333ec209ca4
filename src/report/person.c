/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/person.h"

#include <math.h>
#include <stdio.h>

#include "report/figure.h"

struct pd_person_words pd_person_who(const struct pd_assessment *assessment)
{
    const struct pd_case *const c = assessment->study_case;
    struct pd_person_words words;
    snprintf(words.text, sizeof words.text,
             "Of %s skin, footing %s ohm, both hands to both feet, and with the least impedance of "
             "20 people: most others take less.",
             pd_skin_names[c->skin], pd_figure(c->footing_ohm, 0).text);
    return words;
}

struct pd_person_words pd_person_current(const struct pd_shock *shock)
{
    struct pd_person_words words;
    const double body_a = shock->current.body_a;
    const char *const volts = pd_figure_v(shock->touch.prospective_v).text;
    if (!isfinite(body_a))
        snprintf(words.text, sizeof words.text,
                 "%s V: the current through a person is not determined", volts);
    else if (body_a == 0)
        snprintf(words.text, sizeof words.text, "%s V: no current", volts);
    else
        snprintf(words.text, sizeof words.text, "%s V drive %s mA through %s ohm of a person%s",
                 volts, pd_figure_ma(body_a).text, pd_figure_ohm(shock->current.body_ohm).text,
                 shock->overstated ? ", at the most (below the table)" : "");
    return words;
}

struct pd_person_words pd_person_zone(const struct pd_zone *zone)
{
    struct pd_person_words words;
    if (!zone->known)
        snprintf(words.text, sizeof words.text, "not determined");
    else if (zone->least == zone->most)
        snprintf(words.text, sizeof words.text, "%s", pd_zone_names[zone->most]);
    else
        snprintf(words.text, sizeof words.text, "%s to %s", pd_zone_names[zone->least],
                 pd_zone_names[zone->most]);
    return words;
}

struct pd_person_words pd_person_moment(const struct pd_shock *shock, enum pd_moment moment)
{
    struct pd_person_words words = {""};
    const struct pd_zone *const zone = &shock->zone[moment];
    const double time_s = shock->time_s[moment];
    if (!isfinite(time_s))
        return words;
    snprintf(words.text, sizeof words.text, "after %s s (%s): %.40s%s%.160s",
             pd_figure_s(time_s).text, pd_moment_names[moment], pd_person_zone(zone).text,
             !zone->known                ? ""
             : zone->least == zone->most ? ", "
                                         : ", at the worst ",
             zone->known ? pd_zone_effect(zone->most) : "");
    return words;
}
