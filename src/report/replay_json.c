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
    struct pd_making object = pd_json_make_object();
    if (!peak->there) {
        json_decref(object.json);
        return json_null();
    }
    pd_json_put(&object, "time", pd_json_text(peak->time));
    pd_json_put(&object, "moment", pd_json_count(peak->moment));
    pd_json_put(&object, "section", pd_json_text(pd_replay_section_name(c, peak->section)));
    pd_json_put(&object, "node",
                pd_json_text(peak->node < c->network->node_count ? c->network->node[peak->node].name
                                                                 : NULL));
    pd_json_put(&object, "touch_v", pd_json_number(sure ? peak->touch_v : NAN));
    pd_json_put(&object, "supply_v", pd_json_number(peak->supply_v));
    pd_json_put(&object, "determined", json_boolean(sure));
    if (sure) {
        pd_json_put(&object, "line_neutral_v",
                    pd_json_line_voltages(&peak->scenario, c->installation_lines));
        pd_json_put(&object, "disconnected_in_time",
                    r->watched ? json_boolean(peak->scenario.disconnected) : json_null());
        pd_json_put(&object, "detectors", pd_json_sights(&c->detectors, &peak->scenario));
        pd_json_put(&object, "residual", pd_json_number(peak->scenario.residual));
    }
    return pd_json_made(&object);
}

static json_t *peaks_array(const struct pd_replay *r, const struct pd_replay_peak *peak,
                           size_t length)
{
    struct pd_making array = pd_json_make_array();
    for (size_t i = 0; i < length; i++)
        pd_json_append(&array, peak_object(r, &peak[i]));
    return pd_json_made(&array);
}

static json_t *unseen_hours(const struct pd_replay *r, double hours)
{
    return r->watched ? pd_json_number(hours) : json_null();
}

/* Hours over 0, 10, 20 ... V, as far as there are any. */
static json_t *levels_array(const struct pd_replay_section *s)
{
    struct pd_making array = pd_json_make_array();
    for (size_t i = 0; i < PD_REPLAY_LEVELS; i++) {
        pd_json_append(&array, pd_json_number(s->over_level_h[i]));
        if (s->over_level_h[i] == 0)
            break;
    }
    return pd_json_made(&array);
}

static json_t *section_object(const struct pd_replay *r, const struct pd_replay_section *s)
{
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "section",
                pd_json_text(pd_replay_section_name(r->study_case, s->section)));
    pd_json_put(&object, "over_h", pd_json_number(s->over_h));
    pd_json_put(&object, "not_disconnected_h", unseen_hours(r, s->unseen_h));
    pd_json_put(&object, "not_determined_h", pd_json_number(s->unknown_h));
    pd_json_put(&object, "floating_h", pd_json_number(s->floating_h));
    pd_json_put(&object, "over_at_declared_supply_h", pd_json_number(s->declared_over_h));
    pd_json_put(&object, "over_each_10_v_h", levels_array(s));
    pd_json_put(&object, "highest", peak_object(r, &s->touch));
    pd_json_put(&object, "highest_not_disconnected", peak_object(r, &s->unseen));
    return pd_json_made(&object);
}

static json_t *sections_array(const struct pd_replay *r, const size_t *order)
{
    struct pd_making array = pd_json_make_array();
    for (size_t i = 0; i < r->section_count && !array.failed; i++)
        pd_json_append(&array, section_object(r, &r->section[order[i]]));
    return pd_json_made(&array);
}

static json_t *curve_array(const struct pd_replay *r)
{
    struct pd_making array = pd_json_make_array();
    for (size_t i = 0; i < PD_REPLAY_CURVE; i++) {
        struct pd_making object = pd_json_make_object();
        pd_json_put(&object, "touch_v", pd_json_number((double)i));
        pd_json_put(&object, "over_h", pd_json_number(r->over_curve_h[i]));
        pd_json_put(&object, "not_disconnected_h", unseen_hours(r, r->unseen_curve_h[i]));
        pd_json_append(&array, pd_json_made(&object));
        if (r->over_curve_h[i] == 0)
            break;
    }
    return pd_json_made(&array);
}

