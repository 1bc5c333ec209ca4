/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/person.h"
#include "report/text.h"

static void write_shock(struct pd_page *page, const struct pd_shock *shock)
{
    pd_page_paragraph(page, 2, "", 2, pd_person_current(shock).text);
    for (int moment = 0; moment < PD_MOMENTS; moment++) {
        const struct pd_person_words words = pd_person_moment(shock, (enum pd_moment)moment);
        if (words.text[0] != '\0')
            pd_page_paragraph(page, 6, "", 8, words.text);
    }
}

/* Whether an earlier one has shown the same: the largest touch voltage is often the largest that
 * nothing disconnects too. */
static bool is_shown(const struct pd_person *person, int kind)
{
    for (int earlier = 0; earlier < kind; earlier++)
        if (person->shock[earlier].scenario == person->shock[kind].scenario &&
            person->shock[earlier].touch.path == person->shock[kind].touch.path)
            return true;
    return false;
}

/* Every name that a shock goes by. */
static void write_names(struct pd_page *page, const struct pd_person *person, int kind)
{
    pd_page_to(page, 0);
    pd_page_wrap(page, 0, pd_shock_names[kind]);
    for (int later = kind + 1; later < PD_SHOCKS; later++)
        if (person->shock[later].scenario == person->shock[kind].scenario &&
            person->shock[later].touch.path == person->shock[kind].touch.path) {
            pd_page_wrap(page, 0, "; ");
            page->column++;
            pd_page_wrap(page, 0, pd_shock_names[later]);
        }
    pd_page_end_line(page);
}

void pd_text_person(struct pd_page *page, const struct pd_assessment *assessment)
{
    const struct pd_person *const person = &assessment->person;
    if (person->shock[PD_SHOCK_LARGEST].scenario >= assessment->scenario_count)
        return;
    pd_page_heading(page, "WHAT IT DOES TO A PERSON (beside the verdict)");
    pd_page_paragraph(page, 2, "!", 4, pd_person_warning);
    pd_page_paragraph(page, 2, "", 2, pd_person_who(assessment).text);
    for (int kind = 0; kind < PD_SHOCKS; kind++) {
        if (person->shock[kind].scenario >= assessment->scenario_count || is_shown(person, kind))
            continue;
        write_names(page, person, kind);
        write_shock(page, &person->shock[kind]);
    }
    if (assessment->unsolved > 0)
        pd_page_paragraph(page, 2, "", 2,
                          "Scenarios without an answer are not in these figures: it may be worse.");
    pd_page_paragraph(page, 2, "body:", 12, person->body_source);
    pd_page_paragraph(page, 2, "path:", 12, person->path_source);
    pd_page_paragraph(page, 2, "zones:", 12, person->curve_source);
}
