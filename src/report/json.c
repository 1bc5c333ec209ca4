/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdarg.h>

#include <jansson.h>

#include "report/cautions.h"
#include "report/json_parts.h"
#include "report/plain.h"
#include "report/report.h"
#include "report/scenario.h"

/* Values. Each returns NULL where memory is short; `put` and `append` notice. */

static json_t *number(double value)
{
    return pd_json_number(value);
}

static json_t *count(size_t value)
{
    return json_integer((json_int_t)value);
}

static json_t *text(const char *value)
{
    return value != NULL ? json_string(pd_plain(value).text) : json_null();
}

/* An object or array in the making. It takes what it is given, also when it fails. */
struct making {
    json_t *json;
    bool failed;
};

static struct making make_object(void)
{
    json_t *const json = json_object();
    return (struct making){json, json == NULL};
}

static struct making make_array(void)
{
    json_t *const json = json_array();
    return (struct making){json, json == NULL};
}

static void put(struct making *object, const char *key, json_t *value)
{
    object->failed |= json_object_set_new(object->json, key, value) != 0;
}

static void append(struct making *array, json_t *value)
{
    array->failed |= json_array_append_new(array->json, value) != 0;
}

static json_t *made(struct making *making)
{
    if (making->failed) {
        json_decref(making->json);
        return NULL;
    }
    return making->json;
}

static json_t *texts(const char *const *list, size_t length)
{
    struct making array = make_array();
    for (size_t i = 0; i < length; i++)
        append(&array, text(list[i]));
    return made(&array);
}

static json_t *notes(const struct pd_notes *list)
{
    struct making array = make_array();
    for (size_t i = 0; i < list->count; i++)
        append(&array, text(list->text[i]));
    return made(&array);
}

static json_t *limits_object(const struct pd_limits *limits)
{
    struct making object = make_object();
    put(&object, "set", text(limits->set));
    put(&object, "touch_v", number(limits->touch_v));
    put(&object, "band_low_v", number(limits->band_low_v));
    put(&object, "band_high_v", number(limits->band_high_v));
    put(&object, "time_s", number(limits->time_s));
    put(&object, "supply_low_v", number(limits->supply_low_v));
    put(&object, "supply_high_v", number(limits->supply_high_v));
    put(&object, "status", text(limits->status));
    put(&object, "source", text(limits->source));
    put(&object, "checked", text(limits->checked));
    return made(&object);
}

static json_t *electrode_object(const struct pd_reading *reading)
{
    struct making object = make_object();
    put(&object, "answer", text(pd_answer_names[reading->electrode]));
    put(&object, "max_ohm", number(reading->electrode_max_ohm));
    return made(&object);
}

static json_t *detection_object(const struct pd_reading *reading)
{
    struct making object = make_object();
    put(&object, "answer", text(pd_answer_names[reading->detection]));
    return made(&object);
}

static json_t *rule_object(const struct pd_assessment *assessment)
{
    struct making object = make_object();
    put(&object, "result", text(pd_result_names[assessment->rule_result]));
    put(&object, "electrode", electrode_object(&assessment->rule));
    put(&object, "detection", detection_object(&assessment->rule));
    put(&object, "divider_ohm", number(assessment->divider_ohm));
    put(&object, "annex_ohm", number(assessment->annex_ohm));
    put(&object, "alone_v", number(assessment->alone_v));
    return made(&object);
}

static json_t *network_object(const struct pd_assessment *assessment)
{
    struct making object = make_object();
    put(&object, "electrode", electrode_object(&assessment->network));
    put(&object, "detection", detection_object(&assessment->network));
    put(&object, "residual_v", number(assessment->residual_v));
    return made(&object);
}

static json_t *verdict_object(const struct pd_assessment *assessment)
{
    struct making object = make_object();
    put(&object, "overall", text(pd_overall_names[assessment->overall]));
    put(&object, "because", notes(&assessment->because));
    put(&object, "missing", notes(&assessment->study_case->missing));
    put(&object, "rule", rule_object(assessment));
    put(&object, "network", network_object(assessment));
    return made(&object);
}

