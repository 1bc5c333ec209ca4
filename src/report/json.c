/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "report/cautions.h"
#include "report/json_parts.h"
#include "report/making.h"
#include "report/plain.h"
#include "report/report.h"
#include "report/scenario.h"

json_t *pd_json_limits(const struct pd_limits *limits)
{
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "set", pd_json_text(limits->set));
    pd_json_put(&object, "touch_v", pd_json_number(limits->touch_v));
    pd_json_put(&object, "band_low_v", pd_json_number(limits->band_low_v));
    pd_json_put(&object, "band_high_v", pd_json_number(limits->band_high_v));
    pd_json_put(&object, "time_s", pd_json_number(limits->time_s));
    pd_json_put(&object, "supply_low_v", pd_json_number(limits->supply_low_v));
    pd_json_put(&object, "supply_high_v", pd_json_number(limits->supply_high_v));
    pd_json_put(&object, "status", pd_json_text(limits->status));
    pd_json_put(&object, "source", pd_json_text(limits->source));
    pd_json_put(&object, "checked", pd_json_text(limits->checked));
    return pd_json_made(&object);
}

static json_t *electrode_object(const struct pd_reading *reading)
{
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "answer", pd_json_text(pd_answer_names[reading->electrode]));
    pd_json_put(&object, "max_ohm", pd_json_number(reading->electrode_max_ohm));
    return pd_json_made(&object);
}

static json_t *detection_object(const struct pd_reading *reading)
{
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "answer", pd_json_text(pd_answer_names[reading->detection]));
    return pd_json_made(&object);
}

static json_t *rule_object(const struct pd_assessment *assessment)
{
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "result", pd_json_text(pd_result_names[assessment->rule_result]));
    pd_json_put(&object, "electrode", electrode_object(&assessment->rule));
    pd_json_put(&object, "detection", detection_object(&assessment->rule));
    pd_json_put(&object, "divider_ohm", pd_json_number(assessment->divider_ohm));
    pd_json_put(&object, "annex_ohm", pd_json_number(assessment->annex_ohm));
    pd_json_put(&object, "alone_v", pd_json_number(assessment->alone_v));
    return pd_json_made(&object);
}

static json_t *network_object(const struct pd_assessment *assessment)
{
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "electrode", electrode_object(&assessment->network));
    pd_json_put(&object, "detection", detection_object(&assessment->network));
    pd_json_put(&object, "residual_v", pd_json_number(assessment->residual_v));
    return pd_json_made(&object);
}

static json_t *verdict_object(const struct pd_assessment *assessment)
{
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "overall", pd_json_text(pd_overall_names[assessment->overall]));
    pd_json_put(&object, "because", pd_json_notes(&assessment->because));
    pd_json_put(&object, "missing", pd_json_notes(&assessment->study_case->missing));
    pd_json_put(&object, "rule", rule_object(assessment));
    pd_json_put(&object, "network", network_object(assessment));
    return pd_json_made(&object);
}

static json_t *route_object(const struct pd_route *route)
{
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "route", json_integer(route->kind));
    pd_json_put(&object, "name", pd_json_text(pd_route_names[route->kind]));
    pd_json_put(&object, "result", pd_json_text(pd_result_names[route->result]));
    pd_json_put(&object, "value", pd_json_number(route->value));
    pd_json_put(&object, "limit", pd_json_number(route->limit));
    pd_json_put(&object, "unit", pd_json_text(route->unit));
    pd_json_put(&object, "margin", pd_json_number(route->margin));
    pd_json_put(&object, "because", pd_json_text(route->why));
    pd_json_put(&object, "scenario",
                route->scenario[0] != '\0' ? pd_json_text(route->scenario) : json_null());
    return pd_json_made(&object);
}

static json_t *routes_array(const struct pd_assessment *assessment)
{
    struct pd_making array = pd_json_make_array();
    for (size_t i = 0; i < PD_ROUTES; i++)
        pd_json_append(&array, route_object(&assessment->route[i]));
    return pd_json_made(&array);
}