static json_t *record_object(const struct pd_replay *r)
{
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "file", pd_json_text(r->settings.profile_name));
    pd_json_put(&object, "moments", pd_json_count(r->moments));
    pd_json_put(&object, "moments_with_an_empty_cell", pd_json_count(r->unknown_moments));
    pd_json_put(&object, "first", pd_json_text(r->first));
    pd_json_put(&object, "last", pd_json_text(r->last));
    pd_json_put(&object, "time_unit",
                pd_json_text(r->time_unit[0] != '\0' ? r->time_unit + 1 : NULL));
    pd_json_put(&object, "total_h", pd_json_number(r->hours));
    pd_json_put(&object, "step_h", pd_json_number(r->step_h));
    pd_json_put(&object, "gaps", pd_json_count(r->gaps));
    pd_json_put(&object, "gaps_h", pd_json_number(r->gap_h));
    return pd_json_made(&object);
}

static json_t *hours_object(const struct pd_replay *r)
{
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "total_h", pd_json_number(r->hours));
    pd_json_put(&object, "over_h", pd_json_number(r->over_h));
    pd_json_put(&object, "not_disconnected_h", unseen_hours(r, r->unseen_h));
    pd_json_put(&object, "not_determined_h", pd_json_number(r->unknown_h));
    pd_json_put(&object, "not_determined_in_some_section_h", pd_json_number(r->incomplete_h));
    pd_json_put(&object, "over_at_declared_supply_h", pd_json_number(r->declared_over_h));
    return pd_json_made(&object);
}

static json_t *supply_object(const struct pd_replay *r)
{
    struct pd_making object = pd_json_make_object(), array = pd_json_make_array();
    for (size_t i = 0; i < r->supply_count; i++)
        pd_json_append(&array, pd_json_number(r->supply_v[i]));
    pd_json_put(&object, "policy", pd_json_text(pd_replay_supply_names[r->settings.supply]));
    pd_json_put(&object, "judged_v", pd_json_made(&array));
    return pd_json_made(&object);
}

static json_t *checks_object(const struct pd_replay *r)
{
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "not_borne_out", pd_json_count(r->unchecked));
    pd_json_put(&object, "largest_residual", pd_json_number(r->largest_residual));
    pd_json_put(&object, "largest_difference_v", pd_json_number(r->largest_apart_v));
    return pd_json_made(&object);
}

static json_t *place_text(const struct pd_replay *r)
{
    switch (r->settings.place) {
    case PD_REPLAY_ALL:
        return pd_json_text("all");
    case PD_REPLAY_NODE:
        return pd_json_text(r->study_case->network->node[r->settings.node].name);
    case PD_REPLAY_POINT:
        break;
    }
    return pd_json_text("charging point");
}

static json_t *replay_object(const struct pd_replay *r, const struct pd_notes *answer,
                             const size_t *order)
{
    const struct pd_case *const c = r->study_case;
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "schema", json_integer(1));
    pd_json_put(&object, "program", pd_json_text("pendrift"));
    pd_json_put(&object, "version", pd_json_text(pd_version));
    pd_json_put(&object, "case", pd_json_text(c->title));
    pd_json_put(&object, "cautions", pd_json_texts(pd_cautions, PD_CAUTIONS));
    pd_json_put(&object, "answer", pd_json_notes(answer));
    pd_json_put(&object, "determined", json_boolean(r->incomplete_h == 0 && r->unchecked == 0));
    pd_json_put(&object, "record", record_object(r));
    pd_json_put(&object, "at", place_text(r));
    pd_json_put(&object, "supply", supply_object(r));
    pd_json_put(&object, "worst_section_hours", hours_object(r));
    pd_json_put(&object, "duration_curve", curve_array(r));
    pd_json_put(&object, "worst_moments", peaks_array(r, r->worst, r->worst_count));
    pd_json_put(&object, "worst_moments_not_disconnected",
                peaks_array(r, r->worst_unseen, r->worst_unseen_count));
    pd_json_put(&object, "sections", sections_array(r, order));
    pd_json_put(&object, "checks", checks_object(r));
    pd_json_put(&object, "arrangement", pd_json_arrangement(c));
    pd_json_put(&object, "limits", pd_json_limits(&c->limits));
    pd_json_put(&object, "assumptions", pd_json_notes(&r->assumptions));
    return pd_json_made(&object);
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