static json_t *route_object(const struct pd_route *route)
{
    struct making object = make_object();
    put(&object, "route", json_integer(route->kind));
    put(&object, "name", text(pd_route_names[route->kind]));
    put(&object, "result", text(pd_result_names[route->result]));
    put(&object, "value", number(route->value));
    put(&object, "limit", number(route->limit));
    put(&object, "unit", text(route->unit));
    put(&object, "margin", number(route->margin));
    put(&object, "because", text(route->why));
    put(&object, "scenario", route->scenario[0] != '\0' ? text(route->scenario) : json_null());
    return made(&object);
}

static json_t *routes_array(const struct pd_assessment *assessment)
{
    struct making array = make_array();
    for (size_t i = 0; i < PD_ROUTES; i++)
        append(&array, route_object(&assessment->route[i]));
    return made(&array);
}

static json_t *sight_object(const struct pd_detector *detector, const struct pd_sight *sight)
{
    struct making object = make_object();
    put(&object, "detector", text(detector->name));
    put(&object, "sees",
        sight->kind == PD_SIGHT_UNKNOWN ? json_null() : json_boolean(sight->kind == PD_SEES));
    put(&object, "time_s", number(sight->time_s));
    put(&object, "disconnects_pe", json_boolean(sight->kind == PD_SEES && sight->saves_touch));
    return made(&object);
}

static json_t *sights_array(const struct pd_detectors *detectors,
                            const struct pd_scenario *scenario)
{
    struct making array = make_array();
    for (size_t i = 0; i < detectors->count; i++)
        append(&array, sight_object(&detectors->detector[i], &scenario->sight[i]));
    return made(&array);
}

static json_t *line_voltages(const struct pd_scenario *scenario, unsigned lines)
{
    struct making array = make_array();
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((lines & 1u << line) != 0)
            append(&array, number(pd_scenario_figure(scenario, scenario->line_neutral_v[line])));
    return made(&array);
}

static json_t *over_limit(const struct pd_scenario *scenario)
{
    if (scenario->touch == PD_UNKNOWN || !pd_scenario_sure(scenario))
        return json_null();
    return json_boolean(scenario->touch == PD_OVER);
}

static json_t *scenario_object(const struct pd_assessment *assessment,
                               const struct pd_scenario *scenario)
{
    const struct pd_case *const study_case = assessment->study_case;
    struct making object = make_object();
    put(&object, "fault", text(pd_fault_names[scenario->fault]));
    put(&object, "section", text(pd_scenario_section(assessment, scenario)));
    put(&object, "loads", text(pd_loads_names[scenario->loads]));
    put(&object, "supply_v", number(scenario->supply_v));
    put(&object, "met_v", number(pd_scenario_figure(scenario, scenario->met_v)));
    put(&object, "touch_v", number(pd_scenario_figure(scenario, scenario->touch_v)));
    put(&object, "reach_v", number(pd_scenario_figure(scenario, scenario->reach_v)));
    put(&object, "line_neutral_v", line_voltages(scenario, study_case->installation_lines));
    put(&object, "electrode_a", number(pd_scenario_figure(scenario, scenario->electrode_a)));
    put(&object, "line", scenario->line >= 0 ? json_integer(scenario->line + 1) : json_null());
    put(&object, "joint_ohm", number(scenario->joint_ohm));
    put(&object, "joint_w", number(scenario->joint_w));
    put(&object, "prospective_a", number(scenario->prospective_a));
    put(&object, "over_limit", over_limit(scenario));
    put(&object, "disconnected_in_time", json_boolean(scenario->disconnected));
    put(&object, "converged", json_boolean(scenario->standing == PD_SOLVED));
    put(&object, "standing", text(pd_standing_names[scenario->standing]));
    put(&object, "floating", json_boolean(scenario->floating));
    put(&object, "residual", number(scenario->residual));
    put(&object, "iterations", json_integer(scenario->iterations));
    put(&object, "let_go", count(scenario->let_go));
    put(&object, "detectors", sights_array(&study_case->detectors, scenario));
    return made(&object);
}

static json_t *scenarios_array(const struct pd_assessment *assessment)
{
    struct making array = make_array();
    for (size_t i = 0; i < assessment->scenario_count && !array.failed; i++)
        append(&array, scenario_object(assessment, &assessment->scenario[i]));
    return made(&array);
}

