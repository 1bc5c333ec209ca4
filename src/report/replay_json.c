/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>

#include "report/cautions.h"
#include "report/json_parts.h"
#include "report/making.h"
#include "report/replay.h"
#include "report/report.h"
#include "report/scenario.h"

static json_t *peak_object(const struct pd_replay *r, const struct pd_replay_peak *peak)
{
    const struct pd_case *const c = r->study_case;
    const bool sure = peak->checked;
    struct making object = make_object();
    if (!peak->there) {
        json_decref(object.json);
        return json_null();
    }
    put(&object, "time", text(peak->time));
    put(&object, "moment", count(peak->moment));
    put(&object, "section", text(pd_replay_section_name(c, peak->section)));
    put(&object, "node",
        text(peak->node < c->network->node_count ? c->network->node[peak->node].name : NULL));
    put(&object, "touch_v", number(sure ? peak->touch_v : NAN));
    put(&object, "supply_v", number(peak->supply_v));
    put(&object, "determined", json_boolean(sure));
    if (sure) {
        put(&object, "line_neutral_v",
            pd_json_line_voltages(&peak->scenario, c->installation_lines));
        put(&object, "disconnected_in_time",
            r->watched ? json_boolean(peak->scenario.disconnected) : json_null());
        put(&object, "detectors", pd_json_sights(&c->detectors, &peak->scenario));
        put(&object, "residual", number(peak->scenario.residual));
    }
    return made(&object);
}

static json_t *peaks_array(const struct pd_replay *r, const struct pd_replay_peak *peak,
                           size_t length)
{
    struct making array = make_array();
    for (size_t i = 0; i < length; i++)
        append(&array, peak_object(r, &peak[i]));
    return made(&array);
}

static json_t *unseen_hours(const struct pd_replay *r, double hours)
{
    return r->watched ? number(hours) : json_null();
}

/* Hours over 0, 10, 20 ... V, as far as there are any. */
static json_t *levels_array(const struct pd_replay_section *s)
{
    struct making array = make_array();
    for (size_t i = 0; i < PD_REPLAY_LEVELS; i++) {
        append(&array, number(s->over_level_h[i]));
        if (s->over_level_h[i] == 0)
            break;
    }
    return made(&array);
}

static json_t *section_object(const struct pd_replay *r, const struct pd_replay_section *s)
{
    struct making object = make_object();
    put(&object, "section", text(pd_replay_section_name(r->study_case, s->section)));
    put(&object, "over_h", number(s->over_h));
    put(&object, "not_disconnected_h", unseen_hours(r, s->unseen_h));
    put(&object, "not_determined_h", number(s->unknown_h));
    put(&object, "floating_h", number(s->floating_h));
    put(&object, "over_at_declared_supply_h", number(s->declared_over_h));
    put(&object, "over_each_10_v_h", levels_array(s));
    put(&object, "highest", peak_object(r, &s->touch));
    put(&object, "highest_not_disconnected", peak_object(r, &s->unseen));
    return made(&object);
}

static json_t *sections_array(const struct pd_replay *r, const size_t *order)
{
    struct making array = make_array();
    for (size_t i = 0; i < r->section_count && !array.failed; i++)
        append(&array, section_object(r, &r->section[order[i]]));
    return made(&array);
}

static json_t *curve_array(const struct pd_replay *r)
{
    struct making array = make_array();
    for (size_t i = 0; i < PD_REPLAY_CURVE; i++) {
        struct making object = make_object();
        put(&object, "touch_v", number((double)i));
        put(&object, "over_h", number(r->over_curve_h[i]));
        put(&object, "not_disconnected_h", unseen_hours(r, r->unseen_curve_h[i]));
        append(&array, made(&object));
        if (r->over_curve_h[i] == 0)
            break;
    }
    return made(&array);
}