static json_t *sight_object(const struct pd_detector *detector, const struct pd_sight *sight)
{
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "detector", pd_json_text(detector->name));
    pd_json_put(&object, "sees",
                sight->kind == PD_SIGHT_UNKNOWN ? json_null()
                                                : json_boolean(sight->kind == PD_SEES));
    pd_json_put(&object, "time_s", pd_json_number(sight->time_s));
    pd_json_put(&object, "disconnects_pe",
                json_boolean(sight->kind == PD_SEES && sight->saves_touch));
    pd_json_put(&object, "closes_again", json_boolean(sight->kind == PD_SEES && sight->recloses));
    return pd_json_made(&object);
}

json_t *pd_json_sights(const struct pd_detectors *detectors, const struct pd_scenario *scenario)
{
    struct pd_making array = pd_json_make_array();
    for (size_t i = 0; i < detectors->count; i++)
        pd_json_append(&array, sight_object(&detectors->detector[i], &scenario->sight[i]));
    return pd_json_made(&array);
}

json_t *pd_json_line_voltages(const struct pd_scenario *scenario, unsigned lines)
{
    struct pd_making array = pd_json_make_array();
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((lines & 1u << line) != 0)
            pd_json_append(&array, pd_json_number(pd_scenario_figure(
                                       scenario, scenario->line_neutral_v[line])));
    return pd_json_made(&array);
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
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "fault", pd_json_text(pd_fault_names[scenario->fault]));
    pd_json_put(&object, "section", pd_json_text(pd_scenario_section(assessment, scenario)));
    pd_json_put(&object, "loads", pd_json_text(pd_loads_names[scenario->loads]));
    pd_json_put(&object, "supply_v", pd_json_number(scenario->supply_v));
    pd_json_put(&object, "met_v", pd_json_number(pd_scenario_figure(scenario, scenario->met_v)));
    pd_json_put(&object, "touch_v",
                pd_json_number(pd_scenario_figure(scenario, scenario->touch_v)));
    pd_json_put(&object, "reach_v",
                pd_json_number(pd_scenario_figure(scenario, scenario->reach_v)));
    pd_json_put(&object, "line_neutral_v",
                pd_json_line_voltages(scenario, study_case->installation_lines));
    pd_json_put(&object, "electrode_a",
                pd_json_number(pd_scenario_figure(scenario, scenario->electrode_a)));
    pd_json_put(&object, "line",
                scenario->line >= 0 ? json_integer(scenario->line + 1) : json_null());
    pd_json_put(&object, "joint_ohm", pd_json_number(scenario->joint_ohm));
    pd_json_put(&object, "joint_w", pd_json_number(scenario->joint_w));
    pd_json_put(&object, "prospective_a", pd_json_number(scenario->prospective_a));
    pd_json_put(&object, "over_limit", over_limit(scenario));
    pd_json_put(&object, "disconnected_in_time", json_boolean(scenario->disconnected));
    pd_json_put(&object, "converged", json_boolean(scenario->standing == PD_SOLVED));
    pd_json_put(&object, "standing", pd_json_text(pd_standing_names[scenario->standing]));
    pd_json_put(&object, "floating", json_boolean(scenario->floating));
    pd_json_put(&object, "residual", pd_json_number(scenario->residual));
    pd_json_put(&object, "iterations", json_integer(scenario->iterations));
    pd_json_put(&object, "let_go", pd_json_count(scenario->let_go));
    pd_json_put(&object, "detectors", pd_json_sights(&study_case->detectors, scenario));
    return pd_json_made(&object);
}

