/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "report/aftermath.h"
#include "report/cells.h"
#include "report/making.h"
#include "report/person.h"
#include "report/scenario.h"

static json_t *judgement(enum pd_judgement touch)
{
    return touch == PD_UNKNOWN ? json_null() : json_boolean(touch == PD_OVER);
}

static json_t *lines(const double *volts)
{
    struct pd_making array = pd_json_make_array();
    for (int line = PD_L1; line < PD_LINES; line++)
        pd_json_append(&array, pd_json_number(volts[line]));
    return pd_json_made(&array);
}

static json_t *event_object(const struct pd_aftermath *a, const struct pd_event *event)
{
    const struct pd_case *const c = a->study_case;
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "event", pd_json_text(pd_event_names[event->kind]));
    pd_json_put(&object, "time_s", pd_json_number(event->time_s));
    pd_json_put(&object, "interval", pd_json_count(event->interval));
    pd_json_put(&object, "load",
                pd_json_text(event->load != PD_NONE ? c->network->load[event->load].name : NULL));
    pd_json_put(&object, "detector",
                pd_json_text(event->detector != PD_NONE
                                 ? c->detectors.detector[event->detector].name
                                 : NULL));
    pd_json_put(&object, "stage", pd_json_text(event->stage[0] != '\0' ? event->stage : NULL));
    pd_json_put(&object, "figure", pd_json_number(event->figure));
    pd_json_put(&object, "threshold_v", pd_json_number(event->threshold));
    pd_json_put(&object, "waited_s", pd_json_number(event->waited_s));
    pd_json_put(&object, "text", pd_json_text(pd_aftermath_event(a, event).text));
    return pd_json_made(&object);
}

static json_t *houses_array(const struct pd_aftermath *a, const struct pd_interval *at)
{
    struct pd_making array = pd_json_make_array();
    for (size_t i = 0; i < a->house_count; i++) {
        struct pd_making object = pd_json_make_object();
        pd_json_put(&object, "node",
                    pd_json_text(a->study_case->network->node[a->house[i].node].name));
        pd_json_put(&object, "own", json_boolean(a->house[i].own));
        pd_json_put(&object, "line_neutral_v", lines(&at->house_v[i * PD_LINES]));
        pd_json_append(&array, pd_json_made(&object));
    }
    return pd_json_made(&array);
}

static json_t *interval_object(const struct pd_aftermath *a, const struct pd_interval *at)
{
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "start_s", pd_json_number(at->start_s));
    pd_json_put(&object, "end_s", pd_json_number(at->end_s));
    pd_json_put(&object, "determined", json_boolean(at->known));
    pd_json_put(&object, "standing", pd_json_text(pd_standing_names[at->standing]));
    if (!at->known)
        return pd_json_made(&object);
    pd_json_put(&object, "residual", pd_json_number(at->residual));
    pd_json_put(&object, "chassis_v", pd_json_number(at->chassis_v));
    pd_json_put(&object, "chassis_on_pe", json_boolean(at->chassis_on_pe));
    pd_json_put(&object, "metalwork_v", pd_json_number(at->metalwork_v));
    pd_json_put(&object, "metalwork_on_pe", json_boolean(at->metalwork_on_pe));
    pd_json_put(&object, "reach_v", pd_json_number(at->reach_v));
    pd_json_put(&object, "over_limit", judgement(at->touch));
    pd_json_put(&object, "line_neutral_v", lines(at->line_neutral_v));
    pd_json_put(&object, "neighbours_over", pd_json_count(at->over_count));
    pd_json_put(&object, "neighbours_far_over", pd_json_count(at->far_count));
    pd_json_put(&object, "neighbours_under", pd_json_count(at->under_count));
    pd_json_put(&object, "neighbours_highest_v", pd_json_number(at->highest_v));
    pd_json_put(&object, "neighbours_lowest_v", pd_json_number(at->lowest_v));
    pd_json_put(&object, "exposed_s", pd_json_number(at->exposed_s));
    pd_json_put(&object, "body_a", pd_json_number(at->current.body_a));
    pd_json_put(&object, "zone", pd_json_text(pd_person_zone(&at->zone).text));
    pd_json_put(&object, "houses", houses_array(a, at));
    return pd_json_made(&object);
}

static json_t *sentences(const struct pd_aftermath *a)
{
    const struct pd_aftermath_words part[] = {pd_aftermath_headline(a), pd_aftermath_start(a),
                                              pd_aftermath_metalwork(a), pd_aftermath_neighbours(a),
                                              pd_aftermath_body(a)};
    struct pd_making array = pd_json_make_array();
    for (size_t i = 0; i < sizeof part / sizeof part[0]; i++)
        if (part[i].text[0] != '\0')
            pd_json_append(&array, pd_json_text(part[i].text));
    return pd_json_made(&array);
}

