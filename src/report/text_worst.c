/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/figure.h"
#include "report/text.h"

#include <math.h>

#include "report/worst.h"

enum { MARGIN = 2, VALUES = 20 };

static void write_certified(struct pd_page *page, const struct pd_assessment *a)
{
    const struct pd_worst_break *const brk = &a->certified.brk[a->certified.worst];
    pd_page_paragraph(page, MARGIN, "at most", VALUES, pd_worst_bound(a, brk).text);
    pd_page_paragraph(page, MARGIN, "found", VALUES, pd_worst_found(a, brk).text);
    pd_page_paragraph(page, MARGIN, "not disconnected", VALUES, pd_worst_unseen_words(a).text);
}

static void write_answers(struct pd_page *page, const struct pd_assessment *a)
{
    bool any = false;
    const char *const not_asked = pd_worst_not_asked(a);
    for (int i = 0; i < PD_ASKS; i++)
        any |= a->answer[i].found != PD_FOUND_NOT_ASKED;
    if (not_asked != NULL)
        pd_page_paragraph(page, 0, "turned round:", VALUES, not_asked);
    if (!any)
        return;
    pd_page_paragraph(page, 0, "", 0,
                      a->certified.count > 0
                          ? "turned round: what keeps that worst case within the limit"
                          : "turned round: what keeps every break within the limit, loads as they "
                            "are");
    for (int i = 0; i < PD_ASKS; i++)
        if (a->answer[i].found != PD_FOUND_NOT_ASKED)
            pd_page_paragraph(page, MARGIN, pd_ask_names[i], VALUES,
                              pd_worst_answer(a, &a->answer[i]).text);
}

void pd_text_worst(struct pd_page *page, const struct pd_assessment *a)
{
    if (a->study_case->missing.count > 0)
        return;
    pd_page_heading(page, "WORST CASE, PROVED OVER ALL LOADS IN THEIR RANGES");
    if (a->certified.count == 0) {
        pd_page_paragraph(page, MARGIN, "", MARGIN, pd_worst_nothing(a));
        write_answers(page, a);
        return;
    }
    write_certified(page, a);
    write_answers(page, a);
}
