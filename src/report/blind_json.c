/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include <jansson.h>

#include "report/blind.h"
#include "report/cautions.h"
#include "report/json_parts.h"
#include "report/plain.h"
#include "report/report.h"
#include "report/scenario.h"

/* Each part returns NULL where memory is short; json_pack and its arrays pass that on. */

static json_t *text(const char *value)
{
    return value != NULL ? json_string(pd_plain(value).text) : json_null();
}

static json_t *count(size_t value)
{
    return json_integer((json_int_t)value);
}

static json_t *pair(double complex value)
{
    return json_pack("[o,o]", pd_json_number(creal(value)), pd_json_number(cimag(value)));
}

/* Appends; true goes on. NULL, and the array with it, is let go. */
static bool append(json_t **array, json_t *value)
{
    if (*array == NULL || json_array_append_new(*array, value) != 0) {
        if (*array == NULL)
            json_decref(value);
        json_decref(*array);
        *array = NULL;
    }
    return *array != NULL;
}

static json_t *piece_object(const struct pd_piece *piece)
{
    const double degrees = 180 / M_PI;
    if (!piece->arc)
        return json_pack("{s:s,s:o,s:o,s:o}", "kind", "segment", "loop", count(piece->loop),
                         "from_v", pair(piece->from), "to_v", pair(piece->to));
    return json_pack("{s:s,s:o,s:o,s:o,s:o,s:o,s:o,s:o}", "kind", "arc", "loop", count(piece->loop),
                     "from_v", pair(piece->from), "to_v", pair(piece->to), "centre_v",
                     pair(piece->centre), "radius_v", pd_json_number(piece->radius), "from_deg",
                     pd_json_number(degrees * piece->from_rad), "to_deg",
                     pd_json_number(degrees * piece->to_rad));
}

static json_t *region_object(const struct pd_region *region)
{
    json_t *corners = json_array(), *boundary = json_array();
    for (size_t i = 0; i < region->corner_count && append(&corners, pair(region->corner[i])); i++)
        ;
    for (size_t i = 0;
         i < region->piece_count && append(&boundary, piece_object(&region->piece[i])); i++)
        ;
    const bool known = region->kind == PD_REGION_KNOWN;
    return json_pack("{s:o,s:o,s:o,s:o,s:o,s:o,s:s,s:o,s:o}", "supply_v",
                     pd_json_number(region->supply_v), "unseen_to_v",
                     pd_json_number(region->worst_v), "unseen_at_v", pair(region->worst),
                     "unseen_share", pd_json_number(region->unseen_share), "hazard_share",
                     pd_json_number(region->hazard_share), "trips_in_health",
                     known ? json_boolean(region->sees_health) : json_null(), "shares_of",
                     region->corner_count == 2 ? "length" : "area", "corners_v", corners,
                     "boundary_v", boundary);
}

static json_t *views_object(const struct pd_blind_device *device)
{
    const struct pd_region *const view = device->view;
    return json_pack(
        "{s:o,s:o,s:o,s:o,s:o}", "declared", region_object(&view[PD_VIEW_DECLARED]), "low",
        region_object(&view[PD_VIEW_LOW]), "high", region_object(&view[PD_VIEW_HIGH]), "worst",
        region_object(&view[PD_VIEW_WORST]), "picture", region_object(&view[PD_VIEW_DRAWN]));
}

static json_t *scenario_object(const struct pd_assessment *a, size_t index)
{
    const struct pd_scenario *const s = &a->scenario[index];
    return json_pack(
        "{s:s,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o}", "fault", pd_fault_names[s->fault], "judged",
        json_boolean(pd_fault_judged(s->fault)), "section", text(pd_scenario_section(a, s)),
        "loads", text(pd_loads_names[s->loads]), "supply_v", pd_json_number(s->supply_v), "touch_v",
        pd_json_number(s->touch_v), "displacement_v", pair(s->met), "reads_v",
        pd_json_number(s->sight[0].figure_v), "joint_ohm", pd_json_number(s->joint_ohm),
        "disconnected_in_time", json_boolean(s->disconnected));
}

static json_t *scenarios_array(const struct pd_blind_device *device)
{
    json_t *array = json_array();
    for (size_t i = 0; i < device->unseen_count; i++)
        if (!append(&array, scenario_object(device->assessment, device->unseen[i])))
            break;
    return array;
}