/* What each fault of the catalogue is, and the worst that it does here. */
static json_t *fault_object(const struct pd_assessment *assessment, enum pd_fault_kind kind)
{
    const size_t worst = assessment->shown[kind];
    const bool there = worst < assessment->scenario_count;
    const struct pd_scenario *const scenario = there ? &assessment->scenario[worst] : NULL;
    struct making object = make_object();
    put(&object, "fault", text(pd_fault_names[kind]));
    put(&object, "what", text(pd_fault_what(kind)));
    put(&object, "judged", json_boolean(pd_fault_judged(kind)));
    put(&object, "run", json_boolean((assessment->faults & 1u << kind) != 0));
    put(&object, "touch_v", number(there ? pd_scenario_figure(scenario, scenario->touch_v) : NAN));
    put(&object, "section", there ? text(pd_scenario_section(assessment, scenario)) : json_null());
    put(&object, "disconnected_in_time",
        there ? json_boolean(scenario->disconnected) : json_null());
    return made(&object);
}

static json_t *faults_array(const struct pd_assessment *assessment)
{
    struct making array = make_array();
    for (int kind = 0; kind < PD_FAULTS; kind++)
        append(&array, fault_object(assessment, (enum pd_fault_kind)kind));
    return made(&array);
}

static json_t *counts_object(const struct pd_assessment *assessment)
{
    struct making object = make_object();
    put(&object, "sections_opened", count(assessment->break_count));
    put(&object, "scenarios", count(assessment->scenario_count));
    put(&object, "judged", count(assessment->judged));
    put(&object, "not_solved", count(assessment->unsolved));
    put(&object, "over_limit", count(assessment->over));
    put(&object, "not_disconnected", count(assessment->unseen));
    return made(&object);
}

static const char *node_name(const struct pd_case *study_case, size_t node)
{
    const struct pd_network *const network = study_case->network;
    return network != NULL && node < network->node_count ? network->node[node].name : NULL;
}

/* On TT the charging point's own. */
static double electrode(const struct pd_case *study_case)
{
    const size_t node =
        study_case->earthing == PD_TT ? study_case->charging_point : study_case->installation;
    return node_name(study_case, node) != NULL ? pd_case_electrode(study_case, node) : NAN;
}

static json_t *arrangement_object(const struct pd_case *study_case)
{
    const struct pd_network *const network = study_case->network;
    struct making object = make_object();
    put(&object, "earthing", text(pd_earthing_names[study_case->earthing]));
    put(&object, "system", text(network != NULL ? pd_system_names[network->system] : NULL));
    put(&object, "nominal_v", number(network != NULL ? network->nominal_v : NAN));
    put(&object, "supply_v", number(study_case->supply_v));
    put(&object, "installation", text(node_name(study_case, study_case->installation)));
    put(&object, "charging_point", text(node_name(study_case, study_case->charging_point)));
    put(&object, "demand_limit_a", number(study_case->demand_limit_a));
    put(&object, "electrode_ohm", number(electrode(study_case)));
    return made(&object);
}

static json_t *assessment_object(const struct pd_assessment *assessment)
{
    const struct pd_case *const study_case = assessment->study_case;
    struct making object = make_object();
    put(&object, "schema", json_integer(1));
    put(&object, "program", text("pendrift"));
    put(&object, "version", text(pd_version));
    put(&object, "case", text(study_case->title));
    put(&object, "cautions", texts(pd_cautions, PD_CAUTIONS));
    put(&object, "verdict", verdict_object(assessment));
    put(&object, "arrangement", arrangement_object(study_case));
    put(&object, "limits", limits_object(&study_case->limits));
    put(&object, "routes", routes_array(assessment));
    put(&object, "faults", faults_array(assessment));
    put(&object, "worst_case", pd_json_worst(assessment));
    put(&object, "turned_round", pd_json_answers(assessment));
    put(&object, "person", pd_json_person(assessment));
    put(&object, "tt", pd_json_tt(assessment));
    put(&object, "counts", counts_object(assessment));
    put(&object, "assumptions", notes(&study_case->assumptions));
    put(&object, "scenarios", scenarios_array(assessment));
    return made(&object);
}

enum pd_status pd_report_json(FILE *out, const struct pd_assessment *assessment)
{
    json_t *const object = assessment_object(assessment);
    if (object == NULL)
        return PD_ERR_MEMORY;
    const int result = json_dumpf(object, out, JSON_INDENT(2) | JSON_REAL_PRECISION(12));
    json_decref(object);
    return result != 0 || fputc('\n', out) == EOF || ferror(out) ? PD_ERR_FILE : PD_OK;
}