static void put_answer(struct pd_making *object, const struct pd_aftermath *a)
{
    const struct pd_case *const c = a->study_case;
    const bool ends = a->ending == PD_ENDING_SETTLED || a->ending == PD_ENDING_HORIZON;
    pd_json_put(object, "answer", sentences(a));
    pd_json_put(object, "ending", pd_json_text(pd_ending_names[a->ending]));
    pd_json_put(object, "why", pd_json_text(a->why[0] != '\0' ? a->why : NULL));
    pd_json_put(object, "section",
                pd_json_text(a->determined ? c->network->node[a->section].section : NULL));
    pd_json_put(object, "loads", pd_json_text(a->determined ? pd_loads_names[a->loads] : NULL));
    pd_json_put(object, "supply_v", pd_json_number(a->supply_v));
    pd_json_put(object, "limit_v", pd_json_number(c->limits.touch_v));
    pd_json_put(object, "limit_s", pd_json_number(c->limits.time_s));
    pd_json_put(object, "horizon_s", pd_json_number(a->horizon_s));
    pd_json_put(object, "over_s", pd_json_number(ends ? a->over_s : (double)NAN));
    pd_json_put(object, "repeats_from_s", pd_json_number(a->repeats_from_s));
    pd_json_put(object, "period_s", pd_json_number(a->period_s));
    pd_json_put(object, "assessed_v", pd_json_number(a->assessed_v));
    pd_json_put(object, "scenarios_not_determined", pd_json_count(a->unsolved));
    pd_json_put(object, "over_v", pd_json_number(a->over_v));
    pd_json_put(object, "far_over_v", pd_json_number(a->far_v));
    pd_json_put(object, "under_v", pd_json_number(a->under_v));
}

enum pd_status pd_aftermath_json(FILE *out, const struct pd_aftermath *a)
{
    struct pd_making events = pd_json_make_array(), intervals = pd_json_make_array();
    struct pd_making object = pd_json_make_object();
    for (size_t i = 0; i < a->event_count; i++)
        pd_json_append(&events, event_object(a, &a->event[i]));
    for (size_t i = 0; i < a->interval_count; i++)
        pd_json_append(&intervals, interval_object(a, &a->interval[i]));
    pd_json_put_head(&object, a->study_case->title);
    put_answer(&object, a);
    pd_json_put(&object, "missing", pd_json_notes(&a->study_case->missing));
    pd_json_put(&object, "events", pd_json_made(&events));
    pd_json_put(&object, "intervals", pd_json_made(&intervals));
    pd_json_put(&object, "note", pd_json_text(pd_aftermath_note));
    pd_json_put(&object, "assumptions", pd_json_notes(&a->assumptions));
    pd_json_put(&object, "case_assumptions", pd_json_notes(&a->study_case->assumptions));
    pd_json_put(&object, "person_warning", pd_json_text(pd_person_warning));
    return pd_json_write(out, pd_json_made(&object));
}

/* The events that begin an interval, in one cell. */
static struct pd_aftermath_words events_of(const struct pd_aftermath *a, size_t interval)
{
    struct pd_aftermath_words all = {""};
    size_t used = 0;
    for (size_t i = 0; i < a->event_count; i++)
        if (a->event[i].interval == interval && used < sizeof all.text)
            used +=
                (size_t)snprintf(all.text + used, sizeof all.text - used, "%s%s",
                                 used > 0 ? "; " : "", pd_aftermath_event(a, &a->event[i]).text);
    return all;
}

static void write_row(FILE *out, const struct pd_aftermath *a, size_t i)
{
    const struct pd_interval *const at = &a->interval[i];
    fprintf(out, "%.10g", at->start_s);
    pd_csv_number(out, at->end_s);
    pd_csv_text(out, events_of(a, i).text);
    fprintf(out, ",%s", at->known ? "yes" : "no");
    pd_csv_number(out, at->known ? at->chassis_v : (double)NAN);
    pd_csv_number(out, at->known ? at->metalwork_v : (double)NAN);
    fprintf(out, ",%s",
            !at->known || at->touch == PD_UNKNOWN ? ""
            : at->touch == PD_OVER                ? "yes"
                                                  : "no");
    for (int line = PD_L1; line < PD_LINES; line++)
        pd_csv_number(out, at->known ? at->line_neutral_v[line] : (double)NAN);
    pd_csv_number(out, at->known ? at->lowest_v : (double)NAN);
    pd_csv_number(out, at->known ? at->highest_v : (double)NAN);
    if (at->known)
        fprintf(out, ",%zu,%zu", at->over_count, at->far_count);
    else
        fputs(",,", out);
    pd_csv_number(out, at->known ? at->exposed_s : (double)NAN);
    pd_csv_number(out, at->known ? at->current.body_a : (double)NAN);
    fprintf(out, ",%s\n", at->known ? pd_person_zone(&at->zone).text : "not determined");
}

enum pd_status pd_aftermath_csv(FILE *out, const struct pd_aftermath *a)
{
    pd_csv_head(out, a->study_case->title);
    pd_csv_comment(out, "answer", pd_aftermath_headline(a).text);
    pd_csv_comment(out, "ending", pd_ending_names[a->ending]);
    if (a->determined)
        pd_csv_comment(out, "break", pd_aftermath_start(a).text);
    pd_csv_comment(out, "note", pd_aftermath_note);
    for (size_t i = 0; i < a->study_case->missing.count; i++)
        pd_csv_comment(out, "missing", a->study_case->missing.text[i]);
    for (size_t i = 0; i < a->assumptions.count; i++)
        pd_csv_comment(out, "assumed", a->assumptions.text[i]);
    for (size_t i = 0; i < a->study_case->assumptions.count; i++)
        pd_csv_comment(out, "assumed", a->study_case->assumptions.text[i]);
    pd_csv_comment(out, "person", pd_person_warning);
    fputs("start_s,end_s,events,determined,chassis_v,metalwork_v,over_limit,line1_neutral_v,"
          "line2_neutral_v,line3_neutral_v,neighbours_lowest_v,neighbours_highest_v,"
          "neighbours_over,neighbours_far_over,exposed_s,body_a,zone\n",
          out);
    for (size_t i = 0; i < a->interval_count; i++)
        write_row(out, a, i);
    return ferror(out) ? PD_ERR_FILE : PD_OK;
}