/* What is left once the first device has acted; null where there is no such scenario. */
static json_t *after_object(const struct pd_assessment *assessment, const struct pd_after *after)
{
    const struct pd_case *const c = assessment->study_case;
    if (after->scenario >= assessment->scenario_count)
        return json_null();
    const struct pd_scenario *const scenario = &assessment->scenario[after->scenario];
    const bool acts = after->detector != PD_NONE;
    const struct pd_detector *const d = acts ? &c->detectors.detector[after->detector] : NULL;
    struct pd_making lines = pd_json_make_array(), object = pd_json_make_object();
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((c->installation_lines & 1u << line) != 0)
            pd_json_append(&lines, pd_json_number(after->line_neutral_v[line]));
    pd_json_put(&object, "scenario", pd_json_count(after->scenario));
    pd_json_put(&object, "section", pd_json_text(pd_scenario_section(assessment, scenario)));
    pd_json_put(&object, "touch_v",
                pd_json_number(pd_scenario_figure(scenario, scenario->touch_v)));
    pd_json_put(&object, "detector", acts ? pd_json_text(d->name) : json_null());
    pd_json_put(&object, "time_s", pd_json_number(after->time_s));
    pd_json_put(&object, "disconnects",
                acts && d->disconnects_known ? pd_json_text(pd_disconnects_names[d->disconnects])
                                             : json_null());
    pd_json_put(&object, "whole_installation", json_boolean(after->whole));
    pd_json_put(&object, "loads_off", json_boolean(after->loads_off));
    pd_json_put(&object, "chassis_v", pd_json_number(after->chassis_v));
    pd_json_put(&object, "chassis_let_go", json_boolean(after->chassis_let_go));
    pd_json_put(&object, "rest_v", pd_json_number(after->rest_v));
    pd_json_put(&object, "rest_on_pen", json_boolean(after->rest_on_pen));
    pd_json_put(&object, "rest_line_neutral_v", pd_json_made(&lines));
    pd_json_put(&object, "closes_again", json_boolean(acts && d->reset == PD_RESET_AUTOMATIC));
    pd_json_put(&object, "held_open", json_boolean(after->held_open));
    return pd_json_made(&object);
}

static json_t *afters_object(const struct pd_assessment *assessment)
{
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "disconnected", after_object(assessment, &assessment->after_seen));
    pd_json_put(&object, "not_disconnected", after_object(assessment, &assessment->after_unseen));
    return pd_json_made(&object);
}

static json_t *scenarios_array(const struct pd_assessment *assessment)
{
    struct pd_making array = pd_json_make_array();
    for (size_t i = 0; i < assessment->scenario_count && !array.failed; i++)
        pd_json_append(&array, scenario_object(assessment, &assessment->scenario[i]));
    return pd_json_made(&array);
}

/* What each fault of the catalogue is, and the worst that it does here. */
static json_t *fault_object(const struct pd_assessment *assessment, enum pd_fault_kind kind)
{
    const size_t worst = assessment->shown[kind];
    const bool there = worst < assessment->scenario_count;
    const struct pd_scenario *const scenario = there ? &assessment->scenario[worst] : NULL;
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "fault", pd_json_text(pd_fault_names[kind]));
    pd_json_put(&object, "what", pd_json_text(pd_fault_what(kind)));
    pd_json_put(&object, "judged", json_boolean(pd_fault_judged(kind)));
    pd_json_put(&object, "run", json_boolean((assessment->faults & 1u << kind) != 0));
    pd_json_put(&object, "touch_v",
                pd_json_number(there ? pd_scenario_figure(scenario, scenario->touch_v) : NAN));
    pd_json_put(&object, "section",
                there ? pd_json_text(pd_scenario_section(assessment, scenario)) : json_null());
    pd_json_put(&object, "disconnected_in_time",
                there ? json_boolean(scenario->disconnected) : json_null());
    return pd_json_made(&object);
}

static json_t *faults_array(const struct pd_assessment *assessment)
{
    struct pd_making array = pd_json_make_array();
    for (int kind = 0; kind < PD_FAULTS; kind++)
        pd_json_append(&array, fault_object(assessment, (enum pd_fault_kind)kind));
    return pd_json_made(&array);
}

static json_t *counts_object(const struct pd_assessment *assessment)
{
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "sections_opened", pd_json_count(assessment->break_count));
    pd_json_put(&object, "scenarios", pd_json_count(assessment->scenario_count));
    pd_json_put(&object, "judged", pd_json_count(assessment->judged));
    pd_json_put(&object, "not_solved", pd_json_count(assessment->unsolved));
    pd_json_put(&object, "over_limit", pd_json_count(assessment->over));
    pd_json_put(&object, "not_disconnected", pd_json_count(assessment->unseen));
    pd_json_put(&object, "closes_again", pd_json_count(assessment->reclosed));
    return pd_json_made(&object);
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

