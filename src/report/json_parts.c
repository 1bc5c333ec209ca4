/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/json_parts.h"

#include <math.h>

#include "report/making.h"
#include "report/person.h"
#include "report/scenario.h"

static json_t *section_of(const struct pd_assessment *assessment, size_t scenario)
{
    const char *const section = pd_scenario_section(assessment, &assessment->scenario[scenario]);
    return section != NULL ? json_string(section) : json_null();
}

/* Appends, and takes what it is given also when it fails. */
static bool append(json_t *array, json_t *value)
{
    return json_array_append_new(array, value) == 0;
}

static json_t *moments(const struct pd_shock *shock)
{
    json_t *const array = json_array();
    bool good = array != NULL;
    for (int moment = 0; moment < PD_MOMENTS && good; moment++) {
        const struct pd_zone *const zone = &shock->zone[moment];
        if (!isfinite(shock->time_s[moment]))
            continue;
        good = append(array,
                      json_pack("{s:s, s:o, s:s?, s:s?, s:s?}", "until", pd_moment_names[moment],
                                "time_s", pd_json_number(shock->time_s[moment]), "zone_least",
                                zone->known ? pd_zone_names[zone->least] : NULL, "zone_most",
                                zone->known ? pd_zone_names[zone->most] : NULL, "effect",
                                zone->known ? pd_zone_effect(zone->most) : NULL));
    }
    if (good)
        return array;
    json_decref(array);
    return NULL;
}

static json_t *shock_object(const struct pd_assessment *assessment, enum pd_shock_kind kind)
{
    const struct pd_shock *const shock = &assessment->person.shock[kind];
    const struct pd_scenario *const s = &assessment->scenario[shock->scenario];
    return json_pack(
        "{s:s, s:s, s:o, s:s, s:o, s:o, s:s, s:o, s:o, s:o, s:o, s:b, s:o}", "what",
        pd_shock_names[kind], "fault", pd_fault_names[s->fault], "section",
        section_of(assessment, shock->scenario), "loads", pd_loads_names[s->loads], "supply_v",
        pd_json_number(s->supply_v), "prospective_v", pd_json_number(shock->touch.prospective_v),
        "path", pd_path_names[shock->touch.path], "body_v", pd_json_number(shock->current.body_v),
        "body_ohm", pd_json_number(shock->current.body_ohm), "body_a",
        pd_json_number(shock->current.body_a), "heart_a", pd_json_number(shock->current.heart_a),
        "overstated", (int)shock->overstated, "zones", moments(shock));
}

json_t *pd_json_person(const struct pd_assessment *assessment)
{
    const struct pd_case *const c = assessment->study_case;
    const struct pd_person *const person = &assessment->person;
    json_t *const shocks = json_array();
    bool good = shocks != NULL;
    for (int kind = 0; kind < PD_SHOCKS && good; kind++)
        if (person->shock[kind].scenario < assessment->scenario_count)
            good = append(shocks, shock_object(assessment, (enum pd_shock_kind)kind));
    if (!good) {
        json_decref(shocks);
        return NULL;
    }
    return json_pack("{s:s, s:s, s:i, s:o, s:I, s:[s, s, s], s:o}", "warning", pd_person_warning,
                     "body", pd_skin_names[c->skin], "people_percent", 5, "footing_ohm",
                     pd_json_number(c->footing_ohm), "not_solved", (json_int_t)assessment->unsolved,
                     "sources", person->body_source, person->path_source, person->curve_source,
                     "shocks", shocks);
}

static json_t *faults(const struct pd_assessment *assessment)
{
    json_t *const array = json_array();
    bool good = array != NULL;
    for (int kind = 0; kind < PD_FAULTS && good; kind++) {
        const size_t worst = assessment->tt.worst[kind];
        if (worst >= assessment->scenario_count)
            continue;
        const struct pd_scenario *const s = &assessment->scenario[worst];
        good = append(array, json_pack("{s:s, s:o, s:o, s:o, s:o}", "fault", pd_fault_names[kind],
                                       "section", section_of(assessment, worst), "touch_v",
                                       pd_json_number(pd_scenario_figure(s, s->touch_v)), "met_v",
                                       pd_json_number(pd_scenario_figure(s, s->met_v)), "reach_v",
                                       pd_json_number(pd_scenario_figure(s, s->reach_v))));
    }
    if (good)
        return array;
    json_decref(array);
    return NULL;
}

static json_t *trips(const struct pd_tt *tt)
{
    return tt->no_trip == PD_UNKNOWN ? json_null() : json_boolean(tt->no_trip == PD_OVER);
}

json_t *pd_json_tt(const struct pd_assessment *assessment)
{
    const struct pd_tt *const tt = &assessment->tt;
    const struct pd_case *const c = assessment->study_case;
    if (!tt->applies)
        return json_null();
    return json_pack("{s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "rcd_a", pd_json_number(c->rcd_a),
                     "reach_m", pd_json_number(c->reach_m), "reach_min_m",
                     pd_json_number(pd_tt_reach_m), "earth_fault_v", pd_json_number(tt->fault_v),
                     "earth_fault_a", pd_json_number(tt->fault_a), "rcd_trips", trips(tt), "faults",
                     faults(assessment));
}
