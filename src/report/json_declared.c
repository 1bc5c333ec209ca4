/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "report/json_parts.h"
#include "report/making.h"
#include "report/scenario.h"

static json_t *load_object(const struct pd_case *c, const struct pd_load *load)
{
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "load", pd_json_text(load->name));
    pd_json_put(&object, "node", pd_json_text(c->network->node[load->node].name));
    pd_json_put(&object, "phase", pd_json_text(pd_phase_names[load->phase]));
    pd_json_put(&object, "behaviour", pd_json_text(load->behaviour->name));
    pd_json_put(&object, "power_factor", pd_json_number(load->power_factor));
    pd_json_put(&object, "present_a", pd_json_number(load->present_a));
    pd_json_put(&object, "low_a", pd_json_number(load->low_a));
    pd_json_put(&object, "high_a", pd_json_number(load->high_a));
    pd_json_put(&object, "installation",
                json_boolean(c->installation != PD_NONE && pd_case_own(c, load->node)));
    return pd_json_made(&object);
}

static json_t *electrode_object(const struct pd_electrode *e)
{
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "electrode", pd_json_text(e->name));
    pd_json_put(&object, "node", pd_json_text(e->node_name));
    pd_json_put(&object, "resistance_ohm", pd_json_number(e->resistance_ohm));
    pd_json_put(&object, "calculated", json_boolean(e->calculated));
    pd_json_put(&object, "season_factor", pd_json_number(e->season_factor));
    pd_json_put(&object, "season_declared", json_boolean(e->season_declared));
    pd_json_put(&object, "dry_ohm", pd_json_number(pd_electrode_dry(e)));
    pd_json_put(&object, "shape", e->shaped ? pd_json_text(pd_shape_names[e->shape]) : json_null());
    pd_json_put(&object, "soil_ohm_m", pd_json_number(e->size.soil_ohm_m));
    pd_json_put(&object, "x_m", pd_json_number(e->x_m));
    pd_json_put(&object, "y_m", pd_json_number(e->y_m));
    return pd_json_made(&object);
}

json_t *pd_json_declared(const struct pd_case *c)
{
    struct pd_making loads = pd_json_make_array(), electrodes = pd_json_make_array();
    struct pd_making object = pd_json_make_object();
    for (size_t i = 0; c->network != NULL && i < c->network->load_count; i++)
        pd_json_append(&loads, load_object(c, &c->network->load[i]));
    for (size_t i = 0; i < c->electrodes.count; i++)
        pd_json_append(&electrodes, electrode_object(&c->electrodes.electrode[i]));
    pd_json_put(&object, "loads", pd_json_made(&loads));
    pd_json_put(&object, "electrodes", pd_json_made(&electrodes));
    return pd_json_made(&object);
}

static json_t *node_object(const struct pd_assessment *a, size_t i)
{
    const struct pd_case *const c = a->study_case;
    const struct pd_node *const node = &c->network->node[i];
    const size_t broken = a->scenario[a->along.scenario].section;
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "node", pd_json_text(node->name));
    pd_json_put(&object, "section", pd_json_text(node->section));
    pd_json_put(&object, "fed_from",
                node->parent != PD_NONE ? pd_json_text(c->network->node[node->parent].name)
                                        : json_null());
    pd_json_put(&object, "beyond_break",
                json_boolean(pd_network_downstream(c->network, broken, i)));
    pd_json_put(&object, "installation", json_boolean(pd_case_own(c, i)));
    pd_json_put(&object, "touch_v", pd_json_number(a->along.touch_v[i]));
    return pd_json_made(&object);
}

json_t *pd_json_along(const struct pd_assessment *a)
{
    if (a->along.scenario >= a->scenario_count)
        return json_null();
    struct pd_making nodes = pd_json_make_array(), object = pd_json_make_object();
    for (size_t i = 0; i < a->along.count && !nodes.failed; i++)
        pd_json_append(&nodes, node_object(a, i));
    pd_json_put(&object, "scenario", pd_json_count(a->along.scenario));
    pd_json_put(&object, "nodes", pd_json_made(&nodes));
    return pd_json_made(&object);
}

json_t *pd_json_inputs(const struct pd_case *c)
{
    struct pd_making array = pd_json_make_array();
    for (size_t i = 0; i < c->inputs.count; i++) {
        const struct pd_input *const input = &c->inputs.input[i];
        struct pd_making object = pd_json_make_object();
        pd_json_put(&object, "file", pd_json_text(input->file));
        pd_json_put(&object, "sha256",
                    input->sha256[0] != '\0' ? pd_json_text(input->sha256) : json_null());
        pd_json_append(&array, pd_json_made(&object));
    }
    return pd_json_made(&array);
}