static json_t *device_object(const struct pd_detector *d)
{
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "detector", pd_json_text(d->name));
    pd_json_put(&object, "node", pd_json_text(d->node_name));
    pd_json_put(&object, "senses", pd_json_text(pd_sense_names[d->senses]));
    pd_json_put(&object, "low_v", pd_json_number(d->low_v));
    pd_json_put(&object, "high_v", pd_json_number(d->high_v));
    pd_json_put(&object, "limit_v", pd_json_number(d->limit_v));
    pd_json_put(&object, "limit_a", pd_json_number(d->limit_a));
    pd_json_put(&object, "tolerance_v", pd_json_number(d->tolerance_v));
    pd_json_put(&object, "tolerance_a", pd_json_number(d->tolerance_a));
    pd_json_put(&object, "reference_ohm", pd_json_number(d->reference_ohm));
    pd_json_put(&object, "input_ohm", pd_json_number(d->input_ohm));
    pd_json_put(&object, "coupling", pd_json_number(d->coupling));
    pd_json_put(&object, "reference_x_m", pd_json_number(d->reference_x_m));
    pd_json_put(&object, "reference_y_m", pd_json_number(d->reference_y_m));
    pd_json_put(&object, "delay_s", pd_json_number(d->delay_s));
    pd_json_put(&object, "disconnects",
                pd_json_text(d->disconnects_known ? pd_disconnects_names[d->disconnects] : NULL));
    pd_json_put(&object, "reset",
                pd_json_text(d->reset != PD_RESET_UNDECLARED ? pd_reset_names[d->reset] : NULL));
    pd_json_put(&object, "reset_s", pd_json_number(d->reset_s));
    return pd_json_made(&object);
}

static json_t *devices_array(const struct pd_detectors *detectors)
{
    struct pd_making array = pd_json_make_array();
    for (size_t i = 0; i < detectors->count; i++)
        pd_json_append(&array, device_object(&detectors->detector[i]));
    return pd_json_made(&array);
}

json_t *pd_json_arrangement(const struct pd_case *study_case)
{
    const struct pd_network *const network = study_case->network;
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "earthing", pd_json_text(pd_earthing_names[study_case->earthing]));
    pd_json_put(&object, "system",
                pd_json_text(network != NULL ? pd_system_names[network->system] : NULL));
    pd_json_put(&object, "nominal_v", pd_json_number(network != NULL ? network->nominal_v : NAN));
    pd_json_put(&object, "supply_v", pd_json_number(study_case->supply_v));
    pd_json_put(&object, "installation",
                pd_json_text(node_name(study_case, study_case->installation)));
    pd_json_put(&object, "charging_point",
                pd_json_text(node_name(study_case, study_case->charging_point)));
    pd_json_put(&object, "demand_limit_a", pd_json_number(study_case->demand_limit_a));
    pd_json_put(&object, "electrode_ohm", pd_json_number(electrode(study_case)));
    pd_json_put(&object, "devices", devices_array(&study_case->detectors));
    return pd_json_made(&object);
}

json_t *pd_json_assessment(const struct pd_assessment *assessment)
{
    const struct pd_case *const study_case = assessment->study_case;
    struct pd_making object = pd_json_make_object();
    pd_json_put_head(&object, study_case->title);
    pd_json_put(&object, "verdict", verdict_object(assessment));
    pd_json_put(&object, "arrangement", pd_json_arrangement(study_case));
    pd_json_put(&object, "limits", pd_json_limits(&study_case->limits));
    pd_json_put(&object, "routes", routes_array(assessment));
    pd_json_put(&object, "faults", faults_array(assessment));
    pd_json_put(&object, "worst_case", pd_json_worst(assessment));
    pd_json_put(&object, "turned_round", pd_json_answers(assessment));
    pd_json_put(&object, "person", pd_json_person(assessment));
    pd_json_put(&object, "tt", pd_json_tt(assessment));
    pd_json_put(&object, "electrodes", pd_json_earth(assessment));
    pd_json_put(&object, "counts", counts_object(assessment));
    pd_json_put(&object, "after", afters_object(assessment));
    pd_json_put(&object, "assumptions", pd_json_notes(&study_case->assumptions));
    pd_json_put(&object, "declared", pd_json_declared(study_case));
    pd_json_put(&object, "inputs", pd_json_inputs(study_case));
    pd_json_put(&object, "along", pd_json_along(assessment));
    pd_json_put(&object, "scenarios", scenarios_array(assessment));
    return pd_json_made(&object);
}

enum pd_status pd_report_json(FILE *out, const struct pd_assessment *assessment)
{
    return pd_json_write(out, pd_json_assessment(assessment));
}