static json_t *record_object(const struct pd_replay *r)
{
    struct making object = make_object();
    put(&object, "file", text(r->settings.profile_name));
    put(&object, "moments", count(r->moments));
    put(&object, "moments_with_an_empty_cell", count(r->unknown_moments));
    put(&object, "first", text(r->first));
    put(&object, "last", text(r->last));
    put(&object, "time_unit", text(r->time_unit[0] != '\0' ? r->time_unit + 1 : NULL));
    put(&object, "total_h", number(r->hours));
    put(&object, "step_h", number(r->step_h));
    put(&object, "gaps", count(r->gaps));
    put(&object, "gaps_h", number(r->gap_h));
    return made(&object);
}

static json_t *hours_object(const struct pd_replay *r)
{
    struct making object = make_object();
    put(&object, "total_h", number(r->hours));
    put(&object, "over_h", number(r->over_h));
    put(&object, "not_disconnected_h", unseen_hours(r, r->unseen_h));
    put(&object, "not_determined_h", number(r->unknown_h));
    put(&object, "not_determined_in_some_section_h", number(r->incomplete_h));
    put(&object, "over_at_declared_supply_h", number(r->declared_over_h));
    return made(&object);
}

static json_t *supply_object(const struct pd_replay *r)
{
    struct making object = make_object(), array = make_array();
    for (size_t i = 0; i < r->supply_count; i++)
        append(&array, number(r->supply_v[i]));
    put(&object, "policy", text(pd_replay_supply_names[r->settings.supply]));
    put(&object, "judged_v", made(&array));
    return made(&object);
}

static json_t *checks_object(const struct pd_replay *r)
{
    struct making object = make_object();
    put(&object, "not_borne_out", count(r->unchecked));
    put(&object, "largest_residual", number(r->largest_residual));
    put(&object, "largest_difference_v", number(r->largest_apart_v));
    return made(&object);
}

static json_t *place_text(const struct pd_replay *r)
{
    switch (r->settings.place) {
    case PD_REPLAY_ALL:
        return text("all");
    case PD_REPLAY_NODE:
        return text(r->study_case->network->node[r->settings.node].name);
    case PD_REPLAY_POINT:
        break;
    }
    return text("charging point");
}

static json_t *replay_object(const struct pd_replay *r, const struct pd_notes *answer,
                             const size_t *order)
{
    const struct pd_case *const c = r->study_case;
    struct making object = make_object();
    put(&object, "schema", json_integer(1));
    put(&object, "program", text("pendrift"));
    put(&object, "version", text(pd_version));
    put(&object, "case", text(c->title));
    put(&object, "cautions", texts(pd_cautions, PD_CAUTIONS));
    put(&object, "answer", notes(answer));
    put(&object, "determined", json_boolean(r->incomplete_h == 0 && r->unchecked == 0));
    put(&object, "record", record_object(r));
    put(&object, "at", place_text(r));
    put(&object, "supply", supply_object(r));
    put(&object, "worst_section_hours", hours_object(r));
    put(&object, "duration_curve", curve_array(r));
    put(&object, "worst_moments", peaks_array(r, r->worst, r->worst_count));
    put(&object, "worst_moments_not_disconnected",
        peaks_array(r, r->worst_unseen, r->worst_unseen_count));
    put(&object, "sections", sections_array(r, order));
    put(&object, "checks", checks_object(r));
    put(&object, "arrangement", pd_json_arrangement(c));
    put(&object, "limits", pd_json_limits(&c->limits));
    put(&object, "assumptions", notes(&r->assumptions));
    return made(&object);
}

enum pd_status pd_report_replay_json(FILE *out, const struct pd_replay *r)
{
    struct pd_notes answer = {0};
    size_t *const order = calloc(r->section_count + 1, sizeof *order);
    json_t *object = NULL;
    if (order != NULL && pd_replay_order(r, order) == PD_OK &&
        pd_replay_answer_notes(r, &answer) == PD_OK)
        object = replay_object(r, &answer, order);
    free(order);
    pd_notes_free(&answer);
    if (object == NULL)
        return PD_ERR_MEMORY;
    const int result = json_dumpf(object, out, JSON_INDENT(2) | JSON_REAL_PRECISION(12));
    json_decref(object);
    return result != 0 || fputc('\n', out) == EOF || ferror(out) ? PD_ERR_FILE : PD_OK;
}