static json_t *over_limit(const struct pd_blind *blind, double worst_v)
{
    const enum pd_judgement judgement = pd_judge(worst_v, blind->touch_v);
    return judgement == PD_UNKNOWN ? json_null() : json_boolean(judgement == PD_OVER);
}

static json_t *worst_object(const struct pd_blind *blind, const struct pd_region_worst *worst)
{
    return json_pack("{s:o,s:o,s:o,s:o,s:o}", "unseen_to_v", pd_json_number(worst->worst_v),
                     "over_limit", over_limit(blind, worst->worst_v), "supply_v",
                     pd_json_number(worst->supply_v), "displacement_v", pair(worst->at),
                     "angle_deg",
                     worst->kind == PD_REGION_KNOWN ? pd_json_number(pd_blind_angle_deg(worst->at))
                                                    : json_null());
}

static json_t *device_object(const struct pd_blind *blind, const struct pd_blind_device *device)
{
    const struct pd_detector *const d = device->detector;
    const struct pd_window window = pd_detector_window(d);
    return json_pack(
        "{s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:s,s:o,s:o,s:o,s:o,s:o,s:o,s:o}", "detector",
        text(d->name), "senses", text(pd_sense_names[d->senses]), "low_v", pd_json_number(d->low_v),
        "high_v", pd_json_number(d->high_v), "limit_v", pd_json_number(d->limit_v), "tolerance_v",
        pd_json_number(d->tolerance_v), "unseen_from_reading_v", pd_json_number(window.low_v),
        "unseen_to_reading_v", pd_json_number(window.high_v), "region",
        pd_blind_kind_name(device->worst.kind), "headline",
        text(pd_blind_headline(blind, device).text), "worst", worst_object(blind, &device->worst),
        "three_lines_alike",
        device->three.kind == PD_REGION_KNOWN ? worst_object(blind, &device->three) : json_null(),
        "at", views_object(device), "scenarios_over_limit", count(device->over_count),
        "scenarios_not_determined", count(device->unknown_count), "unseen_scenarios",
        scenarios_array(device));
}

static json_t *devices_array(const struct pd_blind *blind)
{
    json_t *array = json_array();
    for (size_t i = 0; i < blind->count && append(&array, device_object(blind, &blind->device[i]));
         i++)
        ;
    return array;
}

static json_t *texts(const char *const *list, size_t length)
{
    json_t *array = json_array();
    for (size_t i = 0; i < length && append(&array, text(list[i])); i++)
        ;
    return array;
}

static json_t *missing_array(const struct pd_blind *blind)
{
    const struct pd_notes *const missing =
        blind->study_case != NULL ? &blind->study_case->missing : NULL;
    json_t *array = json_array();
    for (size_t i = 0; missing != NULL && i < missing->count; i++)
        if (!append(&array, text(missing->text[i])))
            break;
    return array;
}

static json_t *blind_object(const struct pd_blind *blind)
{
    const struct pd_limits *const limits = &blind->limits;
    return json_pack(
        "{s:i,s:s,s:o,s:o,s:o,s:[o,o,o],s:s,s:o,s:o,s:o,s:{s:o,s:o,s:o,s:o,s:b},s:o,s:o}", "schema",
        1, "program", "pendrift", "version", text(pd_version), "case",
        blind->study_case != NULL ? text(blind->study_case->title) : json_null(), "cautions",
        texts(pd_cautions, PD_CAUTIONS), "notes", text(pd_blind_hull_note),
        text(pd_blind_share_note), text(pd_blind_alone_note), "system",
        pd_system_names[blind->system], "supply_v", pd_json_number(blind->supply_v), "supply_low_v",
        pd_json_number(blind->low_v), "supply_high_v", pd_json_number(blind->high_v), "limits",
        "set", text(limits->set), "touch_v", pd_json_number(blind->touch_v), "status",
        text(limits->status), "source", text(limits->source), "touch_given", blind->own_touch,
        "missing", missing_array(blind), "detectors", devices_array(blind));
}

enum pd_status pd_blind_json(FILE *out, const struct pd_blind *blind)
{
    json_t *const object = blind_object(blind);
    if (object == NULL)
        return PD_ERR_MEMORY;
    const int result = json_dumpf(object, out, JSON_INDENT(2) | JSON_REAL_PRECISION(12));
    json_decref(object);
    return result != 0 || fputc('\n', out) == EOF || ferror(out) ? PD_ERR_FILE : PD_OK;
}
