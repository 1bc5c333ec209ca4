/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include <csv.h>

#include "report/cautions.h"
#include "report/plain.h"
#include "report/replay.h"
#include "report/report.h"

static void comment(FILE *out, const char *label, const char *text)
{
    fprintf(out, "# %s: %s\n", label, pd_plain(text).text);
}

void pd_report_replay_csv_head(FILE *out, const struct pd_case *c, bool every)
{
    fprintf(out, "# pendrift %s, replay\n", pd_version);
    comment(out, "case", c->title);
    for (size_t i = 0; i < PD_CAUTIONS; i++)
        comment(out, "caution", pd_cautions[i]);
    comment(out, "limit set", c->limits.set);
    comment(out, "limits", c->limits.status);
    comment(out, "answer", "in the last lines, which also say that the table is whole");
    fputs(every ? "time,section,touch_v,over_limit,not_disconnected_v\n"
                : "time,hours,touch_v,section,not_disconnected_v,not_disconnected_section,"
                  "sections_over,sections_not_disconnected,sections_not_determined\n",
          out);
}

/* The user's own texts are quoted, whatever is in them. */
static void write_text(FILE *out, const char *text)
{
    const struct pd_plain plain = pd_plain(text);
    csv_fwrite(out, plain.text, strlen(plain.text));
}

static void write_number(FILE *out, double value)
{
    if (isfinite(value))
        fprintf(out, ",%.9g", value + 0.0); /* + 0.0: no "-0" */
    else
        fputc(',', out);
}

static void write_section(FILE *out, const struct pd_case *c, size_t section)
{
    fputc(',', out);
    if (section != PD_NONE)
        write_text(out, pd_replay_section_name(c, section));
}

void pd_report_replay_csv_moment(FILE *out, const struct pd_case *c,
                                 const struct pd_replay_moment *moment)
{
    write_text(out, moment->time);
    write_number(out, moment->hours);
    write_number(out, moment->touch_v);
    write_section(out, c, moment->section);
    write_number(out, moment->unseen_v);
    write_section(out, c, moment->unseen_section);
    fprintf(out, ",%zu,%zu,%zu\n", moment->over, moment->unseen, moment->unknown);
}

void pd_report_replay_csv_answer(FILE *out, const struct pd_case *c,
                                 const struct pd_replay_answer *answer)
{
    static const char *const words[] = {
        [PD_WITHIN] = "no", [PD_OVER] = "yes", [PD_UNKNOWN] = "unknown"};
    write_text(out, answer->time);
    write_section(out, c, answer->section);
    write_number(out, answer->touch_v);
    fprintf(out, ",%s", words[answer->touch]);
    write_number(out, answer->unseen_v);
    fputc('\n', out);
}

enum pd_status pd_report_replay_csv_end(FILE *out, const struct pd_replay *r)
{
    struct pd_notes answer = {0};
    const enum pd_status status = pd_replay_answer_notes(r, &answer);
    for (size_t i = 0; i < answer.count; i++)
        comment(out, "answer", answer.text[i]);
    for (size_t i = 0; i < r->assumptions.count; i++)
        comment(out, "assumed", r->assumptions.text[i]);
    pd_notes_free(&answer);
    fprintf(out, "# end: %zu moments, the table is whole\n", r->moments);
    return ferror(out) ? PD_ERR_FILE : status;
}
